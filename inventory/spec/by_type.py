"""Rules of parts that are known by a type number: another type, the order of its legs, its metal tab."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inventory.spec.judging import DATA_SHEET, LOOK, TEST, UNKNOWN, Case, Rule
from inventory.type_numbers import type_number

if TYPE_CHECKING:
    from inventory.spec.spec import Spec


def another_type(*core: str) -> Rule:
    """Another type number is judged by its figures, and only where the requirement states those of `core`."""

    def rule(case: Case) -> None:
        wanted = case.need.get("number")
        if wanted is None or case.same_type:
            return
        missing = [name for name in core if name not in case.need and name not in case.requirement.known]
        if missing:
            rule = f"compare the data sheets: {', '.join(missing)} not stated"
            case.add_reason("number", "ask", rule, DATA_SHEET)
        elif case.have.get("number") is not None:
            case.add_reason("number", "drop_in", "another type, judged by its figures")
            case.far += 20

    return rule


def figures_of_the_type(*names: str) -> Rule:
    """Less than the type that it stands in for can do is a question: the place may not ask as much of it."""

    def rule(case: Case) -> None:
        if case.same_type and case.requirement.number == case.offer.number:
            return
        for name in names:
            if name == "gain_max" and case.same_type and _is_of_any_group(case.requirement):
                continue
            able, found = case.requirement.known.get(name), case.have.get(name)
            if name not in case.need and able is not None and found is not None and found < able:
                rule = "less than the type that it replaces: see what the place needs"
                case.add_reason(name, "ask", rule, LOOK, required=able)

    return rule


def _is_of_any_group(requirement: Spec) -> bool:
    """BC108 asks for the type as a whole: each of its gain groups is that (common practice)."""
    return not type_number(requirement.kind, requirement.number).grade


def pin_order(case: Case) -> None:
    """One type number is made with two pin orders, so it must be known of both, or the maker be the same."""
    wanted, found = case.need.get("pin_order"), case.have.get("pin_order")
    if wanted is None or found is None:
        same_make = case.need.get("make") is not None and case.need.get("make") == case.have.get("make")
        if case.same_type and case.same_position:
            case.add_reason("pin_order", "with_note", _SAME_POSITION, required=wanted or UNKNOWN)
        elif not (case.same_type and same_make):
            case.add_reason("pin_order", "ask", _TWO_ORDERS[wanted is None], TEST, required=wanted or UNKNOWN)
    elif wanted != found:
        turned = wanted.split("-") == found.split("-")[::-1]
        how = "turned round it agrees" if turned else "legs must be crossed and sleeved"
        case.add_reason("pin_order", "ask", f"{how}: test the legs, then record that it serves here", TEST)


_SAME_POSITION = "the same type off the same position of the same design: put it in as it came out"
_TWO_ORDERS = {
    False: "the same type is made with two pin orders: test the legs of this piece",
    True: "the same type is made with two pin orders: read off the board which one goes where",
}
"""By whether it is the place of which the order is not known."""


def tab(case: Case) -> None:
    """The metal tab carries what it is joined to, to the heatsink or to nothing (practice of the trade)."""
    if not case.differs("tab"):
        return
    if case.have["tab"] == "isolated":
        case.add_reason(
            "tab", "with_note", "an isolated tab carries no current and cools less: wire that leg"
        )
    else:
        case.add_reason(
            "tab", "with_note", "put a washer and a bush under the tab; ohms to the heatsink before power"
        )
