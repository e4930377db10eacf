"""The buy sheet comes back: lines ordered once, what came put away, whatever is wrong named by its cell."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import sheets
from inventory.models import Holding, Lot, Movement, Part, Place
from inventory.people import add_person
from inventory.places import paths
from inventory.sheets import BadRows
from repairs import purchases, reservations
from repairs.answers.buy import OrderLine, order, to_buy
from repairs.models import Purchase
from tests.factories import JobFactory, NeedFactory, PartFactory, spec, stock
from tests.parts import CAN
from tests.sheets.importing import (
    book_of,
    counts,
    exported,
    held,
    lines_of,
    refused,
    spot,
    stock_csv,
    take_in,
)

pytestmark = pytest.mark.django_db

OHMS = spec("resistor", "4k7", tolerance_percent=Decimal(5))
ORDER = {"State": "ordered"}
CAME = {"State": "received", "Place": "Cabinet A / Drawer 7"}
Line = Mapping[str, Any]


@pytest.fixture(autouse=True)
def part() -> Part:
    """A job lacks four cans, which the bench knows, and two resistors, which it does not."""
    job = JobFactory(name="Plover rebuild")
    NeedFactory(job=job, of=CAN, quantity=4)
    NeedFactory(job=job, of=OHMS, ref="R1")
    known: Part = PartFactory(of=CAN)
    Part.objects.filter(pk=known.pk).update(price=Decimal("0.30"))
    known.refresh_from_db()
    return known


def lines(form: str = "xlsx") -> list[dict[str, str]]:
    return lines_of(exported(form, "buy"))


def line_of(what: str, **facts: str) -> dict[str, str]:
    """A line of a fresh list, with cells changed."""
    [found] = [line for line in lines() if line["Value"] == what]
    return found | facts


def bought() -> list[tuple[str, int, str, str]]:
    rows = Purchase.objects.order_by("id")
    return [(row.state, row.quantity, f"{row.price or 0:.2f}", row.bought_from) for row in rows]


def bring(*rows: Line, **how: Any) -> tuple[int, int, int]:
    """Take rows in, and again: the second time changes nothing."""
    report = take_in(stock_csv(*rows), "buy", **how)
    if not how.get("dry_run"):
        state = bought(), Lot.objects.count()
        again = take_in(stock_csv(*rows), "buy")
        assert counts(again) == (0, 0, len(rows))
        assert (bought(), Lot.objects.count()) == state
    return counts(report)


# --- its own export


@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_a_list_that_was_not_marked_asks_for_nothing(form: str) -> None:
    Purchase.objects.create(part=PartFactory(of=spec("resistor", "10k")), quantity=3, state="ordered")
    before = bought()
    report = take_in(exported(form, "buy"), "buy")
    assert counts(report) == (0, 0, 3)
    assert report.unknown_columns == []
    assert report.notes == ["2 lines are marked neither ordered nor received: nothing is done there."]
    assert bought() == before


PRICES = st.decimals(0, 99_999, places=4, allow_nan=False, allow_infinity=False)
# The workbooks of these tests are written by openpyxl, to which = at the start is a formula.
GIVERS = st.text(st.characters(exclude_categories=["C", "Z"]), max_size=20).filter(
    lambda giver: not giver.startswith("=")
) | st.sampled_from(["Harbour Radio", "Wren & sons", "from 3 at 0.25", "-", "v1: 4"])


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.dictionaries(
        st.sampled_from(["100µ", "4k7"]), st.tuples(st.integers(1, 1_000_000), PRICES, GIVERS), min_size=1
    ),
    st.sampled_from(["xlsx", "csv"]),
)
def test_what_is_marked_ordered_stands_so_in_the_next_sheet(
    marks: dict[str, tuple[int, Decimal, str]], form: str
) -> None:
    with transaction.atomic():
        rows = [
            line | ({"State": "ordered", "Pieces": str(mark[0]), "Price": f"{mark[1]:f}", "From": mark[2]}
                    if (mark := marks.get(line["Value"])) else {})
            for line in lines()
        ]  # fmt: skip
        sent = book_of(*rows) if form == "xlsx" else stock_csv(*rows)
        assert counts(take_in(sent, "buy")) == (len(marks), 0, 2 - len(marks))
        answer = {
            line["Value"]: (int(line["Pieces"]), Decimal(line["Price"]), line["From"])
            for line in lines(form) if line["State"] == "ordered"
        }  # fmt: skip
        assert answer == marks
        assert counts(take_in(sent, "buy")) == (0, 0, 2)
        assert counts(take_in(exported(form, "buy"), "buy"))[:2] == (0, 0)
        transaction.set_rollback(True)


# --- ordering


def test_a_line_is_ordered_as_it_was_edited_and_only_once() -> None:
    row = line_of("100µ", Pieces="6", Price="0,25", From="Harbour Radio", **ORDER)
    assert bring(row) == (1, 0, 0)
    assert bought() == [("ordered", 6, "0.25", "Harbour Radio")]
    assert [item.spec for item in to_buy().results] == [OHMS]


def test_the_price_that_is_left_out_is_the_guess_that_there_is() -> None:
    bring(line_of("100µ", Price="", **ORDER))
    assert bought() == [("ordered", 4, "0.30", "")]


def test_a_part_that_the_bench_does_not_know_yet_is_made() -> None:
    bring(line_of("4k7", From="Wren", **ORDER))
    [made] = Purchase.objects.all()
    assert made.part.spec.spec == OHMS
    assert bought() == [("ordered", 1, "0.00", "Wren")]


def test_what_was_wanted_before_is_ordered_first(part: Part) -> None:
    Purchase.objects.create(part=part, quantity=5, note="for the tray")
    bring(line_of("100µ", Pieces="4", **ORDER))
    assert bought() == [("ordered", 4, "0.30", ""), ("wanted", 1, "0.00", "")]


def test_a_line_may_be_split_between_two_shops() -> None:
    row = line_of("100µ", Pieces="2", **ORDER)
    assert bring(row | {"From": "Wren"}, row | {"From": "Harbour Radio"}) == (2, 0, 0)
    assert bought() == [("ordered", 2, "0.30", "Wren"), ("ordered", 2, "0.30", "Harbour Radio")]


def test_of_two_lists_the_second_orders_nothing(part: Part) -> None:
    first, second = (line_of("100µ", **ORDER) for _list in range(2))
    assert first["As written"] != second["As written"]
    bring(first)
    [cell] = refused(stock_csv(second), "buy")
    assert (cell.column, cell.found) == ("State", "ordered")
    assert "on the buy list; to buy it all the same" in cell.detail


def test_a_sheet_that_somebody_typed_orders_once_too() -> None:
    typed = {"Kind": "capacitor", "Value": "100u", "Volts": "50", "Dielectric": "aluminium",
             "Polarised": "yes", "Qty": "4", "State": "ordered", "Supplier": "Wren"}  # fmt: skip
    assert bring(typed) == (1, 0, 0)
    report = take_in(stock_csv(typed), "buy")
    assert "1 line came in before: not done again" in report.notes[0]
    NeedFactory(of=CAN, quantity=9)
    assert bring(typed | {"As written": "for the tower"}) == (1, 0, 0)
    assert [row[:2] for row in bought()] == [("ordered", 4), ("ordered", 4)]


def test_a_preview_orders_and_receives_nothing() -> None:
    rows = line_of("100µ", **ORDER), line_of("4k7", **CAME)
    assert bring(*rows, dry_run=True) == (2, 0, 0)
    assert bought() == []
    assert not Place.objects.filter(name="Drawer 7").exists()


# --- receiving


def test_what_was_ordered_by_the_sheet_is_received_by_the_same_line() -> None:
    row = line_of("100µ", Pieces="4", From="Harbour Radio", **ORDER)
    bring(row)
    assert bring(row | CAME | {"Pieces": "3"}) == (0, 1, 0)
    assert bought() == [
        ("received", 3, "0.30", "Harbour Radio"), ("ordered", 1, "0.30", "Harbour Radio"),
    ]  # fmt: skip
    lot = Lot.objects.get()
    assert held(lot) == {"Cabinet A / Drawer 7": 3}
    assert (lot.origin_source, lot.origin_from) == ("bought", "Harbour Radio")
    # The old file, which says ordered, is still no second order.
    assert counts(take_in(stock_csv(row), "buy")) == (0, 0, 1)


def test_what_came_at_once_is_ordered_and_put_away_in_one() -> None:
    assert bring(line_of("100µ", **CAME)) == (1, 0, 0)
    assert [row[:2] for row in bought()] == [("received", 4)]
    assert held(Lot.objects.get()) == {"Cabinet A / Drawer 7": 4}


def test_what_is_on_order_is_changed_and_received_by_its_number(part: Part) -> None:
    [made] = order([OrderLine(part, 4)])
    row = line_of("100µ")
    assert (row["Purchase"], row["State"], row["Pieces"]) == (str(made.pk), "ordered", "4")
    assert bring(row | {"Pieces": "5", "Price": "0.28", "From": "Wren"}) == (0, 1, 0)
    assert bought() == [("ordered", 5, "0.28", "Wren")]
    assert bring(line_of("100µ", **CAME)) == (0, 1, 0)
    assert bought() == [("received", 5, "0.28", "Wren")]
    assert Holding.objects.get().quantity == 5


def test_fewer_than_ordered_leave_the_rest_on_order_and_more_are_taken_in(part: Part) -> None:
    first, second = (Purchase.objects.create(part=part, quantity=4, state="ordered") for _ in range(2))
    rows = [line for line in lines() if line["Purchase"]]
    bring(rows[0] | CAME | {"Pieces": "1"}, rows[1] | CAME | {"Pieces": "6"})
    assert sorted(row[:2] for row in bought()) == [("ordered", 3), ("received", 1), ("received", 6)]
    assert Purchase.objects.filter(pk__in=[first.pk, second.pk], state="received").count() == 2


def test_an_arrival_that_was_undone_may_come_again() -> None:
    row = line_of("100µ", **CAME)
    bring(row)
    reservations.reverse(Movement.objects.get(), by=None)
    assert [facts[:2] for facts in bought()] == [("ordered", 4)]
    assert bring(row) == (0, 1, 0)
    assert [facts[:2] for facts in bought()] == [("received", 4)]
    assert Holding.objects.get(quantity__gt=0).quantity == 4


def test_a_place_that_is_not_there_is_made_and_reported(part: Part) -> None:
    report = take_in(stock_csv(line_of("100µ", **CAME)), "buy")
    assert report.notes == ["Places made: Cabinet A; Cabinet A / Drawer 7."]
    assert "Cabinet A / Drawer 7" in paths().values()


# --- an old sheet undoes nothing


def test_an_untouched_row_of_an_old_sheet_asks_for_nothing(part: Part) -> None:
    [made] = order([OrderLine(part, 4)])
    row = line_of("100µ")
    Purchase.objects.filter(pk=made.pk).update(quantity=7, version=2)
    assert bring(row) == (0, 0, 1)
    purchases.receive(made, spot_in("Tray 1"), by=None)
    assert bring(row) == (0, 0, 1)
    assert [row[:2] for row in bought()] == [("received", 7)]


def test_a_changed_row_is_refused_where_things_have_moved_on(part: Part) -> None:
    [made] = order([OrderLine(part, 4)])
    row = line_of("100µ")
    Purchase.objects.filter(pk=made.pk).update(quantity=7, version=2)
    [cell] = refused(stock_csv(row | {"Pieces": "5"}), "buy")
    assert (cell.column, cell.found) == ("Pieces", "5")
    assert "changed since the sheet was written" in cell.detail
    purchases.receive(made, spot_in("Tray 1"), by=None)
    [cell] = refused(stock_csv(row | {"Pieces": "5"}), "buy")
    assert f"7 came before, as lot {Lot.objects.get().pk}" in cell.detail


@pytest.mark.parametrize(
    ("first", "then", "column", "message"),
    [
        (ORDER, ORDER | {"Pieces": "9"}, "Pieces", "this line ordered 4"),
        (ORDER, ORDER | {"Price": "0.99"}, "Price", "says 0.3"),
        (CAME, CAME | {"Pieces": "9"}, "Pieces", "4 came before"),
        (CAME, CAME | {"Place": "Tray 9"}, "Place", "was put in Cabinet A / Drawer 7"),
    ],
)
def test_a_line_that_ordered_before_is_not_made_to_say_otherwise(
    first: Line, then: Line, column: str, message: str
) -> None:
    row = line_of("100µ")
    bring(row | first)
    [cell] = refused(stock_csv(row | then), "buy")
    assert cell.column == column
    assert message in cell.detail


def spot_in(tray: str) -> Any:
    Place.objects.get_or_create(name=tray, type=Place.Type.TRAY)
    return spot(tray)


# --- bad cells


@pytest.mark.parametrize(
    ("facts", "column", "message"),
    [
        ({"State": "perhaps"}, "State", "expected one of ordered, received"),
        (ORDER | {"Pieces": ""}, "Pieces", "expected how many pieces"),
        (ORDER | {"Pieces": "0"}, "Pieces", "from 1 to 1,000,000"),
        (ORDER | {"Pieces": "a few"}, "Pieces", "whole number"),
        (ORDER | {"Price": "cheap"}, "Price", "expected a number such as 0.25"),
        (ORDER | {"From": "x" * 201}, "From", "at most 200 characters"),
        (ORDER | {"Place": "Tray 1"}, "Place", "only what was received"),
        (CAME | {"Place": ""}, "Place", "expected the drawer or tray"),
        (CAME | {"Place": "scrap bin"}, "Place", "pieces are scrapped by a movement"),
        (ORDER | {"Part": "999999"}, "Part", "no part has this number"),
        (ORDER | {"Purchase": "999999"}, "Purchase", "no purchase has this number"),
        (ORDER | {"Value": "220u"}, "Value", "for another part leave Part blank"),
        (ORDER | {"As written": "x" * 81}, "As written", "at most 80 characters"),
    ],
)
def test_a_cell_that_will_not_do_is_named(facts: Line, column: str, message: str) -> None:
    cells = refused(book_of(line_of("100µ") | facts, line_of("4k7", **ORDER), sheet="Buy"), "buy")
    [cell] = [cell for cell in cells if cell.column == column]
    assert (cell.sheet, cell.row) == ("Buy", 2)
    assert message in cell.detail


@pytest.mark.parametrize(
    ("facts", "column", "message"),
    [
        ({"State": ""}, "State", "expected ordered, or received"),
        ({"As written": "yesterday"}, "As written", "leave this cell as it was written"),
        ({"Value": "220u"}, "Value", "for another part"),
    ],
)
def test_a_row_of_what_is_on_order_is_checked_too(part: Part, facts: Line, column: str, message: str) -> None:
    order([OrderLine(part, 4)])
    [cell] = [cell for cell in refused(stock_csv(line_of("100µ") | facts), "buy") if cell.column == column]
    assert message in cell.detail


def test_of_anothers_order_the_cell_that_is_refused_is_named(part: Part) -> None:
    """An owner of the bench puts its price right, but does not change how many she ordered."""
    wren, robin = add_person("wren", role="bench"), add_person("robin", role="owner")
    order([OrderLine(part, 4)])
    Purchase.objects.update(owner=wren)
    [row] = [line | {"Price": "0.85"} for line in lines() if line["Purchase"]]
    with pytest.raises(BadRows) as bad:
        sheets.import_sheet(stock_csv(row | {"Pieces": "5"}), name="test.csv", kind="buy", by=robin)
    [cell] = bad.value.errors
    assert (cell.column, "only wren" in cell.detail) == ("Pieces", True)
    report = sheets.import_sheet(stock_csv(row), name="test.csv", kind="buy", by=robin)
    assert counts(report) == (0, 1, 0)


def test_a_purchase_stands_in_one_row_and_is_of_its_part(part: Part) -> None:
    order([OrderLine(part, 4)])
    row, other = line_of("100µ"), PartFactory(of=spec("resistor", "10k"))
    [cell] = refused(stock_csv(row, row), "buy")
    assert (cell.row, cell.column) == (3, "Purchase")
    cells = refused(stock_csv(row | {"Part": str(other.pk)}), "buy")
    assert "is of part" in next(cell.detail for cell in cells if cell.column == "Part")


def test_one_bad_cell_keeps_the_whole_sheet_out() -> None:
    bad = line_of("100µ", **ORDER), line_of("4k7", **ORDER | {"Pieces": "x"})
    refused(stock_csv(*bad), "buy")
    assert bought() == []
    take_in(stock_csv(bad[0]), "buy")
    assert len(bought()) == 1


def test_the_columns_that_must_be_there_are_named(part: Part) -> None:
    answer = {cell.column for cell in refused(stock_csv({"Part": str(part.pk), "From": "Wren"}), "buy")}
    assert answer == {"Pieces", "State"}


def test_so_many_lines_are_ordered_at_once_and_no_more() -> None:
    typed = {"Kind": "resistor", "Value": "4k7", "Tolerance": "5%", "Pieces": "1", **ORDER}
    [cell] = refused(stock_csv(*[typed] * 501), "buy")
    assert (cell.row, cell.column) == (502, "State")
    assert "split the sheet" in cell.detail


def test_the_numbers_in_a_long_sheet_are_looked_up_a_few_hundred_at_a_time() -> None:
    # SQLite takes 250,000 numbers in one question at most, and as it comes from its makers 32,766.
    rows = ({"Purchase": str(10**6 + n), "Kind": "resistor", "Pieces": "1", **ORDER} for n in range(1_100))
    with CaptureQueriesContext(connection) as asked, pytest.raises(sheets.BadRows) as bad:
        take_in(stock_csv(*rows), "buy")
    assert bad.value.total == 1_100
    assert max(query["sql"].count(", 100") for query in asked) < 600


def test_what_no_job_lacks_is_not_ordered_from_a_sheet() -> None:
    stock(9, part=PartFactory(of=CAN))
    typed = {"Kind": "resistor", "Value": "22k", "Pieces": "4", **ORDER}
    [cell] = refused(stock_csv(typed), "buy")
    assert "to buy it all the same, make a purchase" in cell.detail


def test_the_sheets_of_named_jobs_hold_the_list_alone(part: Part) -> None:
    order([OrderLine(part, 4)])
    job = str(to_buy().results[0].jobs[0].job)
    assert [line["Value"] for line in lines_of(exported("csv", "buy", job=job))] == ["4k7"]
    with pytest.raises(sheets.BadOption):
        exported("csv", "buy", postage="much")
    assert [line["Postage"] for line in lines_of(exported("csv", "buy", job=job, postage="3.50"))] == ["3.50"]
