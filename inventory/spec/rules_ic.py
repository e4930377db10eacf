"""Integrated circuits: logic, memories and the rest."""

import re

from inventory.spec.judging import (
    ANOTHER_SORT,
    DATA_SHEET,
    LOOK,
    UNKNOWN,
    Case,
    Rule,
    exact,
    not_less,
    not_more,
    plainly,
    shape_of_many_legs,
)
from inventory.spec.known_types import memory
from inventory.spec.rules_semiconductor import another_type

# ── Logic families (levels: 74-series level comparison table in the reference; speeds from memory) ─

_SPEED = {
    "cmos_4000": 0,
    "cmos_4000_ub": 0,
    "c": 0,
    "l": 1,
    "std": 3,
    "ls": 3,
    "hc": 3,
    "hct": 3,
    "h": 3,
    "als": 4,
    "ahc": 4,
    "ahct": 4,
    "s": 5,
    "f": 6,
    "ac": 6,
    "act": 6,
    "as": 7,
}
_CMOS_LEVELS = frozenset(("cmos_4000", "cmos_4000_ub", "c", "hc", "ahc", "ac"))
_CMOS_OUTPUTS = _CMOS_LEVELS | {"hct", "ahct", "act"}


_SINKS = {
    "std": 16, "ls": 8, "s": 20, "h": 20, "l": 2, "als": 8, "f": 20, "as": 20,
    "hc": 4, "hct": 4, "ahc": 8, "ahct": 8, "ac": 24, "act": 24, "c": 0.36,
    "cmos_4000": 0.44, "cmos_4000_ub": 0.44,
}  # fmt: skip
"""Milliamps that an output sinks at 5 V (from memory: data sheets); an LS input wants 0.4 of them."""
_OTHER_LEGS = frozenset(("l", "h"))
"""Families of which some numbers have other legs than the rest (from memory: 7451, 7454, 7473)."""


def _family(case: Case) -> None:
    wanted, found = case.need.get("family"), case.have.get("family")
    if wanted is None or wanted == found:
        return
    if found is None:
        if not case.same_type:
            case.unknown("family")
        return
    case.far += 20
    if case.need.get("use") == "oscillator":
        case.say("family", "no", "a gate used as an oscillator keeps its family")
    elif wanted not in _SPEED or found not in _SPEED:
        case.say("family", "ask", "compare levels, drive and speed", DATA_SHEET)
    elif wanted in _OTHER_LEGS or found in _OTHER_LEGS:
        case.say("family", "ask", "some numbers of this family have other legs: compare them", DATA_SHEET)
    elif found in _CMOS_LEVELS and wanted not in _CMOS_LEVELS:
        _cmos_for_ttl(case)
    elif found not in _CMOS_OUTPUTS and wanted in _CMOS_OUTPUTS:
        case.say("family", "ask", "TTL outputs do not reach CMOS levels, and its inputs draw current")
    elif _SPEED[found] < _SPEED[wanted]:
        case.say("family", "ask", "slower: check the timing")
    elif _SPEED[found] > _SPEED[wanted]:
        case.say("family", "with_note", "faster edges: check decoupling and ringing")
    else:
        case.say("family", "with_note", "same speed, other levels")


def _cmos_for_ttl(case: Case) -> None:
    """A TTL output reaches 2.4 V where a CMOS input wants 3.5 V."""
    drivers = case.need.get("drivers")
    if drivers is None:
        rule = "only where every driver is CMOS or pulled up, for 2.4 V is below 3.5 V: look what drives it"
        case.say("family", "ask", rule, LOOK)
    elif drivers == "ttl":
        case.say("family", "no", "driven by TTL: 2.4 V is below the 3.5 V wanted")
    else:
        case.say("family", "with_note", "every driver is CMOS or pulled up; tie unused inputs")


_DRIVERS = frozenset(
    (
        "06", "07", "16", "17", "26", "33", "37", "38", "40", "125", "126", "128", "140", "240", "241", "244",
        "245", "365", "366", "367", "368", "373", "374", "540", "541", "573", "574",
    )
)  # fmt: skip
"""Logic functions whose outputs sink more than their family's (from memory: data sheets)."""


def _fan_out(case: Case) -> None:
    """What the outputs must sink here, or that they sink less than those they stand in for."""
    wanted, found = case.need.get("family"), case.have.get("family")
    least, drive = case.need.get("load_ma"), _SINKS.get(found or "")
    if drive is None or wanted == found:
        return
    if case.need.get("function") in _DRIVERS:
        case.say("load_ma", "with_note", "its outputs drive more than their family's: compare what they sink")
    elif least is not None:
        if drive < least:
            case.say(
                "load_ma", "no", "its outputs do not sink what hangs on them here", offered=f"{drive} mA"
            )
    elif wanted in _SINKS and drive < _SINKS[wanted]:
        rule = "sinks less: count the fan-out, 1.6 mA for each standard input and 0.4 mA for each LS one"
        required, offered = f"{_SINKS[wanted]} mA", f"{drive} mA"
        case.say("load_ma", "with_note", rule, required=required, offered=offered)


# ── Memories ─────────────────────────────────────────────────────────────────────────────────────

_READ_ONLY = frozenset(("rom", "prom", "eprom", "eeprom"))
_PROGRAMMABLE = frozenset(("prom", "eprom", "eeprom"))


def _function(case: Case) -> None:
    wanted, found = case.need.get("function"), case.have.get("function")
    if wanted is None or wanted == found:
        return
    if found is None:
        if not case.same_type:
            case.unknown("function")
    elif wanted in _READ_ONLY and found in _PROGRAMMABLE:
        case.say("function", "with_note", "programme it and compare the checksum; check the select pins")
    else:
        case.say("function", "no", ANOTHER_SORT)


def _organisation(case: Case) -> None:
    wanted, found = case.need.get("organisation"), case.have.get("organisation")
    if wanted is None or wanted == found:
        return
    if found is None:
        if not case.same_type:
            case.unknown("organisation")
        return
    if case.need.get("function") not in _READ_ONLY or found[1] != wanted[1] or found[0] < wanted[0]:
        case.say("organisation", "no", "the same words and bits only")
        return
    case.far += 30
    legs = case.need.get("pins"), case.have.get("pins")
    if None in legs:
        case.say(
            "organisation", "ask", "larger: count the legs, and see what its extra address pins meet", LOOK
        )
    elif legs[0] == legs[1]:
        rule = "larger: its extra address pins select the part that is read; fill that part"
        case.say("organisation", "with_note", rule)
    else:
        case.say("organisation", "no", "larger, and with other legs")


def _refresh(case: Case) -> None:
    """The board refreshes so many rows in such a time: fewer rows and longer keeping serve."""
    not_more("refresh", vouched=False)(case)
    not_less("refresh_ms", weight=20, vouched=False)(case)


def _half(case: Case) -> None:
    """A half-good memory serves only where the links are set for that maker's half."""
    wanted, found = case.need.get("half"), case.have.get("half")
    if wanted in (None, "whole"):
        if found not in (None, "whole"):
            case.say("half", "no", "only half of it works", required="whole")
        return
    if found == wanted:
        ours, theirs = case.need.get("make"), case.have.get("make")
        if ours is not None and theirs is not None and ours != theirs:
            case.say("make", "no", "half-good parts in one bank: one make and one half")
    elif found == "whole":
        case.say("half", "with_note", "wholly good: set the links to match")
        case.far += 50
    elif found is None:
        case.unknown("half")
    else:
        case.say("half", "no", "the other half works")


def _make(case: Case) -> None:
    wanted, found = case.need.get("make"), case.have.get("make")
    if wanted is None or wanted == found:
        return
    if found is None:
        case.unknown("make")
    elif case.need.get("half") in (None, "whole"):
        case.say("make", "with_note", "another make: check timing and links of the bank")
        case.far += 5


def _content(case: Case) -> None:
    wanted, found = case.need.get("content"), case.have.get("content")
    if wanted is None or wanted == found:
        return
    if case.have.get("function") in ("eprom", "eeprom"):
        offered = found or "blank or " + UNKNOWN
        case.say("content", "with_note", "programme it and compare the checksum", offered=offered)
    elif found is None:
        case.unknown("content")
    else:
        case.say("content", "no", "other content")


_SHARED_PINS = frozenset(
    (
        "op_amp", "dual_op_amp", "quad_op_amp", "comparator", "dual_comparator", "quad_comparator", "timer",
        "analogue_switch", "line_driver", "line_receiver", "darlington_drivers", "optocoupler",
    )
)  # fmt: skip
"""Functions of which many types share one arrangement of legs; which do must be looked up."""
_MEMORIES = _READ_ONLY | {"sram", "dram", "ram", "nvram"}


def _pins(case: Case) -> None:
    """Logic of one function shares its pins in every family; of other chips few types do."""
    wanted, found = case.need.get("pin_order"), case.have.get("pin_order")
    if wanted is not None and found is not None:
        if wanted != found:
            case.say("pin_order", "no", "the same pins only")
    elif case.same_type:
        _under_another_number(case)
    elif wanted is not None:
        case.unknown("pin_order")
    elif "number" in case.need and "family" not in case.need:
        _another_chip(case)


def _under_another_number(case: Case) -> None:
    """Memories have a number with each maker."""
    ours, theirs = case.requirement.number, case.offer.number
    if plainly(_figures(ours)) != plainly(_figures(theirs)) and memory(ours):
        case.say("number", "drop_in", "another maker's number for the same memory")


def _another_chip(case: Case) -> None:
    ours, theirs = case.need["number"], case.have.get("number")
    if theirs is None:
        case.only_say("number", "ask", "read the number: types of one function differ in their legs", LOOK)
    elif _figures(ours) == _figures(theirs):
        case.only_say("number", "ask", "the same figures: compare the data sheets of the makers", DATA_SHEET)
    elif "organisation" in case.need or case.need.get("function") in _MEMORIES:
        _another_memory(case, ours, theirs)
    elif case.need.get("function") in _SHARED_PINS:
        case.only_say("number", "ask", "the legs may agree: compare them and the figures", DATA_SHEET)
    elif "function" in case.need:
        case.only_say("number", "no", "another chip")


def _another_memory(case: Case, ours: str, theirs: str) -> None:
    """Of one organisation there are types that differ in legs, supply or how they are selected: a 6514 keeps
    its address from the select edge on, a 2114 does not (from memory)."""
    here, there = memory(ours), memory(theirs)
    if here and there and here.socket and here.socket == there.socket:
        return  # known to differ in address pins only
    if case.have.get("organisation") in (None, case.need.get("organisation")):
        rule = "another number: compare legs, supply, and whether it latches the address"
        case.only_say("number", "ask", rule, DATA_SHEET)


def _figures(number: str) -> str:
    """The longest run of figures: 6850 of MC6850P."""
    return max(re.findall("[0-9]+", number), key=len, default=number)


IC: tuple[Rule, ...] = (
    another_type("function"),
    _function,
    _family,
    _fan_out,
    exact("open_collector", "open collector for open collector only"),
    _organisation,
    exact("rails", "another set of supply volts"),
    exact("pins", "another number of legs"),
    not_more("speed_ns", vouched=False),
    _refresh,
    _half,
    _make,
    _content,
    _pins,
    not_less("volts"),
    not_less("amps"),
    not_less("watts"),
    shape_of_many_legs,
)
