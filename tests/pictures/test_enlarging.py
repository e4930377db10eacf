"""A part of a picture enlarged, and faint print made readable. Every picture is drawn here."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageFilter, ImageStat

from inventory.pictures.enlarging import CHANNELS, READABLE, BadEnlargement, enlarge
from tests.pictures.drawn import badly_lit, half_red, marked_body, opened, saved, share_of_print_seen


def test_an_enlargement_is_the_box_times_the_scale() -> None:
    assert opened(enlarge(saved(half_red()), x=10, y=5, w=20, h=10, scale=3)).size == (60, 30)


def test_without_settings_the_pixels_come_back_as_they_were() -> None:
    source = badly_lit(marked_body())
    assert ImageChops.difference(opened(enlarge(saved(source))), source).getbbox() is None


def test_a_box_that_reaches_past_the_edge_is_cut_at_the_edge() -> None:
    assert opened(enlarge(saved(half_red()), x=30, w=500)).size == (10, 20)


def test_a_quarter_turn_anticlockwise_brings_the_right_end_to_the_top() -> None:
    turned = opened(enlarge(saved(half_red()), rotate=90))
    assert turned.size == (20, 40)
    assert turned.getpixel((10, 3)) == (0, 0, 255)
    assert turned.getpixel((10, 37)) == (255, 0, 0)


@pytest.mark.parametrize("angle", [-20.0, 7.5, 33.0, 111.0])
def test_a_box_turned_by_any_angle_shows_its_surroundings_and_no_blank_corner(angle: float) -> None:
    paper = Image.new("RGB", (300, 300), (180, 170, 160))
    turned = opened(enlarge(saved(paper), x=100, y=120, w=90, h=40, rotate=angle, scale=2))
    assert all(low == high for low, high in turned.getextrema())


def test_turning_keeps_the_middle_of_the_box_in_the_middle() -> None:
    board = Image.new("RGB", (201, 201), "white")
    board.paste((0, 0, 0), (78, 118, 83, 123))  # a dot about (80, 120)
    for angle in (0, 30, 90, 145, 180, -77):
        turned = opened(enlarge(saved(board), x=60, y=110, w=41, h=21, rotate=angle, scale=4)).convert("L")
        middle = turned.getpixel((turned.width // 2, turned.height // 2))
        assert middle < 60, angle


def test_a_tilted_line_of_print_comes_out_level() -> None:
    mask = marked_body(("104K 100V",)).crop((0, 0, 150, 24))
    board = Image.new("L", (220, 220), 0)
    board.paste(mask, (35, 98))
    tilted = board.rotate(25, Image.Resampling.BICUBIC).convert("RGB")
    level = opened(enlarge(saved(tilted), x=30, y=30, w=160, h=160, rotate=-25, channel="grey"))
    middle = level.crop(
        (level.width // 2 - 75, level.height // 2 - 12, level.width // 2 + 75, level.height // 2 + 12)
    )
    assert ImageStat.Stat(ImageChops.difference(middle, mask)).mean[0] < 16


def test_contrast_spreads_few_grey_levels_over_all() -> None:
    low = Image.linear_gradient("L").point(lambda level: 100 + level // 8).convert("RGB")
    assert opened(enlarge(saved(low), contrast=1)).convert("L").getextrema() == (0, 255)
    assert opened(enlarge(saved(low))).convert("L").getextrema() == (100, 131)


def test_a_channel_alone_separates_red_print_from_a_blue_body() -> None:
    assert opened(enlarge(saved(half_red()), channel="red")).getpixel((5, 5)) == 255
    assert opened(enlarge(saved(half_red()), channel="red")).getpixel((35, 5)) == 0
    assert opened(enlarge(saved(half_red()), channel="green")).getextrema() == (0, 0)


def test_inverting_turns_light_print_dark() -> None:
    assert opened(enlarge(saved(half_red()), invert=True)).getpixel((5, 5)) == (0, 255, 255)


def test_faint_blurred_print_12_px_high_becomes_readable() -> None:
    """The same threshold that loses the print in the bare enlargement finds it in the enhanced one."""
    mask = marked_body()
    faint = saved(badly_lit(mask))
    bare = share_of_print_seen(enlarge(faint, scale=6, contrast=1, channel="grey"), mask)
    enhanced = share_of_print_seen(enlarge(faint, **READABLE), mask)
    assert bare < 0.75
    assert enhanced > 0.9


def test_sharpening_steepens_an_edge() -> None:
    edge = half_red().convert("L").filter(ImageFilter.GaussianBlur(2)).convert("RGB")

    def steepest(data: bytes) -> int:
        row = [opened(data).convert("L").getpixel((x, 10)) for x in range(40)]
        return max(abs(b - a) for a, b in zip(row, row[1:], strict=False))

    assert steepest(enlarge(saved(edge), sharpen=2)) > 1.5 * steepest(enlarge(saved(edge)))


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"scale": 0}, "scale"),
        ({"scale": 17}, "scale"),
        ({"scale": float("nan")}, "scale"),
        ({"rotate": float("inf")}, "rotate"),
        ({"contrast": -1}, "contrast"),
        ({"contrast": 50}, "contrast"),
        ({"local_contrast": 11}, "local_contrast"),
        ({"sharpen": 5.1}, "sharpen"),
        ({"channel": "cyan"}, "channel"),
        ({"x": 40}, "x"),
        ({"y": -1}, "y"),
        ({"w": 0}, "w"),
        ({"h": -5}, "h"),
    ],
)
def test_a_setting_out_of_bounds_is_refused_by_name(wrong: dict[str, float], named: str) -> None:
    with pytest.raises(BadEnlargement) as refusal:
        enlarge(saved(half_red()), **wrong)
    assert [name for name, _ in refusal.value.problems] == [named]


def test_all_bad_settings_are_named_at_once() -> None:
    with pytest.raises(BadEnlargement) as refusal:
        enlarge(saved(half_red()), scale=0, contrast=99, x=-1)
    assert {name for name, _ in refusal.value.problems} == {"scale", "contrast", "x"}


def test_an_enlargement_beyond_the_pixel_limit_is_refused_before_it_is_made() -> None:
    with pytest.raises(BadEnlargement, match="scale"):
        enlarge(saved(Image.new("L", (1200, 1200))), scale=16)


@settings(max_examples=150, deadline=None)
@given(
    x=st.integers(0, 39),
    y=st.integers(0, 19),
    w=st.integers(1, 60),
    h=st.integers(1, 60),
    scale=st.floats(0.1, 6),
    rotate=st.floats(-360, 360),
    contrast=st.floats(0, 40),
    local_contrast=st.floats(0, 10),
    sharpen=st.floats(0, 5),
    channel=st.sampled_from(CHANNELS),
    invert=st.booleans(),
)
def test_any_settings_within_bounds_give_a_picture(**settings: object) -> None:
    draw: Callable[..., bytes] = enlarge
    assert opened(draw(saved(half_red()), **settings)).width >= 1
