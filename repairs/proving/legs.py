"""Trials of parts with several junctions, leg by leg: Darlingtons, field-effect types, bridges, thyristors.

A reading stands between two legs, plus lead first: `g-s 0.68`.  For each pair of legs there is a drop that it
must show, or it must be open, or either will do.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.spec import Spec
from repairs.proving.meter import Measurement, UnreadableReading, read_meter
from repairs.proving.passive import LIFT_A_LEG
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
from repairs.proving.windows import JUNCTION_SOURCE, SILICON, Window

BRIDGE_SOURCE = (
    "maker's manual, meter FLIR CM174, 5.8: 0.40 to 0.80 V, turned round OL; a bridge is four such diodes"
)
THYRISTOR_SOURCE = (
    "NEETS module 21, p. 2-21: anode to cathode open both ways; gate to cathode 0.2 to 0.8 V is " + COMMON
)
TRIAC_SOURCE = f"gate to main terminal one tens to hundreds of ohms both ways; {COMMON}"
FET_SOURCE = f"channel 100 to 1000 Ω, insulated gate open; {COMMON}"

ONE_OF_BRIDGE = Window("volts", Decimal("0.4"), Decimal("0.8"), BRIDGE_SOURCE)
TWO_JUNCTIONS = Window(
    "volts", Decimal("0.6"), Decimal("1.5"), f"two junctions, or one and resistors inside; {MEMORY}"
)
BODY_DIODE = Window("volts", Decimal("0.4"), Decimal("0.8"), f"body or damper diode; {MEMORY}")
GATE_JUNCTION = Window("volts", Decimal("0.2"), Decimal("0.8"), THYRISTOR_SOURCE)
GATE_OHMS = Window("ohms", Decimal(5), Decimal(900), TRIAC_SOURCE)
CHANNEL = Window("volts", Decimal("0.02"), Decimal("1.5"), f"{FET_SOURCE}; a meter's 1 mA makes mV of Ω")
SHORTED = {"volts": Decimal("0.02"), "ohms": Decimal(2)}
"""Below it two legs are joined."""


@dataclass(frozen=True)
class Pair:
    """What stands between two legs, plus lead on the first.  `window`: the drop; without one it is open.

    `or_open`: some makes have nothing there, so that open is right too.
    """

    plus: str
    minus: str
    window: Window | None = None
    or_open: bool = False
    source: str = JUNCTION_SOURCE

    @property
    def name(self) -> str:
        return f"{self.plus}-{self.minus}"


def _both(
    first: str, second: str, window: Window | None = None, source: str = JUNCTION_SOURCE
) -> Iterator[Pair]:
    yield Pair(first, second, window, source=source)
    yield Pair(second, first, window, source=source)


def pairs_of(spec: Spec) -> tuple[Pair, ...]:
    """What each pair of legs must show, by the part's function or device; () where nobody knows."""
    known = spec.known
    if spec.kind == "diode":
        return _OF_DIODE.get(str(known.get("function")), ())
    device, polarity = str(known.get("device")), str(known.get("polarity"))
    drawn = _OF_TRANSISTOR.get(device, ())
    if polarity in ("pnp", "p_channel"):
        return tuple(Pair(pair.minus, pair.plus, pair.window, pair.or_open, pair.source) for pair in drawn)
    return drawn if polarity in ("npn", "n_channel") else ()


_OF_DIODE: Mapping[str, tuple[Pair, ...]] = {
    "bridge": (
        Pair("n", "a", ONE_OF_BRIDGE), Pair("n", "b", ONE_OF_BRIDGE),
        Pair("a", "p", ONE_OF_BRIDGE), Pair("b", "p", ONE_OF_BRIDGE),
        *(Pair(plus, minus, source=BRIDGE_SOURCE) for plus, minus in ("an", "bn", "pa", "pb", "ab", "ba")),
    ),
    "thyristor": (
        Pair("g", "k", GATE_JUNCTION),
        *_both("a", "k", source=THYRISTOR_SOURCE), *_both("a", "g", source=THYRISTOR_SOURCE),
    ),
    "triac": (
        *_both("g", "k", GATE_OHMS),
        *_both("a", "k", source=TRIAC_SOURCE), *_both("a", "g", source=TRIAC_SOURCE),
    ),
    "diac": tuple(_both("a", "k", source=f"it breaks over near 30 V, far above a meter's; {MEMORY}")),
}  # fmt: skip
_OF_TRANSISTOR: Mapping[str, tuple[Pair, ...]] = {
    "darlington": (
        Pair("b", "e", TWO_JUNCTIONS), Pair("b", "c", SILICON), Pair("c", "b"), Pair("c", "e"),
        Pair("e", "c", BODY_DIODE, or_open=True),
    ),
    "jfet": (
        Pair("g", "s", SILICON), Pair("g", "d", SILICON),
        Pair("s", "g", source=FET_SOURCE), Pair("d", "g", source=FET_SOURCE),
        *_both("d", "s", CHANNEL),
    ),
    "mosfet": (
        Pair("s", "d", BODY_DIODE), Pair("d", "s", source=FET_SOURCE),
        *_both("g", "s", source=FET_SOURCE), *_both("g", "d", source=FET_SOURCE),
    ),
    "igbt": (
        Pair("e", "c", BODY_DIODE, or_open=True), Pair("c", "e", source=FET_SOURCE),
        *_both("g", "e", source=FET_SOURCE), *_both("g", "c", source=FET_SOURCE),
    ),
}  # fmt: skip
"""As N type; a P type is the same with the leads turned round."""


def drops_of(spec: Spec) -> tuple[Window, ...]:
    """The windows of the drops that the part must show, each once."""
    return tuple(dict.fromkeys(pair.window for pair in pairs_of(spec) if pair.window is not None))


def leg_by_leg(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """`g-s 0.68, g-d 0.68, d-s 0.2 both ways, rest open`."""
    pairs = pairs_of(spec)
    bare = "ohms" if any(pair.window is GATE_OHMS for pair in pairs) else "volts"
    taken, rest = _taken(pairs, text, bare)
    return together(_pair(pair, taken.get(pair.name, rest), in_circuit) for pair in pairs)


def _taken(
    pairs: tuple[Pair, ...], text: str, bare: str
) -> tuple[dict[str, Measurement], Measurement | None]:
    legs = {leg for pair in pairs for leg in (pair.plus, pair.minus)}
    taken: dict[str, Measurement] = {}
    rest = None
    for reading in read_meter(text, bare=bare):
        if reading.between == "rest" and reading.is_open:
            rest = reading
            continue
        plus, dash, minus = reading.between.partition("-")
        if not dash or not {plus, minus} <= legs or plus == minus or reading.quantity not in SHORTED:
            detail = f"expected each reading with two of the legs {', '.join(sorted(legs))}, plus lead first"
            raise UnreadableReading(f"{detail}, and what is left as rest open")
        if bare == "ohms" and reading.quantity != "ohms":
            raise UnreadableReading("expected ohms, and OL where it is open")
        reading = _in_volts(reading) if bare == "volts" else reading
        taken[f"{plus}-{minus}"] = reading
        if reading.both_ways:
            taken[f"{minus}-{plus}"] = reading
    return taken, rest


def _in_volts(reading: Measurement) -> Measurement:
    """Meters that show millivolts show three figures; a channel's ohms are so many mV at a meter's 1 mA."""
    if reading.amount is None or (reading.quantity == "volts" and reading.amount < 100):
        return reading
    return Measurement("volts", reading.amount / 1000, reading.between, reading.at_least, reading.both_ways)


def _pair(pair: Pair, reading: Measurement | None, in_circuit: bool) -> Judgement:
    if reading is None:
        wants = pair.window.text if pair.window is not None else "open"
        return Judgement(
            INCONCLUSIVE,
            (TrialReason("not_taken", f"{pair.name}: not taken, should be {wants}", pair.source),),
        )
    detail = f"{pair.name}: {reading.text}"
    if reading.amount is None or (reading.at_least and pair.window is None):
        if pair.window is None or pair.or_open:
            return Judgement(GOOD, (TrialReason("inside", f"{pair.name} is open", pair.source),))
        open_ = TrialReason("open", f"{detail} where it should conduct", pair.window.source)
        return Judgement(FAULTY, (open_,))
    if pair.window is not None and pair.window.holds(reading.amount):
        inside = TrialReason("inside", f"{detail} is inside {pair.window.text}", pair.window.source)
        return Judgement(GOOD, (inside,))
    if reading.amount < SHORTED[reading.quantity] or pair.window is None:
        code = "shorted" if reading.amount < SHORTED[reading.quantity] else "conducts"
        wants = "open" if pair.window is None else pair.window.text
        short = TrialReason(code, f"{detail}, should be {wants}", pair.source)
        return Judgement(INCONCLUSIVE, (short, LIFT_A_LEG)) if in_circuit else Judgement(FAULTY, (short,))
    outside = TrialReason("outside", f"{detail} is outside {pair.window.text}", pair.window.source)
    low = pair.window.low is not None and reading.amount < pair.window.low
    if in_circuit and low:
        return Judgement(INCONCLUSIVE, (outside, LIFT_A_LEG))
    return Judgement(SUSPECT, (outside,))
