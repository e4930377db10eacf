"""Diodes and what has a gate: what is said of them, and when one will do for another."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from inventory.spec.by_type import another_type, pin_order
from inventory.spec.figures import plain
from inventory.spec.judging import (
    ANOTHER_SORT,
    DATA_SHEET,
    UNKNOWN,
    Case,
    Rule,
    not_less,
    not_more,
    plainly,
    shape_of_two_legs,
)
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import KEEPS_TIME, Flag, Number, Pins, Trait, Word, place_use
from inventory.spec.values import tolerance_fits

TRAITS: dict[str, Trait] = {
    "function": Word(
        "what it is for",
        "rectifier fast_rectifier signal schottky zener detector bridge led varicap"
        " suppressor photodiode thyristor triac diac tunnel",
    ),
    "material": Word("semiconductor", "silicon germanium selenium"),
    "vr": Number("reverse volts", "V"),
    "if": Number("forward current", "A"),
    "surge_amps": Number("single surge current", "A"),
    "zener_volts": Number("regulating volts", "V"),
    "recovery_ns": Number("reverse recovery, ns"),
    "forward_volts": Number("forward drop", "V"),
    "drop_matters": Flag("whether the place needs the low drop of a Schottky; unsaid, it does"),
    "colour": Word("light"),
    "capacitance_pf": Number("capacitance of a varicap at its lowest volts, pF"),
    "gate_ma": Number("gate current that triggers a thyristor or triac, mA"),
    "sensitive_gate": Flag("triggers on a milliamp or so, from logic"),
    "use": place_use(),
    "pin_order": Pins("legs in order"),
}
_FINE = "drop_in"
_SILICON = ("no", "silicon for Schottky: the drop matters")
_FOR_RECTIFIER = ("ask", "Schottky: lower drop, more leakage, less reverse volts; compare them", DATA_SHEET)
_OTHER_FUNCTION: dict[tuple[str, str], tuple[str, ...]] = {  # required, offered -> grade, rule, settled by
    ("rectifier", "fast_rectifier"): (_FINE, "fast for slow serves"),
    ("rectifier", "schottky"): _FOR_RECTIFIER,
    ("rectifier", "signal"): ("ask", "a signal diode withstands little surge"),
    ("fast_rectifier", "schottky"): _FOR_RECTIFIER,
    ("signal", "rectifier"): ("ask", "a rectifier is slow and has more capacitance"),
    ("signal", "fast_rectifier"): ("ask", "a rectifier has more capacitance"),
    ("signal", "schottky"): ("ask", "Schottky: lower drop, more leakage; compare them", DATA_SHEET),
    ("signal", "detector"): ("ask", "germanium: lower drop, more leakage; compare them", DATA_SHEET),
    ("detector", "schottky"): ("ask", "nearest in drop; compare capacitance and leakage", DATA_SHEET),
    ("schottky", "rectifier"): _SILICON,
    ("schottky", "fast_rectifier"): _SILICON,
    ("schottky", "signal"): _SILICON,
    ("zener", "suppressor"): ("ask", "a suppressor is not a reference"),
    ("suppressor", "zener"): ("ask", "a zener withstands less surge"),
}
_DROP_IS_NO_MATTER = ("ask", "silicon for Schottky: 0.3 V more drop and slower; compare them", DATA_SHEET)


def _function(case: Case) -> None:
    if not case.differs("function"):
        return
    wanted, found = case.need["function"], case.have["function"]
    if (wanted, found) == ("fast_rectifier", "rectifier"):
        if case.have.get("speed_ns") is None or case.need.get("speed_ns") is None:
            settler = DATA_SHEET if case.have.get("speed_ns") is None else ""
            case.add_reason("function", "no", "a fast place needs recovery no slower", settler)
    else:
        verdict = _OTHER_FUNCTION.get((wanted, found), ("no", ANOTHER_SORT))
        if verdict is _SILICON and case.need.get("drop_matters") is False:
            verdict = _DROP_IS_NO_MATTER
        case.add_reason("function", *verdict)
        case.far += 30


def _diode_material(case: Case) -> None:
    wanted, found = case.need.get("material"), case.have.get("material")
    nearest = case.have.get("function") == "schottky"  # asked of already
    if wanted is None and found is not None and case.need.get("function") == "detector" and not nearest:
        wanted = "germanium"
    if wanted is None or wanted == found:
        return
    if found is None:
        if not case.same_type:
            case.unknown("material")
    elif wanted == "germanium":
        case.add_reason(
            "material", "no", "silicon for a germanium detector: the drop is too high", required=wanted
        )
    else:
        case.add_reason("material", "ask", "another semiconductor: compare drop and leakage", DATA_SHEET)


_EXACT_VOLTS = {"zener": Decimal(5), "suppressor": Decimal(5), "diac": Decimal(12)}
"""Function -> per cent that its volts may be off where no tolerance is stated: more never serves, for they
clamp, regulate or fire there (diac: spread of one type, 28 to 36 V, from memory of data sheets)."""


def _zener_volts(case: Case) -> None:
    function = case.need.get("function", "")
    if function not in _EXACT_VOLTS:
        return
    wanted, found = (facts.get("zener_volts") or facts.get("volts") for facts in (case.need, case.have))
    if wanted is None or wanted == found:
        return
    if found is None:
        if not case.same_type:
            case.unknown("zener_volts")
        return
    window = case.need.get("tolerance_percent") or _EXACT_VOLTS[function]
    off = abs(found - wanted) * 100 / wanted
    inside = ("drop_in", "inside the tolerance")
    grade, rule = inside if off <= window else ("no", f"{off:.1f} % off, and {plain(window)} % are allowed")
    case.add_reason("zener_volts", grade, rule, required=wanted, offered=found)
    case.far += min(100, int(off * 10))


def _zener_tolerance(case: Case) -> None:
    """Of one type number the letters decide, where both bear one."""
    known = "tolerance_percent" in case.need and "tolerance_percent" in case.have
    if case.need.get("function") in _EXACT_VOLTS and (known or not case.same_type):
        tolerance_fits(case)


def _reverse_volts(case: Case) -> None:
    """Of what clamps or fires the volts are judged above."""
    function = case.need.get("function")
    if function not in _EXACT_VOLTS or (function == "zener" and case.need.get("zener_volts") is not None):
        _REVERSE_VOLTS(case)


_REVERSE_VOLTS = not_less("volts")


def _diode_watts(case: Case) -> None:
    least, rated = case.need.get("watts"), case.have.get("watts")
    if case.need.get("function") == "zener" and least is not None and rated is not None and rated < least:
        case.add_reason("watts", "no", "not less than required, and zeners in parallel do not share")
    else:
        _DIODE_WATTS(case)


_DIODE_WATTS = not_less("watts", weight=150)

_MANY_LEGS = frozenset(("bridge", "thyristor", "triac"))


def _varicap(case: Case) -> None:
    """Its capacitance and how it falls with volts are the part; few write them down."""
    if case.need.get("function") != "varicap" or case.same_type:
        return
    wanted, found = case.need.get("capacitance_pf"), case.have.get("capacitance_pf")
    if wanted is None or found is None:
        rule = "another varicap tunes another range: compare capacitance and curve"
        case.add_reason("capacitance_pf", "ask", rule, DATA_SHEET, required=wanted or UNKNOWN)
    elif abs(found - wanted) * 10 > wanted:
        case.add_reason("capacitance_pf", "no", "tunes another range")
    else:
        case.add_reason("capacitance_pf", "ask", "near: compare how it falls with volts", DATA_SHEET)


_SENSITIVE = re.compile(
    r"MAC97|MCR(?:100|22|08|03)|2N506[0-4]|BT1(?:31|49|69)|C106|TIC(?:10[0-9]|4[4-7])|Z0[0-9]{3}|X0[24]02"
    r"|BRX[0-9]{2}|BRY55|EC103|P0[0-9]{3}|TAG(?:106|6[0-9])"
)
"""Thyristors and triacs that logic triggers (from memory: data sheets)."""


def _is_sensitive(facts: Mapping[str, Any]) -> bool | None:
    stated: bool | None = facts.get("sensitive_gate")
    if stated is None and _SENSITIVE.match(plainly(facts.get("number", ""))):
        return True
    return stated


def _gate(case: Case) -> None:
    if case.need.get("function") not in ("thyristor", "triac") or case.same_type:
        return
    most, found = case.need.get("gate_ma"), case.have.get("gate_ma")
    if most is not None and found is not None:
        _GATE_CURRENT(case)
        return
    wanted, sensitive = _is_sensitive(case.need), _is_sensitive(case.have)
    if (wanted or most is not None) and not sensitive:
        grade = "no" if sensitive is False else "ask"
        rule = "the place drives a sensitive gate: find the gate current of this one"
        case.add_reason(
            "gate_ma", grade, rule, DATA_SHEET, required=most or "sensitive", offered=found or UNKNOWN
        )
    elif sensitive and not wanted:
        case.add_reason(
            "sensitive_gate", "with_note", "a sensitive gate may fire on noise: see to its resistor"
        )


_GATE_CURRENT = not_more("gate_ma")
_FAST_PLACES = KEEPS_TIME | {"rf", "pulse", "sense"}


def _use(case: Case) -> None:
    """Capacitance, recovery and leakage are not all in the figures: in such places another type is asked."""
    use = case.need.get("use")
    if use in _FAST_PLACES and not case.same_type and case.need.get("function") != "varicap":
        rule = "capacitance, recovery and leakage tell here: compare them"
        case.add_reason(
            "use", "ask", rule, DATA_SHEET, required=use, offered=case.have.get("number") or UNKNOWN
        )


def _diode_legs(case: Case) -> None:
    """Bridges and what has a gate are made with several orders of legs; two legs have a band."""
    if case.need.get("function") in _MANY_LEGS or "pin_order" in case.need:
        pin_order(case)


def _colour(case: Case) -> None:
    """What nobody sees shows nothing, and what is seen works no light barrier."""
    if case.differs("colour"):
        unseen = "infrared" in (case.need["colour"], case.have["colour"])
        case.add_reason("colour", "no" if unseen else "ask", "another colour")


_THICK_LEADS = 2
"""A diode for more than twice the current is in the next body: 1 A in DO-41, 3 A in DO-201 (from memory)."""


def _leads_by_current(case: Case) -> None:
    wanted, found = case.need.get("amps"), case.have.get("amps")
    sized = "package" in case.need and "package" in case.have
    if sized or "number" not in case.need or case.need.get("function") in _MANY_LEGS:
        return
    if wanted is not None and found is not None and wanted >= 1 and found > _THICK_LEADS * wanted:
        case.add_reason(
            "package", "with_note", "made for more current: thicker leads and a larger body, see that it fits"
        )


_CORE = {"zener": ("zener_volts",), "led": ("colour",)}


def _core(need: Mapping[str, Any]) -> tuple[str, ...]:
    """The facts that a requirement must state for a diode of another type number to be judged."""
    return _CORE.get(need.get("function", ""), ("function", "volts"))


def _another_diode(case: Case) -> None:
    another_type(*_core(case.need))(case)


RULES: tuple[Rule, ...] = (
    _another_diode,
    _function,
    _diode_material,
    _zener_volts,
    _zener_tolerance,
    _varicap,
    _gate,
    _use,
    _reverse_volts,
    not_less("amps", weight=150),
    _diode_watts,
    not_less("surge_amps", weight=50),
    not_more("speed_ns"),
    not_more("forward_volts"),
    _colour,
    _leads_by_current,
    _diode_legs,
    shape_of_two_legs,
)

DIODE = Kind(
    name="diode",
    noun="diode",
    traits=TRAITS,
    rules=RULES,
    words=("rectifier", "zener"),
    same_figure={"vr": "volts", "if": "amps", "recovery_ns": "speed_ns"},
    by_type_number=frozenset(("volts", "amps", "watts", "speed_ns")),
    core=_core,
)
