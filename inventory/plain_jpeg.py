"""Whether a JPEG holds a picture and nothing else, so that it may be kept to the byte (ITU-T T.81, annex B).

Pure.  What a camera, an editor or an attacker adds (comments, EXIF, what follows the end) makes it not plain.
"""

import re

from inventory.pictures.taking_in import KEPT_SIDE, Picture, take_in

_START, _END = b"\xff\xd8", b"\xff\xd9"
_JFIF = b"JFIF\x00"
_TABLES = {0xDB, 0xC4, 0xC0, 0xDD}  # quantisation, Huffman, baseline frame, restart interval
_SCAN = 0xDA
_NEXT_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7]")


def take_whole(data: bytes) -> Picture:
    """As `take_in`, which refuses the same; but a plain JPEG of a size that is kept stays as it is."""
    taken = take_in(data)
    if max(taken.width, taken.height) <= KEPT_SIDE and is_plain(data):
        return Picture(data, taken.width, taken.height)
    return taken


def is_plain(data: bytes) -> bool:
    """One baseline scan with its tables and a JFIF header without a thumbnail, and the end at the end."""
    at = 2
    if not data.startswith(_START):
        return False
    while data[at : at + 1] == b"\xff" and at + 4 <= len(data):
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        body = data[at + 4 : at + 2 + length]
        at += 2 + length
        if marker == _SCAN:
            found = _NEXT_MARKER.search(data, at)
            return found is not None and data[found.start() :] == _END
        if marker == 0xE0 and not (body.startswith(_JFIF) and len(body) == 14):
            return False
        if marker not in _TABLES and marker != 0xE0:
            return False
    return False
