"""Pictures as they come from a phone, taken in safely: bounded, upright, in sRGB, without metadata."""

from __future__ import annotations

import contextlib
import io
import struct
import warnings
import zlib
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import wraps
from typing import Final, NamedTuple, ParamSpec, TypeVar

from PIL import Image, ImageCms, ImageOps

MAX_BYTES: Final = 30 * 2**20
MAX_PIXELS: Final = 64_000_000  # above what phones take (50 Mpx), below Pillow's own warning at 89 Mpx
MAX_PIXELS_UNCODED: Final = 16_000_000  # of a PNG or WebP, which may have to be held twice with its alpha
WHOLE_PIXELS: Final = 24_000_000  # a JPEG of more is unpacked at half its size from the start
MAX_SIDE: Final = 20_000  # px; one column of 64 million makes scaling run away
KEPT_SIDE: Final = 4800  # px; a 12-Mpx picture is kept as it is, larger ones are brought down to this
# A header that claims more pixels than Pillow's limit is refused and not merely warned about.
warnings.filterwarnings("error", category=Image.DecompressionBombWarning)

# What Pillow raises on broken data, by format plugin; anything else would be a bug of ours.
_BROKEN = (
    OSError,
    SyntaxError,
    ValueError,
    EOFError,
    struct.error,
    zlib.error,
    IndexError,
    KeyError,
    TypeError,
)
_TOO_MANY = (Image.DecompressionBombError, Image.DecompressionBombWarning)


_UNPACKER = ThreadPoolExecutor(1, thread_name_prefix="pictures")
_Asked = ParamSpec("_Asked")
_Made = TypeVar("_Made")


def one_at_a_time(work: Callable[_Asked, _Made]) -> Callable[_Asked, _Made]:
    """An unpacked picture takes 200 MB for a moment: whoever comes meanwhile waits.

    Always in the same thread, as the C library keeps for each thread what it once needed.
    """

    @wraps(work)
    def waiting(*args: _Asked.args, **named: _Asked.kwargs) -> _Made:
        return _UNPACKER.submit(work, *args, **named).result()

    return waiting


class PictureError(ValueError):
    """A file that cannot be taken in; the message is for the person."""


class NotAPicture(PictureError):
    """Not a JPEG, PNG or WebP by its content (415)."""


class PictureTooLarge(PictureError):
    """More bytes or pixels than are taken (413)."""


class DamagedPicture(PictureError):
    """Starts as a picture and then breaks off or makes no sense (422)."""


class Picture(NamedTuple):
    """A JPEG that is safe to keep and to serve."""

    data: bytes
    width: int
    height: int


@one_at_a_time
def take_in(data: bytes) -> Picture:
    """Re-encode an uploaded JPEG, PNG or WebP: upright, in sRGB, without any metadata.

    Raises NotAPicture, PictureTooLarge or DamagedPicture. Of a moving picture the first frame is kept.
    """
    if len(data) > MAX_BYTES:
        raise PictureTooLarge(f"{len(data)} bytes: at most {MAX_BYTES // 2**20} MiB are taken")
    image = _decode(data)
    if max(image.size) > KEPT_SIDE and image.mode in ("RGB", "L", "CMYK"):
        # Before anything else, so that whatever copies it copies less.
        image.thumbnail((KEPT_SIDE, KEPT_SIDE), Image.Resampling.LANCZOS, reducing_gap=3)
    image = _upright(image)
    if max(image.size) > KEPT_SIDE:
        image.thumbnail((KEPT_SIDE, KEPT_SIDE), Image.Resampling.LANCZOS, reducing_gap=3)
    kept = io.BytesIO()
    # Full colour resolution (subsampling 0): bands and print are a few pixels wide.
    image.save(kept, "JPEG", quality=92, subsampling=0)
    return Picture(kept.getvalue(), *image.size)


@one_at_a_time
def check(data: bytes) -> str:
    """JPEG, PNG or WEBP: what a picture is that is kept as it came; raises as `take_in` does."""
    if len(data) > MAX_BYTES:
        raise PictureTooLarge(f"{len(data)} bytes: at most {MAX_BYTES // 2**20} MiB are taken")
    kind = _kind_by_content(data)
    _decode(data)
    return kind


def open_picture(data: bytes) -> Image.Image:
    """The pixels of a picture as an upright RGB image; raises as `take_in` does."""
    return _upright(_decode(data))


def _decode(data: bytes) -> Image.Image:
    """The first frame, its pixels loaded; raises a PictureError."""
    kind = _kind_by_content(data)
    try:
        image = Image.open(io.BytesIO(data), formats=[kind])
        most = MAX_PIXELS if kind == "JPEG" else MAX_PIXELS_UNCODED
        if image.width * image.height > most:  # known from the header, before any pixel is unpacked
            raise PictureTooLarge(
                f"{image.width} x {image.height} pixels: at most {most // 10**6} million of a {kind}"
            )
        if max(image.size) > MAX_SIDE:
            raise PictureTooLarge(
                f"{image.width} x {image.height} pixels: no side may be longer than {MAX_SIDE}"
            )
        if kind == "JPEG" and image.width * image.height > WHOLE_PIXELS:
            image.draft(None, (image.width // 2, image.height // 2))
        image.load()
    except PictureError:
        raise
    except _TOO_MANY:
        raise PictureTooLarge(f"at most {MAX_PIXELS // 10**6} million pixels are taken") from None
    except _BROKEN:
        raise DamagedPicture(f"starts as a {kind} but cannot be read to its end") from None
    return image


def _kind_by_content(data: bytes) -> str:
    if data.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if data.startswith(b"RIFF") and data[8:12] == b"WEBP":
        return "WEBP"
    raise NotAPicture("not a JPEG, PNG or WebP picture, whatever its name says")


def _upright(image: Image.Image) -> Image.Image:
    """Turned as the camera was held, in sRGB, on white where it was transparent."""
    with contextlib.suppress(*_BROKEN):  # metadata that cannot be read turns nothing; the pixels are good
        image = ImageOps.exif_transpose(image)
    profile = image.info.get("icc_profile")
    if image.mode.startswith("I"):  # 16 bits a pixel: keep the upper eight
        image = image.convert("I").point(lambda level: level / 256).convert("L")
    if image.has_transparency_data:
        clear = image.convert("RGBA")
        image = Image.new("RGB", clear.size, "white")
        image.paste(clear, mask=clear.getchannel("A"))
    elif profile and image.mode in ("RGB", "CMYK"):
        image = _in_srgb(image, profile)
    plain = image.convert("RGB")
    plain.info.clear()  # a JPEG comment would be written out again
    return plain


def _in_srgb(image: Image.Image, profile: bytes) -> Image.Image:
    """Phones save in wider colour spaces; dropping the profile alone would dull every band."""
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        converted = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, *_BROKEN):
        return image
    return converted or image
