"""Pictures taken in safely, and what is none refused. Every picture is drawn here."""

from __future__ import annotations

import struct
import zlib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms

from inventory.pictures import taking_in
from inventory.pictures.taking_in import DamagedPicture, NotAPicture, PictureError, PictureTooLarge, take_in
from tests.pictures.drawn import half_red, marked_body, opened, saved

ORIENTATION, GPS = 0x0112, 0x8825


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
    monkeypatch.setattr(taking_in, "MAX_BYTES", 100)
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

    head = struct.pack(">IIBBBBB", 4000, 4000, 8, 2, 0, 0, 0)
    data = (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 100))
        + chunk(b"IEND", b"")
    )
    with pytest.raises(DamagedPicture):
        take_in(data)


def test_a_larger_picture_than_is_kept_is_brought_down(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(taking_in, "KEPT_SIDE", 100)
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
    except PictureError:
        return
    assert opened(picture.data).size == (picture.width, picture.height)
