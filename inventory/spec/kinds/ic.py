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
from inventory.spec.kinds import logic_families
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
    "gbw_mhz": Number("gain-bandwidth product", "MHz"),
    "supply_min_volts": Number("least supply, rail to rail", "V"),
    "supply_max_volts": Number("highest supply, rail to rail", "V"),
    "supply_volts": Number("supply that the place gives it, rail to rail", "V"),
    "open_collector": Flag("outputs need a pull-up"),
    "drivers": Word("what drives the inputs here", "cmos ttl pulled_up"),
    "load_ma": Number("current that its outputs must sink here", "mA"),
    "use": place_use(),
    "ctr_min": Number("least current transfer ratio of a coupler", "%"),
    "ctr_max": Number("greatest current transfer ratio of a coupler", "%"),
    "output": Word("output of a coupler", "transistor darlington triac logic"),
    "content": Text("what is programmed in"),
    "pin_order": Pins("legs in order"),
}


# ── Memories ─────────────────────────────────────────────────────────────────────────────────────


def _supply(case: Case) -> None:
    """What the place gives it lies between the least and the most that it works on."""
    given = case.need.get("supply_volts")
    if given is None or "supply_volts" in case.have:
        return
    least, most = case.have.get("supply_min_volts"), case.have.get("supply_max_volts")
    if most is not None and most < given:
        case.add_reason("supply_max_volts", "no", "less than the place gives it", required=given)
    elif least is not None and least > given:
        case.add_reason("supply_min_volts", "no", "more than the place gives it", required=given)
    elif (least is None or most is None) and not case.same_type:
        name = "supply_min_volts" if least is None else "supply_max_volts"
        case.unknown(name, required=given)


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


def _output(case: Case) -> None:
    """A Darlington passes on more current and more slowly; a triac or a gate is another part."""
    if not case.differs("output", vouched=False):
        return
    if {case.need["output"], case.have["output"]} == {"transistor", "darlington"}:
        case.add_reason("output", "ask", "more current and slower, or less: compare the circuit", DATA_SHEET)
    else:
        case.add_reason("output", "no", ANOTHER_SORT)


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


def _low_power(case: Case) -> None:
    """2114L: an L behind the figures of a memory that is no half of another (from memory: 70 mA for 100)."""
    memory = memory_of(case.requirement.number)
    if not case.same_type or memory is None or memory.half:
        return
    ours, theirs = (type_number("ic", part.number).grade for part in (case.requirement, case.offer))
    if "L" in ours.split("-") and "L" not in theirs.split("-"):
        case.add_reason("number", "with_note", "not the low-power version: draws more current")


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
    _output,
    logic_families.family,
    logic_families.fan_out,
    exact("open_collector", "open collector for open collector only"),
    _organisation,
    logic_families.rails,
    _version,
    _speed_behind_the_number,
    _low_power,
    exact("pins", "another number of legs"),
    not_less("gbw_mhz"),
    _supply,
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
