"""Pictures taken in safely, and faint print made readable. Every picture is drawn here."""

from __future__ import annotations

import io
import random
import struct
import zlib
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageCms, ImageDraw, ImageFilter, ImageFont, ImageStat

from inventory import enhance
from inventory.enhance import BadEnlargement, DamagedPicture, NotAPicture, PictureTooLarge, enlarge, take_in

ORIENTATION, GPS = 0x0112, 0x8825


def saved(image: Image.Image, form: str = "PNG", **settings: object) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **settings)
    return out.getvalue()


def opened(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data))
    image.load()
    return image


def half_red(w: int = 40, h: int = 20) -> Image.Image:
    """Red on the left, blue on the right."""
    image = Image.new("RGB", (w, h), "blue")
    image.paste((255, 0, 0), (0, 0, w // 2, h))
    return image


def marked_body(lines: tuple[str, ...] = ("104K 100V", "74LS04N 8213"), size: float = 16.5) -> Image.Image:
    """Sharp light print, capitals 12 px high, on a dark body, as a mask: 255 is print."""
    mask = Image.new("L", (150, 52), 0)
    font = ImageFont.load_default(size)
    for row, line in enumerate(lines):
        ImageDraw.Draw(mask).text((8, 2 + 21 * row), line, font=font, fill=255)
    return mask


def badly_lit(mask: Image.Image) -> Image.Image:
    """The print 12 % lighter than its body, out of focus, noisy, lit from the right."""
    grain = random.Random(7)
    body = Image.new("L", mask.size, 110)
    body.paste(110 + 30, mask=mask)
    body = body.filter(ImageFilter.GaussianBlur(1.0))
    for y in range(body.height):
        for x in range(body.width):
            level = body.getpixel((x, y)) * (0.75 + 0.5 * x / body.width) + grain.gauss(0, 3)
            body.putpixel((x, y), round(level))
    return body.convert("RGB")


def share_of_print_seen(picture: bytes, mask: Image.Image) -> float:
    """How many pixels one threshold over the whole picture puts on the right side, at the best threshold."""
    image = opened(picture).convert("L")
    ink = mask.resize(image.size, Image.Resampling.BICUBIC).point(lambda level: 255 * (level > 127))
    on = image.histogram(ink)
    off = image.histogram(ImageChops.invert(ink))
    # Print and ground count the same, however little print there is.
    rates = [(sum(on[t:]) / sum(on) + sum(off[:t]) / sum(off)) / 2 for t in range(256)]
    return max(rates)


# ---------------------------------------------------------------- taking in


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_comes_back_as_a_jpeg_of_its_own_size(form: str) -> None:
    picture = take_in(saved(half_red(), form, quality=95))
    kept = opened(picture.data)
    assert kept.format == "JPEG"
    assert (picture.width, picture.height) == kept.size == (40, 20)
    assert kept.getpixel((5, 10))[0] > 200
    assert kept.getpixel((35, 10))[2] > 200


def test_a_picture_taken_sideways_is_turned_upright() -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # EXIF 2.3: the camera was held a quarter turn; show it turned clockwise
    picture = take_in(saved(half_red(), "JPEG", exif=exif, quality=95))
    kept = opened(picture.data)
    assert kept.size == (20, 40)
    assert kept.getpixel((10, 5))[0] > 200, "the left end is on top"


def test_the_place_where_a_picture_was_taken_is_not_kept() -> None:
    exif = Image.Exif()
    exif.get_ifd(GPS)[1] = "N"
    exif.get_ifd(GPS)[2] = (52.0, 5.0, 7.0)
    exif[0x010F] = "MakerOfTheCamera"
    data = saved(half_red(), "JPEG", exif=exif, comment=b"drawer key under the mat")
    assert b"MakerOfTheCamera" in data
    assert b"drawer key" in data
    kept = take_in(data).data
    assert not opened(kept).getexif()
    assert b"MakerOfTheCamera" not in kept
    assert b"drawer key" not in kept
    assert b"ICC_PROFILE" not in kept


def test_text_chunks_of_a_png_are_not_kept() -> None:
    from PIL.PngImagePlugin import PngInfo

    info = PngInfo()
    info.add_text("Comment", "drawer key under the mat")
    assert b"drawer key" not in take_in(saved(half_red(), "PNG", pnginfo=info)).data


def test_what_was_transparent_becomes_white_paper() -> None:
    kept = opened(take_in(saved(Image.new("RGBA", (8, 8), (255, 0, 0, 0)))).data)
    assert kept.getpixel((4, 4)) == (255, 255, 255)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "I;16"])
def test_every_kind_of_png_pixel_is_taken(mode: str) -> None:
    source = (
        Image.new("I;16", (8, 8), 0x8000) if mode == "I;16" else Image.new("L", (8, 8), 128).convert(mode)
    )
    level = opened(take_in(saved(source)).data).convert("L").resize((1, 1)).getpixel((0, 0))
    assert abs(level - 128) <= 3 if mode != "1" else level in range(100, 156)


def test_a_colour_profile_good_or_broken_does_not_cost_the_colours() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert opened(take_in(saved(half_red(), "PNG", icc_profile=profile)).data).getpixel((5, 10))[0] > 200
    assert opened(take_in(saved(half_red(), "PNG", icc_profile=b"nonsense")).data).getpixel((5, 10))[0] > 200


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"hello",
        b"%PDF-1.7 ...",
        b"GIF89a" + bytes(40),
        b"BM" + bytes(60),
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        saved(half_red(), "GIF"),
        saved(half_red(), "TIFF"),
        b"RIFF\x10\x00\x00\x00WAVEfmt ",
    ],
)
def test_what_is_not_a_jpeg_png_or_webp_is_refused_by_its_content(data: bytes) -> None:
    with pytest.raises(NotAPicture):
        take_in(data)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_that_breaks_off_is_refused(form: str) -> None:
    noise = Image.effect_noise((90, 90), 80).convert("RGB")
    data = saved(noise, form)
    for length in (12, len(data) // 4, len(data) // 2, len(data) * 9 // 10):
        with pytest.raises(DamagedPicture):
            take_in(data[:length])


def test_more_bytes_than_the_limit_are_refused_unread(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(enhance, "MAX_BYTES", 100)
    with pytest.raises(PictureTooLarge, match="101 bytes"):
        take_in(bytes(101))


@pytest.mark.filterwarnings("error::PIL.Image.DecompressionBombWarning")
def test_a_small_file_of_very_many_pixels_is_refused_from_its_header() -> None:
    """Pillow opens the first with a warning only (89 Mpx) and refuses the second by itself (179 Mpx)."""
    for side in (9_500, 14_000):
        data = saved(Image.new("1", (side, side)))
        assert len(data) < 60_000
        with pytest.raises(PictureTooLarge):
            take_in(data)


def test_a_png_header_that_promises_more_pixels_than_follow_is_damaged() -> None:
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", 5000, 5000, 8, 2, 0, 0, 0)
    data = (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 100))
        + chunk(b"IEND", b"")
    )
    with pytest.raises(DamagedPicture):
        take_in(data)


def test_a_larger_picture_than_is_kept_is_brought_down(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(enhance, "KEPT_SIDE", 100)
    picture = take_in(saved(half_red(400, 200)))
    assert (picture.width, picture.height) == (100, 50)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    form=st.sampled_from(["JPEG", "PNG", "WEBP"]),
    hits=st.lists(st.tuples(st.integers(0, 2000), st.integers(0, 255)), min_size=1, max_size=8),
)
def test_a_file_with_changed_bytes_is_taken_or_refused_and_nothing_else(
    form: str, hits: list[tuple[int, int]]
) -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 3
    data = bytearray(saved(marked_body().convert("RGB"), form, exif=exif))
    for place, byte in hits:
        data[place % len(data)] = byte
    try:
        picture = take_in(bytes(data))
    except enhance.PictureError:
        return
    assert opened(picture.data).size == (picture.width, picture.height)


# ---------------------------------------------------------------- enlarging


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
    enhanced = share_of_print_seen(enlarge(faint, **enhance.READABLE), mask)
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
    channel=st.sampled_from(enhance.CHANNELS),
    invert=st.booleans(),
)
def test_any_settings_within_bounds_give_a_picture(**settings: object) -> None:
    draw: Callable[..., bytes] = enlarge
    assert opened(draw(saved(half_red()), **settings)).width >= 1
