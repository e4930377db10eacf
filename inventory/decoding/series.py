"""Preferred numbers, IEC 60063 (as tabulated in the general-purpose package eseries 1.2.1), and how usual a
value is.

E48 and E96 follow 10^(i/n) rounded to three figures; E192 has 920 where the formula gives 919. E24 and below
keep the older, hand-rounded figures.
"""

from __future__ import annotations

from functools import cache

E6 = (10, 15, 22, 33, 47, 68)
E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)
E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
E96 = tuple(round(10 ** (index / 96) * 100) for index in range(96))
E192 = tuple(920 if index == 185 else round(10 ** (index / 192) * 100) for index in range(192))
# Values printed on valve-era parts and still sold, in no E series (vintage_notations.csv).
ROUND_OLD = (25, 32, 35, 40, 50, 60, 64, 80, 90)


def _significand(figures: int) -> int:
    while figures and figures % 10 == 0:
        figures //= 10
    return figures


USUAL: dict[int, float] = {}
SERIES: dict[int, str] = {}
for _weight, _name, _values in (
    (0.015, "E192", E192),
    (0.2, "E96", E96),
    (0.08, "", ROUND_OLD),
    (0.95, "E24", E24),
    (1.0, "E12", E12),
    (1.0, "E6", E6),
):
    for _value in _values:
        USUAL[_significand(_value)] = _weight
        SERIES[_significand(_value)] = _name
UNUSUAL = 0.004


def usualness(value: int) -> float:
    """How common a resistor's figures are: 1 for E12, 0.95 for the rest of E24, less beyond, never 0."""
    while value and value % 1000 == 0:
        value //= 1000
    while value and value % 10 == 0:
        value //= 10
    return USUAL.get(value, UNUSUAL) if value else 1.0


def series_of(value: int) -> str:
    """The narrowest series that holds the value, "" when none does."""
    return SERIES.get(_significand(value), "")


@cache
def usual_figures(places: int, close: bool) -> tuple[str, ...]:
    """Every way in which so many digits may hold a usual value, noughts before or behind it, E6 first; those
    of E48 and closer, if they are asked for, last.
    """
    found = {}
    for significand, weight in USUAL.items():
        if not close and SERIES[significand] in ("E96", "E192"):
            continue
        text = str(significand)
        rank = {"E6": 0, "E12": 1, "E24": 2}.get(SERIES[significand], 3 - weight)
        for before in range(places - len(text) + 1):
            found["0" * before + text.ljust(places - before, "0")] = rank + before
    return tuple(sorted(found, key=found.__getitem__))


TRACKS = frozenset((1, 2, 5, 10, 20, 22, 25, 47, 50, 100, 200, 220, 250, 470, 500))
"""Figures that the tracks of potentiometers are made in (common practice, no source)."""
