"""What a close look shows, against the enlargement itself: a spot on it is the pixel that is seen there."""

import io

import pytest
from PIL import Image

from inventory.pictures.closer_view import CLOSEST, View
from inventory.pictures.enlarging import enlarge
from tests.factories import png

SPOT = (90, 40)


def dotted() -> bytes:
    """A red dot of 5 px about SPOT on grey."""
    image = Image.new("RGB", (200, 120), "grey")
    image.paste((255, 0, 0), (SPOT[0] - 2, SPOT[1] - 2, SPOT[0] + 3, SPOT[1] + 3))
    return png(image)


@pytest.mark.parametrize("turn", [0, 5, 37, 90, 180, 270, 355])
@pytest.mark.parametrize("zoom", [1, 2])
def test_a_spot_on_the_view_is_the_pixel_under_it(turn: int, zoom: int) -> None:
    view = View(200, 120, 0.45, 0.4, zoom, turn)
    shown = Image.open(io.BytesIO(enlarge(dotted(), **view.settings())))
    assert shown.size == pytest.approx(view.size, abs=1)
    red = [
        (x, y)
        for x in range(shown.width)
        for y in range(shown.height)
        if (seen := shown.getpixel((x, y)))[0] > 200 and seen[1] < 90  # type: ignore[index]
    ]
    assert red
    x = sum(each[0] for each in red) / len(red) / shown.width
    y = sum(each[1] for each in red) / len(red) / shown.height
    assert view.at(x, y) == pytest.approx((SPOT[0] + 0.5, SPOT[1] + 0.5), abs=1)


@pytest.mark.parametrize("start", [(0, 0), (1, 1), (0.5, 0.5)])
def test_the_box_stays_inside_however_near_one_goes(start: tuple[float, float]) -> None:
    view = View(64, 40)
    for _tap in range(8):
        view = view.closer(*start, 2)
        x, y, w, h = view.box
        assert x >= 0
        assert y >= 0
        assert x + w <= 64
        assert y + h <= 40
    assert view.zoom == CLOSEST


def test_a_tap_brings_its_spot_to_the_middle() -> None:
    near = View(4000, 3000).closer(0.3, 0.6, 4)
    assert near.at(0.5, 0.5) == pytest.approx((1200, 1800), abs=1)
