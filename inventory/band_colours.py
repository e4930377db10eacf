"""Colours of the bands on a part in a picture, proposed along the line between two ends of its body.

The answer is a proposal to look at: lists such as `red|orange`, ready for the decoder. Plain Pillow.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from PIL import Image, ImageFilter

from inventory.colour_space import Lab, difference, lab_of, linear_of
from inventory.enhance import open_picture

COLUMNS: Final = 400  # samples along the body, whatever its size in the picture
ROWS: Final = 15  # samples across it
HALF_WIDTH: Final = 0.09  # of the body's length either side of the line: on the body of every axial part
MOST_BANDS: Final = 8
SHORTEST: Final = 24  # px between the two ends; below that bands are not even a pixel wide

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
# How much worse than the best match a colour may be and still be offered; set on the drawn pictures of the
# benchmark (python -m tests.benchmarks.pictures).
ALSO_WITHIN: Final = 9.0
MOST_COLOURS: Final = 4
TINTED: Final = 1.7  # in linear light: more than daylight or a white lamp tints white paper


class BadLine(ValueError):
    """The two ends do not lie on a body in the picture; the message says why."""


@dataclass(frozen=True)
class Band:
    """`at` and `width` in fractions of the line, `colours` likeliest first, `seen` the sRGB measured."""

    at: float
    width: float
    colours: tuple[str, ...]
    seen: tuple[int, int, int]

    @property
    def text(self) -> str:
        return "|".join(self.colours)


@dataclass(frozen=True)
class Proposal:
    """Bands from the first end to the second. `text` is what `bands=` of the decoder takes."""

    bands: tuple[Band, ...]
    body: tuple[int, int, int]
    white_found: bool
    cautions: tuple[str, ...]

    @property
    def text(self) -> str:
        return ",".join(band.text for band in self.bands)


def propose_bands(data: bytes, start: tuple[float, float], end: tuple[float, float]) -> Proposal:
    """Bands between two points on the ends of a body, in pixels from the top left corner of the picture.

    Raises BadLine, or a PictureError for bad data. White paper around the part gives the colour of the light.
    """
    picture = open_picture(data)
    _check_line(picture, start, end)
    white = _paper_white(picture, start, end)
    profile = [_in_white_light(linear_of(pixel), white) for pixel in _profile(picture, start, end)]
    labs = [lab_of(pixel) for pixel in profile]
    body = _body_colour(labs)
    along = _body_along(labs, body)
    away = _smooth([difference(lab, near) for lab, near in zip(labs, along, strict=True)], 2)
    bands = tuple(_band(run, labs, profile, away) for run in _runs(away))
    return Proposal(
        bands=bands[:MOST_BANDS],
        body=_srgb_of(profile[min(range(COLUMNS), key=lambda at: difference(labs[at], body))]),
        white_found=white is not None,
        cautions=_cautions(bands, white),
    )


def _check_line(picture: Image.Image, start: tuple[float, float], end: tuple[float, float]) -> None:
    for x, y in (start, end):
        if not (0 <= x < picture.width and 0 <= y < picture.height):  # also refuses NaN
            raise BadLine(f"({x}, {y}) is outside the picture, which is {picture.width} x {picture.height}")
    length = math.dist(start, end)
    if length < SHORTEST:
        raise BadLine(f"the two ends are {length:.0f} pixels apart: at least {SHORTEST} are needed")


def _strip(
    picture: Image.Image,
    start: tuple[float, float],
    end: tuple[float, float],
    *,
    off: float,
    half: float,
    rows: int,
) -> Image.Image:
    """A level strip along the line: COLUMNS wide, `rows` high, `off` and `half` in lengths of the line."""
    (x0, y0), (x1, y1) = start, end
    along_x, along_y = (x1 - x0) / COLUMNS, (y1 - y0) / COLUMNS
    across_x, across_y = -(y1 - y0) * 2 * half / rows, (x1 - x0) * 2 * half / rows
    left = x0 - (y1 - y0) * (off - half)
    top = y0 + (x1 - x0) * (off - half)
    turn = (along_x, across_x, left, along_y, across_y, top)
    return picture.transform((COLUMNS, rows), Image.Transform.AFFINE, turn, Image.Resampling.BILINEAR)


def _profile(
    picture: Image.Image, start: tuple[float, float], end: tuple[float, float]
) -> list[tuple[int, int, int]]:
    """The colour of each column: the median across, so that a line of gloss or a speck of dirt has no say."""
    strip = _strip(picture, start, end, off=0, half=HALF_WIDTH, rows=ROWS)
    strip = strip.filter(ImageFilter.MedianFilter(3))
    pixels = [strip.crop((0, row, COLUMNS, row + 1)).tobytes() for row in range(ROWS)]
    return [
        tuple(int(median(row[3 * column + channel] for row in pixels)) for channel in range(3))  # type: ignore[misc]
        for column in range(COLUMNS)
    ]


def _paper_white(
    picture: Image.Image, start: tuple[float, float], end: tuple[float, float]
) -> tuple[float, float, float] | None:
    """The light's colour as linear RGB, from paper on both sides of the body; None where none is seen.

    Paper is bright, even, and not strongly coloured by itself.
    """
    sides = [_strip(picture, start, end, off=off, half=0.06, rows=4) for off in (-0.55, -0.42, 0.42, 0.55)]
    seen = []
    for side in sides:
        raw = side.tobytes()
        seen += [(raw[at], raw[at + 1], raw[at + 2]) for at in range(0, len(raw), 3 * 7)]
    seen = [pixel for pixel in seen if any(pixel)]  # black is beyond the edge of the picture
    if len(seen) < 40:
        return None
    seen.sort(key=sum)
    bright = seen[len(seen) * 6 // 10 : len(seen) * 19 // 20]
    white = tuple(median(pixel[channel] for pixel in bright) for channel in range(3))
    if min(white) < 90 or max(white) > 1.75 * min(white):
        return None
    spread = median(abs(sum(pixel) - sum(white)) for pixel in bright)
    if spread > 60:
        return None
    red, green, blue = linear_of((int(white[0]), int(white[1]), int(white[2])))
    return red, green, blue


def _in_white_light(
    pixel: tuple[float, float, float], white: tuple[float, float, float] | None
) -> tuple[float, float, float]:
    """Linear RGB as it would be with the paper at 85 % reflectance in white light."""
    if white is None:
        return pixel
    red, green, blue = (min(1.0, 0.85 * level / whole) for level, whole in zip(pixel, white, strict=True))
    return red, green, blue


def _body_colour(labs: Sequence[Lab]) -> Lab:
    """The colour that most columns come near to: between and beyond the bands there is always some body."""
    tried = labs[:: COLUMNS // 80]
    counts = [sum(difference(lab, other) < 7 for other in tried) for lab in tried]
    # The ends of the line are body on nearly every part; they break ties between body and one wide band.
    ends = [*range(2, 6), *range(len(tried) - 6, len(tried) - 2)]
    best = max(
        range(len(tried)),
        key=lambda at: counts[at] + 2 * sum(difference(tried[at], tried[e]) < 7 for e in ends),
    )
    near = [lab for lab in tried if difference(lab, tried[best]) < 7]
    lightness, red_green, blue_yellow = (median(lab[axis] for lab in near) for axis in range(3))
    return lightness, red_green, blue_yellow


def _body_along(labs: Sequence[Lab], body: Lab) -> list[Lab]:
    """The body's colour under each column: it is lighter where the lamp is, also between the bands."""
    known = [at for at in range(COLUMNS) if difference(labs[at], body) < 9]
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
    runs = [run for run in runs if run[1] - run[0] >= 5 and run[0] > 3 and run[1] < COLUMNS - 3]
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


def _band(
    run: tuple[int, int],
    labs: Sequence[Lab],
    profile: Sequence[tuple[float, float, float]],
    away: list[float],
) -> Band:
    first, last = run
    # The middle of a band is its own colour; its edges are mixed with the body's.
    core = sorted(range(first, last), key=lambda at: -away[at])[: max(3, (last - first) // 2)]
    lab: Lab = tuple(median(labs[at][axis] for at in core) for axis in range(3))  # type: ignore[assignment]
    seen = tuple(median(profile[at][channel] for at in core) for channel in range(3))
    scored = sorted(
        (min(difference(lab, tone, lightness=LIGHTNESS_COUNTS) for tone in tones), name)
        for name, tones in _TONES_LAB.items()
    )
    nearest = scored[0][0]
    colours = tuple(name for score, name in scored if score < nearest + ALSO_WITHIN)[:MOST_COLOURS]
    return Band(
        at=round((first + last) / 2 / COLUMNS, 3),
        width=round((last - first) / COLUMNS, 3),
        colours=colours,
        seen=_srgb_of((seen[0], seen[1], seen[2])),
    )


def _srgb_of(linear: tuple[float, float, float]) -> tuple[int, int, int]:
    red, green, blue = (
        round(255 * (12.92 * level if level <= 0.0031308 else 1.055 * level ** (1 / 2.4) - 0.055))
        for level in linear
    )
    return red, green, blue


def _cautions(bands: Sequence[Band], white: tuple[float, float, float] | None) -> tuple[str, ...]:
    cautions = []
    if white is None:
        cautions.append("No white paper round the part: the colour of the lamp is in these colours.")
    elif max(white) > TINTED * min(white):
        cautions.append(
            "The ground looks coloured: right for white paper under a coloured lamp, wrong for card."
        )
    if not 3 <= len(bands) <= 6:
        cautions.append(
            f"{len(bands)} bands found, which is no usual number: check the two ends, and the focus."
        )
    return tuple(cautions)
