"""Rows that carry a lot number: counts, moves, what is said of a lot, and sheets that grew old."""

import pytest
from django.db.models import F

from inventory import ledger
from inventory.models import Lot, Movement, Place
from repairs import reservations
from tests.factories import BoardFactory, NeedFactory, PartFactory, PlaceFactory, spec, stock
from tests.sheets.importing import (
    RESISTOR,
    book_of,
    counts,
    exported,
    held,
    lines_of,
    refused,
    spot,
    stock_csv,
    take_in,
)  # fmt: skip

pytestmark = pytest.mark.django_db

FORMS = ("xlsx", "csv")


@pytest.fixture
def lot() -> Lot:
    """Ten in Cabinet A / Drawer 7."""
    take_in(stock_csv(RESISTOR | {"Condition": "good", "Marking": "x"}))
    return Lot.objects.get()


def edited(lot: Lot | None = None, **cells: str) -> list[dict[str, str]]:
    """The exported rows, with cells of one lot changed."""
    return [
        line | {name.replace("_", " "): text for name, text in cells.items()}
        if lot is None or line["Lot"] == str(lot.pk)
        else line
        for line in lines_of(exported())
    ]


def kinds() -> list[str]:
    return list(Movement.objects.order_by("id").values_list("kind", flat=True))


# --- an export goes back in


@pytest.mark.parametrize("form", FORMS)
def test_an_export_that_goes_back_in_changes_nothing(form: str, lot: Lot) -> None:
    board = BoardFactory(name="Plover donor")
    rest = {"Tolerance": "", "Value": ""}
    take_in(
        stock_csv(
            RESISTOR | {"Value": "10k", "Marking": "=104", "Note": "two\nlines", "Measured": "9.87k"},
            RESISTOR | {"Quantity": "1", "Source": "board", "From": "Plover donor", "From ref": "R7"},
            RESISTOR | rest | {"Kind": "ic", "Number": "2716", "Traits": "rails=5 -5 12; half=upper"},
            RESISTOR | rest | {"Kind": "crystal", "Value": "3.579545 MHz", "Name": "colour burst"},
            RESISTOR | {"Kind": "capacitor", "Value": "0.1 µF", "Polarised": "no", "Dielectric": "c0g"},
        )
    )
    movements = Movement.objects.count()
    report = take_in(exported(form))
    assert counts(report) == (0, 0, 6)
    assert Movement.objects.count() == movements
    assert set(Lot.objects.values_list("version", flat=True)) == {1}
    assert board.pieces.count() == 1


def test_an_export_names_the_lot_and_what_is_promised(lot: Lot) -> None:
    need = NeedFactory(of=lot.part.spec.spec, quantity=3)
    reservations.reserve(need, lot.holdings.get(), 3, by=None)
    (line,) = lines_of(exported())
    assert (line["Lot"], line["Promised"], line["Quantity"]) == (str(lot.pk), "3", "10")
    assert counts(take_in(exported())) == (0, 0, 1)


def test_pieces_on_boards_with_people_and_in_the_scrap_bin_are_not_stock(lot: Lot) -> None:
    stock(place=BoardFactory().place, ref="R1", part=PartFactory(of=spec("resistor", "1k")))
    person = PlaceFactory(type=Place.Type.PERSON)
    at = spot("Cabinet A / Drawer 7")
    ledger.lend(lot, at, person, 2, by=None)
    ledger.scrap(lot, at, 3, by=None)
    (line,) = lines_of(exported())
    assert line["Quantity"] == "5"


# --- counts and moves


@pytest.mark.parametrize(("counted", "kind"), [("12", "count"), ("7", "count"), ("0", "count")])
def test_another_quantity_is_a_count(lot: Lot, counted: str, kind: str) -> None:
    assert counts(take_in(book_of(*edited(Quantity=counted)))) == (0, 1, 0)
    assert sum(held(lot).values()) == int(counted)
    line = Movement.objects.latest("id")
    assert (line.kind, line.quantity, line.note) == (kind, abs(int(counted) - 10), "from a spreadsheet")


def test_another_place_is_a_move_with_all_that_is_there(lot: Lot) -> None:
    report = take_in(book_of(*edited(Place="Cabinet B / Tray 1")))
    assert counts(report) == (0, 1, 0)
    assert held(lot) == {"Cabinet B / Tray 1": 10}
    assert kinds() == ["receive", "move"]


def test_another_place_and_quantity_is_a_count_and_a_move(lot: Lot) -> None:
    take_in(book_of(*edited(Place="Drawer 9", Quantity="8")))
    assert held(lot) == {"Drawer 9": 8}
    assert kinds() == ["receive", "count", "move"]


def test_a_row_that_was_doubled_splits_the_pieces(lot: Lot) -> None:
    (line,) = edited()
    take_in(book_of(line | {"Quantity": "6"}, line | {"Quantity": "4", "Place": "Drawer 9"}))
    assert held(lot) == {"Cabinet A / Drawer 7": 6, "Drawer 9": 4}
    assert kinds() == ["receive", "move"]


def test_the_same_changed_sheet_again_changes_nothing(lot: Lot) -> None:
    (line,) = edited(Condition="suspect", Note="doubtful")
    file = book_of(line | {"Quantity": "6"}, line | {"Quantity": "5", "Place": "Drawer 9"})
    assert counts(take_in(file)) == (0, 2, 0)
    movements = Movement.objects.count()
    assert counts(take_in(file)) == (0, 0, 2)
    assert Movement.objects.count() == movements


def test_two_rows_for_one_lot_and_place_are_refused(lot: Lot) -> None:
    (line,) = edited()
    (bad,) = refused(book_of(line, line | {"Quantity": "4"}))
    assert (bad.row, bad.column) == (3, "Place")


def test_a_stock_take_needs_only_lot_place_and_quantity(lot: Lot) -> None:
    other = stock(5, part=PartFactory(of=spec("resistor", "1k"))).lot
    take_in(stock_csv({"Lot": lot.pk, "Quantity": "9"}, {"Lot": other.pk, "Quantity": "5"}))
    assert sum(held(lot).values()) == 9
    assert (lot.part.pk, Lot.objects.get(pk=lot.pk).marking) == (lot.part_id, "x")


def test_without_the_place_a_lot_in_two_places_is_refused(lot: Lot) -> None:
    ledger.move(lot, spot("Cabinet A / Drawer 7"), ledger.Spot(PlaceFactory(name="Tray 1").pk), 4, by=None)
    (bad,) = refused(stock_csv({"Lot": lot.pk, "Quantity": "9"}))
    assert "6 in Cabinet A / Drawer 7 and 4 in Tray 1" in bad.detail


def test_a_place_that_a_lot_in_two_places_is_not_in_is_refused_without_the_written_cell(lot: Lot) -> None:
    ledger.move(lot, spot("Cabinet A / Drawer 7"), ledger.Spot(PlaceFactory(name="Tray 1").pk), 4, by=None)
    (bad,) = refused(stock_csv({"Lot": lot.pk, "Quantity": "9", "Place": "Drawer 30"}))
    assert bad.column == "Place"


def test_pieces_do_not_join_others_of_their_lot_unseen(lot: Lot) -> None:
    ledger.move(lot, spot("Cabinet A / Drawer 7"), ledger.Spot(PlaceFactory(name="Tray 1").pk), 4, by=None)
    line = next(line for line in edited() if line["Quantity"] == "6")
    (bad,) = refused(book_of(line | {"Place": "Tray 1"}))
    assert "4 of lot" in bad.detail


def test_promised_pieces_are_not_counted_away_nor_moved_from_under_their_promise(lot: Lot) -> None:
    need = NeedFactory(of=lot.part.spec.spec, quantity=3)
    reservations.reserve(need, lot.holdings.get(), 3, by=None)
    (bad,) = refused(book_of(*edited(Quantity="2")))
    assert (bad.row, bad.column, bad.found) == (2, "Quantity", "2")
    assert "3 are reserved" in bad.detail
    (bad,) = refused(book_of(*edited(Place="Drawer 9")))
    assert bad.column == "Place"
    assert "7 free there" in bad.detail


# --- what is said of a lot


def test_condition_marking_note_and_reading_are_changed(lot: Lot) -> None:
    take_in(book_of(*edited(Condition="suspect", Marking="", Note="reads high", Measured="4.9k")))
    lot.refresh_from_db()
    assert (lot.condition, lot.marking, lot.note, lot.measured) == (
        "suspect",
        "",
        "reads high",
        4_900_000_000,
    )
    assert lot.version == 2
    assert kinds() == ["receive"]


def test_a_sheet_without_a_column_leaves_it_as_it_is(lot: Lot) -> None:
    take_in(stock_csv({"Lot": lot.pk, "Quantity": "10", "Condition": "faulty"}))
    lot.refresh_from_db()
    assert (lot.condition, lot.marking) == ("faulty", "x")


def test_a_new_reading_does_not_keep_the_meter_error_of_the_last(lot: Lot) -> None:
    Lot.objects.filter(pk=lot.pk).update(measured=4_700_000_000, measured_tolerance="0.1")
    row = {name: cell for name, cell in edited(Measured="4k71")[0].items() if name != "Meter error %"}
    take_in(stock_csv(row))
    lot.refresh_from_db()
    assert (lot.measured, lot.measured_tolerance) == (4_710_000_000, None)


def test_promised_pieces_are_not_called_faulty_by_a_sheet(lot: Lot) -> None:
    need = NeedFactory(of=lot.part.spec.spec, quantity=3)
    reservations.reserve(need, lot.holdings.get(), 3, by=None)
    (bad,) = refused(book_of(*edited(Condition="faulty")))
    assert bad.column == "Condition"
    assert "promised" in bad.detail


@pytest.mark.parametrize(
    ("heading", "text"),
    [
        ("Value", "10k"),
        ("Lead style", "radial"),
        ("Volts", "63"),
        ("Source", "bought"),
        ("From", "someone else"),
    ],
)
def test_what_a_lot_is_and_where_it_came_from_stay(lot: Lot, heading: str, text: str) -> None:
    line = edited()[0] | {heading: text}
    errors = refused(book_of(line))
    assert {bad.row for bad in errors} == {2}
    assert heading in [bad.column for bad in errors]


def test_two_rows_of_a_lot_that_say_two_things_of_it_are_refused(lot: Lot) -> None:
    (line,) = edited()
    errors = refused(
        book_of(
            line | {"Quantity": "6", "Note": "a"}, line | {"Quantity": "4", "Place": "Drawer 9", "Note": "b"}
        )
    )
    assert [(bad.row, bad.column) for bad in errors] == [(3, "Note")]


# --- old sheets


def test_an_old_sheet_undoes_nothing(lot: Lot) -> None:
    old = book_of(*edited())
    at = spot("Cabinet A / Drawer 7")
    ledger.scrap(lot, at, 4, by=None)
    assert counts(take_in(old)) == (0, 0, 1)
    assert held(lot)["Cabinet A / Drawer 7"] == 6
    ledger.move(lot, at, ledger.Spot(PlaceFactory(name="Tray 1").pk), 6, by=None)
    assert counts(take_in(old)) == (0, 0, 1)
    assert held(lot)["Tray 1"] == 6


def test_a_count_in_an_old_sheet_is_refused(lot: Lot) -> None:
    old = book_of(*edited(Quantity="9"))
    ledger.scrap(lot, spot("Cabinet A / Drawer 7"), 4, by=None)
    (bad,) = refused(old)
    assert bad.column == "Quantity"
    assert "10 were there when the sheet was written, 6 are now" in bad.detail


def test_a_count_where_the_pieces_went_elsewhere_since_is_refused(lot: Lot) -> None:
    old = book_of(*edited(Quantity="9"))
    ledger.move(lot, spot("Cabinet A / Drawer 7"), ledger.Spot(PlaceFactory(name="Tray 1").pk), 10, by=None)
    (bad,) = refused(old)
    assert "10 in Tray 1" in bad.detail


def test_what_was_recorded_of_a_lot_since_is_not_overwritten(lot: Lot) -> None:
    old = book_of(*edited(Note="from the sheet"))
    Lot.objects.filter(pk=lot.pk).update(note="from the bench", version=F("version") + 1)
    (bad,) = refused(old)
    assert bad.column == "Note"
    assert "changed since the sheet was written" in bad.detail


def test_the_written_cell_is_left_alone_or_blank(lot: Lot) -> None:
    (bad,) = refused(book_of(*edited(As_written="yesterday")))
    assert bad.column == "As written"
    assert counts(take_in(book_of(*edited(As_written="", Quantity="9")))) == (0, 1, 0)
