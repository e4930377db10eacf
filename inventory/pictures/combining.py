"""Several pictures of one part under light from different sides, made one: without glare, and sharp.

Plain Pillow. The pictures are laid on the first by shift, turn and size, found coarse to fine on what stays
the same under any light: edges. Of each place the sharpest picture is taken, and where that one glares, the
darkest of all.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from PIL import Image, ImageChops, ImageFilter, ImageStat

from inventory.pictures.enlarging import BadEnlargement, box_in
from inventory.pictures.taking_in import one_at_a_time, open_picture

MAX_PICTURES: Final = 6
COARSEST: Final = 64  # px, the longer side on which pictures are first laid on each other
REACH: Final = 0.16  # of the longer side: how far one may be shifted against the other
TURNS: Final = (0.0, -3.0, 3.0, -6.0, 6.0)  # degrees tried at first
ALIKE: Final = 0.75  # of the edges' own weight: what does not fit as well shows something else
AS_GOOD: Final = 1.1
GLARE_ABOVE: Final = 36  # levels brighter than in another picture, and
SHARPER: Final = 1.1  # times the fine detail of the first
BRIGHT: Final = 170  # as bright as this at all: a shadow in the other is no glare in this one


class Combined(NamedTuple):
    """A JPEG of the size of the first picture, or of the box of it.

    `used` counts the pictures in it; `left_out` are the places, from 0, of those that show something else.
    """

    data: bytes
    used: int
    left_out: tuple[int, ...]


class _Laid(NamedTuple):
    """How a picture lies on the first: shift in fractions of the longer side, degrees, times as large."""

    across: float = 0.0
    down: float = 0.0
    turn: float = 0.0
    size: float = 1.0


@one_at_a_time
def combine(
    pictures: Sequence[bytes], *, x: int = 0, y: int = 0, w: int | None = None, h: int | None = None
) -> Combined:
    """One picture of 2 to MAX_PICTURES, or of a box of them in pixels of the first.

    Raises BadEnlargement for a box outside it, or a PictureError for bad data.
    """
    first = open_picture(pictures[0])
    problems: list[tuple[str, str]] = []
    left, top, width, height = box_in(first, x, y, w, h, problems)
    if problems:
        raise BadEnlargement(problems)
    area = (left, top, left + width, top + height)
    base = first.crop(area)
    edges = _edges(first)
    laid: list[Image.Image] = [base]
    left_out = []
    for place, data in enumerate(pictures[1:MAX_PICTURES], 1):
        other = open_picture(data)
        if other.size != first.size:
            other = other.resize(first.size, Image.Resampling.LANCZOS)
        how = _lay(edges, _edges(other))
        if how is None:
            left_out.append(place)
            continue
        # What the other does not show is taken from the first.
        shown = (
            _moved(Image.new("L", first.size, 255), how).crop(area).point(lambda level: 255 * (level > 250))
        )
        laid.append(Image.composite(_as_bright(_moved(other, how).crop(area), base), base, shown))
    out = io.BytesIO()
    _merged(laid).save(out, "JPEG", quality=95, subsampling=0)
    return Combined(out.getvalue(), len(laid), tuple(left_out))


def _edges(picture: Image.Image) -> Image.Image:
    """What stays under any light: where it is finer than its surroundings, lighter or darker."""
    grey = picture.convert("L")
    grey.thumbnail((512, 512), Image.Resampling.LANCZOS, reducing_gap=2)
    apart = ImageChops.difference(grey, grey.filter(ImageFilter.GaussianBlur(4)))
    level = max(1.0, ImageStat.Stat(apart).mean[0])
    # Capped, so that the rim of a patch of glare counts no more than a line of print.
    return apart.point([min(80, round(each * 24 / level)) for each in range(256)])


def _lay(first: Image.Image, other: Image.Image) -> _Laid | None:
    """The lie under which the edges of both meet best; None where they hardly meet."""
    longest = max(first.size)
    side = COARSEST
    lies: list[_Laid] = []
    while True:
        size = (max(1, first.width * side // longest), max(1, first.height * side // longest))
        one, another = (
            each.resize(size, Image.Resampling.BOX).filter(ImageFilter.GaussianBlur(1))
            for each in (first, other)
        )
        lies = [_finer(one, another, lie, 1 / side) for lie in lies or _coarsely(one, another)]
        lies.sort(key=lambda lie: _apart(one, another, lie))
        lies = lies[: 1 if side > COARSEST else len(lies)]
        if side >= longest:
            lies = [_finer(one, another, lies[0], 0.5 / side)]
            break
        side = min(side * 2, longest)
    one, another = (each.filter(ImageFilter.GaussianBlur(3)) for each in (first, other))
    best = lies[0]
    # A blurred picture meets a sharp one best a little turned and larger: as it is is the likelier then.
    if _apart(one, another, _Laid()) <= AS_GOOD * _apart(one, another, best):
        best = _Laid()
    weight = (_mean_inside(one) + _mean_inside(_moved(another, best))) / 2
    return best if _apart(one, another, best) < ALIKE * weight else None


def _coarsely(one: Image.Image, another: Image.Image) -> list[_Laid]:
    """For each turn the shift under which they meet best."""
    reach = min(round(REACH * COARSEST), min(one.size) // 6)
    left, top, right, bottom = _inside(one)
    inner = one.crop((left, top, right, bottom))
    found = []
    for turn in TURNS:
        best, nearest = math.inf, _Laid()
        turned = _moved(another, _Laid(turn=turn))
        for across in range(-reach, reach + 1):
            for down in range(-reach, reach + 1):
                shifted = turned.crop((left - across, top - down, right - across, bottom - down))
                apart = ImageStat.Stat(ImageChops.difference(inner, shifted)).mean[0]
                if apart < best:
                    best, nearest = apart, _Laid(across / max(one.size), down / max(one.size), turn)
        found.append(nearest)
    return found


def _finer(one: Image.Image, another: Image.Image, best: _Laid, step: float) -> _Laid:
    """Down the hill, one measure at a time, until no step helps."""
    apart = _apart(one, another, best)
    turn = step * 40
    for _ in range(12):
        near = [
            best._replace(across=best.across + step), best._replace(across=best.across - step),
            best._replace(down=best.down + step), best._replace(down=best.down - step),
            best._replace(turn=best.turn + turn), best._replace(turn=best.turn - turn),
            best._replace(size=best.size + step), best._replace(size=best.size - step),
        ]  # fmt: skip
        apart_near, nearest = min((_apart(one, another, lie), lie) for lie in near)
        if apart_near >= apart:
            break
        apart, best = apart_near, nearest
    return best


def _apart(one: Image.Image, another: Image.Image, lie: _Laid) -> float:
    """Mean difference of the edges inside."""
    return _mean_inside(ImageChops.difference(one, _moved(another, lie)))


def _inside(picture: Image.Image) -> tuple[int, int, int, int]:
    """The rim left out, which a shift leaves empty."""
    rim_x, rim_y = picture.width // 6, picture.height // 6
    return rim_x, rim_y, picture.width - rim_x, picture.height - rim_y


def _mean_inside(picture: Image.Image) -> float:
    return ImageStat.Stat(picture.crop(_inside(picture))).mean[0]


def _moved(picture: Image.Image, lie: _Laid) -> Image.Image:
    """Turned and sized about its middle, and then shifted."""
    if lie == _Laid():
        return picture
    x, y = picture.width / 2, picture.height / 2
    to_x, to_y = x + lie.across * max(picture.size), y + lie.down * max(picture.size)
    cos, sin = (part(math.radians(lie.turn)) / lie.size for part in (math.cos, math.sin))
    back = (cos, -sin, x - cos * to_x + sin * to_y, sin, cos, y - sin * to_x - cos * to_y)
    return picture.transform(picture.size, Image.Transform.AFFINE, back, Image.Resampling.BILINEAR)


def _as_bright(picture: Image.Image, base: Image.Image) -> Image.Image:
    """With the medians of the first, channel by channel: lamps differ, and so do exposures."""
    gains = [
        wanted / max(1, has)
        for wanted, has in zip(ImageStat.Stat(base).median, ImageStat.Stat(picture).median, strict=True)
    ]
    return Image.merge(
        "RGB",
        [
            channel.point([min(255, round(level * min(3.0, gain))) for level in range(256)])
            for channel, gain in zip(picture.split(), gains, strict=True)
        ],
    )


def _merged(laid: Sequence[Image.Image]) -> Image.Image:
    sharpest = max(laid, key=_sharpness)
    if _sharpness(sharpest) < SHARPER * _sharpness(laid[0]):  # the first needed no moving
        sharpest = laid[0]
    darkest = laid[0]
    for each in laid[1:]:
        darkest = ImageChops.darker(darkest, each)
    excess = ImageChops.subtract(sharpest.convert("L"), darkest.convert("L"))
    glare = ImageChops.multiply(
        excess.point([255 * (level > GLARE_ABOVE) for level in range(256)]),
        sharpest.convert("L").point([255 * (level > BRIGHT) for level in range(256)]),
    )
    # Glare fades out: what is near it is taken from the darkest too.
    mask = glare.filter(ImageFilter.MedianFilter(5)).filter(ImageFilter.MaxFilter(9))
    return Image.composite(darkest, sharpest, mask.filter(ImageFilter.GaussianBlur(3)))


def _sharpness(picture: Image.Image) -> float:
    """How much of the finest detail there is, which a blurred picture lacks."""
    grey = picture.convert("L")
    fine = ImageChops.difference(grey, grey.filter(ImageFilter.GaussianBlur(1)))
    return ImageStat.Stat(fine).mean[0]
