"""A picture made small enough for a page: fewer pixels, and no more bytes than were asked for.  Plain Pillow.

JPEG, because the oldest phone at the bench shows it.  At the same quality setting WebP came out a tenth
lighter on a photograph (133 kB for 146 kB) and two fifths on a drawn plan (38 kB for 66 kB): not needed.
"""

import io
from typing import Final

from PIL import Image

SMALLEST: Final = 64  # px; a stamp in a list
FEWEST: Final = 4  # kB; a stamp of noise fits
QUALITIES: Final = (85, 75, 65, 55, 45, 35)
KILOBYTE: Final = 1000


def shrink(data: bytes, longest: int, kilobytes: int | None = None) -> bytes:
    """A picture that was taken in, as a JPEG of at most so many pixels on its longer side.

    As it is where that is small enough already.  `kilobytes` as for `within`.
    """
    image = Image.open(io.BytesIO(data))
    fits = kilobytes is None or len(data) <= kilobytes * KILOBYTE
    if max(image.size) <= longest and fits:
        return data
    image.thumbnail((longest, longest), Image.Resampling.LANCZOS, reducing_gap=3)
    return _jpeg(image, QUALITIES[0]) if kilobytes is None else within(image, kilobytes)


def within(image: Image.Image, kilobytes: int) -> bytes:
    """A JPEG of at most so many kB (of 1000 bytes): coarser, and at last smaller, until it is that light."""
    most = kilobytes * KILOBYTE
    while True:
        for quality in QUALITIES:
            data = _jpeg(image, quality)
            if len(data) <= most:
                return data
        if max(image.size) <= SMALLEST:
            return data
        image = image.resize((max(1, image.width * 4 // 5), max(1, image.height * 4 // 5)), reducing_gap=3)


def _jpeg(image: Image.Image, quality: int) -> bytes:
    out = io.BytesIO()
    mode = "L" if image.mode == "L" else "RGB"
    image.convert(mode).save(out, "JPEG", quality=quality, optimize=True, progressive=True)
    return out.getvalue()
