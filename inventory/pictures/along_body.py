"""What is sampled of a picture along a body and beside it: columns, what glares, ground and leads."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median
from typing import Final, NamedTuple

from PIL import Image, ImageFilter

from inventory.pictures.colour_space import Linear, lab_of, linear_of, plain_difference, srgb_of
from inventory.pictures.light import REFLECTS, Surroundings, paper_in

COLUMNS: Final = 400  # samples along the body, whatever its size in the picture
ROWS: Final = 15  # samples across it
HALF_WIDTH: Final = 0.09  # of the body's length either side of the line: on the body of every axial part
SHORTEST: Final = 24  # px between the two ends; below that bands are not even a pixel wide
LEAD_ROWS: Final = 9
LEAD_STANDS_OUT: Final = 6.0  # in CIELAB from the ground; below that no lead is seen
GLARING: Final = 0.95  # of the light and more comes back from no paint
BLINDING: Final = 0.9  # in linear light, of the brightest channel: no less is glare
GLARED_ROWS: Final = 0.6  # of a column: what is left is too little to tell a colour by

VEILED: Final = 1.15  # times the body's least channel: some white light is added
TWICE: Final = 1.5  # and so many times at its brightest, to be glare without blinding
PLATEAU: Final = 0.33  # of a light stretch: a band is even from edge to edge, glare has a top
AT_THE_END: Final = COLUMNS // 50  # columns
GAP: Final = COLUMNS // 16  # columns; a dark band in glare is less veiled than the body either side


class BadLine(ValueError):
    """The two ends do not lie on a body in the picture; the message says why."""


class Sample(NamedTuple):
    """The colour of one step along the body in linear RGB, and whether glare hides it."""

    colour: Linear
    hidden: bool


def check_line(picture: Image.Image, start: tuple[float, float], end: tuple[float, float]) -> None:
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


def columns_of(
    picture: Image.Image, start: tuple[float, float], end: tuple[float, float], paper: Linear | None
) -> list[Sample]:
    """Each step along the body: the median across of what does not glare, so that neither a line of gloss
    nor a speck of dirt has a say."""
    strip = _strip(picture, start, end, off=0, half=HALF_WIDTH, rows=ROWS)
    strip = strip.filter(ImageFilter.MedianFilter(3))
    raw = strip.tobytes()
    # What is brighter than any paint on paper so lit; on darker ground at least nearly as bright as can be.
    level = paper or (REFLECTS,) * 3
    times = max(GLARING / REFLECTS, BLINDING / max(level))
    glares = tuple(_level_of(min(0.97, times * each)) for each in level)
    columns = []
    for at in range(COLUMNS):
        seen = [raw[place : place + 3] for place in range(3 * at, len(raw), 3 * COLUMNS)]
        plain = [p for p in seen if not (p[0] >= glares[0] and p[1] >= glares[1] and p[2] >= glares[2])]
        hidden = len(plain) < (1 - GLARED_ROWS) * ROWS
        red, green, blue = (int(median(pixel[channel] for pixel in plain or seen)) for channel in range(3))
        columns.append(Sample(linear_of((red, green, blue)), hidden))
    return columns


def _level_of(linear: float) -> int:
    return srgb_of((linear, linear, linear))[0]


def grown(columns: Sequence[Sample], body: int) -> list[bool]:
    """What glare hides: where it blinds, where it fades out over its surroundings, and where it only veils.

    `body` is a column that shows the body. Glare adds white, so its least channel is above the body's, and it
    has no plateau as a light band has.
    """
    white = [min(column.colour) for column in columns]
    own = max(white[body], 0.01)
    hidden = [column.hidden for column in columns]
    veiled = _closed([gone or level > VEILED * own for level, gone in zip(white, hidden, strict=True)])
    for first, last in stretches(veiled):
        top = max(white[first:last])
        plateau = sum(level > 0.9 * top for level in white[first:last])
        at_the_end = first < AT_THE_END or last > COLUMNS - AT_THE_END  # the wire and the paper beyond
        veils = plateau < PLATEAU * (last - first) and top > TWICE * own and not at_the_end
        if veils or any(hidden[first:last]):
            hidden[max(0, first - 3) : last + 3] = [True] * (min(COLUMNS, last + 3) - max(0, first - 3))
    return hidden


def _closed(marked: list[bool]) -> list[bool]:
    """Gaps of less than a band's width between marked columns marked too."""
    closed = list(marked)
    last = None
    for at, on in enumerate(marked):
        if on:
            if last is not None and at - last <= GAP:
                closed[last:at] = [True] * (at - last)
            last = at
    return closed


def stretches(hidden: Sequence[bool]) -> list[tuple[int, int]]:
    """Where glare lies: (first column, last column + 1); a speck of under a hundredth is none."""
    found: list[tuple[int, int]] = []
    first = None
    for at in range(COLUMNS + 1):
        inside = at < COLUMNS and hidden[at]
        if inside and first is None:
            first = at
        elif not inside and first is not None:
            if at - first >= COLUMNS // 100:
                found.append((first, at))
            first = None
    return found


def surroundings_of(
    picture: Image.Image, start: tuple[float, float], end: tuple[float, float]
) -> Surroundings:
    sides = [_strip(picture, start, end, off=off, half=0.06, rows=4) for off in (-0.55, -0.42, 0.42, 0.55)]
    beside = []
    for side in sides:
        raw = side.tobytes()
        beside += [(raw[at], raw[at + 1], raw[at + 2]) for at in range(0, len(raw), 3 * 7)]
    ground = middle_of([linear_of(pixel) for pixel in beside[::5]])
    return Surroundings(paper_in(beside), _leads(picture, start, end, ground))


def _leads(
    picture: Image.Image, start: tuple[float, float], end: tuple[float, float], ground: Linear
) -> Linear | None:
    """The wires beyond both ends, where something other than the ground is seen there."""
    (x0, y0), (x1, y1) = start, end
    beyond = [
        ((x0 + (x1 - x0) * one, y0 + (y1 - y0) * one), (x0 + (x1 - x0) * other, y0 + (y1 - y0) * other))
        for one, other in ((-0.22, -0.08), (1.08, 1.22))
    ]
    ground_lab = lab_of(ground)
    found = []
    for near, far in beyond:
        strip = _strip(picture, near, far, off=0, half=0.25, rows=LEAD_ROWS).resize((20, LEAD_ROWS))
        raw = strip.tobytes()
        for column in range(20):
            pixels = [raw[3 * (20 * row + column) : 3 * (20 * row + column) + 3] for row in range(LEAD_ROWS)]
            colours = [linear_of((pixel[0], pixel[1], pixel[2])) for pixel in pixels if any(pixel)]
            if colours:
                found.append(max(colours, key=lambda colour: plain_difference(lab_of(colour), ground_lab)))
    if not found:
        return None
    leads = middle_of(found)
    return leads if plain_difference(lab_of(leads), ground_lab) > LEAD_STANDS_OUT else None


def middle_of(colours: Sequence[Linear]) -> Linear:
    return (
        median(colour[0] for colour in colours),
        median(colour[1] for colour in colours),
        median(colour[2] for colour in colours),
    )
