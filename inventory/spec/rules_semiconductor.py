"""Diodes, transistors and regulators: when one will do for another."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from inventory.spec.judging import (
    UNKNOWN,
    Case,
    Rule,
    exact,
    not_less,
    not_more,
    shape_of_many_legs,
    shape_of_two_legs,
)


def another_type(*core: str) -> Rule:
    """Another type number is judged by its figures, and only where the requirement states those of `core`."""

    def rule(case: Case) -> None:
        wanted = case.need.get("number")
        if wanted is None or case.same_type:
            return
        missing = [name for name in core if name not in case.need]
        if missing:
            case.say("number", "ask", f"compare the data sheets: {', '.join(missing)} not stated")
        elif case.have.get("number") is not None:
            case.say("number", "drop_in", "another type, judged by its figures")
            case.far += 20

    return rule


def pin_order(case: Case) -> None:
    """One type number is made with two pin orders, so it must be known of both, or the maker be the same."""
    wanted, found = case.need.get("pin_order"), case.have.get("pin_order")
    if wanted is None or found is None:
        same_make = case.need.get("make") is not None and case.need.get("make") == case.have.get("make")
        if not (case.same_type and same_make):
            rule = "the same type is made with two pin orders: test the legs"
            case.say("pin_order", "ask", rule, required=wanted or UNKNOWN)
    elif wanted != found:
        turned = wanted.split("-") == found.split("-")[::-1]
        how = "turned round it agrees; confirm" if turned else "legs must be crossed and sleeved; confirm"
        case.say("pin_order", "ask", how)


# ── Diodes ───────────────────────────────────────────────────────────────────────────────────────

_FINE = "drop_in"
_OTHER_FUNCTION = {  # required, offered -> grade, rule
    ("rectifier", "fast_rectifier"): (_FINE, "fast for slow serves"),
    ("rectifier", "schottky"): ("ask", "Schottky: lower drop, more leakage, less reverse volts"),
    ("rectifier", "signal"): ("ask", "a signal diode stands little surge"),
    ("fast_rectifier", "schottky"): ("ask", "Schottky: lower drop, more leakage, less reverse volts"),
    ("signal", "rectifier"): ("ask", "a rectifier is slow and has more capacitance"),
    ("signal", "fast_rectifier"): ("ask", "a rectifier has more capacitance"),
    ("signal", "schottky"): ("ask", "Schottky: lower drop, more leakage"),
    ("signal", "detector"): ("ask", "germanium: lower drop, more leakage"),
    ("detector", "schottky"): ("ask", "nearest in drop; compare capacitance and leakage"),
    ("schottky", "rectifier"): ("no", "silicon for Schottky: the drop matters"),
    ("schottky", "fast_rectifier"): ("no", "silicon for Schottky: the drop matters"),
    ("schottky", "signal"): ("no", "silicon for Schottky: the drop matters"),
    ("zener", "suppressor"): ("ask", "a suppressor is no reference"),
    ("suppressor", "zener"): ("ask", "a zener stands less surge"),
}


def _function(case: Case) -> None:
    wanted, found = case.need.get("function"), case.have.get("function")
    if wanted is None or wanted == found:
        return
    if found is None:
        if not case.same_type:
            case.unknown("function")
    elif (wanted, found) == ("fast_rectifier", "rectifier"):
        if case.have.get("speed_ns") is None or case.need.get("speed_ns") is None:
            case.say("function", "no", "a fast place wants recovery not slower")
    else:
        case.say("function", *_OTHER_FUNCTION.get((wanted, found), ("no", "another sort of diode")))
        case.far += 30


def _diode_material(case: Case) -> None:
    wanted, found = case.need.get("material"), case.have.get("material")
    if wanted is None and found is not None and case.need.get("function") == "detector":
        wanted = "germanium"
    if wanted is None or wanted == found:
        return
    if found is None:
        if not case.same_type:
            case.unknown("material")
    elif wanted == "germanium":
        case.say("material", "no", "silicon for a germanium detector: the drop is too high", required=wanted)
    else:
        case.say("material", "ask", "another semiconductor: compare drop and leakage")


_ZENER_WINDOW = Decimal(5)


def _zener_volts(case: Case) -> None:
    if case.need.get("function") != "zener":
        return
    wanted, found = (facts.get("zener_volts") or facts.get("volts") for facts in (case.need, case.have))
    if wanted is None or wanted == found:
        return
    if found is None:
        if not case.same_type:
            case.unknown("zener_volts")
        return
    window = case.need.get("tolerance_percent") or _ZENER_WINDOW
    off = abs(found - wanted) * 100 / wanted
    grade, rule = ("drop_in", "inside the tolerance") if off <= window else ("no", "another zener voltage")
    case.say("zener_volts", grade, rule, required=wanted, offered=found)
    case.far += min(100, int(off * 10))


def _reverse_volts(case: Case) -> None:
    if case.need.get("function") != "zener" or case.need.get("zener_volts") is not None:
        _REVERSE_VOLTS(case)


_REVERSE_VOLTS = not_less("volts")

_CORE = {"zener": ("zener_volts",), "led": ("colour",)}


def diode_core(need: Mapping[str, Any]) -> tuple[str, ...]:
    """The facts that a requirement must state for a diode of another type number to be judged."""
    return _CORE.get(need.get("function", ""), ("function", "volts"))


def _another_diode(case: Case) -> None:
    another_type(*diode_core(case.need))(case)


DIODE: tuple[Rule, ...] = (
    _another_diode,
    _function,
    _diode_material,
    _zener_volts,
    _reverse_volts,
    not_less("amps", weight=150),
    not_less("watts", weight=150),
    not_less("surge_amps", weight=50),
    not_more("speed_ns"),
    not_more("forward_volts"),
    exact("colour", "another colour", otherwise="ask"),
    shape_of_two_legs,
)

# ── Transistors ──────────────────────────────────────────────────────────────────────────────────

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
        case.say("gain_max", "no", "gain below the range required", required=least)
    elif (lowest, highest) == (least, most):
        return
    elif least is not None and lowest is not None and lowest >= least:
        case.say("gain_min", "drop_in", "gain in or above the range required")
    else:
        case.say("gain_min", "with_note", "ranges overlap: measure the gain", required=least or most)


def _transition_frequency(case: Case) -> None:
    least, rated = case.need.get("ft_mhz"), case.have.get("ft_mhz")
    if least and rated is not None and rated > _MUCH_FASTER * least:
        case.say("ft_mhz", "with_note", "much faster: may oscillate, look at it with a scope")
        case.far += 30
    else:
        _FT(case)


_FT = not_less("ft_mhz", weight=50)


def _matched(case: Case) -> None:
    if case.need.get("matched") and not case.have.get("matched"):
        case.say("matched", "with_note", "one of a pair: change both together, matched in gain")


TRANSISTOR: tuple[Rule, ...] = (
    another_type("polarity", "volts", "amps"),
    exact("polarity", "the same polarity only"),
    exact("material", "the same semiconductor only"),
    exact("device", "another structure is driven another way"),
    not_less("volts"),
    not_less("amps", weight=150),
    not_less("watts", weight=150),
    _gain,
    _transition_frequency,
    pin_order,
    _matched,
    exact("tab", "insulate the tab as the place wants", otherwise="with_note"),
    shape_of_many_legs,
)

# ── Regulators ───────────────────────────────────────────────────────────────────────────────────


def _output(case: Case) -> None:
    wanted, found = case.need.get("output_volts"), case.have.get("output_volts")
    if wanted is None:
        return
    if found is None:
        if case.have.get("adjustable"):
            case.say("output_volts", "no", "the same output only", offered="adjustable")
        elif not case.same_type:
            case.unknown("output_volts")
    elif wanted != found:
        case.say("output_volts", "no", "the same output only")


def _sign(case: Case) -> None:
    wanted, found = (
        facts.get("polarity") or _sign_of(facts.get("output_volts")) for facts in (case.need, case.have)
    )
    if wanted is not None and found is not None and wanted != found:
        case.say("polarity", "no", "the same sign only", required=wanted, offered=found)
    elif wanted is not None and found is None and not case.same_type:
        case.unknown("polarity")


def _sign_of(output: Decimal | None) -> str | None:
    return None if not output else "positive" if output > 0 else "negative"


REGULATOR: tuple[Rule, ...] = (
    another_type("output_volts", "amps"),
    _output,
    _sign,
    exact("adjustable", "fixed for adjustable or the reverse"),
    not_less("amps", weight=150),
    not_less("watts", weight=150),
    not_less("volts"),
    not_less("input_max_volts", weight=50),
    not_more("dropout"),
    pin_order,
    exact("tab", "insulate the tab as the place wants", otherwise="with_note"),
    shape_of_many_legs,
)
