"""Lists as people have them: what each awkward one becomes, how it is put right, and goes in whole."""

import csv
from decimal import Decimal
from fnmatch import fnmatchcase
from io import BytesIO, StringIO
from typing import Any
from zipfile import ZipFile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from inventory.models import Design, Holding, Lot
from inventory.sheets import BadRows, UnreadableFile
from inventory.sheets.free import Correction, FreeList, ImportTarget, import_list, read_list
from repairs.audit import audit
from tests.sheets.awkward import AWKWARD, LISTS, Awkward
from tests.sheets.awkward_more import MORE
from tests.sheets.importing import everything

pytestmark = pytest.mark.django_db


def rows_of(parts: FreeList) -> list[str]:
    """Each row that is a part, as the awkward lists have it."""
    lines = []
    for reading in parts.readings:
        for row in reading.rows:
            if row.skipped:
                continue
            cells = [
                row.spec.text if row.spec else "-",
                "" if row.quantity is None else str(row.quantity),
                " ".join(row.refs),
                row.place,
            ]
            line = " | ".join(cells).rstrip(" |") if any(cells[2:]) else " | ".join(cells[:2])
            line = line.replace("|  |", "| |")
            lines.append(f"{line} ! {'; '.join(row.problems)}" if row.problems else line)
    return lines


@pytest.mark.parametrize("sheet", [*AWKWARD, *MORE], ids=lambda sheet: sheet.name)
def test_an_awkward_list_becomes_what_it_says(sheet: Awkward) -> None:
    rows = rows_of(read_list(BytesIO(sheet.data), sheet.name))
    assert len(rows) == len(sheet.becomes), rows
    for row, wanted in zip(rows, sheet.becomes, strict=True):
        pattern = " ".join(wanted.split()) + ("*" if " ! " in wanted else "")
        assert fnmatchcase(" ".join(row.split()), pattern), (row, wanted)


def read(text: str, **how: Any) -> FreeList:
    return read_list(BytesIO(text.encode()), "list.csv", **how)


# --- put right


def test_a_section_is_headed_in_the_column_of_the_numbers_too() -> None:
    text = (
        "Nr.;Wert;Anzahl;Ort\nKondensatoren;;;\n1;100n 63;6;Tin 3\n2;470;5;Tin 3\nSpulen;;;\n3;10;2;Tin 4\n"
    )
    parts = read(text)
    assert [row.skipped for row in parts.readings[0].rows if row.skipped] == [
        "heads a section: capacitor",
        "heads a section: inductor",
    ]
    first, second, third = (row for row in parts.readings[0].rows if not row.skipped)
    assert first.spec
    assert first.spec.text == "100n 63 V capacitor"
    assert {choice.spec.kind for choice in second.choices} == {"capacitor"}
    assert {choice.spec.kind for choice in third.choices} == {"inductor"}


def test_two_columns_of_notes_are_both_kept() -> None:
    text = "Wert;Anzahl;Bezeichnung;Bemerkung\n4k7;3;Schicht;aus dem Funkfeuer\n"
    (row,) = read(text, mapping={"Bezeichnung": "note"}).readings[0].rows
    assert row.beside == {"note": "Schicht aus dem Funkfeuer"}


def test_a_box_with_a_number_is_no_part() -> None:
    parts = read("Teil;Anzahl;Sonstiges\nBC547B blaue Kiste 4;30;\nraetselhaft blaue Kiste 4;2;\n")
    known, unknown = (row for row in parts.readings[0].rows if not row.skipped)
    assert known.spec
    assert known.spec.number == "BC547B"
    assert unknown.spec is None
    assert unknown.problems[0].startswith("Teil: 4 has no unit")


def test_a_column_is_given_another_meaning() -> None:
    parts = read("Wat,Zoveel\n4k7,3\n", mapping={"Wat": "value", "Zoveel": "quantity"})
    assert rows_of(parts) == ["4k7 resistor | 3"]
    ignored = read("Part,Qty\n4k7,3\n", mapping={"Qty": ""})
    assert rows_of(ignored) == ["4k7 resistor | 1"]


def test_one_cell_is_corrected() -> None:
    parts = read(
        "Part,Qty\n4k7,3\nblue one,3\n", corrections=[Correction(row=3, column="Part", text="100n 63V")]
    )
    assert rows_of(parts) == ["4k7 resistor | 3", "100n 63 V capacitor | 3"]


def test_a_whole_class_is_corrected_at_once() -> None:
    same = Correction(column="Part", typed="blue one", text="100n 63V")
    parts = read("Part,Qty\nblue one,3\n4k7,1\nblue one,5\n", corrections=[same])
    assert rows_of(parts) == ["100n 63 V capacitor | 3", "4k7 resistor | 1", "100n 63 V capacitor | 5"]


def test_a_row_is_left_out_or_given_as_something() -> None:
    changes = [
        Correction(row=2, skip=True),
        Correction(row=3, spec={"kind": "lamp", "volts": "6.3"}, quantity=4, place="Tin"),
    ]
    assert rows_of(read("Part,Qty\nrubbish,3\ndial lamp,a few\n", corrections=changes))[0].startswith(
        "6.3 V lamp | 4"
    )


def test_the_person_says_how_figures_are_written() -> None:
    text = "Kind,Value,Qty\nresistor,2.200,5\n"
    (question,) = read(text).readings[0].questions
    assert (question.column, question.asks) == ("Value", "decimal")
    assert question.choices == ((",", "2200"), (".", "2.200"))
    assert rows_of(read(text, corrections=[Correction(column="Value", decimal=",")])) == ["2k2 resistor | 5"]
    assert rows_of(read(text, corrections=[Correction(column="Value", decimal=".")])) == ["2R2 resistor | 5"]


BARE = "Bauteil;Anzahl\n2.200;5\n1.000;6\n0,47;7\nKondensator 330;8\n"


def choices_of(parts: FreeList, row: int) -> dict[str, str]:
    (found,) = [each for each in parts.readings[0].rows if each.number == row]
    return {choice.why: choice.spec.text for choice in found.choices}


def test_a_figure_without_a_unit_may_be_what_each_unit_makes_of_it() -> None:
    parts = read(BARE)
    assert choices_of(parts, 3) == {
        "1000 ohms": "1k resistor", "1000 pF": "1n capacitor", "1000 nF": "1µ capacitor",
        "1000 µF": "1000µ capacitor",
    }  # fmt: skip
    assert choices_of(parts, 5) == {
        "330 pF": "330p capacitor", "330 nF": "330n capacitor", "330 µF": "330µ capacitor",
        "330 as the code printed on it": "33p capacitor",
    }  # fmt: skip
    assert parts.as_dict()["to_settle"] == 4


def test_a_figure_may_be_of_either_sign_and_of_each_unit() -> None:
    choices = choices_of(read("Bauteil;Anzahl\n1.000;6\n"), 2)
    assert (choices["1000 ohms"], choices["1.000 ohms"]) == ("1k resistor", "1R resistor")
    assert "220R 1 % resistor" not in choices_of(read("Bauteil;Anzahl\n2.200;6\n"), 2).values()
    assert "220R 1 % resistor" in choices_of(read("Bauteil;Anzahl\n2200;6\n"), 2).values()


def test_the_unit_of_a_whole_column_is_given_at_once() -> None:
    in_ohms = Correction(column="Bauteil", unit="ohm")
    rows = rows_of(read(BARE, corrections=[in_ohms]))
    assert rows[:3] == ["2k2 resistor | 5", "1k resistor | 6", "R47 resistor | 7"]
    assert rows[3].startswith(
        "- | 8 ! Bauteil: 330 has no unit"
    )  # it is no resistor, whatever the others are
    both = [in_ohms, Correction(column="Bauteil", unit="pF")]
    assert rows_of(read(BARE, corrections=both))[2:] == ["R47 resistor | 7", "330p capacitor | 8"]
    assert read(BARE, corrections=both).readings[0].conventions == {
        "Bauteil": "decimal comma, 0,47 shows it; figures without a unit are ohms or pF, as you said"
    }


@pytest.mark.parametrize(
    "text", ["Value,Qty\n2200,5\n4k7,2\n100,3\n", "Type,Value,Qty\nC,2200,5\nR,4k7,2\nC,100,3\n"]
)
def test_the_unit_that_is_given_goes_before_what_the_others_are(text: str) -> None:
    rows = rows_of(read(text, corrections=[Correction(column="Value", unit="pF")]))
    assert rows == ["2n2 capacitor | 5", "4k7 resistor | 2", "100p capacitor | 3"]


def test_a_sign_that_was_copied_is_asked_of_and_then_as_it_is_said() -> None:
    text = "Part;Qty;Price\n2.200 ohm;5;1,50\n4.7k;2;0,10\n"
    (question,) = read(text).readings[0].questions
    assert (question.column, question.asks) == ("Part", "decimal")
    said = [Correction(column="Part", decimal=",")]
    assert rows_of(read(text, corrections=said)) == ["2k2 resistor | 5", "4k7 resistor | 2"]


def test_a_price_or_condition_that_cannot_be_read_is_a_note_and_keeps_no_list_out() -> None:
    text = "Part;Qty;Price;State;Note\nBC547;3;ask;lovely;blue\nBC557;2;Fr. 0.05;good;\n"
    parts = read(text)
    first, second = parts.readings[0].rows
    assert first.doubts == (
        "Price ask: is no amount of money, so it is kept as a note",
        "State lovely: is no condition that is known, so it is kept as a note",
    )
    assert (second.doubts, parts.as_dict()["to_settle"]) == ((), 0)
    import_list(parts, ImportTarget(place="Drawer 1"), by=None)
    lots = {lot.part.spec.number: lot for lot in Lot.objects.select_related("part__spec")}
    assert (lots["BC547"].note, lots["BC547"].condition) == ("blue; Price ask; State lovely", "untested")
    assert (lots["BC557"].part.price, lots["BC557"].condition) == (Decimal("0.05"), "good")


def test_letters_for_the_kind_are_no_doubt() -> None:
    rows = read("Kind,Value,Qty\nR,470,5\nQ,BC547,2\nZZ,4k7,1\n").readings[0].rows
    assert [row.doubts for row in rows] == [(), (), ("kind: ZZ is not a known kind",)]


def test_packages_in_two_spellings_are_no_doubt() -> None:
    (row,) = read("Part,Package,Qty\nBC547 TO92,TO-92_Inline,5\n").readings[0].rows
    assert row.doubts == ()


BESIDE_EACH_OTHER = "Part;Qty;;;Part;Qty\n4k7;3;;;100n;5\n10k;4;;;220n;6\n"


def test_a_correction_of_a_row_is_of_the_table_that_it_names() -> None:
    first, second = read(BESIDE_EACH_OTHER).as_dict()["tables"]
    assert (first["first_column"], second["first_column"]) == ("A", "E")
    changes = [
        Correction(row=2, first_column="E", quantity=7),
        Correction(row=3, first_column="a", column="Part", text="22k"),
        Correction(row=3, first_column="E", skip=True),
    ]
    parts = read(BESIDE_EACH_OTHER, corrections=changes)
    assert rows_of(parts) == ["4k7 resistor | 3", "22k resistor | 4", "100n capacitor | 7"]


def test_a_column_of_printed_codes_is_read_as_such() -> None:
    text = "Part,Qty\n103,3\n2200,4\n"
    rows = rows_of(read(text, corrections=[Correction(column="Part", unit="marking")]))
    assert rows == ["10k 5 % resistor | 3", "220R 1 % resistor | 4"]
    grouped = read("Teil;Anzahl\n2.200;3\n0,1k;1\n", corrections=[Correction(column="Teil", unit="marking")])
    assert rows_of(grouped)[0].startswith("- | 3 ! Teil: 2200 has no unit")


def test_sign_and_unit_are_given_together() -> None:
    said = [Correction(column="Bauteil", decimal=","), Correction(column="Bauteil", unit="ohm")]
    asked = read("Bauteil;Anzahl\n2.200;5\n").readings[0].questions
    assert [each.asks for each in asked] == ["decimal", "unit"]
    parts = read("Bauteil;Anzahl\n2.200;5\n", corrections=said)
    assert (rows_of(parts), parts.readings[0].questions) == (["2k2 resistor | 5"], ())


def test_a_row_is_settled_by_one_of_its_choices_and_keeps_what_else_was_said_of_it() -> None:
    text = "Bauteil;Anzahl;Spannung\n1.000;6;\n2.200;3;63 V\n"
    changes = [
        Correction(row=2, quantity=7),
        Correction(row=2, spec={"kind": "resistor", "value": "1000"}),
        Correction(row=3, spec={"kind": "capacitor", "value": "2n2", "volts": "63"}),
    ]
    assert rows_of(read(text, corrections=changes)) == ["1k resistor | 7", "2n2 63 V capacitor | 3"]


def test_an_import_with_open_rows_names_them_and_brings_nothing() -> None:
    before = everything()
    with pytest.raises(BadRows) as bad:
        import_list(read(BARE), ImportTarget(place="Box"), by=None)
    first = bad.value.errors[0]
    assert (len(bad.value.errors), first.row, first.column, first.found) == (4, 2, "Bauteil", "2.200")
    assert first.detail.startswith("2200 has no unit: say which it is of 2k2 resistor, 2n2 capacitor")
    assert everything() == before


def test_a_bad_cell_is_named_where_its_heading_has_a_colon() -> None:
    text = BARE.replace("Bauteil", "Bauteil: Wert")
    parts = read(text, mapping={"Bauteil: Wert": "text"})
    with pytest.raises(BadRows) as bad:
        import_list(parts, ImportTarget(place="Box"), by=None)
    first = bad.value.errors[0]
    assert (first.column, first.found) == ("Bauteil: Wert", "2.200")
    assert first.detail.startswith("2200 has no unit")


def test_a_footprint_that_contradicts_the_words_is_reported() -> None:
    (row,) = read("Ref,Part,Footprint\nU3,LM358 DIP-14,DIP-8\n").readings[0].rows
    assert row.doubts == ("package: the row says dip14 and dip8",)


def test_what_is_said_of_no_column_of_the_list_is_reported() -> None:
    parts = read(
        "Part,Qty\n4k7,1\n", mapping={"Wert": "value"}, corrections=[Correction(column="Nr", unit="ohm")]
    )
    assert parts.notes == (
        "What was said of the column Wert was not used: none is headed so.",
        "What was said of the column Nr was not used: none is headed so.",
    )


def test_the_convention_that_a_column_shows_is_reported() -> None:
    reading = read("Kind;Value\nresistor;2.200\nresistor;0,47\n").readings[0]
    assert reading.conventions == {"Value": "decimal comma, 0,47 shows it"}


def test_how_many_is_given_where_it_cannot_be_read() -> None:
    parts = read(
        "Part,Qty\n4k7,a few\n10k,2 x 10\n",
        corrections=[Correction(row=2, quantity=7), Correction(row=3, quantity=20)],
    )
    assert rows_of(parts) == ["4k7 resistor | 7", "10k resistor | 20"]


def test_what_is_too_long_to_be_read_whole_is_said() -> None:
    (row,) = read(f"Part,Qty\n4k7 5% {'from the tins of a ham ' * 12}SMD,3\n").readings[0].rows
    assert row.doubts[0] == "only the first 200 characters of what says the part are read"


def test_hidden_rows_of_a_workbook_are_read_and_named() -> None:
    made = Workbook()
    for line in (("Part", "Qty"), ("4k7", 3), ("10k", 4)):
        made.active.append(line)
    made.active.row_dimensions[3].hidden = True
    file = BytesIO()
    made.save(file)
    parts = read_list(BytesIO(file.getvalue()), "hidden.xlsx")
    assert rows_of(parts) == ["4k7 resistor | 3", "10k resistor | 4"]
    assert parts.notes == ("Sheet Sheet: row 3 is hidden in the spreadsheet and read all the same.",)


def test_an_open_document_with_a_formula_without_its_result_and_a_hidden_row() -> None:
    row = "<table:table-row{}>{}</table:table-row>".format
    cell = '<table:table-cell office:value-type="string"><text:p>{}</text:p></table:table-cell>'.format
    formula = '<table:table-cell table:formula="of:=2*6"/>'
    rows = (
        row("", cell("Part") + cell("Qty"))
        + row("", cell("4k7") + cell("3"))
        + row("", cell("10k") + formula)
        + row(' table:visibility="collapse"', cell("22k") + cell("5"))
    )
    parts = read_list(BytesIO(open_document(rows)), "list.ods")
    first, second, third = rows_of(parts)
    assert (first, third) == ("4k7 resistor | 3", "22k resistor | 5")
    assert second.startswith("10k resistor |  ! Qty: a formula without a stored result")
    assert parts.notes == ("Sheet A: row 4 is hidden in the spreadsheet and read all the same.",)


# --- in


def test_a_list_goes_in_whole_and_its_columns_are_known_the_next_time() -> None:
    text = "Wat,Zoveel,Waar\n4k7 5% crumbly,ca. 3,Tin\nBC547,4,\n"
    mapping = {"Wat": "text", "Zoveel": "quantity", "Waar": "place"}
    report = import_list(read(text, mapping=mapping), ImportTarget(place="Box"), by=None)
    assert audit() == []
    assert (report.created, report.rows) == (2, 2)
    held = Holding.objects.filter(quantity__gt=0).order_by("id")
    assert [(each.quantity, each.place.name, each.lot.note) for each in held] == [
        (3, "Tin", "about 3; not understood: crumbly"),
        (4, "Box", ""),
    ]
    again = read("Wat,Zoveel,Waar\n10k,7,Tin\n").readings[0]
    assert [(column.meaning, column.why) for column in again.table.columns] == [
        ("text", "as the last time"),
        ("quantity", "as the last time"),
        ("place", "as the last time"),
    ]


def test_the_same_list_again_changes_nothing() -> None:
    text = "Part,Qty\n4k7,3\nBC547,4\n"
    import_list(read(text), ImportTarget(place="Box"), by=None)
    report = import_list(read(text), ImportTarget(place="Box"), by=None)
    assert (report.created, report.unchanged) == (0, 2)


def test_one_bad_row_keeps_all_of_it_out_and_is_named_where_it_stands() -> None:
    before = everything()
    with pytest.raises(BadRows) as bad:
        import_list(
            read("Teil,Anzahl\n4k7,3\nBC547,a few\nthingummy,1\n"), ImportTarget(place="Box"), by=None
        )
    assert [(cell.row, cell.found) for cell in bad.value.errors] == [
        (3, "BC547 | a few"),
        (4, "thingummy | 1"),
    ]
    assert everything() == before


def test_a_row_that_names_no_place_wants_one() -> None:
    with pytest.raises(BadRows, match="1 cell") as bad:
        import_list(read("Part,Qty\n4k7,3\n"), ImportTarget(), by=None)
    assert bad.value.errors[0].detail == "expected the drawer or tray that it is in"


def test_a_parts_list_becomes_a_design() -> None:
    parts = read('Reference(s),Value,Footprint,Qty\n"C1, C3",100n,C_Disc_P5.00mm,2\nQ1,BC547B,TO-92,1\n')
    import_list(parts, ImportTarget("design", design="Curlew meter", revision="B"), by=None)
    positions = Design.objects.get(name="Curlew meter", revision="B").positions.order_by("ref")
    assert [(each.ref, each.spec.spec.kind) for each in positions] == [
        ("C1", "capacitor"),
        ("C3", "capacitor"),
        ("Q1", "transistor"),
    ]


# --- files that are not what they seem


def test_an_open_document_that_says_a_cell_a_million_times_is_refused() -> None:
    cells = (
        '<table:table-row table:number-rows-repeated="3000">'
        '<table:table-cell table:number-columns-repeated="3000"><text:p>x</text:p></table:table-cell>'
        "</table:table-row>"
    )
    with pytest.raises(UnreadableFile) as refused:
        read_list(BytesIO(open_document(cells)), "bomb.ods")
    assert refused.value.status == 413


MANIFEST = (
    '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
    '<manifest:file-entry manifest:full-path="/" '
    'manifest:media-type="application/vnd.oasis.opendocument.spreadsheet"/></manifest:manifest>'
)


def open_document(rows: str) -> bytes:
    names = "".join(
        f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for name in ("office", "table", "text")
    )
    content = (
        f"<office:document-content{names}><office:body><office:spreadsheet>"
        f'<table:table table:name="A">{rows}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    file = BytesIO()
    with ZipFile(file, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", MANIFEST)
    return file.getvalue()


@pytest.mark.parametrize("name", ["old workbook.xls", "open document.ods"])
@pytest.mark.parametrize("cut", [40, 600, 3000])
def test_a_damaged_file_is_refused_and_breaks_nothing(name: str, cut: int) -> None:
    data = (LISTS / name).read_bytes()[:cut]
    with pytest.raises(UnreadableFile) as refused:
        read_list(BytesIO(data), name)
    assert refused.value.status in (413, 415, 422)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.lists(st.text(max_size=12), max_size=5), max_size=8))
def test_any_cells_at_all_are_read_or_asked_about(db: None, cells: list[list[str]]) -> None:
    out = StringIO()
    csv.writer(out).writerows(cells)
    try:
        parts = read(out.getvalue().encode("utf-8", "replace").decode())
    except UnreadableFile:
        return
    for reading in parts.readings:
        for row in reading.rows:
            assert row.skipped or row.problems or (row.spec is not None and row.quantity is not None)
