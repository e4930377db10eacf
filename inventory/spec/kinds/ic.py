"""Integrated circuits: logic, memories and the rest."""

import re
from decimal import Decimal

from inventory.spec.by_type import another_type
from inventory.spec.judging import (
    ANOTHER_SORT,
    DATA_SHEET,
    LOOK,
    TEST,
    UNKNOWN,
    Case,
    Rule,
    exact,
    not_less,
    not_more,
    plainly,
    shape_of_many_legs,
)
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Flag, Number, Numbers, Organisation, Pins, Text, Trait, Word, place_use
from inventory.type_numbers import memory_of, type_number

TRAITS: dict[str, Trait] = {
    "function": Word("what it does: dram, rom, eprom, sram, op_amp, or the logic number 04"),
    "family": Word("logic family: ls, hct, std, cmos_4000"),
    "organisation": Organisation("memory words by bits"),
    "access_ns": Number("access time, ns"),
    "refresh": Number("rows refreshed in one interval", most=Decimal(65536), places=0),
    "refresh_ms": Number("refresh interval, ms"),
    "half": Word("which half of a half-good memory works; whole where all of it does"),
    "pins": Number("legs", least=Decimal(1), most=Decimal(2000), places=0),
    "suffix": Text("type suffix", 16),
    "rails": Numbers("supply volts", "V"),
    "open_collector": Flag("outputs need a pull-up"),
    "drivers": Word("what drives the inputs here", "cmos ttl pulled_up"),
    "load_ma": Number("current that its outputs must sink here", "mA"),
    "use": place_use(),
    "ctr_min": Number("least current transfer ratio of a coupler", "%"),
    "ctr_max": Number("greatest current transfer ratio of a coupler", "%"),
    "content": Text("what is programmed in"),
    "pin_order": Pins("legs in order"),
}
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
    if not case.differs("family"):
        return
    wanted, found = case.need["family"], case.have["family"]
    case.far += 20
    use = case.need.get("use")
    if use in ("oscillator", "tuned"):
        case.add_reason("family", "no", "a gate used as an oscillator keeps its family")
    elif use in _TIMED:
        rule = "another family triggers at other levels and times otherwise: compare the constants"
        case.add_reason("family", "ask", rule, DATA_SHEET)
    elif wanted not in _SPEED or found not in _SPEED:
        case.add_reason("family", "ask", "compare levels, drive and speed", DATA_SHEET)
    elif wanted in _OTHER_LEGS or found in _OTHER_LEGS:
        case.add_reason(
            "family", "ask", "some numbers of this family have other legs: compare them", DATA_SHEET
        )
    elif found in _CMOS_LEVELS and wanted not in _CMOS_LEVELS:
        _cmos_for_ttl(case)
    elif found not in _CMOS_OUTPUTS and wanted in _CMOS_OUTPUTS:
        case.add_reason("family", "ask", "TTL outputs do not reach CMOS levels, and its inputs draw current")
    elif wanted in _UP_TO_15_V and found not in _UP_TO_15_V and "rails" not in case.need:
        rule = "made for 5 V, and the place may be above: measure its rail"
        case.add_reason("family", "ask", rule, LOOK)
    elif _SPEED[found] < _SPEED[wanted]:
        case.add_reason("family", "ask", "slower: check the timing")
    elif _SPEED[found] > _SPEED[wanted]:
        case.add_reason("family", "with_note", "faster edges: check decoupling and ringing")
    else:
        case.add_reason("family", "with_note", "same speed, other levels")


_TIMED = frozenset(("timing", "pulse", "rf"))
_UP_TO_15_V = frozenset(("cmos_4000", "cmos_4000_ub", "c"))
_SUPPLY = {  # family -> lowest and highest rail: 74-series and 4000-series data books (from memory)
    **dict.fromkeys(_UP_TO_15_V, (Decimal(3), Decimal(18))),
    **dict.fromkeys(("hc", "ac"), (Decimal(2), Decimal(6))),
    "ahc": (Decimal(2), Decimal("5.5")),
    **dict.fromkeys(("hct", "act", "ahct"), (Decimal("4.5"), Decimal("5.5"))),
    **dict.fromkeys(("std", "ls", "s", "h", "l", "als", "f", "as"), (Decimal("4.5"), Decimal("5.5"))),
}
"""5 V families are taken with some slack: a rail of 5 V is drawn, not measured."""


def _rails(case: Case) -> None:
    """A family stands what it stands; of other chips the rails are stated."""
    rails = case.need.get("rails")
    limits = _SUPPLY.get(case.have.get("family", ""))
    if limits is None:
        _SAME_RAILS(case)
    elif rails is not None and rails != case.have.get("rails"):
        lowest, highest = limits
        if max(rails) > highest:
            case.add_reason(
                "rails", "no", "the rail of the place is above what the family stands", offered=limits
            )
        elif 0 < max(rails) < lowest:
            case.add_reason(
                "rails", "no", "the rail of the place is below what the family needs", offered=limits
            )


_SAME_RAILS = exact("rails", "another set of supply volts")


def _cmos_for_ttl(case: Case) -> None:
    """A TTL output reaches 2.4 V where a CMOS input wants 3.5 V."""
    drivers = case.need.get("drivers")
    if drivers is None:
        rule = "only where every driver is CMOS or pulled up, for 2.4 V is below 3.5 V: look what drives it"
        case.add_reason("family", "ask", rule, LOOK)
    elif drivers == "ttl":
        case.add_reason("family", "no", "driven by TTL: 2.4 V is below the 3.5 V wanted")
    else:
        case.add_reason("family", "with_note", "every driver is CMOS or pulled up; tie unused inputs")


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
        case.add_reason(
            "load_ma", "with_note", "its outputs drive more than their family's: compare what they sink"
        )
    elif least is not None:
        if drive < least:
            case.add_reason(
                "load_ma", "no", "its outputs do not sink what hangs on them here", offered=f"{drive} mA"
            )
    elif wanted in _SINKS and drive < _SINKS[wanted]:
        rule = "sinks less: count the fan-out, 1.6 mA for each standard input and 0.4 mA for each LS one"
        required, offered = f"{_SINKS[wanted]} mA", f"{drive} mA"
        case.add_reason("load_ma", "with_note", rule, required=required, offered=offered)


# ── Memories ─────────────────────────────────────────────────────────────────────────────────────

_READ_ONLY = frozenset(("rom", "prom", "eprom", "eeprom"))
_PROGRAMMABLE = frozenset(("prom", "eprom", "eeprom"))


def _function(case: Case) -> None:
    if not case.differs("function"):
        return
    if case.need["function"] in _READ_ONLY and case.have["function"] in _PROGRAMMABLE:
        case.add_reason(
            "function", "with_note", "programme it and compare the checksum; check the select pins"
        )
    else:
        case.add_reason("function", "no", ANOTHER_SORT)


def _organisation(case: Case) -> None:
    if not case.differs("organisation"):
        return
    wanted, found = case.need["organisation"], case.have["organisation"]
    if case.need.get("function") not in _READ_ONLY or found[1] != wanted[1] or found[0] < wanted[0]:
        case.add_reason("organisation", "no", "the same words and bits only")
        return
    case.far += 30
    legs = case.need.get("pins"), case.have.get("pins")
    if None in legs:
        case.add_reason(
            "organisation", "ask", "larger: count the legs, and see what its extra address pins meet", LOOK
        )
    elif legs[0] == legs[1]:
        rule = "larger: its extra address pins select the part that is read; fill that part"
        case.add_reason("organisation", "with_note", rule)
    else:
        case.add_reason("organisation", "no", "larger, and with other legs")


def _refresh(case: Case) -> None:
    """The board refreshes so many rows in such a time: fewer rows and longer keeping serve."""
    not_more("refresh", vouched=False)(case)
    not_less("refresh_ms", weight=20, vouched=False)(case)


def _half(case: Case) -> None:
    """A half-good memory serves only where the links are set for that maker's half."""
    wanted, found = case.need.get("half"), case.have.get("half")
    if wanted in (None, "whole"):
        if found not in (None, "whole"):
            case.add_reason("half", "no", "only half of it works", required="whole")
        return
    ours, theirs = case.need.get("make"), case.have.get("make")
    if found == wanted:
        if ours is not None and theirs is not None and ours != theirs:
            case.add_reason("make", "no", "half-good parts in one bank: one make and one half")
    elif found == "whole":
        case.add_reason("half", "with_note", "wholly good: set the links to match")
        case.far += 50
    elif found is None and None not in (ours, theirs) and ours != theirs:
        case.add_reason("half", "no", "another make: only one that is wholly good serves", TEST)
    elif found is None:
        case.unknown("half")
    else:
        case.add_reason("half", "no", "the other half works")


def _make(case: Case) -> None:
    if case.differs("make", vouched=False) and case.need.get("half") in (None, "whole"):
        case.add_reason("make", "with_note", "another make: check timing and links of the bank")
        case.far += 5


def _content(case: Case) -> None:
    wanted, found = case.need.get("content"), case.have.get("content")
    if wanted is None or wanted == found:
        return
    if case.have.get("function") in ("eprom", "eeprom"):
        offered = found or "blank or " + UNKNOWN
        case.add_reason("content", "with_note", "programme it and compare the checksum", offered=offered)
    elif found is None:
        case.unknown("content")
    else:
        case.add_reason("content", "no", "other content")


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
            case.add_reason("pin_order", "no", "the same pins only")
    elif case.same_type:
        _under_another_number(case)
    elif wanted is not None:
        case.unknown("pin_order")
    elif "number" in case.need and "family" not in case.need:
        _another_chip(case)


def _under_another_number(case: Case) -> None:
    """Memories have a number with each maker; EPROMs a letter by the volts that write them."""
    ours, theirs = case.requirement.number, case.offer.number
    here, there = (_WRITTEN_WITH.search(number.upper()) for number in (ours, theirs))
    if here and there and here[1] != there[1]:
        case.add_reason(
            "number", "with_note", "reads alike; it is written with other volts: see its data sheet"
        )
    elif plainly(_figures(ours)) != plainly(_figures(theirs)) and memory_of(ours):
        case.add_reason("number", "drop_in", "another maker's number for the same memory")


_WRITTEN_WITH = re.compile(r"27C?[0-9]{2,4}(A?)")
"""2732 with 25 V, 2732A with 21; 2764 with 21, 2764A with 12.5 (from memory: data sheets)."""

_SUCCESSORS = frozenset(
    (
        ("8253", "8254"), ("8250", "16450"), ("8250", "16550"), ("16450", "16550"), ("8085", "8085A"),
        ("8080", "8080A"), ("6845", "6545"), ("6845", "68B45"), ("6820", "6821"), ("8212", "8282"),
        ("1488", "75188"), ("1489", "75189"), ("1489", "1489A"), ("6803", "6303"), ("6801", "6301"),
        ("6809", "6309"), ("1771", "1791"), ("1791", "1793"), ("8271", "8272"), ("8272", "765"),
        ("6510", "8500"), ("6526", "8521"), ("6522", "6522A"), ("9511", "8231"), ("8031", "8032"),
    )
)  # fmt: skip
"""Type -> one that takes its place and does more, not all alike (from memory: data books)."""


def _speed_behind_the_number(case: Case) -> None:
    """-15 and -20 behind a memory are tens of nanoseconds; of one figure each maker has his own meaning."""
    ours, theirs = case.requirement.number, case.offer.number
    if not case.same_type or memory_of(ours) is None or "speed_ns" in case.need:
        return
    wanted, found = (type_number("ic", number).grade.partition("-")[0] for number in (ours, theirs))
    if not wanted.isdigit() or wanted == found:
        return
    both = len(wanted) == len(found) == _TENS and found.isdigit()
    if both and int(found) < int(wanted):
        case.add_reason(
            "speed_ns", "drop_in", "faster, by the figures behind the number", required=wanted, offered=found
        )
    else:
        rule = "slower, or not said behind the number: compare the access times"
        case.add_reason("speed_ns", "ask", rule, DATA_SHEET, required=wanted, offered=found or UNKNOWN)


_TENS = 2


def _version(case: Case) -> None:
    """One type in another version: CMOS of an elder chip, another grade, another maker's coupler."""
    ours, theirs = case.requirement.number, case.offer.number
    if not ours or not theirs or plainly(ours) == plainly(theirs) or "number" not in case.need:
        return
    here, there = type_number("ic", ours), type_number("ic", theirs)
    if here.base != there.base or memory_of(ours) is not None:
        return
    if here.cmos != there.cmos:
        rule = _CMOS_VERSION if there.cmos else "the elder version: more current, other levels"
        case.add_reason("number", "ask", rule, DATA_SHEET, alone=True)
    elif case.need.get("function") == "optocoupler" and "ctr_min" not in case.need:
        rule = "couplers are sorted by transfer ratio, each maker in his own way: compare the groups"
        case.add_reason("number", "ask", rule, DATA_SHEET, alone=True)
    elif here.grade != there.grade:
        _grade(case, here.grade, there.grade)


_CMOS_VERSION = (
    "the CMOS version: compare what the outputs drive, the levels of the inputs, the clock,"
    " and of a processor the codes"
)
_RANKED = ("", "A", "B", "C")
"""Speeds of the 65, 68 and Z80 families, the slowest first (from memory: 1 MHz, 1.5, 2, 3; Z80 2.5, 4, 6)."""


def _grade(case: Case, wanted: str, found: str) -> None:
    if "54" not in (wanted, found) and "family" in case.have:
        return  # buffered or not is its family
    if found == "54" or (wanted == "" and found in _RANKED):
        case.add_reason("number", "drop_in", "a faster, closer or wider grade of the type")
    elif wanted == "54":
        case.add_reason("number", "with_note", "the commercial grade: a narrower range of temperature")
    elif wanted in _RANKED and found in _RANKED and _RANKED.index(found) > _RANKED.index(wanted):
        case.add_reason("number", "with_note", "another grade of the type: compare the letters")
    elif wanted == "":
        case.add_reason(
            "number", "with_note", "another grade of the type: compare the letters behind the number"
        )
    else:
        rule = "the letters behind the number ask for a grade that this one does not show"
        case.add_reason("number", "ask", rule, DATA_SHEET, alone=True)


def _another_chip(case: Case) -> None:
    ours, theirs = case.need["number"], case.have.get("number")
    if theirs is None:
        case.add_reason(
            "number", "ask", "read the number: types of one function differ in their legs", LOOK, alone=True
        )
    elif type_number("ic", ours).base == type_number("ic", theirs).base:
        return  # a version, judged above
    elif (type_number("ic", ours).base, type_number("ic", theirs).base) in _SUCCESSORS:
        case.add_reason(
            "number", "ask", "the later type: does all and more; compare the sheets", DATA_SHEET, alone=True
        )
    elif _figures(ours) == _figures(theirs):
        case.add_reason(
            "number", "ask", "the same figures: compare the data sheets of the makers", DATA_SHEET, alone=True
        )
    elif "organisation" in case.need or case.need.get("function") in _MEMORIES:
        _another_memory(case, ours, theirs)
    elif case.need.get("function") in _SHARED_PINS:
        case.add_reason(
            "number", "ask", "the legs may agree: compare them and the figures", DATA_SHEET, alone=True
        )
    elif "function" in case.need:
        case.add_reason("number", "no", "another chip", alone=True)


def _another_memory(case: Case, ours: str, theirs: str) -> None:
    """Of one organisation there are types that differ in legs, supply or how they are selected: a 6514 keeps
    its address from the select edge on, a 2114 does not (from memory)."""
    here, there = memory_of(ours), memory_of(theirs)
    if here and there and here.socket and here.socket == there.socket:
        return  # known to differ in address pins only
    if case.have.get("organisation") in (None, case.need.get("organisation")):
        rule = "another number: compare legs, supply, and whether it latches the address"
        case.add_reason("number", "ask", rule, DATA_SHEET, alone=True)


def _figures(number: str) -> str:
    """The longest run of figures: 6850 of MC6850P."""
    return max(re.findall("[0-9]+", number), key=len, default=number)


RULES: tuple[Rule, ...] = (
    another_type("function"),
    _function,
    _family,
    _fan_out,
    exact("open_collector", "open collector for open collector only"),
    _organisation,
    _rails,
    _version,
    _speed_behind_the_number,
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

IC = Kind(
    name="ic",
    traits=TRAITS,
    rules=RULES,
    noun="IC",
    words=("chip", "integratedcircuit"),
    same_figure={"access_ns": "speed_ns"},
    must_agree="function",
    core=lambda _need: ("function",),
)
