"""Trials of diodes, transistors, zeners and regulators.

A junction that is open both ways is believed in circuit too; one that is low or shorted there is not: a
winding across it reads the same.
"""

from decimal import Decimal

from inventory.spec import Spec, SpecError
from repairs.proving import windows
from repairs.proving.meter import Measurement, UnreadableReading, read_meter
from repairs.proving.passive import LIFT_A_LEG, only
from repairs.proving.verdict import (
    COMMON,
    FAULTY,
    GOOD,
    INCONCLUSIVE,
    MEMORY,
    SUSPECT,
    Judgement,
    TrialReason,
    together,
)
from repairs.proving.windows import JUNCTION_SOURCE, SHORTED, Window

Pair = tuple[str, str]
OPEN_FAULT = TrialReason(
    "open", "open where it should conduct: no path beside it could hide that", JUNCTION_SOURCE
)


def _drops(text: str) -> tuple[Measurement, ...]:
    """Diode-range readings in volts; meters that show millivolts show three figures without a point."""
    found = []
    for reading in read_meter(text, bare="volts"):
        if reading.quantity == "volts" and reading.amount is not None and reading.amount >= 100:
            reading = Measurement(
                "volts", reading.amount / 1000, reading.between, reading.at_least, reading.both_ways
            )
        if reading.quantity != "volts":
            raise UnreadableReading(
                "expected the drops that the diode range shows, in volts, and OL where it is open"
            )
        found.append(reading)
    return tuple(found)


def diode_range_of_diode(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """`0.62, OL`: the first is taken as forward where none is named."""
    forward, reverse = _forward_and_reverse(_drops(text))
    window = windows.junction(spec)
    dark = forward is not None and forward.is_open and (reverse is None or reverse.is_open)
    if dark and spec.known.get("function") == "led":
        detail = "open both ways, but many a meter's range ends below its light: try a supply and 1 kΩ"
        return Judgement(INCONCLUSIVE, (TrialReason("above_the_range", detail, windows.LIGHT.source),))
    back = _right_in_reverse(spec, reverse)
    if back is None:
        return _junction(window, "", forward, reverse, in_circuit)
    judged = _junction(window, "", forward, _OPEN, in_circuit)
    return together([judged, back])


_OPEN = Measurement("volts", None)
GERMANIUM_LEAKS = Decimal(1)
"""Volts in reverse from which germanium only leaks."""


def _right_in_reverse(spec: Spec, reverse: Measurement | None) -> Judgement | None:
    """What a reverse reading says of parts that may show one: a zener below a meter's volts, germanium."""
    if reverse is None or reverse.amount is None or reverse.at_least:
        return None
    zener = windows.regulating_volts(spec)
    if zener is not None and zener.low is not None and reverse.amount >= zener.low / 2:
        detail = f"{reverse.text} in reverse: its own {zener.text}, which the meter's volts reach"
        return Judgement(GOOD, (TrialReason("regulates", detail, MEMORY),))
    if spec.known.get("material") == "germanium" and reverse.amount >= GERMANIUM_LEAKS:
        detail = f"{reverse.text} in reverse: germanium leaks; more when warm"
        return Judgement(SUSPECT, (TrialReason("leaks", detail, MEMORY),))
    return None


_FORWARD, _REVERSE = ("forward", "a-k"), ("reverse", "k-a", "back")


def _forward_and_reverse(readings: tuple[Measurement, ...]) -> tuple[Measurement | None, Measurement | None]:
    if len(readings) == 1 and readings[0].both_ways:
        return readings[0], readings[0]
    forward = next((reading for reading in readings if reading.between in _FORWARD), None)
    reverse = next((reading for reading in readings if reading.between in _REVERSE), None)
    left = [reading for reading in readings if reading not in (forward, reverse)]
    if len(left) > 2 or (forward and reverse and left):
        raise UnreadableReading("expected two readings: forward, and with the leads turned round")
    if forward is None and reverse is None and len(left) == 2 and left[0].is_open and not left[1].is_open:
        left.reverse()
    if forward is None and left:
        forward = left.pop(0)
    if reverse is None and left:
        reverse = left.pop(0)
    return forward, reverse


def _junction(
    window: Window, name: str, forward: Measurement | None, reverse: Measurement | None, in_circuit: bool
) -> Judgement:
    """One junction from its two readings."""
    at = f"{name}: " if name else ""
    both = [reading for reading in (forward, reverse) if reading is not None]
    low = [reading for reading in both if reading.amount is not None and abs(reading.amount) < SHORTED]
    if low:
        short = TrialReason("shorted", f"{at}{low[0].text} is a short", JUNCTION_SOURCE)
        return Judgement(INCONCLUSIVE, (short, LIFT_A_LEG)) if in_circuit else Judgement(FAULTY, (short,))
    if len(both) == 2 and all(reading.is_open for reading in both):
        return Judgement(FAULTY, (TrialReason("open", f"{at}{OPEN_FAULT.detail}", JUNCTION_SOURCE),))
    if forward is None or reverse is None:
        reason = TrialReason(
            "not_taken",
            f"{at}measure it both ways: the drop, and open with the leads turned round",
            JUNCTION_SOURCE,
        )
        return Judgement(INCONCLUSIVE, (reason,))
    if forward.amount is None:
        turned = (
            f"{at}open forward and conducting in reverse: the leads, or the part, are the other way round"
        )
        return Judgement(INCONCLUSIVE, (TrialReason("turned_round", turned, JUNCTION_SOURCE),))
    if not reverse.is_open and not reverse.at_least:
        leaks = TrialReason(
            "conducts_back", f"{at}{reverse.text} in reverse, should be open", JUNCTION_SOURCE
        )
        return Judgement(INCONCLUSIVE, (leaks, LIFT_A_LEG)) if in_circuit else Judgement(FAULTY, (leaks,))
    if window.holds(forward.amount):
        return Judgement(
            GOOD, (TrialReason("inside", f"{at}{forward.text} is inside {window.text}", window.source),)
        )
    outside = TrialReason("outside", f"{at}{forward.text} is outside {window.text}", window.source)
    if in_circuit and window.low is not None and forward.amount < window.low:
        return Judgement(INCONCLUSIVE, (outside, LIFT_A_LEG))
    return Judgement(SUSPECT, (outside,))


_JUNCTIONS: dict[str, tuple[Pair, Pair]] = {"npn": (("b", "e"), ("b", "c")), "pnp": (("e", "b"), ("c", "b"))}


def diode_range_of_transistor(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """`b-e 0.66, b-c 0.65, rest open`: plus lead first; `both ways` gives two at once."""
    polarity = str(spec.known.get("polarity", ""))
    taken, rest = _pairs(_drops(text))
    window = windows.junction(spec)
    parts = []
    for plus, minus in _JUNCTIONS.get(polarity, _either_way(taken)):
        forward, reverse = taken.get((plus, minus), rest), taken.get((minus, plus), rest)
        parts.append(_junction(window, f"{plus}-{minus}", forward, reverse, in_circuit))
    parts.append(_across(taken.get(("c", "e"), rest), taken.get(("e", "c"), rest), in_circuit))
    return together(parts)


def _pairs(readings: tuple[Measurement, ...]) -> tuple[dict[Pair, Measurement], Measurement | None]:
    taken: dict[Pair, Measurement] = {}
    rest = None
    for reading in readings:
        if reading.between == "rest":
            if not reading.is_open:
                raise UnreadableReading("the rest of a transistor is open, or is named leg by leg")
            rest = reading
            continue
        plus, dash, minus = reading.between.partition("-")
        if not dash or {plus, minus} - set("bce") or plus == minus:
            raise UnreadableReading(
                "expected each reading with its two legs, plus lead first: b-e 0.66, b-c 0.65, c-e OL"
            )
        taken[plus, minus] = reading
        if reading.both_ways:
            taken[minus, plus] = reading
    return taken, rest


def _either_way(taken: dict[Pair, Measurement]) -> tuple[Pair, Pair]:
    """Which way the junctions lie where nobody knows the polarity: the way in which one conducts."""
    pnp = any(
        (reading := taken.get(pair)) is not None and reading.amount is not None for pair in _JUNCTIONS["pnp"]
    )
    return _JUNCTIONS["pnp" if pnp else "npn"]


def _across(one: Measurement | None, other: Measurement | None, in_circuit: bool) -> Judgement:
    """Collector to emitter: open both ways."""
    taken = [reading for reading in (one, other) if reading is not None]
    conducts = [reading for reading in taken if not reading.is_open and not reading.at_least]
    if conducts:
        reason = TrialReason("shorted", f"c-e: {conducts[0].text}, should be open", JUNCTION_SOURCE)
        return Judgement(INCONCLUSIVE, (reason, LIFT_A_LEG)) if in_circuit else Judgement(FAULTY, (reason,))
    if not taken:
        return Judgement(
            INCONCLUSIVE, (TrialReason("not_taken", "c-e: not taken, should be open", JUNCTION_SOURCE),)
        )
    return Judgement(GOOD, (TrialReason("inside", "c-e is open", JUNCTION_SOURCE),))


def gain(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    if in_circuit:
        return Judgement(INCONCLUSIVE, (TrialReason("lift_a_leg", "gain is taken out of circuit", COMMON),))
    reading = only(read_meter(text, bare="gain"), "gain")
    window = windows.current_gain(spec)
    if reading.amount is None or window is None:
        return Judgement(INCONCLUSIVE, (TrialReason("no_range", "the type's gain range is not known"),))
    if window.holds(reading.amount):
        return Judgement(
            GOOD, (TrialReason("inside", f"{reading.text} is inside {window.text}", window.source),)
        )
    if reading.amount < 5:
        return Judgement(FAULTY, (TrialReason("no_gain", f"{reading.text}: it does not amplify", COMMON),))
    detail = f"{reading.text} is outside {window.text}; a meter tests at its own current"
    return Judgement(SUSPECT, (TrialReason("outside", detail, window.source),))


def volts_through_resistor(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """A zener on a supply through a series resistor."""
    return _volts(windows.regulating_volts(spec), text, in_circuit)


def light_load(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """A regulator on a supply, into a light load."""
    return _volts(windows.output_volts(spec), text, in_circuit)


def _volts(window: Window | None, text: str, in_circuit: bool) -> Judgement:
    reading = only(read_meter(text, bare="volts")[:1], "volts")
    if window is None or window.low is None or window.high is None:
        return Judgement(
            INCONCLUSIVE, (TrialReason("no_window", "its volts are not known: nothing to compare with"),)
        )
    if reading.amount is None:
        return Judgement(
            INCONCLUSIVE, (TrialReason("no_reading", "no volts: check the set-up first", COMMON),)
        )
    if window.holds(reading.amount):
        return Judgement(
            GOOD, (TrialReason("inside", f"{reading.text} is inside {window.text}", window.source),)
        )
    outside = TrialReason("outside", f"{reading.text} is outside {window.text}", window.source)
    middle = (window.low + window.high) / 2
    if reading.amount * middle < 0:
        reason = TrialReason(
            "turned_round", "the sign is wrong: check the meter's leads and the legs", COMMON
        )
        return Judgement(INCONCLUSIVE, (outside, reason))
    if in_circuit:
        reason = TrialReason("load", "in circuit the load may pull it there: try it alone", COMMON)
        return Judgement(INCONCLUSIVE, (outside, reason))
    half = (window.high - window.low) / 2
    near = abs(reading.amount - middle) <= 2 * half
    return Judgement(SUSPECT if near else FAULTY, (outside,))


_LEGS = frozenset(
    ("E", "B", "C", "G", "D", "S", "A", "K", "A1", "A2", "T1", "T2", "MT1", "MT2", "P", "N",
     "IN", "OUT", "GND", "ADJ", "COM", "SENSE", "EN", "NC", "TAB")
)  # fmt: skip


def pin_order(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """What the legs carry, as a tester or a data sheet has it: `E-B-C`.  It judges nothing else."""
    data = {"kind": spec.kind, "traits": {"pin_order": text}}
    try:
        order = str(Spec.from_dict(data).traits["pin_order"])
    except SpecError:
        raise UnreadableReading(
            "expected what the legs carry in order, such as E-B-C or in-gnd-out"
        ) from None
    legs = order.split("-")
    if len(legs) < 3 or len(legs) != len(set(legs)) or not set(legs) <= _LEGS:
        raise UnreadableReading("expected each of three legs or more once, such as E-B-C or in-gnd-out")
    return Judgement(
        INCONCLUSIVE, (TrialReason("pin_order", f"legs are {order}, left to right"),), None, order
    )
