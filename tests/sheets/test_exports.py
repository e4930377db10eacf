"""What is written for people: exports and the empty sheets to fill in."""

from decimal import Decimal
from io import BytesIO

import pytest
from openpyxl import load_workbook

from inventory import ledger, sheets
from inventory.models import Lot
from inventory.sheets import EXPORTS, IMPORTS, Export, SheetOut, template
from inventory.sheets.exports import written
from inventory.sheets.grid import ColumnOut
from inventory.spec import KINDS
from tests.factories import DesignFactory, NeedFactory, PlaceFactory, spec, stock
from tests.sheets.importing import RESISTOR, exported, lines_of, refused, spot, stock_csv, take_in

pytestmark = pytest.mark.django_db


def empty(kind: str) -> BytesIO:
    return BytesIO(b"".join(template(kind)))


# --- exports


def test_text_in_an_exported_workbook_is_text_and_figures_are_figures() -> None:
    take_in(stock_csv(RESISTOR | {"Marking": "=2+2", "Price": "0.02", "Watts": "1/4", "Number": "0805"}))
    sheet = load_workbook(exported()).active
    cells = {head.value: cell for head, cell in zip(sheet[1], sheet[2], strict=True)}
    assert (cells["Marking"].value, cells["Marking"].data_type) == ("=2+2", "s")
    assert (cells["Number"].value, cells["Number"].number_format) == ("0805", "@")
    assert (cells["Value"].value, cells["Value"].data_type) == ("4k7", "s")
    assert [cells[name].value for name in ("Quantity", "Price", "Watts")] == [10, 0.02, 0.25]


def test_text_in_an_exported_text_table_is_harmless() -> None:
    take_in(stock_csv(RESISTOR | {"Marking": "=2+2", "Note": "-12 V rail", "From": "@home"}))
    text = exported("csv").read().decode("utf-8-sig")
    assert ",'=2+2," in text
    assert ",'@home," in text
    assert ",'-12 V rail," in text
    assert lines_of(exported("csv"))[0]["Marking"] == "=2+2"


def test_stock_is_sorted_as_a_person_looks_for_it() -> None:
    lines = [("resistor", "10k"), ("capacitor", "10n"), ("resistor", "1k"), ("capacitor", "100p")]
    take_in(stock_csv(*(RESISTOR | {"Kind": kind, "Value": value, "Tolerance": ""} for kind, value in lines)))
    read = [(line["Kind"], line["Value"]) for line in lines_of(exported())]
    assert read == [("capacitor", "100p"), ("capacitor", "10n"), ("resistor", "1k"), ("resistor", "10k")]


def test_the_ledger_has_every_movement_in_order() -> None:
    take_in(stock_csv(RESISTOR))
    lot = Lot.objects.get()
    ledger.move(
        lot, spot("Cabinet A / Drawer 7"), ledger.Spot(PlaceFactory(name="Tray 1").pk), 4, by=None, note="=x"
    )
    for form in ("xlsx", "csv"):
        first, second = lines_of(exported(form, "ledger"))
        assert (first["Kind"], first["Quantity"], first["To"]) == ("receive", "10", "Cabinet A / Drawer 7")
        assert (second["From"], second["To"], second["Note"]) == ("Cabinet A / Drawer 7", "Tray 1", "=x")


@pytest.mark.parametrize("design", [[], ["1", "2"], ["999999"], ["9" * 30], ["nobody's"], ["-1"]])
def test_an_export_of_a_design_needs_one_design(design: list[str]) -> None:
    with pytest.raises(sheets.BadOption) as refusal:
        sheets.export("design", "xlsx", {"design": design})
    assert refusal.value.name == "design"


def test_another_app_adds_an_export_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    def sheet(options: object) -> list[SheetOut]:
        return [SheetOut("Wanted", [ColumnOut("What"), ColumnOut("Short", text=False)], [("4k7", 3)])]

    monkeypatch.setitem(EXPORTS, "wanted", Export(sheet, "What is wanted."))
    for form in ("xlsx", "csv"):
        assert lines_of(exported(form, "wanted")) == [{"What": "4k7", "Short": "3"}]


def test_an_export_takes_few_queries_however_many_lots(django_assert_max_num_queries: object) -> None:
    take_in(stock_csv(*(RESISTOR | {"Marking": str(n)} for n in range(60))))
    with django_assert_max_num_queries(4):  # type: ignore[operator]
        assert len(lines_of(exported())) == 60


# --- empty sheets


@pytest.mark.parametrize("kind", IMPORTS)
def test_an_empty_sheet_has_the_headings_notes_and_nothing_to_import(kind: str) -> None:
    book = load_workbook(empty(kind))
    assert book.sheetnames[-1] == "Notes"
    for table in IMPORTS[kind].tables:
        sheet = book[table.sheet] if table.sheet else book.worksheets[0]
        headings = [cell.value for cell in sheet[1]]
        assert {column.heading for column in table.columns if column.needed} <= set(headings)
        assert sheet.max_row == 1
    answer = [row[1] for row in book["Notes"].iter_rows(values_only=True)]
    assert {cell.value for cell in book.worksheets[0][1]} <= set(answer)
    (bad,) = refused(empty(kind), kind)
    assert "nothing to import" in bad.detail


@pytest.mark.parametrize("kind", IMPORTS)
def test_an_empty_sheet_has_drop_downs_that_a_spreadsheet_program_takes(kind: str) -> None:
    # ECMA-376 part 1, 18.3.1.32: the list of a drop-down is a formula in quotes; programs take 255 characters
    for sheet in load_workbook(empty(kind)).worksheets[:-1]:
        for rule in sheet.data_validations.dataValidation:
            if rule.type == "list":
                assert len(rule.formula1) <= 257
                assert rule.formula1.startswith('"')
            assert len(rule.prompt or "") <= 255


def choices(kind: str, heading: str) -> list[str]:
    sheet = load_workbook(empty(kind)).worksheets[0]
    letter = next(cell.column_letter for cell in sheet[1] if cell.value == heading)
    rule = next(
        rule for rule in sheet.data_validations.dataValidation if str(rule.sqref).startswith(f"{letter}2:")
    )
    return str(rule.formula1).strip('"').split(",")


def test_the_drop_downs_hold_the_words_that_are_accepted() -> None:
    assert choices("stock", "Condition") == ["untested", "good", "suspect", "faulty"]
    assert choices("stock", "Source") == ["board", "bought", "donated", "unknown"]
    assert choices("donor", "State") == ["there", "lifted", "gone"]
    assert choices("design", "Socketed") == ["yes", "no"]


def test_every_word_of_the_drop_downs_is_accepted() -> None:
    kinds = choices("stock", "Kind")
    lines = [RESISTOR | {"Kind": kind, "Value": "", "Tolerance": "", "Number": "X1"} for kind in kinds]
    assert take_in(stock_csv(*lines)).created == len(kinds) == len(KINDS)


@pytest.mark.parametrize("kind", IMPORTS)
def test_an_empty_sheet_that_was_filled_in_goes_in(kind: str) -> None:
    DesignFactory(name="Plover tone generator", revision="A", positions={"R1": spec("resistor", "4k7")})
    book = load_workbook(empty(kind))
    examples = {
        column.heading: column.example for column in IMPORTS[kind].tables[0].columns if column.example
    }
    if kind == "donor":
        examples |= {"Design": "Plover tone generator", "Revision": "A"}
    if kind == "buy":  # only what a job lacks is ordered
        NeedFactory(of=spec("resistor", "4k7", tolerance_percent=Decimal(5)))
    for cell in book.worksheets[0][1]:
        book.worksheets[0].cell(2, cell.column, examples.get(cell.value))
    file = BytesIO()
    book.save(file)
    assert take_in(file, kind).created == 1


# --- on paper


def test_a_sheet_prints_its_headings_on_each_page_and_fits_the_width(db: None) -> None:
    stock(3)
    sheet = load_workbook(exported("xlsx", "stock"))["Stock"]
    # ECMA-376, part 1, 18.3: fitToHeight 0 is as many pages as it takes
    assert (sheet.page_setup.fitToHeight, sheet.page_setup.orientation) == (0, "landscape")
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.print_title_rows == "$1:$1"
    assert sheet.auto_filter.ref.startswith("A1:")
    assert sheet.freeze_panes == "A2"


def test_a_narrow_sheet_prints_upright_and_a_buy_list_folds_away_what_its_words_say(db: None) -> None:
    narrow = load_workbook(
        BytesIO(b"".join(written([SheetOut("Few", [ColumnOut("A", 20)], [["x"]])], "xlsx")))
    )
    assert narrow["Few"].page_setup.orientation == "portrait"
    buy = load_workbook(exported("xlsx", "buy"))["Buy"]
    folded = {cell.value for cell in buy[1] if buy.column_dimensions[cell.column_letter].hidden}
    assert {"Kind", "Value", "As written"} <= folded
    assert not {"What", "Pieces", "State", "Completes"} & folded
    assert buy.page_setup.fitToWidth == 1


def test_on_paper_no_text_is_cut_off_and_no_figure_runs_into_the_text_beside_it(db: None) -> None:
    """ECMA-376, part 1, 18.3.1.73: `ht` is the height of a row in points; 18.8.1: the alignment of a cell."""
    columns = [ColumnOut("Part", 8, text=False), ColumnOut("What", 30), ColumnOut("State", 10)]
    long = "1 A 250 V slow ceramic fuse, 5 x 20 mm, of high breaking capacity"
    book = load_workbook(
        BytesIO(b"".join(written([SheetOut("Buy", columns, [[155, long, "x" * 40], [7, "1k", ""]])], "xlsx")))
    )
    sheet = book["Buy"]
    assert sheet.row_dimensions[2].height == 3 * 15
    assert sheet.row_dimensions[3].height is None
    assert (sheet["A2"].alignment.horizontal, sheet["A1"].alignment.horizontal) == ("right", "right")
    assert (sheet["B2"].alignment.horizontal, sheet["B2"].alignment.indent) == ("left", 1)
    assert [bool(sheet[at].alignment.wrap_text) for at in ("A2", "B2", "C2")] == [False, True, False]
