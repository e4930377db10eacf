"""Rails in the order of proving (common practice, no source); windows of 5 V TTL are 4.75 to 5.25 V."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from inventory.design_facts import DesignFacts
from repairs.proving import items, rails, ready
from repairs.proving.board import BoardFacts, BoardPosition
from repairs.proving.fitted import FittedPiece
from repairs.proving.rails import (
    AT_PINS,
    CHIPS_OUT,
    OHMS,
    Bench,
    BoardRailReading,
    RailFinding,
    check_rails,
    with_negative_first,
)
from tests.proving.boards import design, part

TERN = design("tern-tr6-a").rails  # -5 V first: it protects three-rail memory
EMPTY = Bench(frozenset())
PROTECTED = tuple(sorted({ref for rail in TERN for ref in rail.protects}))
AT = {rail.name: rail.at for rail in TERN}


def taken(rail: str, stage: str, amount: str | None, **more: Any) -> BoardRailReading:
    ohms = None if amount is None else Decimal(amount)
    return replace(BoardRailReading(rail, stage, ohms, 0, "", AT[rail], PROTECTED), **more)


OHMS_TAKEN = [taken(rail.name, OHMS, "220") for rail in TERN]


def volts(rail: str, amount: str, stage: str = CHIPS_OUT, **more: Any) -> BoardRailReading:
    return taken(rail, stage, amount, **more)


GOOD = [volts("-5V", "-5.02"), volts("+5V", "4.98"), volts("+12V", "12.1"), volts("-12V", "-11.9")]


def states(found: tuple[RailFinding, ...], stage: str) -> dict[str, str]:
    return {each.rail: each.state for each in found if each.stage == stage}


def test_nothing_measured_is_open_in_the_order_of_the_drawing() -> None:
    found = check_rails(TERN, [], EMPTY)
    assert [each.rail for each in found if each.stage == CHIPS_OUT] == ["-5V", "+5V", "+12V", "-12V"]
    assert {each.state for each in found if each.stage != AT_PINS} == {"open"}


def test_all_rails_pass_after_ohms_and_volts() -> None:
    found = check_rails(TERN, [*OHMS_TAKEN, *GOOD], EMPTY)
    assert {each.state for each in found} == {"pass"}


def test_volts_before_ohms_do_not_count() -> None:
    found = check_rails(TERN, GOOD, EMPTY)
    assert set(states(found, CHIPS_OUT).values()) == {"open"}
    found = check_rails(TERN, [*GOOD, *OHMS_TAKEN], EMPTY)
    assert set(states(found, CHIPS_OUT).values()) == {"open"}, "the ohms come before any power"


def test_a_shorted_rail_stops_and_condemns_no_part() -> None:
    short = taken("+5V", OHMS, "0.4")
    found = check_rails(TERN, [*OHMS_TAKEN, short], EMPTY)
    stopped = next(each for each in found if each.state == "stop")
    assert (stopped.stage, stopped.rail) == (OHMS, "+5V")
    assert "condemns no part" in stopped.reason


def test_a_missing_negative_rail_says_which_chips_must_stay_out() -> None:
    missing = [*OHMS_TAKEN, volts("-5V", "0.1"), *GOOD[1:]]
    found = {each.rail: each for each in check_rails(TERN, missing, EMPTY) if each.stage == CHIPS_OUT}
    assert found["-5V"].state == "stop"
    assert "IC10, IC11" in found["-5V"].reason
    assert found["+5V"].state == "open"  # it waits for the rail that comes first


def test_a_chip_that_is_in_before_its_rail_is_a_stop() -> None:
    early = Bench(frozenset({"IC10"}), moved={"IC10": 0})
    found = next(
        each
        for each in check_rails(TERN, OHMS_TAKEN, early)
        if each.stage == CHIPS_OUT and each.rail == "-5V"
    )
    assert found.state == "stop"
    assert "must not be fitted" in found.reason


def test_a_rail_measured_with_the_chips_in_was_not_measured_with_the_chips_out() -> None:
    readings = [*OHMS_TAKEN, volts("-5V", "-5.02", filled=("IC10",)), *GOOD[1:]]
    found = check_rails(TERN, readings, EMPTY)
    assert states(found, CHIPS_OUT)["-5V"] == "open"


def test_a_changed_part_opens_ohms_and_volts_again() -> None:
    found = check_rails(TERN, [*OHMS_TAKEN, *GOOD], replace(EMPTY, moved={"R1": 1}))
    assert set(states(found, OHMS).values()) == {"open"}
    assert set(states(found, CHIPS_OUT).values()) == {"open"}


def test_pins_are_measured_for_each_chip_that_is_in_since_it_was_last_out() -> None:
    bench = Bench(frozenset({"IC10"}), moved={"IC10": 2})
    readings = [*OHMS_TAKEN, *GOOD]
    assert states(check_rails(TERN, readings, bench), AT_PINS)["-5V"] == "open"
    readings.append(volts("-5V", "-5.0", AT_PINS, ref="IC10", stamp=1))
    assert states(check_rails(TERN, readings, bench), AT_PINS)["-5V"] == "open"
    readings.append(volts("-5V", "-5.0", AT_PINS, ref="IC10", stamp=2))
    assert states(check_rails(TERN, readings, bench), AT_PINS)["-5V"] == "pass"
    readings.append(volts("-5V", "-4.1", AT_PINS, ref="IC10", stamp=2))
    assert states(check_rails(TERN, readings, bench), AT_PINS)["-5V"] == "stop"


def test_the_ttl_window_holds_at_its_ends() -> None:
    five = next(rail for rail in TERN if rail.name == "+5V")
    judged = [rails.judge_volts(five, Decimal(text))[0] for text in ("4.74", "4.75", "5.25", "5.26")]
    assert judged == ["stop", "pass", "pass", "stop"]


MINUS_FIVE = TERN[0]
THREE_RAILS = part("ic", number="4116", package="dip16", lead_style="dip")
ONE_RAIL = part("ic", number="4164", package="dip16", lead_style="dip")


def test_a_three_rail_memory_waits_for_its_minus_rail_whatever_the_drawing_says() -> None:
    """4116: +12, +5 and -5 V; 4164: +5 V alone (4116 v 4164 pins, cctech 2009)."""
    silent = replace(MINUS_FIVE, protects=())
    [rail], undrawn = with_negative_first([silent], {"U1": [THREE_RAILS], "U2": [ONE_RAIL]})
    assert (rail.protects, undrawn) == (("U1",), {})
    [rail], undrawn = with_negative_first([replace(MINUS_FIVE, protects=("U9", "U1"))], {"U1": [THREE_RAILS]})
    assert rail.protects == ("U9", "U1")

    amplifier = part("ic", number="LF353", traits={"function": "op_amp", "rails": "15 -15"})
    assert with_negative_first([], {"U3": [amplifier]})[1] == {}


def test_a_minus_rail_that_nobody_drew_is_named_with_the_chip_that_dies_of_it() -> None:
    found, undrawn = with_negative_first([], {"U1": [THREE_RAILS], "U2": [ONE_RAIL]})
    assert (found, undrawn) == ((), {"U1": Decimal(-5)})
    fitted = BoardPosition("U1", THREE_RAILS, FittedPiece("U1", 1, THREE_RAILS, condition="good"))

    def item(position: BoardPosition, **more: Any) -> items.Item | None:
        answer = ready.findings(BoardFacts(DesignFacts(), (position,), **more))
        return next((each for each in answer if each.check == "rail"), None)

    dies, works = item(fitted), item(fitted, works=True)
    assert dies is not None
    assert works is not None
    assert (dies.state, dies.refs, works.state) == ("stop", ("U1",), "open")
    assert not items.may_be_accepted(dies)
    assert item(BoardPosition("U1", THREE_RAILS)) is None, "an empty socket has nothing to lose"


def test_what_is_fitted_asks_for_its_minus_rail_where_the_design_names_only_a_function() -> None:
    """4116: +12, +5 and -5 V, as above; the position asks for 16 K x 1 of dynamic memory, of any make."""
    asked = part("ic", package="dip16", traits={"function": "dram", "organisation": "16384x1"})
    facts = BoardFacts(
        DesignFacts(), (BoardPosition("U1", asked, FittedPiece("U1", 1, THREE_RAILS, condition="good")),)
    )
    assert [item.state for item in ready.findings(facts) if item.check == "rail"] == ["stop"]
