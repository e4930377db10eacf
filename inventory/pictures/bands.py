"""Colours of the bands on a part in a picture, proposed along the line between two ends of its body.

The answer is a proposal to look at: lists such as `red|orange`, each with its share, for the decoder.
Glare is no colour: what it hides stays unread. Plain Pillow.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import Final

from inventory.pictures.along_body import (
    COLUMNS,
    check_line,
    columns_of,
    grown,
    middle_of,
    stretches,
    surroundings_of,
)
from inventory.pictures.colour_space import (
    Lab,
    Linear,
    difference,
    lab_of,
    linear_of,
    plain_difference,
    srgb_of,
)
from inventory.pictures.light import REFLECTS, Light, in_white_light, light_on
from inventory.pictures.taking_in import open_picture

MAX_BANDS: Final = 8
NEAR_BODY: Final = 9.0  # in CIELAB
NARROWEST: Final = 5  # columns
WIDEST: Final = COLUMNS // 8  # columns; no band is wider, glare across it included

# Tones that paints come in: RAL classic numbers with their usual sRGB values. That paints on parts are near
# these tones is common practice, no source; gold and silver are metal and vary most.
TONES: Final[dict[str, tuple[tuple[int, int, int], ...]]] = {
    "black": ((10, 10, 10), (40, 40, 42)),  # 9005, 9017
    "brown": ((115, 66, 34), (89, 53, 31)),  # 8003, 8007
    "red": ((175, 43, 30), (204, 6, 5)),  # 3000, 3020
    "orange": ((255, 117, 20), (216, 75, 32)),  # 2003, 2010
    "yellow": ((243, 218, 11), (229, 190, 1)),  # 1021, 1003
    "green": ((87, 166, 57), (49, 127, 67), (0, 95, 60)),  # 6018, 6032, 6016
    "blue": ((34, 113, 179), (30, 60, 125)),  # 5015, 5005
    "violet": ((108, 70, 117), (134, 96, 161)),  # 4005, 4011
    "grey": ((120, 133, 139), (140, 145, 145)),  # 7000, 7001
    "white": ((234, 230, 202), (244, 244, 244)),  # 1013, 9003
    "gold": ((174, 140, 75), (150, 112, 55)),  # no RAL tone: metal
    "silver": ((165, 165, 165), (190, 190, 188)),  # 9006 and lighter
    "pink": ((234, 137, 154),),  # 3015
}
_TONES_LAB: Final = {name: [lab_of(linear_of(tone)) for tone in tones] for name, tones in TONES.items()}

# Lightness differs with lamp and gloss more than hue does, so it counts less.
LIGHTNESS_COUNTS: Final = 0.6
# How much worse than the best match a colour may be and still be offered, and how soon it becomes unlikely;
# set on the drawn pictures of the benchmark (python -m tests.benchmarks.pictures).
ALSO_WITHIN: Final = 9.0
SPREAD: Final = 5.0
SPREAD_OF_MISSES: Final = 1.0  # of the bands' own mean distance: odd paints make all of them less sure
GUESSED_LIGHT: Final = 0.75  # share of the colours being so, where no white paper tells the light
NONE: Final = 0.01  # share of none of the colours offered, where the nearest is near
LIKE_PAINT: Final = 10.0  # beyond that it is the likelier to be none of them,
FAR: Final = 0.03  # by so much for each unit of difference
MAX_COLOURS: Final = 4
ROOM: Final = 0.55  # of the step between bands: nearer to its neighbour no other band lies
STEP: Final = 3.0  # widths of a band from one to the next at most; a longer step may have lost one
WIDE_GLARE: Final = 2.0  # steps; so wide, it may hide more bands than one
FEWEST: Final = 4  # bands of nearly every part: with fewer and glare, glare hides one
UNCOUNTED: Final = 0.5  # share of the bands being those seen, where glare leaves open how many there are


@dataclass(frozen=True)
class SeenBand:
    """`at` and `width` in fractions of the line, `colours` likeliest first, `seen` the sRGB measured.

    `shares` say how likely each colour is; what they lack of 1 is that it is none of them. A band that glare
    hides has no colours.
    """

    at: float
    width: float
    colours: tuple[str, ...]
    shares: tuple[float, ...]
    seen: tuple[int, int, int]

    @property
    def text(self) -> str:
        return "|".join(self.colours) or "?"


@dataclass(frozen=True)
class BandProposal:
    """Bands from the first end to the second. `text` is what `bands=` of the decoder takes.

    `light_by` says how the colour of the light is known: "paper", "leads and paints" or "" (not at all).
    """

    bands: tuple[SeenBand, ...]
    body: tuple[int, int, int]
    light_by: str
    glare: bool
    cautions: tuple[str, ...]

    @property
    def text(self) -> str:
        return ",".join(band.text for band in self.bands)

    @property
    def cells(self) -> list[dict[str, float]]:
        """How likely each colour of each band is, as `weighed` takes it; of the first seen less likely, where
        glare leaves open how many bands there are or no white paper tells the light.
        """
        cells = [dict(zip(band.colours, band.shares, strict=True)) for band in self.bands]
        doubt = (UNCOUNTED if self.uncounted else 1.0) * (GUESSED_LIGHT if self.light_by != "paper" else 1.0)
        if doubt < 1 and (first := next(filter(None, cells), None)):
            first.update({colour: share * doubt for colour, share in first.items()})
        return cells

    @property
    def uncounted(self) -> bool:
        """Whether glare may hide more bands than are told."""
        widths = [band.width for band in self.bands if not band.colours]
        return self.glare and (
            len(self.bands) < FEWEST or max(widths, default=0) > WIDE_GLARE * _step(self.bands)
        )


def check_ends(data: bytes, start: tuple[float, float], end: tuple[float, float]) -> None:
    """BadLine where the two ends lie outside the picture or too near to each other."""
    check_line(open_picture(data), start, end)


def propose_bands(data: bytes, start: tuple[float, float], end: tuple[float, float]) -> BandProposal:
    """Bands between two points on the ends of a body, in pixels from the top left corner of the picture.

    Raises BadLine, or a PictureError for bad data. White paper around the part gives the colour of the light.
    """
    picture = open_picture(data)
    check_line(picture, start, end)
    around = surroundings_of(picture, start, end)
    columns = columns_of(picture, start, end, around.paper)
    first = Light(around.paper or (REFLECTS,) * 3, "", tinted=False)
    labs = [lab_of(in_white_light(column.colour, first)) for column in columns]
    hidden = [column.hidden for column in columns]
    body = _body_colour(labs, hidden)
    hidden = grown(columns, min(range(COLUMNS), key=lambda at: plain_difference(labs[at], body)))
    along = _body_along(labs, body, hidden)
    apart = [0.0 if gone else difference(*pair) for *pair, gone in zip(labs, along, hidden, strict=True)]
    away = _smooth(apart, 2)
    runs = _over_glare(_runs(away), hidden)
    runs = [run for run in runs if sum(not hidden[at] for at in range(*run)) >= NARROWEST]
    cores = [_core(run, away, hidden) for run in runs]
    paints = [middle_of([columns[at].colour for at in core]) for core in cores]
    light = light_on(around, paints, _unlike_paint)
    found = [in_white_light(paint, light) for paint in paints]
    spread = _spread(found)
    seen = [_band(run, paint, spread) for run, paint in zip(runs, found, strict=True)]
    glares = stretches(hidden)
    bands = sorted([*seen, *_hidden_bands(glares, seen)], key=lambda band: band.at)[:MAX_BANDS]
    nearest = min(range(COLUMNS), key=lambda at: (hidden[at], plain_difference(labs[at], body)))
    return BandProposal(
        bands=tuple(bands),
        body=srgb_of(in_white_light(columns[nearest].colour, light)),
        light_by=light.known_by,
        glare=bool(glares),
        cautions=_cautions(bands, light, glares),
    )


def _body_colour(labs: Sequence[Lab], hidden: Sequence[bool]) -> Lab:
    """The colour that most columns come near to: between and beyond the bands there is always some body."""
    tried = [lab for lab, gone in zip(labs, hidden, strict=True) if not gone][:: COLUMNS // 80]
    tried = tried if len(tried) > 10 else list(labs[:: COLUMNS // 80])
    counts = [sum(plain_difference(lab, other) < NEAR_BODY for other in tried) for lab in tried]
    # The ends of the line are body on nearly every part; they break ties between body and one wide band.
    ends = [*range(2, 6), *range(len(tried) - 6, len(tried) - 2)]
    best = max(
        range(len(tried)),
        key=lambda at: counts[at] + 2 * sum(plain_difference(tried[at], tried[e]) < NEAR_BODY for e in ends),
    )
    near = [lab for lab in tried if plain_difference(lab, tried[best]) < NEAR_BODY]
    lightness, red_green, blue_yellow = (median(lab[axis] for lab in near) for axis in range(3))
    return lightness, red_green, blue_yellow


def _body_along(labs: Sequence[Lab], body: Lab, hidden: Sequence[bool]) -> list[Lab]:
    """The body's colour under each column: it is lighter where the lamp is, also between the bands."""
    known = [at for at in range(COLUMNS) if not hidden[at] and difference(labs[at], body) < 9]
    if len(known) < 12:
        return [body] * COLUMNS
    along: list[Lab] = []
    for at in range(COLUMNS):
        middle = min(max(bisect_left(known, at) - 12, 0), max(0, len(known) - 24))
        along.append((median(labs[near][0] for near in known[middle : middle + 24]), body[1], body[2]))
    return along


def _smooth(values: list[float], reach: int) -> list[float]:
    return [
        sum(values[max(0, at - reach) : at + reach + 1]) / len(values[max(0, at - reach) : at + reach + 1])
        for at in range(len(values))
    ]


def _runs(away: list[float]) -> list[tuple[int, int]]:
    """Where bands are: (first column, last column + 1), the body's ends left out."""
    calm = sorted(away)[: COLUMNS // 3]
    threshold = max(6.5, 3 * calm[-1])
    threshold = min(threshold, 12.0)
    runs: list[tuple[int, int]] = []
    first = None
    for at in range(COLUMNS + 1):
        inside = at < COLUMNS and away[at] > threshold
        if inside and first is None:
            first = at
        elif not inside and first is not None:
            runs.append((first, at))
            first = None
    # The curved ends of the body and the wire beyond are no bands.
    runs = [run for run in runs if run[1] - run[0] >= NARROWEST and run[0] > 3 and run[1] < COLUMNS - 3]
    return [part for run in runs for part in _split(run, away)]


def _split(run: tuple[int, int], away: list[float]) -> list[tuple[int, int]]:
    """Two bands that blur into one run have a saddle between them that is well below both tops."""
    first, last = run
    if last - first < 24:
        return [run]
    for at in sorted(range(first + 8, last - 8), key=lambda column: away[column]):
        left, right = max(away[first:at]), max(away[at:last])
        if away[at] < 0.55 * min(left, right):
            return [*_split((first, at), away), *_split((at, last), away)]
        break
    return [run]


def _over_glare(runs: list[tuple[int, int]], hidden: Sequence[bool]) -> list[tuple[int, int]]:
    """Runs that glare parts in two, joined: no two bands lie so near to each other."""
    joined: list[tuple[int, int]] = []
    for run in runs:
        if joined and all(hidden[joined[-1][1] + 2 : run[0] - 2]) and run[1] - joined[-1][0] < WIDEST:
            between = range(joined[-1][1], run[0])
            if any(hidden[at] for at in between):
                joined[-1] = (joined[-1][0], run[1])
                continue
        joined.append(run)
    return joined


def _core(run: tuple[int, int], away: list[float], hidden: Sequence[bool]) -> list[int]:
    """The middle of a band, which is its own colour; its edges are mixed with the body's."""
    first, last = run
    free = [at for at in range(first, last) if not hidden[at]] or list(range(first, last))
    return sorted(free, key=lambda at: -away[at])[: max(3, len(free) // 2)]


def _unlike_paint(lab: Lab) -> float:
    return min(
        difference(lab, tone, lightness=LIGHTNESS_COUNTS) for tones in _TONES_LAB.values() for tone in tones
    )


def _spread(seen: Sequence[Linear]) -> float:
    """How far colours of the part are off: as usual, or as its own bands are off the nearest paints."""
    misses = [_unlike_paint(lab_of(colour)) for colour in seen]
    return max(SPREAD, SPREAD_OF_MISSES * math.hypot(*misses) / math.sqrt(len(misses))) if misses else SPREAD


def _band(run: tuple[int, int], seen: Linear, spread: float) -> SeenBand:
    first, last = run
    lab = lab_of(seen)
    scored = sorted(
        (min(difference(lab, tone, lightness=LIGHTNESS_COUNTS) for tone in tones), name)
        for name, tones in _TONES_LAB.items()
    )
    within = ALSO_WITHIN * spread / SPREAD
    offered = [each for each in scored if each[0] < scored[0][0] + within][:MAX_COLOURS]
    known = 1 - min(0.6, NONE + max(0.0, scored[0][0] - LIKE_PAINT) * FAR)
    weights = [math.exp((scored[0][0] ** 2 - apart**2) / (2 * spread**2)) for apart, _name in offered]
    return SeenBand(
        at=round((first + last) / 2 / COLUMNS, 3),
        width=round((last - first) / COLUMNS, 3),
        colours=tuple(name for _apart, name in offered),
        shares=tuple(round(known * weight / sum(weights), 3) for weight in weights),
        seen=srgb_of(seen),
    )


def _step(bands: Sequence[SeenBand]) -> float:
    """From one band to the next, in fractions of the line: as seen, but no more than bands so wide have."""
    seen = [band for band in bands if band.colours]
    steps = [later.at - sooner.at for sooner, later in pairwise(seen)]
    return min([*steps, STEP * median([band.width for band in seen])]) if seen else 0.15


def _hidden_bands(glares: Sequence[tuple[int, int]], seen: Sequence[SeenBand]) -> list[SeenBand]:
    """Bands that glare may hide: where it lies, and there is room for one between its neighbours."""
    places = [band.at for band in seen]
    room = ROOM * _step(seen)
    found = []
    for first, last in glares:
        at = (first + last) / 2 / COLUMNS
        if 0.05 < at < 0.95 and all(abs(at - place) > room for place in places):
            found.append(SeenBand(round(at, 3), round((last - first) / COLUMNS, 3), (), (), (255, 255, 255)))
    return found


def _cautions(bands: Sequence[SeenBand], light: Light, glares: Sequence[tuple[int, int]]) -> tuple[str, ...]:
    cautions = []
    if hidden := [str(place) for place, band in enumerate(bands, 1) if not band.colours]:
        cautions.append(
            f"Glare hides band {' and '.join(hidden)}: move the lamp or turn the part, and take it again. "
            "Two pictures with light from different sides can be read as one."
        )
    elif glares:
        cautions.append("Glare lies on the body: if it covers a band, move the lamp and take it again.")
    if light.known_by == "leads and paints" and not light.tinted:
        cautions.append("No white paper round the part: the colour of the lamp is guessed.")
    elif not light.known_by:
        cautions.append("No white paper round the part: the colour of the lamp is in these colours.")
    elif light.tinted:
        cautions.append(
            "The ground looks coloured: taken for white paper under a coloured lamp."
            if light.known_by == "paper"
            else "The ground looks coloured: taken for card, by leads and paints. White paper is surer."
        )
    if not 3 <= len(bands) <= 6:
        cautions.append(
            f"{len(bands)} band{'s' * (len(bands) != 1)} found, an unusual number: "
            "check the two ends, and the focus."
        )
    return tuple(cautions)
