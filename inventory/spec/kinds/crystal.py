"""Crystals: what is said of them, how hertz are written, and when one will do for another."""

from decimal import Decimal

from inventory.spec.judging import DATA_SHEET, LOOK, TEST, Case, Rule, exact, not_more, shape_of_two_legs
from inventory.spec.kinds.kind import Kind
from inventory.spec.notation import ValueNotation, powers, words
from inventory.spec.traits import Number, Trait, Word
from inventory.spec.values import WHOLE, ValueWindow, spread, value_fits

TRAITS: dict[str, Trait] = {
    "load_pf": Number("load capacitance, pF"),
    "device": Word("what it is, where it is no quartz crystal", "ceramic_resonator ceramic_filter"),
    "resonance": Word("circuit it is cut for", "series parallel"),
    "cut": Word("cut of the quartz"),
    "overtone": Number("overtone, 1 is fundamental", least=Decimal(1), most=Decimal(15), places=0),
    "ppm": Number("frequency tolerance, ppm"),
    "esr_ohm": Number("series resistance", "Ω"),
}


def _bare(whole: str, _fraction: str) -> tuple[int, ...]:
    return (0,) if len(whole) >= 5 else (0, 3, 6)


NOTATION = ValueNotation(
    unit="Hz",
    quantity="hertz",
    exponent=3,  # mHz
    expected="a frequency such as 3.579545 MHz, 32768 or 455 kc",
    words=words("hz c c/s cs cps", "k:3 m:6 g:9")  # no crystal counts in milli: m is mega in either case
    | words("hertz cycles", ":0 kilo:3 mega:6 giga:9")
    | powers("hz:0 c/s:0 cps:0 k:3 m:6 g:9"),
    points=powers("k:3 K:3 M:6 m:6 G:9"),
    units=frozenset(("hz",)),
    steps=(("MHz", 9), ("kHz", 6), ("Hz", 3)),
    point_is_dot=True,
    bare=_bare,
)
_SAME_CRYSTAL = ValueWindow(-WHOLE // 10_000, WHOLE // 10_000, stated=False)  # 14.318 for 14.31818 MHz

_SHORTEST = 3  # figures that a can is marked with at least
_SHORT_PPM = 2500
"""What a short mark may leave out: 1.84 MHz is 1.7 per mille off the 1.8432 MHz that it means."""


def marked_short(one: int, other: int) -> bool:
    """Whether one frequency is the other cut or rounded to the figures that are marked.

    >>> marked_short(3_579_545_000, 3_580_000_000), marked_short(4_000_000_000, 4_096_000_000)
    (True, False)
    """
    shorter, longer = sorted((one, other), key=lambda units: len(str(units).rstrip("0")))
    figures = len(str(shorter).rstrip("0"))
    if figures < _SHORTEST or abs(one - other) * 10**6 > longer * _SHORT_PPM:
        return False
    step: int = 10 ** (len(str(shorter)) - figures)
    return shorter in (longer // step * step, (2 * longer + step) // (2 * step) * step)


_FILTER = "ceramic_filter"


def _ceramic(case: Case) -> None:
    """A ceramic resonator keeps its frequency to some 0.5 %, a crystal to some 50 ppm (from memory)."""
    wanted, found = case.need.get("device"), case.have.get("device")
    if wanted != found and _FILTER in (wanted, found):
        case.add_reason("device", "no", "a filter passes a frequency and keeps no oscillator to it")
        return
    if found and not wanted and "value" in case.need:
        rule = "a ceramic resonator is a hundred times less exact: see what the place times"
        case.add_reason("device", "ask", rule, LOOK, required="crystal", offered="ceramic resonator")
    elif wanted and not found:
        rule = "a crystal starts harder and wants other capacitors at its legs"
        case.add_reason("device", "ask", rule, DATA_SHEET, required="ceramic resonator", offered="crystal")


RULES: tuple[Rule, ...] = (
    value_fits,
    _ceramic,
    exact("overtone", "another overtone starts at another frequency"),
    exact(
        "resonance", "series and parallel cut differ in frequency: try it and count", TEST, otherwise="ask"
    ),
    exact("load_pf", "another load capacitance shifts the frequency: try and count", TEST, otherwise="ask"),
    exact("cut", "another cut drifts another way", otherwise="ask"),
    not_more("ppm"),
    not_more("esr_ohm"),
    shape_of_two_legs,
)

CRYSTAL = Kind(
    name="crystal",
    noun="crystal",
    traits=TRAITS,
    rules=RULES,
    words=("xtal", "quartz", "resonator"),
    meter_percent=Decimal("0.0005"),
    marked_short=marked_short,
    short_parts=_SHORT_PPM * 1000 * 2,
    notation=NOTATION,
    window=lambda need: spread(need) or _SAME_CRYSTAL,
)
