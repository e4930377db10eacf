"""The window that a reading must fall in, computed from a Spec.  Exact decimals in Ω, F, H, Hz and V."""

from dataclasses import dataclass
from decimal import ROUND_UP, Decimal
from typing import Any

from inventory.spec import UNITS, Spec
from inventory.spec.quantities import NOTATIONS
from repairs.proving.meter import Measurement, spoken
from repairs.proving.verdict import COMMON, MEMORY

PI = Decimal("3.14159265358979323846")

JUNCTION_SOURCE = "maker's manual, multimeter Minipa ET-3702A, p. 36: about 0.5 to 0.8 V, turned round OL"
GERMANIUM_SOURCE = "maker's manual, multimeter PeakTech 1080, 4.8: about 0.3 V"
SCHOTTKY_SOURCE = f"a Schottky junction drops about half of what silicon does; {COMMON}"
REGULATOR_SOURCE = "data sheet of the uA7800 series, SLVS056: 4.8 to 5.2 V of a 7805 at 25 °C (from memory)"
ELECTROLYTIC_SOURCE = "WIMA, Capacitance tolerance: +100 -20 % of electrolytics, wima.com/EN/tolerance.htm"
ESR_SOURCE = (
    "loss angle of standard types from data sheets (from memory), fitted to the typical ESR that a meter's "
    "manual gives: Peak ESR60/ESR70 user guide, p. 9"
)
DRIFT_SOURCE = COMMON

DRIFTED = Decimal(30)
"""Percent off at which a resistor is thrown away instead of going by its reading."""


@dataclass(frozen=True)
class Window:
    """From `low` to `high` of a quantity; None leaves that side open."""

    quantity: str
    low: Decimal | None
    high: Decimal | None
    source: str
    assumed: str = ""

    def holds(self, amount: Decimal) -> bool:
        return (self.low is None or amount >= self.low) and (self.high is None or amount <= self.high)

    @property
    def text(self) -> str:
        if self.low is None:
            return f"at most {spoken(self.high or Decimal(0), self.quantity)}"
        if self.high is None:
            return f"at least {spoken(self.low, self.quantity)}"
        return f"{spoken(self.low, self.quantity)} to {spoken(self.high, self.quantity)}"


def amount_of(spec: Spec) -> Decimal | None:
    """The value in Ω, F, H or Hz."""
    return None if spec.value is None else Decimal(spec.value) / UNITS[spec.kind][1]


def units_of(spec: Spec, reading: Measurement) -> int | None:
    """A reading in the kind's smallest units, where it is of the kind's own quantity."""
    notation = NOTATIONS.get(spec.kind)
    if (
        notation is None
        or reading.amount is None
        or reading.at_least
        or notation.quantity != reading.quantity
    ):
        return None
    units = int((reading.amount * notation.per_unit).to_integral_value())
    return units if 0 < units < 2**63 else None


def around(
    quantity: str, nominal: Decimal, below: Decimal, above: Decimal, source: str, assumed: str = ""
) -> Window:
    """So many percent below and above a nominal amount, whatever its sign."""
    ends = sorted((nominal * (1 - below / 100), nominal * (1 + above / 100)))
    return Window(quantity, ends[0], ends[1], source, assumed)


def resistance(spec: Spec) -> Window | None:
    nominal = amount_of(spec)
    if nominal is None:
        return None
    if nominal == 0:
        return Window("ohms", None, Decimal("0.5"), COMMON)
    percent = spec.tolerance_percent
    if percent is None:
        return around(
            "ohms", nominal, Decimal(20), Decimal(20), "IEC 60062: no tolerance band is 20 %", "20 %"
        )
    return around("ohms", nominal, percent, percent, "the marked tolerance")


_LONG_STORED = 2  # film and ceramic: twice the delivery tolerance after long storage


def capacitance(spec: Spec) -> Window | None:
    nominal = amount_of(spec)
    if nominal is None:
        return None
    low, high = spec.facts.get("tolerance_low_percent"), spec.facts.get("tolerance_high_percent")
    percent = spec.tolerance_percent
    wet = spec.dielectric.startswith("aluminium")
    if low is not None and high is not None:
        return around("farads", nominal, low, high, "the marked tolerance")
    if wet:
        if percent is None:
            return around("farads", nominal, Decimal(20), Decimal(100), ELECTROLYTIC_SOURCE, "-20 +100 %")
        return around("farads", nominal, percent, percent, "the marked tolerance")
    assumed = "" if percent is not None else "20 %"
    wide = min((percent if percent is not None else Decimal(20)) * _LONG_STORED, Decimal(100))
    return around(
        "farads", nominal, wide, wide, f"twice the marked tolerance after long storage; {COMMON}", assumed
    )


_LOSS = (
    (Decimal("6.3"), Decimal("0.22")), (Decimal(10), Decimal("0.19")), (Decimal(16), Decimal("0.16")),
    (Decimal(25), Decimal("0.14")), (Decimal(35), Decimal("0.12")), (Decimal(50), Decimal("0.10")),
    (Decimal(63), Decimal("0.09")), (Decimal(100), Decimal("0.08")), (Decimal(250), Decimal("0.15")),
)  # fmt: skip
"""Rated volts from which, highest loss angle at 120 Hz of a standard aluminium type (data sheets, from
memory).
"""
_TYPICAL = Decimal("0.75")  # of the highest: what the published table of typical values comes to
SCREEN = 2
"""Published ESR tables differ two to one: below twice the typical value no judgement is possible."""


def typical_esr(spec: Spec) -> Decimal | None:
    """ESR in Ω that a standard aluminium electrolytic has when new: loss angle / (2π × 120 Hz × C).

    None for other sorts, and where the value or the rated volts are not known.
    """
    nominal = amount_of(spec)
    if nominal is None or spec.volts is None or spec.dielectric not in ("aluminium", "aluminium_bipolar"):
        return None
    loss = next((loss for volts, loss in reversed(_LOSS) if spec.volts >= volts), _LOSS[0][1])
    loss += Decimal("0.02") * max(int(nominal * 1000) - 1, 0)  # 0.02 more for each 1000 µF above the first
    return _TYPICAL * loss / (2 * PI * 120 * nominal)


def _in_two_figures(amount: Decimal) -> Decimal:
    """Rounded up: a screen of two to one knows no more, and nobody reads more off an ESR meter."""
    return amount.quantize(Decimal(1).scaleb(amount.adjusted() - 1), rounding=ROUND_UP)


def series_resistance(spec: Spec) -> Window | None:
    """What ESR is not suspicious: the data sheet's highest where it is known, twice the typical value
    otherwise.
    """
    stated: Decimal | None = spec.facts.get("esr_ohm")
    if stated is not None:
        return Window("ohms", None, stated, "the data sheet's highest ESR")
    typical = typical_esr(spec)
    return None if typical is None else Window("ohms", None, _in_two_figures(typical * SCREEN), ESR_SOURCE)


def inductance(spec: Spec) -> Window | None:
    nominal = amount_of(spec)
    if nominal is None:
        return None
    percent = spec.tolerance_percent
    if percent is None:
        return around("henries", nominal, Decimal(20), Decimal(20), "no tolerance marked", "20 %")
    return around("henries", nominal, percent, percent, "the marked tolerance")


def frequency(spec: Spec) -> Window | None:
    nominal, ppm = amount_of(spec), spec.facts.get("ppm")
    if nominal is None:
        return None
    percent = Decimal(ppm) / 10_000 if ppm is not None else Decimal("0.02")
    assumed = "" if ppm is not None else "200 ppm"
    return around(
        "hertz", nominal, percent, percent, "the marked tolerance" if ppm is not None else COMMON, assumed
    )


SILICON = Window("volts", Decimal("0.5"), Decimal("0.8"), JUNCTION_SOURCE)
GERMANIUM = Window("volts", Decimal("0.15"), Decimal("0.4"), GERMANIUM_SOURCE)
SCHOTTKY = Window("volts", Decimal("0.1"), Decimal("0.45"), SCHOTTKY_SOURCE)
LIGHT = Window("volts", Decimal("1.4"), Decimal("3.6"), f"red from 1.6 V, blue to 3.5 V; {MEMORY}")
SHORTED = Decimal("0.1")
"""Volts on the diode range below which a junction is a short."""


def junction(spec: Spec) -> Window:
    """The drop of one junction on a meter's diode range."""
    known: Any = spec.known
    if known.get("material") == "germanium":
        return GERMANIUM
    if known.get("function") == "schottky":
        return SCHOTTKY
    if known.get("function") == "led":
        return LIGHT
    return SILICON


def regulating_volts(spec: Spec) -> Window | None:
    volts = spec.facts.get("zener_volts")
    if volts is None:
        return None
    percent = spec.tolerance_percent if spec.tolerance_percent is not None else Decimal(10)
    assumed = "" if spec.tolerance_percent is not None else "10 %"
    return around(
        "volts", volts, percent, percent, "the marked tolerance" if not assumed else MEMORY, assumed
    )


def output_volts(spec: Spec) -> Window | None:
    volts = spec.known.get("output_volts")
    if volts is None:
        return None
    percent = spec.tolerance_percent if spec.tolerance_percent is not None else Decimal(4)
    return around("volts", volts, percent, percent, REGULATOR_SOURCE)


def current_gain(spec: Spec) -> Window | None:
    least, most = spec.facts.get("gain_min"), spec.facts.get("gain_max")
    return None if least is None and most is None else Window("gain", least, most, "the type's gain range")
