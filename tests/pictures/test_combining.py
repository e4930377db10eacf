"""Pictures of one part with light from different sides, made one. Every picture is drawn here."""

from __future__ import annotations

import math
import random

import pytest
from PIL import Image, ImageChops, ImageFilter, ImageStat

from inventory.pictures.bands import propose_bands
from inventory.pictures.combining import MAX_PICTURES, combine
from inventory.pictures.enlarging import BadEnlargement
from inventory.pictures.taking_in import NotAPicture
from tests.benchmarks.pictures import Scene, picture
from tests.pictures.drawn import opened, saved

BANDS = ["yellow", "violet", "red", "gold"]
PLACES = (0.10, 0.29, 0.48, 0.89)


def part() -> tuple[Image.Image, tuple[float, float], tuple[float, float]]:
    data, start, end = picture(BANDS, Scene(spread=4.0, noise=2.0), random.Random(1))
    return opened(data), start, end


def lit(image: Image.Image, at: float) -> Image.Image:
    """With a patch of mirrored lamp at this column."""
    row = Image.new("L", (image.width, 1))
    row.putdata([round(230 * math.exp(-(((x - at) / 9) ** 2) / 2)) for x in range(image.width)])
    light = row.resize(image.size)
    return ImageChops.add(image, Image.merge("RGB", (light,) * 3))


def column(start: tuple[float, float], end: tuple[float, float], band: int) -> float:
    return start[0] + (end[0] - start[0]) * PLACES[band]


def moved(image: Image.Image, across: float, down: float, turn: float) -> Image.Image:
    turned = image.rotate(turn, Image.Resampling.BICUBIC, fillcolor=(236, 236, 232))
    back = (1, 0, -across, 0, 1, -down)
    return turned.transform(
        image.size, Image.Transform.AFFINE, back, Image.Resampling.BICUBIC, fillcolor=(236, 236, 232)
    )


def apart(one: Image.Image, other: Image.Image) -> float:
    return sum(ImageStat.Stat(ImageChops.difference(one, other)).mean)


@pytest.mark.parametrize(("across", "down", "turn"), [(0, 0, 0.0), (14, -9, 0.0), (-11, 6, 2.5)])
def test_what_glare_hides_in_each_is_read_in_both_together(across: int, down: int, turn: float) -> None:
    image, start, end = part()
    one = lit(image, column(start, end, 1))
    other = moved(lit(image, column(start, end, 2)), across, down, turn)
    assert [band.colours[:1] for band in propose_bands(saved(one), start, end).bands] != [(c,) for c in BANDS]
    both = combine([saved(one), saved(other)])
    assert (both.used, both.left_out) == (2, ())
    found = propose_bands(both.data, start, end)
    assert [band.colours[0] for band in found.bands] == BANDS
    assert apart(opened(both.data), image) < apart(one, image)


def test_the_sharpest_is_taken() -> None:
    image, _start, _end = part()
    blurred = image.filter(ImageFilter.GaussianBlur(2))
    both = opened(combine([saved(blurred), saved(image)]).data)
    assert apart(both, image) < apart(blurred, image) / 1.5


def test_a_darker_exposure_is_made_as_bright() -> None:
    image, start, end = part()
    dark = lit(image, column(start, end, 2)).point(lambda level: level * 0.6)
    both = combine([saved(lit(image, column(start, end, 1))), saved(dark)])
    assert [band.colours[0] for band in propose_bands(both.data, start, end).bands] == BANDS


def test_a_picture_of_something_else_is_left_out_and_named() -> None:
    image, _start, _end = part()
    noise = Image.frombytes("RGB", image.size, random.Random(3).randbytes(image.width * image.height * 3))
    both = combine([saved(image), saved(noise)])
    assert (both.used, both.left_out) == (1, (1,))
    assert apart(opened(both.data), image) < 6


def test_a_box_of_the_first_is_combined_alone() -> None:
    image, _start, _end = part()
    both = combine([saved(image), saved(image)], x=20, y=30, w=100, h=80)
    assert opened(both.data).size == (100, 80)
    assert apart(opened(both.data), image.crop((20, 30, 120, 110))) < 6
    with pytest.raises(BadEnlargement):
        combine([saved(image), saved(image)], x=5000)


def test_another_size_is_brought_to_that_of_the_first() -> None:
    image, start, end = part()
    other = lit(image, column(start, end, 2)).resize((image.width * 3 // 2, image.height * 3 // 2))
    both = combine([saved(lit(image, column(start, end, 1))), saved(other)])
    assert both.used == 2
    assert opened(both.data).size == image.size


def test_more_than_the_most_are_not_looked_at_and_no_picture_is_refused() -> None:
    image, _start, _end = part()
    assert combine([saved(image)] * (MAX_PICTURES + 2)).used == MAX_PICTURES
    with pytest.raises(NotAPicture):
        combine([saved(image), b"none"])
