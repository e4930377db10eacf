"""Stock comes in."""

from decimal import Decimal

import pytest
from openpyxl import load_workbook

from inventory.models import Board, Lot, Movement, Part, Place
from tests.factories import BoardFactory, PlaceFactory
from tests.sheets.books import saved, text_table
from tests.sheets.importing import RESISTOR, book_of, counts, held, lines_of, refused, stock_csv, take_in

pytestmark = pytest.mark.django_db


def test_a_row_is_a_lot_with_everything_that_it_says() -> None:
    take_in(
        stock_csv(
            {
                "Name": "bypass, red box", "Kind": "capacitor", "Value": "100n", "Tolerance": "±10 %",
                "Volts": "63 V", "Dielectric": "film", "Lead style": "radial", "Pitch mm": "5",
                "Polarised": "no", "Traits": "use=bypass", "Quantity": "30",
                "Place": "Cabinet A / Row 1 / Drawer 2", "Condition": "good", "Marking": ".1K63",
                "Source": "bought", "From": "the shop in the harbour", "Price": "0.08", "Pack size": "10",
                "Reorder at": "20", "Note": "orange", "Measured": "98n",
            }
        )
    )  # fmt: skip
    lot = Lot.objects.get()
    spec = lot.part.spec.spec
    assert (spec.kind, spec.value_text, spec.volts, spec.tolerance_percent) == ("capacitor", "100n", 63, 10)
    assert (spec.dielectric, spec.lead_style, spec.pitch_mm, spec.polarised) == ("film", "radial", 5, False)
    assert dict(spec.traits) == {"use": "bypass"}
    assert (lot.part.name, lot.part.price, lot.part.pack_size, lot.part.reorder_at) == (
        "bypass, red box", Decimal("0.08"), 10, 20,
    )  # fmt: skip
    assert (lot.condition, lot.marking, lot.note) == ("good", ".1K63", "orange")
    assert (lot.origin_source, lot.origin_from) == ("bought", "the shop in the harbour")
    assert lot.measured == 98 * 10**6  # fF
    assert held(lot) == {"Cabinet A / Row 1 / Drawer 2": 30}
    assert Movement.objects.get().kind == "receive"


def test_only_the_kind_the_quantity_and_the_place_must_be_given() -> None:
    take_in(text_table("Kind,Quantity,Place\nlamp,3,Drawer 1\n"))
    lot = Lot.objects.get()
    assert (lot.condition, lot.origin_source, lot.part.pack_size) == ("untested", "unknown", 1)


@pytest.mark.parametrize(
    "marking", ["0805", "103", "1E3", "007", "=104", "+5V", "-12", "@2", "1-2", "TRUE", "4.70"]
)
def test_markings_and_numbers_stay_text(marking: str) -> None:
    line = RESISTOR | {"Marking": marking, "Number": marking, "Package": marking}
    book = load_workbook(book_of(line))
    for cell in book.active[2]:
        cell.data_type = "s"  # openpyxl would make a formula of =104
    assert counts(take_in(saved(book))) == (1, 0, 0)
    assert counts(take_in(stock_csv(line))) == (0, 0, 1)
    for lot in Lot.objects.all():
        assert (lot.marking, lot.part.spec.number, lot.part.spec.package) == (marking, marking, marking)


def test_a_number_cell_is_read_as_it_is_seen() -> None:
    take_in(book_of(RESISTOR | {"Marking": 103, "Number": 4001.0, "Quantity": 12.0, "Value": 4700}))
    lot = Lot.objects.get()
    assert (lot.marking, lot.part.spec.number, lot.part.spec.spec.value_text) == ("103", "4001", "4k7")
    assert held(lot) == {"Cabinet A / Drawer 7": 12}


def test_a_marking_that_the_spreadsheet_rewrote_is_refused_and_a_value_is_not() -> None:
    book = load_workbook(book_of(RESISTOR | {"Value": 1000, "Marking": 1000}))
    for column in ("B", "F"):
        book.active[f"{column}2"].number_format = "0.00E+00"
    (bad,) = refused(saved(book))
    assert (bad.row, bad.column, bad.found) == (2, "Marking", "1000")
    assert "set the column to Text" in bad.detail


@pytest.mark.parametrize(
    ("heading", "text"),
    [
        ("Kind", "thermometer"),
        ("Value", "a few"),
        ("Value", "10m0m"),
        ("Tolerance", "wide"),
        ("Volts", "63 A"),
        ("Quantity", "many"),
        ("Quantity", "-3"),
        ("Quantity", "1.5"),
        ("Quantity", ""),
        ("Quantity", "10000000000"),
        ("Place", ""),
        ("Place", "/"),
        ("Condition", "so so"),
        ("Source", "the moon"),
        ("Price", "cheap"),
        ("Price", "-1"),
        ("Pack size", "0"),
        ("Reorder at", "soon"),
        ("Polarised", "perhaps"),
        ("Traits", "loud"),
        ("Traits", "loudness=11"),
        ("Measured", "about right"),
        ("Marking", "x" * 201),
        ("Note", "x" * 4001),
        ("Note", "bell \x07"),
        ("From ref", "R1-R4"),
        ("Lot", "first"),
        ("Lot", "99999"),
    ],
)
def test_a_bad_cell_is_named_by_row_column_and_what_was_found(heading: str, text: str) -> None:
    line = RESISTOR | {heading: text}
    (bad,) = refused(stock_csv(RESISTOR, {"Kind": "", "Value": ""}, line))
    assert (bad.sheet, bad.row, bad.column, bad.found) == ("test.csv", 4, heading, text)
    assert bad.detail


def test_what_would_be_accepted_is_reported() -> None:
    (bad,) = refused(stock_csv(RESISTOR | {"Condition": "so so"}))
    assert bad.detail == "expected one of untested, good, suspect, faulty"


def test_an_ambiguous_value_is_refused_with_the_choices() -> None:
    # 10mF: millifarad by the SI, microfarad on old parts (design.md, rule 1: refused with the choices)
    (bad,) = refused(stock_csv(RESISTOR | {"Kind": "capacitor", "Value": "10mF"}))
    assert '"10000µ" or "10µ"' in bad.detail


def test_every_bad_cell_is_named_at_once_in_the_order_of_the_sheet() -> None:
    errors = refused(
        stock_csv(
            RESISTOR | {"Value": "x", "Quantity": "y"},
            RESISTOR,
            RESISTOR | {"Kind": "z", "Place": "", "Condition": "q"},
        )
    )
    assert [(bad.row, bad.column) for bad in errors] == [
        (2, "Value"), (2, "Quantity"), (4, "Kind"), (4, "Place"), (4, "Condition"),
    ]  # fmt: skip


def test_the_list_of_bad_cells_is_bounded_and_counted() -> None:
    from inventory import sheets

    file = stock_csv(*(RESISTOR | {"Quantity": "x", "Value": "y"} for _ in range(700)))
    with pytest.raises(sheets.BadRows) as bad:
        sheets.import_sheet(file, name="test.csv", kind="stock", by=None)
    assert (len(bad.value.errors), bad.value.total) == (1000, 1400)


def test_nothing_is_kept_where_one_row_is_bad() -> None:
    refused(stock_csv(*(RESISTOR | {"Marking": str(n)} for n in range(20)), RESISTOR | {"Quantity": "x"}))
    assert not Lot.objects.exists()
    assert not Place.objects.filter(name="Cabinet A").exists()


# --- again


def test_the_same_sheet_again_changes_nothing() -> None:
    file = stock_csv(RESISTOR, RESISTOR | {"Value": "10k", "Marking": "x", "Price": "0.02"})
    take_in(file)
    assert counts(take_in(file)) == (0, 0, 2)


def test_two_rows_never_answer_to_one_lot() -> None:
    take_in(stock_csv(RESISTOR))
    assert counts(take_in(stock_csv(RESISTOR, RESISTOR))) == (1, 0, 1)
    assert counts(take_in(stock_csv(RESISTOR, RESISTOR, RESISTOR))) == (1, 0, 2)
    assert Lot.objects.count() == 3


@pytest.mark.parametrize(
    "differing",
    [{"Quantity": "11"}, {"Place": "Cabinet A / Drawer 8"}, {"Condition": "good"}, {"Marking": "x"},
     {"Note": "x"}, {"Volts": "63"}, {"Source": "donated"}, {"From": "somebody"}, {"Measured": "4.6k"}],
)  # fmt: skip
def test_a_row_that_differs_in_anything_is_another_lot(differing: dict[str, str]) -> None:
    take_in(stock_csv(RESISTOR))
    assert counts(take_in(stock_csv(RESISTOR | differing))) == (1, 0, 0)


def test_a_row_with_a_lot_number_takes_that_lot_from_the_others() -> None:
    take_in(stock_csv(RESISTOR))
    lot = Lot.objects.get()
    file = stock_csv(RESISTOR | {"Lot": str(lot.pk)}, RESISTOR)
    assert counts(take_in(file)) == (1, 0, 1)


def test_a_new_price_for_a_known_part_is_an_update() -> None:
    take_in(stock_csv(RESISTOR | {"Price": "0.02"}))
    assert counts(take_in(stock_csv(RESISTOR | {"Price": "£0.03", "Name": "the usual"}))) == (0, 1, 0)
    part = Part.objects.get()
    assert (part.price, part.name, part.version) == (Decimal("0.03"), "the usual", 2)


def test_a_blank_cell_says_nothing_of_the_part() -> None:
    take_in(stock_csv(RESISTOR | {"Price": "0.02", "Reorder at": "5"}))
    assert counts(take_in(stock_csv(RESISTOR | {"Price": "", "Reorder at": ""}))) == (0, 0, 1)
    assert Part.objects.get().price == Decimal("0.02")


def test_two_prices_for_one_part_are_refused() -> None:
    (bad,) = refused(stock_csv(RESISTOR | {"Price": "0.02"}, RESISTOR | {"Price": "0.03", "Marking": "x"}))
    assert (bad.row, bad.column) == (3, "Price")
    assert "row 2 says 0.02" in bad.detail


def test_a_part_of_which_there_is_none_is_remembered() -> None:
    file = stock_csv({**RESISTOR, "Quantity": "0", "Place": "", "Reorder at": "10"})
    assert counts(take_in(file)) == (1, 0, 0)
    assert not Lot.objects.exists()
    assert Part.objects.get().reorder_at == 10
    assert counts(take_in(file)) == (0, 0, 1)


# --- places


def test_places_are_made_and_shown() -> None:
    report = take_in(stock_csv(RESISTOR))
    assert "Places made: Cabinet A; Cabinet A / Drawer 7." in report.notes


def test_a_place_is_found_whatever_the_case_and_the_spaces() -> None:
    take_in(stock_csv(RESISTOR))
    report = take_in(stock_csv(RESISTOR | {"Place": "cabinet a/  DRAWER 7", "Marking": "x"}))
    assert report.notes == []
    assert Place.objects.filter(name__iexact="drawer 7").count() == 1


def test_the_end_of_a_path_is_enough_where_only_one_place_ends_so() -> None:
    take_in(stock_csv(RESISTOR))
    take_in(stock_csv(RESISTOR | {"Place": "Drawer 7", "Marking": "x"}))
    assert held(Lot.objects.get(marking="x")) == {"Cabinet A / Drawer 7": 10}


def test_the_end_of_two_paths_is_refused_with_both() -> None:
    take_in(stock_csv(RESISTOR, RESISTOR | {"Place": "Cabinet B / Drawer 7"}))
    (bad,) = refused(stock_csv(RESISTOR | {"Place": "Drawer 7", "Marking": "x"}))
    assert "Cabinet A / Drawer 7 or Cabinet B / Drawer 7" in bad.detail


def test_a_new_drawer_goes_into_the_cabinet_that_is_there() -> None:
    take_in(stock_csv(RESISTOR))
    take_in(stock_csv(RESISTOR | {"Place": "cabinet A / Drawer 8"}))
    assert Place.objects.get(name="Drawer 8").within == Place.objects.get(name="Cabinet A")


@pytest.mark.parametrize("type", ["person", "board", "scrap", "outside"])
def test_stock_is_not_received_where_no_stock_is_kept(type: str) -> None:
    name = "Robin" if type == "person" else "Plover donor"
    if type == "person":
        PlaceFactory(name=name, type=type)
    elif type == "board":
        BoardFactory(name=name)
    else:
        name = Place.objects.get(type=type).name
    (bad,) = refused(stock_csv(RESISTOR | {"Place": name}))
    assert bad.column == "Place"


# --- pieces from boards


def test_a_salvaged_piece_keeps_its_board_and_reference() -> None:
    board = BoardFactory(name="Plover donor")
    take_in(
        stock_csv(
            RESISTOR | {"Quantity": "1", "Source": "salvaged", "From": "plover donor", "From ref": "R7"}
        )
    )
    lot = Lot.objects.get()
    assert (lot.origin_board, lot.origin_ref, lot.origin_source) == (board, "R7", "board")


def test_a_board_that_nobody_knows_is_refused_with_the_nearest() -> None:
    BoardFactory(name="Plover donor 1")
    (bad,) = refused(stock_csv(RESISTOR | {"Quantity": "1", "Source": "board", "From": "Plover doner 1"}))
    assert bad.column == "From"
    assert "Plover donor 1" in bad.detail


def test_only_a_piece_from_a_board_has_a_reference() -> None:
    (bad,) = refused(stock_csv(RESISTOR | {"Quantity": "1", "From ref": "R7"}))
    assert bad.column == "From ref"
    assert "only a piece from a board" in bad.detail


def test_a_position_gave_one_piece() -> None:
    BoardFactory(name="Plover donor")
    origin = {"Source": "board", "From": "Plover donor", "From ref": "R7"}
    (bad,) = refused(stock_csv(RESISTOR | origin | {"Quantity": "2"}))
    assert bad.column == "Quantity"
    single = RESISTOR | origin | {"Quantity": "1"}
    (bad,) = refused(stock_csv(single, single))
    assert (bad.row, bad.column) == (3, "From ref")
    take_in(stock_csv(single))
    assert counts(take_in(stock_csv(single))) == (0, 0, 1)
    (bad,) = refused(stock_csv(single | {"Marking": "x"}))
    assert "on record already" in bad.detail
    assert Board.objects.count() == 1


def test_large_sheets_take_few_queries(django_assert_max_num_queries: object) -> None:
    lines = [RESISTOR | {"Marking": str(n), "Value": f"{n + 10}k"} for n in range(400)]
    take_in(stock_csv(RESISTOR))
    file = stock_csv(*lines)
    with django_assert_max_num_queries(80):  # type: ignore[operator]
        from inventory import sheets

        sheets.import_sheet(file, name="x.csv", kind="stock", by=None)
    assert len(lines_of(file)) == 400
