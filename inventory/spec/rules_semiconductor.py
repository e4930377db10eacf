"""Diodes, transistors and regulators: when one will do for another."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from inventory.spec.figures import plain
from inventory.spec.judging import (
    ANOTHER_SORT,
    DATA_SHEET,
    TEST,
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
            rule = f"compare the data sheets: {', '.join(missing)} not stated"
            case.say("number", "ask", rule, DATA_SHEET)
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
            case.say("pin_order", "ask", _TWO_ORDERS[wanted is None], TEST, required=wanted or UNKNOWN)
    elif wanted != found:
        turned = wanted.split("-") == found.split("-")[::-1]
        how = "turned round it agrees" if turned else "legs must be crossed and sleeved"
        case.say("pin_order", "ask", f"{how}: test the legs, then record that it serves here", TEST)


_TWO_ORDERS = {
    False: "the same type is made with two pin orders: test the legs of this piece",
    True: "the same type is made with two pin orders: read off the board which one goes where",
}
"""By whether it is the place of which the order is not known."""


# ── Diodes ───────────────────────────────────────────────────────────────────────────────────────

_FINE = "drop_in"
_SILICON = ("no", "silicon for Schottky: the drop matters")
_FOR_RECTIFIER = ("ask", "Schottky: lower drop, more leakage, less reverse volts; compare them", DATA_SHEET)
_OTHER_FUNCTION: dict[tuple[str, str], tuple[str, ...]] = {  # required, offered -> grade, rule, settled by
    ("rectifier", "fast_rectifier"): (_FINE, "fast for slow serves"),
    ("rectifier", "schottky"): _FOR_RECTIFIER,
    ("rectifier", "signal"): ("ask", "a signal diode stands little surge"),
    ("fast_rectifier", "schottky"): _FOR_RECTIFIER,
    ("signal", "rectifier"): ("ask", "a rectifier is slow and has more capacitance"),
    ("signal", "fast_rectifier"): ("ask", "a rectifier has more capacitance"),
    ("signal", "schottky"): ("ask", "Schottky: lower drop, more leakage; compare them", DATA_SHEET),
    ("signal", "detector"): ("ask", "germanium: lower drop, more leakage; compare them", DATA_SHEET),
    ("detector", "schottky"): ("ask", "nearest in drop; compare capacitance and leakage", DATA_SHEET),
    ("schottky", "rectifier"): _SILICON,
    ("schottky", "fast_rectifier"): _SILICON,
    ("schottky", "signal"): _SILICON,
    ("zener", "suppressor"): ("ask", "a suppressor is no reference"),
    ("suppressor", "zener"): ("ask", "a zener stands less surge"),
}
_DROP_IS_NO_MATTER = ("ask", "silicon for Schottky: 0.3 V more drop and slower; compare them", DATA_SHEET)


def _function(case: Case) -> None:
    wanted, found = case.need.get("function"), case.have.get("function")
    if wanted is None or wanted == found:
        return
    if found is None:
        if not case.same_type:
            case.unknown("function")
    elif (wanted, found) == ("fast_rectifier", "rectifier"):
        if case.have.get("speed_ns") is None or case.need.get("speed_ns") is None:
            settler = DATA_SHEET if case.have.get("speed_ns") is None else ""
            case.say("function", "no", "a fast place wants recovery not slower", settler)
    else:
        told = _OTHER_FUNCTION.get((wanted, found), ("no", ANOTHER_SORT))
        if told is _SILICON and case.need.get("drop_matters") is False:
            told = _DROP_IS_NO_MATTER
        case.say("function", *told)
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
        case.say("material", "no", "silicon for a germanium detector: the drop is too high", required=wanted)
    else:
        case.say("material", "ask", "another semiconductor: compare drop and leakage", DATA_SHEET)


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
    inside = ("drop_in", "inside the tolerance")
    grade, rule = inside if off <= window else ("no", f"{off:.1f} % off, and {plain(window)} % are allowed")
    case.say("zener_volts", grade, rule, required=wanted, offered=found)
    case.far += min(100, int(off * 10))


def _reverse_volts(case: Case) -> None:
    if case.need.get("function") != "zener" or case.need.get("zener_volts") is not None:
        _REVERSE_VOLTS(case)


_REVERSE_VOLTS = not_less("volts")


def _diode_watts(case: Case) -> None:
    least, rated = case.need.get("watts"), case.have.get("watts")
    if case.need.get("function") == "zener" and least is not None and rated is not None and rated < least:
        case.say("watts", "no", "not less than required, and zeners in parallel do not share")
    else:
        _DIODE_WATTS(case)


_DIODE_WATTS = not_less("watts", weight=150)

_MANY_LEGS = frozenset(("bridge", "thyristor", "triac"))


def _diode_legs(case: Case) -> None:
    """Bridges and what has a gate are made with several orders of legs; two legs have a band."""
    if case.need.get("function") in _MANY_LEGS or "pin_order" in case.need:
        pin_order(case)


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
    _diode_watts,
    not_less("surge_amps", weight=50),
    not_more("speed_ns"),
    not_more("forward_volts"),
    exact("colour", "another colour", otherwise="ask"),
    _diode_legs,
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
    elif not case.same_type and found in _STRUCTURES_TO_ASK.get(case.need.get("polarity", ""), ()):
        case.say("device", "ask", "driven another way: compare the circuit", DATA_SHEET, required=UNKNOWN)


_DEVICE = exact("device", "another structure is driven another way")


def _tab(case: Case) -> None:
    """The metal tab carries what it is joined to, to the heatsink or to nothing (practice of the trade)."""
    wanted, found = case.need.get("tab"), case.have.get("tab")
    if wanted is None or wanted == found:
        return
    if found is None:
        if not case.same_type:
            case.unknown("tab")
    elif found == "isolated":
        case.say("tab", "with_note", "an isolated tab carries no current and cools less: wire that leg")
    else:
        case.say(
            "tab", "with_note", "put a washer and a bush under the tab; ohms to the heatsink before power"
        )


TRANSISTOR: tuple[Rule, ...] = (
    another_type("polarity", "volts", "amps"),
    exact("polarity", "the same polarity only"),
    exact("material", "the same semiconductor only"),
    _structure,
    not_less("volts"),
    not_less("amps", weight=150),
    not_less("watts", weight=150),
    _gain,
    _transition_frequency,
    pin_order,
    _matched,
    _tab,
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


def _headroom(case: Case) -> None:
    """What the place gives it: enough above the output, and not more than it stands."""
    given, output = case.need.get("input_volts"), case.need.get("output_volts")
    if given is None:
        return
    most, dropout = case.have.get("input_max_volts"), case.have.get("dropout")
    if most is not None and most < given and "input_max_volts" not in case.need:
        case.say("input_max_volts", "no", "less than the place gives it", required=given)
    if output is None or dropout is None or "dropout" in case.need:
        return
    headroom = given - abs(output)
    if dropout > headroom:
        case.say("dropout", "no", "the place does not give so much above the output", required=headroom)


def _heat(case: Case) -> None:
    """(Vin - Vout) x I goes to the heatsink; told of any but the very type that it was chosen for."""
    given, output = case.need.get("input_volts"), case.need.get("output_volts")
    load = case.need.get("load_amps")
    if given is None or output is None or load is None or not case.reasons:
        return
    heat = plain((given - abs(output)) * load)
    rule = f"see to the heatsink: ({plain(given)} V - {plain(abs(output))} V) x {plain(load)} A = {heat} W"
    case.say("heat", "with_note", rule, required=f"{heat} W", offered=case.offer.number or case.offer.text)


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
    _headroom,
    pin_order,
    _tab,
    shape_of_many_legs,
    _heat,
)
