"""Resistor colours: 3 to 6 bands by IEC 60062:2016, older and high-voltage meanings, body-tip-dot, fusible,
reliability.

Sources: IEC 60062 as on the colour card of Vishay (grey 0.01 % among it) and the abstract of its edition of
2016 (pink); US Army subcourse OD1633 (reliability band, no band 20 %); older and high-voltage colours,
black and green temperature coefficients, body-tip-dot: from memory; the white band: common practice, no
source.
"""

from __future__ import annotations

from .bands import FIGURES, FIRST_FIGURE, BandRole, Entry, Scheme, table
from .candidates import Candidate, Notation, percent
from .temperature import of_resistor

STANDARD = "IEC 60062"
AXIAL = {"axial": 1.5, "chip": 0.2}
ONE = Notation("single black band", STANDARD, "resistor", 1.0, AXIAL)
THREE = Notation("three-band colour code", STANDARD, "resistor", 0.3, AXIAL)
FOUR = Notation("four-band colour code", STANDARD, "resistor", 1.0, {**AXIAL, "beige body": 1.5})
FIVE = Notation("five-band colour code", STANDARD, "resistor", 1.0, {**AXIAL, "blue body": 1.5}, since=1965)
SIX = Notation("six-band colour code", STANDARD, "resistor", 1.0, AXIAL, since=1975)
RELIABILITY = Notation(
    "four bands and a reliability band", "MIL-R-39008", "resistor", 0.06, {"military": 20}, until=2005
)
FUSIBLE = Notation("bands with a white fusible band", "makers' practice", "resistor", 0.3, {"fusible": 10})
BODY = Notation("body, tip and dot", "RMA", "resistor", 1.0, {"old": 2}, until=1955)

SUSPECT = "orange, yellow, grey and white tolerance bands mean different things on old parts: measure"
HIGH_VOLTAGE = (
    "yellow and grey replace gold and silver on high-voltage types, to keep metal out of the lacquer"
)

MULTIPLIER = table(
    pink=Entry((10**6, 1000), "x0.001 Ω", 0.02, "pink as a multiplier came with IEC 60062:2016", 2010),
    silver=Entry((10**6, 100), "x0.01 Ω", 0.3),
    gold=Entry((10**6, 10), "x0.1 Ω", 0.8),
    **{
        colour: Entry((10 ** (6 + power), 1), f"x10^{power} Ω", 1.0 if power < 7 else 0.3)
        for power, colour in enumerate(FIGURES)
    },
)


def tolerance(amount: str, weight: float, caution: str = "", since: int = 0, until: int = 9999) -> Entry:
    return Entry(percent(amount), f"±{amount} %", weight, caution, since, until)


TWO_FIGURE_TOLERANCE = table(
    gold=tolerance("5", 1.0),
    silver=tolerance("10", 0.6),
    red=tolerance("2", 0.25),
    brown=tolerance("1", 0.2),
    green=tolerance("0.5", 0.02),
    blue=tolerance("0.25", 0.02),
    violet=tolerance("0.1", 0.02),
    none=tolerance("20", 0.3),
    black=tolerance("20", 0.004, "black as 20 % stands in one textbook table only"),
    orange=(tolerance("3", 0.01, SUSPECT, until=1990), tolerance("0.05", 0.002, SUSPECT, since=2016)),
    yellow=(
        tolerance("5", 0.02, HIGH_VOLTAGE),
        tolerance("4", 0.005, SUSPECT, until=1990),
        tolerance("0.02", 0.002, SUSPECT, since=2016),
    ),
    grey=(
        tolerance("10", 0.02, HIGH_VOLTAGE),
        tolerance("0.05", 0.003, SUSPECT, until=2016),
        tolerance("0.01", 0.002, SUSPECT, since=2016),
    ),
)
THREE_FIGURE_TOLERANCE = table(
    brown=tolerance("1", 1.0),
    red=tolerance("2", 0.35),
    gold=tolerance("5", 0.15),
    green=tolerance("0.5", 0.15),
    blue=tolerance("0.25", 0.1),
    violet=tolerance("0.1", 0.1),
    silver=tolerance("10", 0.05),
    orange=(tolerance("0.05", 0.02, SUSPECT, since=2016), tolerance("3", 0.002, SUSPECT, until=1990)),
    yellow=(
        tolerance("0.02", 0.02, SUSPECT, since=2016),
        tolerance("5", 0.005, HIGH_VOLTAGE),
        tolerance("4", 0.001, SUSPECT, until=1990),
    ),
    grey=(
        tolerance("0.05", 0.02, SUSPECT, until=2016),
        tolerance("0.01", 0.01, SUSPECT, since=2016),
        tolerance("10", 0.003, HIGH_VOLTAGE),
    ),
)
COEFFICIENT = table(
    **{
        colour: Entry(of_resistor(ppm), f"{ppm} ppm/K", weight)
        for colour, ppm, weight in (
            ("brown", 100, 1.0), ("red", 50, 1.0), ("yellow", 25, 0.5), ("orange", 15, 0.4), ("blue", 10,
            0.2),
            ("violet", 5, 0.2), ("green", 20, 0.1), ("grey", 1, 0.05), ("black", 250, 0.1),
        )
    }
)  # fmt: skip
RATE = table(
    **{
        colour: Entry({"failure_rate_percent_per_1000_h": rate}, f"{rate} % failures in 1000 h", 0.5)
        for colour, rate in (("brown", "1"), ("red", "0.1"), ("orange", "0.01"), ("yellow", "0.001"))
    }
)
MILITARY_TOLERANCE = table(
    gold=tolerance("5", 1.0),
    silver=tolerance("10", 1.0),
    red=tolerance("2", 0.02),
    brown=tolerance("1", 0.01),
)
WHITE_MARK = table(
    white=Entry(
        {"fusible": True},
        "fusible",
        1.0,
        "a fusible resistor is a safety part: replace only by the same class and rating",
    )
)
ZERO_LINK = table(black=Entry(0, "0 Ω"))

first = BandRole("figure", FIRST_FIGURE)
figure = BandRole("figure", FIGURES)
multiplier = BandRole("multiplier", MULTIPLIER)
wide_tolerance = BandRole("tolerance", TWO_FIGURE_TOLERANCE)
close_tolerance = BandRole("tolerance", THREE_FIGURE_TOLERANCE)


def zero_link(
    row: list[Entry], weight: float, used: tuple[tuple[str, str], ...], scheme: Scheme
) -> Candidate:
    return Candidate(scheme.notation, 0, used, weight, cautions=("a link, typically 10 to 50 mΩ at most",))


SCHEMES = (
    Scheme(ONE, (BandRole("mark", ZERO_LINK),), either_end=False, make=zero_link),
    Scheme(THREE, (first, figure, multiplier), missing_tolerance=percent("20")),
    Scheme(FOUR, (first, figure, multiplier, wide_tolerance)),
    Scheme(FIVE, (first, figure, figure, multiplier, close_tolerance)),
    Scheme(
        RELIABILITY,
        (first, figure, multiplier, BandRole("tolerance", MILITARY_TOLERANCE), BandRole("trait", RATE)),
    ),
    Scheme(FUSIBLE, (first, figure, multiplier, wide_tolerance, BandRole("trait", WHITE_MARK))),
    Scheme(SIX, (first, figure, figure, multiplier, close_tolerance, BandRole("temperature", COEFFICIENT))),
    Scheme(FUSIBLE, (first, figure, figure, multiplier, close_tolerance, BandRole("trait", WHITE_MARK))),
    Scheme(
        BODY,
        (first, figure, multiplier),
        either_end=False,
        missing_tolerance=percent("20"),
        keywords=("body-tip-dot", "body"),
    ),
    Scheme(
        BODY, (first, figure, multiplier, wide_tolerance), either_end=False, keywords=("body-tip-dot", "body")
    ),
)
