"""Inductors: what is said of them, how henries are written, and when one will do for another."""

from decimal import Decimal

from inventory.spec.judging import (
    DATA_SHEET,
    UNKNOWN,
    Case,
    Rule,
    exact,
    not_less,
    not_more,
    shape_of_two_legs,
)
from inventory.spec.kinds.kind import Kind
from inventory.spec.kinds.winding import same_number, winding
from inventory.spec.notation import ValueNotation, powers, words
from inventory.spec.traits import Flag, Number, Trait, Word, place_use
from inventory.spec.values import NEAR, spread, tolerance_fits, value_fits

TRAITS: dict[str, Trait] = {
    "dcr_ohm": Number("winding resistance", "Ω"),
    "saturation_amps": Number("saturation current", "A"),
    "shielded": Flag("magnetically shielded"),
    "core": Word("core material"),
    "rewound": Flag("wound again to the figures of the one it replaces"),
    "use": place_use("filter switching"),
}


def _bare(whole: str, fraction: str) -> tuple[int, ...]:
    return (0,) if whole == "0" and fraction.startswith("0") else (0, -6)


NOTATION = ValueNotation(
    unit="H",
    quantity="henries",
    exponent=12,  # pH
    expected="an inductance such as 100 µH, 4u7, 2m2 or 10 H",
    words=words("h hy", ":0 m:-3 µ:-6 u:-6 n:-9 p:-12")
    | words("henry henrys henries", ":0 milli:-3 micro:-6 nano:-9")
    | powers("m:-3 u:-6 µ:-6 n:-9 p:-12")
    | powers("M:-3|-6"),  # milli in old capitals, or µH and the 20 % letter
    points=powers("H:0 m:-3 u:-6 µ:-6 n:-9 p:-12"),
    old_points=powers("R:-6 U:-6 N:-9"),
    units=frozenset(("h", "hy")),
    steps=(("H", 12), ("m", 9), ("µ", 6), ("n", 3)),
    unit_after="H",
    bare=_bare,
    three_figure_power=-6,
)


def _saturation(case: Case) -> None:
    """A switching supply wants a core that does not saturate, and the data of many chokes do not say."""
    stated = "saturation_amps" in case.need or "amps" in case.need
    if case.need.get("use") == "switching" and not stated and not same_number(case):
        rule = "the place does not state the peak current: compare the cores"
        case.add_reason("saturation_amps", "ask", rule, DATA_SHEET, required=UNKNOWN)


RULES: tuple[Rule, ...] = (
    value_fits,
    tolerance_fits,
    not_less("amps"),
    not_less("saturation_amps"),
    _saturation,
    not_less("volts"),
    not_more("dcr_ohm"),
    exact("shielded", "stray field differs", otherwise="ask"),
    exact("core", "another core", otherwise="ask"),
    shape_of_two_legs,
    winding,
)


INDUCTOR = Kind(
    name="inductor",
    noun="inductor",
    traits=TRAITS,
    rules=RULES,
    words=("l", "ind", "coil", "choke"),
    meter_percent=Decimal(3),
    notation=NOTATION,
    window=lambda need: spread(need) or NEAR,
)
