"""The codes on labels and bags, read out of a picture: QR codes as `labels` draws them, and others."""

import zxingcpp

from inventory.pictures.taking_in import open_picture

LONGEST_SIDE = 2400
"""Pixels; a larger picture is made smaller first, and a code that fills a tenth of it is still read."""
MAX_CODES = 20


def read_codes(data: bytes) -> list[str]:
    """The texts of the codes in a picture, the largest first; PictureError as `take_in` raises it."""
    picture = open_picture(data).convert("L")
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    found = [code for code in zxingcpp.read_barcodes(picture) if code.valid and code.text]
    found.sort(key=_size, reverse=True)
    return list(dict.fromkeys(code.text for code in found))[:MAX_CODES]


def _size(code: zxingcpp.Barcode) -> int:
    across, down = code.position.top_left, code.position.bottom_right
    return abs(across.x - down.x) + abs(across.y - down.y)
