"""Transistors: what is said of them, and when one will do for another."""

import re
from decimal import Decimal

from inventory.spec.by_type import another_type, figures_of_the_type, pin_order, tab
from inventory.spec.judging import (
    DATA_SHEET,
    UNKNOWN,
    Case,
    Rule,
    exact,
    not_less,
    not_more,
    plainly,
    shape_of_many_legs,
)
from inventory.spec.kinds.kind import Facts, Kind
from inventory.spec.traits import Flag, Number, Pins, Text, Trait, Word, place_use
from inventory.type_numbers import lists_the_group, type_number

TRAITS: dict[str, Trait] = {
    "polarity": Word("conductivity", "npn pnp n_channel p_channel"),
    "device": Word("structure", "bipolar darlington jfet mosfet unijunction igbt"),
    "material": Word("semiconductor", "silicon germanium"),
    "vceo": Number("collector-emitter (drain-source) volts", "V"),
    "ic": Number("collector (drain) current", "A"),
    "ptot": Number("dissipation", "W"),
    "gain_min": Number("least current gain"),
    "gain_max": Number("greatest current gain"),
    "ft_mhz": Number("transition frequency, MHz"),
    "gate": Word("what drives it: logic turns it on with 5 V", "logic ordinary"),
    "on_ohm": Number("resistance when on", "Ω"),
    "base_resistors": Text("built-in resistors, series and to the emitter: 10k/47k; none", 24),
    "use": place_use(),
    "pin_order": Pins("legs in order, flat or print towards you"),
    "matched": Flag("one of a matched pair"),
    "tab": Word("what the metal tab is joined to"),
}
_MUCH_FASTER = 3


def _gain(case: Case) -> None:
    """The offered range overlaps the required one or lies above it."""
    least, most = case.need.get("gain_min"), case.need.get("gain_max")
    lowest, highest = case.have.get("gain_min"), case.have.get("gain_max")
    if least is None and most is None:
        return
    if lowest is None and highest is None:
        if not case.same_type:
            case.unknown("gain_min")
    elif least is not None and highest is not None and highest < least:
        case.add_reason("gain_max", "no", "gain below the range required", required=least)
    elif (lowest, highest) == (least, most):
        return
    elif least is not None and lowest is not None and lowest >= least:
        case.add_reason("gain_min", "drop_in", "gain in or above the range required")
    else:
        case.add_reason("gain_min", "with_note", "ranges overlap: measure the gain", required=least or most)


def _gain_group(case: Case) -> None:
    """Of one type another group, or none: gain is what tells the groups apart (common practice)."""
    ours, theirs = case.requirement.number, case.offer.number
    if case.same_type or not ours or not theirs or not {"gain_min", "gain_max"}.isdisjoint(case.need):
        return
    here, there = type_number("transistor", ours), type_number("transistor", theirs)
    if here.base != there.base or not here.grade:
        return
    if not there.grade:
        case.add_reason("gain_min", "with_note", "its gain group is not said: measure the gain")
    elif not lists_the_group("transistor", ours) or not lists_the_group("transistor", theirs):
        case.add_reason("number", "ask", "another group of the type: compare the data sheets", DATA_SHEET)


def _transition_frequency(case: Case) -> None:
    least, rated = case.need.get("ft_mhz"), case.have.get("ft_mhz")
    if least and rated is not None and rated > _MUCH_FASTER * least:
        case.add_reason("ft_mhz", "with_note", "much faster: may oscillate, look at it with a scope")
        case.far += 30
    else:
        _FT(case)


_FT = not_less("ft_mhz", weight=50)


_HIGH_FREQUENCY = re.compile(r"[AB](?:F|L)[A-Z]?[0-9]{2,3}|MRF|2N(?:3866|4427|5179|918|3553)")
"""F and L in the Pro Electron system are for high frequency; the others from memory of data books."""


def _radio(case: Case) -> None:
    """A radio-frequency place wants the transition frequency, written down or not."""
    radio = case.need.get("use") in ("rf", "tuned", "oscillator") or _HIGH_FREQUENCY.match(
        plainly(case.need.get("number", ""))
    )
    if radio and not case.same_type and None in (case.need.get("ft_mhz"), case.have.get("ft_mhz")):
        if any(reason.property == "ft_mhz" for reason in case.reasons):
            return
        rule = "a radio-frequency place: compare transition frequency and capacitance"
        case.add_reason(
            "ft_mhz", "ask", rule, DATA_SHEET, required=case.need.get("ft_mhz") or "radio frequency"
        )


def _small_steps(case: Case) -> None:
    """Where a value is kept, sensed or switched fast another type is asked for what is not in the figures."""
    use = case.need.get("use")
    if use in ("timing", "pulse", "sense") and not case.same_type:
        rule = "storage time, leakage and noise tell here: compare them"
        case.add_reason(
            "use", "ask", rule, DATA_SHEET, required=use, offered=case.have.get("number") or UNKNOWN
        )


def _field_effect(case: Case) -> None:
    """Drain current at no gate volts and cut-off volts are a JFET, and differ from type to type."""
    devices = case.need.get("device"), case.have.get("device")
    if "jfet" in devices and not case.same_type:
        rule = "JFETs differ in drain current at no gate volts and in cut-off volts: compare them"
        ours, theirs = (facts.get("number") for facts in (case.need, case.have))
        case.add_reason("device", "ask", rule, DATA_SHEET, required=ours or "jfet", offered=theirs or UNKNOWN)


_LOGIC_LEVEL = re.compile(r"IRL|(?:RFP|FQP|MT[PD])[0-9]+N[0-9]+[EV]?L|BUK95|BUZ[0-9]+L")
_ORDINARY_GATE = re.compile(r"IRF|BUZ[0-9]+A?$|BUK45|MTP[0-9]+N[0-9]+E?$")
"""Numbers that say how the gate is driven (from memory: makers' series)."""


def _gate_of(facts: Facts) -> str | None:
    stated: str | None = facts.get("gate")
    number = plainly(facts.get("number", ""))
    if stated is None and _LOGIC_LEVEL.match(number):
        return "logic"
    return "ordinary" if stated is None and _ORDINARY_GATE.match(number) else stated


def _gate(case: Case) -> None:
    if "mosfet" not in (case.need.get("device"), case.have.get("device")) or case.same_type:
        return
    wanted, found = _gate_of(case.need), _gate_of(case.have)
    if wanted == "logic" and found != "logic":
        grade = "ask" if found is None else "no"
        rule = "5 V does not turn an ordinary gate fully on: compare the gate volts"
        case.add_reason("gate", grade, rule, DATA_SHEET, required="logic", offered=found or UNKNOWN)
    elif found == "logic" and wanted != "logic":
        rule = "a logic-level gate withstands fewer volts and turns on sooner: check the drive"
        case.add_reason("gate", "with_note", rule, required=wanted or "ordinary", offered="logic")


_MUCH_HIGHER_VOLTS = Decimal("1.5")


def _on_resistance(case: Case) -> None:
    """Resistance when on grows with rated volts to the power of 2.5 (limit of silicon, textbooks of power
    electronics): a type for much higher volts runs hot, whatever amps it is sold for."""
    if "mosfet" not in (case.need.get("device"), case.have.get("device")) or case.same_type:
        return
    if "on_ohm" in case.need:
        _ON_OHM(case)
        return
    wanted, found = case.need.get("volts"), case.have.get("volts")
    if wanted is not None and found is not None and found > wanted * _MUCH_HIGHER_VOLTS:
        rule = "for much higher volts, so of more resistance when on: compare it"
        case.add_reason(
            "on_ohm", "ask", rule, DATA_SHEET, required=UNKNOWN, offered=case.have.get("on_ohm") or UNKNOWN
        )


_ON_OHM = not_more("on_ohm")
_BUILT_IN = re.compile(
    r"(?:P?D[TD]|DT)[ABCD][0-9]{3}|MUN[0-9]{4}|RN[12][0-9]{3}|KR[AC][0-9]{3}|UN[0-9]{4}|BCR[0-9]{3}"
    r"|FJ[NVX][34]|KSR[12]"
)
"""Numbers of transistors with built-in resistors (from memory: makers' series)."""


def _has_resistors(facts: Facts) -> bool:
    stated = facts.get("base_resistors")
    return stated.lower() != "none" if stated else bool(_BUILT_IN.match(plainly(facts.get("number", ""))))


def _built_in(case: Case) -> None:
    wanted, found = _has_resistors(case.need), _has_resistors(case.have)
    ours, theirs = case.need.get("base_resistors"), case.have.get("base_resistors")
    if wanted != found:
        rule = "built-in resistors are part of the circuit: with and without do not stand in for each other"
        case.add_reason(
            "base_resistors",
            "no",
            rule,
            required="yes" if wanted else "none",
            offered="yes" if found else "none",
        )
    elif wanted and not case.same_type and (ours is None or theirs is None):
        case.add_reason(
            "base_resistors", "ask", "other built-in resistors, by the number: compare them", DATA_SHEET
        )
    elif wanted and ours != theirs and not (case.same_type and None in (ours, theirs)):
        case.add_reason("base_resistors", "no", "other built-in resistors")


def _dissipation(case: Case) -> None:
    """A type for an ampere and more is chosen by what it may burn."""
    amps = case.need.get("amps")
    if "watts" not in case.need and amps is not None and amps >= 1 and not case.same_type:
        rule = "a power type, and its dissipation is not stated: compare it"
        case.add_reason("watts", "ask", rule, DATA_SHEET, required=UNKNOWN)


def _matched(case: Case) -> None:
    if case.need.get("matched") and not case.have.get("matched"):
        case.add_reason("matched", "with_note", "one of a pair: change both together, matched in gain")
    elif case.have.get("matched") and not case.need.get("matched"):
        case.far += 50  # a pair is not broken up where another serves


_STRUCTURES_TO_ASK = {  # required, where it states a polarity only -> structures driven another way
    "npn": frozenset(("darlington", "igbt")),
    "pnp": frozenset(("darlington", "igbt")),
    "n_channel": frozenset(("jfet", "mosfet", "igbt")),
    "p_channel": frozenset(("jfet", "mosfet", "igbt")),
}


def _structure(case: Case) -> None:
    """What the drawing does not say of the structure is a question where the drive depends on it."""
    found = case.have.get("device")
    if "device" in case.need:
        _DEVICE(case)
    elif not case.same_type and case.requirement.known.get("device") == "darlington" and found == "bipolar":
        rule = "a plain transistor wants a hundred times the base current of a Darlington"
        case.add_reason("device", "no", rule, required="darlington")
    elif not case.same_type and found in _STRUCTURES_TO_ASK.get(case.need.get("polarity", ""), ()):
        case.add_reason(
            "device", "ask", "driven another way: compare the circuit", DATA_SHEET, required=UNKNOWN
        )


_DEVICE = exact("device", "another structure is driven another way")


_CORE = ("polarity", "volts", "amps")

RULES: tuple[Rule, ...] = (
    another_type(*_CORE),
    exact("polarity", "the same polarity only"),
    exact("material", "the same semiconductor only"),
    _structure,
    not_less("volts"),
    not_less("amps", weight=150),
    not_less("watts", weight=150),
    _gain,
    _gain_group,
    _transition_frequency,
    _radio,
    _small_steps,
    _field_effect,
    _gate,
    _on_resistance,
    _built_in,
    _dissipation,
    figures_of_the_type("amps", "watts", "gain_max"),
    pin_order,
    _matched,
    tab,
    shape_of_many_legs,
)

TRANSISTOR = Kind(
    name="transistor",
    noun="transistor",
    traits=TRAITS,
    rules=RULES,
    words=("q", "fet", "mosfet"),
    same_figure={"vceo": "volts", "ic": "amps", "ptot": "watts"},
    ordered=(("gain_min", "gain_max"),),
    by_type_number=frozenset(("volts", "amps", "watts", "speed_ns")),
    must_agree="polarity",
    core=lambda _need: _CORE,
)
