"""Checksums of a memory's image, and comparison with those on a label or in a list.

Sum: the bytes added up, last 16 bits.  XOR: the bytes exclusive-or'ed.  CRC-32: as in ISO 3309 and zip files.
"""

import re
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce
from operator import xor

from repairs.proving.verdict import COMMON, FAULTY, GOOD, INCONCLUSIVE, Judgement, TrialReason

LARGEST = 4 * 1024 * 1024
LONGEST = 400
_WIDTH = {"sum": 4, "xor": 2, "crc32": 8}
_CALLED = {
    "sum": "sum",
    "checksum": "sum",
    "sum16": "sum",
    "xor": "xor",
    "crc": "crc32",
    "crc32": "crc32",
    "crc-32": "crc32",
}
_WRITTEN = re.compile(
    r"(?P<name>sum16|checksum|sum|xor|crc-?32|crc)\s*[:=]?\s*(?:0x|\$|&)?(?P<figures>[0-9A-Fa-f]{1,8})H?\b",
    re.IGNORECASE,
)

_FIGURES = re.compile(r"\b(?=[0-9A-F]*[0-9])[0-9A-F]{2,}H?\b", re.IGNORECASE)


class UnreadableChecksum(ValueError):
    """The text names no checksum; the message says how one is written."""


@dataclass(frozen=True)
class Checksums:
    """All three of one image, with its size in bytes."""

    size: int
    sum: int
    xor: int
    crc32: int

    def written(self) -> dict[str, str]:
        """As they stand on labels: hexadecimal, full width."""
        return {name: f"{getattr(self, name):0{width}X}" for name, width in _WIDTH.items()}

    @property
    def text(self) -> str:
        return ", ".join(f"{name} {figures}" for name, figures in self.written().items())


def checksums(image: bytes) -> Checksums:
    """The checksums of an image.

    >>> checksums(b"123456789").text
    'sum 01DD, xor 31, crc32 CBF43926'
    """
    return Checksums(len(image), sum(image) & 0xFFFF, reduce(xor, image, 0), zlib.crc32(image))


def read_checksums(text: str) -> dict[str, int]:
    """What a label or a note says: `sum 9C41`, `CRC-32: 1a2b3c4d`.  UnreadableChecksum where it says none."""
    if len(text) > LONGEST:
        raise UnreadableChecksum(f"at most {LONGEST} characters")
    found: dict[str, int] = {}
    for match in _WRITTEN.finditer(text):
        name, figures = _CALLED[match["name"].lower()], match["figures"]
        if len(figures.lstrip("0")) > _WIDTH[name]:
            raise UnreadableChecksum(f"{name} has {_WIDTH[name]} hexadecimal figures, found {figures}")
        if name == "crc32" and len(figures) < _WIDTH[name]:
            detail = f"crc32 has 8 hexadecimal figures, found {figures}; no other CRC is worked out"
            raise UnreadableChecksum(detail)
        if found.setdefault(name, int(figures, 16)) != int(figures, 16):
            raise UnreadableChecksum(f"{name} is given twice: which is right?")
    if left := _FIGURES.search(_WRITTEN.sub(" ", text)):
        raise UnreadableChecksum(
            f"what is {left[0]}? expected sum 9C41, xor 5A or crc32 1A2B3C4D, nothing else"
        )
    if not found:
        raise UnreadableChecksum("expected a checksum such as sum 9C41, xor 5A or crc32 1A2B3C4D")
    return found


def compare(found: dict[str, int], expected: dict[str, int]) -> Judgement:
    """Every checksum that both have must agree."""
    shared = [name for name in _WIDTH if name in found and name in expected]
    if not shared:
        detail = "nothing to compare with: give the checksum on the label or in a list"
        return Judgement(INCONCLUSIVE, (TrialReason("no_list", detail),))
    reasons = tuple(
        TrialReason(
            "matches" if found[name] == expected[name] else "differs",
            f"{name} {found[name]:0{_WIDTH[name]}X}, listed {expected[name]:0{_WIDTH[name]}X}",
            COMMON,
        )
        for name in shared
    )
    if all(found[name] == expected[name] and found[name] in _EMPTY[name] for name in shared):
        blank = "that is the checksum of an image of nothing but 00 or FF: was it selected when it was read?"
        return Judgement(INCONCLUSIVE, (*reasons, TrialReason("blank", blank, COMMON)))
    differs = any(reason.code == "differs" for reason in reasons)
    return Judgement(FAULTY if differs else GOOD, reasons)


_EMPTY = {
    name: frozenset(
        getattr(checksums(byte * 2**power), name) for byte in (b"\x00", b"\xff") for power in range(8, 17)
    )
    for name in _WIDTH
}
"""Checksums of images that hold nothing, of 256 bytes to 64 KB."""


def looked_through(image: bytes) -> tuple[TrialReason, ...]:
    """What an image says of itself before any list: blank, all low, halves alike, an odd size."""
    found = []
    size = len(image)
    if image and not image.strip(b"\xff"):
        found.append(
            TrialReason("blank", "every byte is FF: erased, or not selected when it was read", COMMON)
        )
    elif image and not image.strip(b"\x00"):
        found.append(TrialReason("all_low", "every byte is 00: check supply and select", COMMON))
    elif size >= 2 and size % 2 == 0 and image[: size // 2] == image[size // 2 :]:
        found.append(
            TrialReason(
                "halves_alike",
                "both halves are alike: the top address line may be stuck or not joined",
                COMMON,
            )
        )
    stuck = _stuck_bits(image)
    if stuck and not found:
        found.append(TrialReason("stuck_bits", f"{stuck} never change: a data line may be stuck", COMMON))
    if size & (size - 1):
        found.append(TrialReason("odd_size", f"{size} bytes is not a power of two: was it all read?", COMMON))
    return tuple(found)


def _stuck_bits(image: bytes) -> str:
    if len(image) < 64:
        return ""
    ever, always = (
        reduce(lambda kept, byte: kept | byte, image, 0),
        reduce(lambda kept, byte: kept & byte, image, 0xFF),
    )
    return ", ".join(f"D{bit}" for bit in range(8) if not ever >> bit & 1 or always >> bit & 1)


@dataclass(frozen=True)
class KnownImage:
    """One line of a list of known images."""

    name: str
    checksums: dict[str, int]


def matches(found: Checksums, listed: Iterable[KnownImage]) -> tuple[str, ...]:
    """Names of the known images that agree in every checksum listed."""
    return tuple(
        line.name
        for line in listed
        if line.checksums and all(getattr(found, name) == figure for name, figure in line.checksums.items())
    )


MAX_LISTED = 500


class TooManyListed(ValueError):
    """More known images than are taken at once."""


def read_list(text: str) -> tuple[KnownImage, ...]:
    """Known images, one a line: a name, a colon, its checksums.

    TooManyListed beyond 500 lines; UnreadableChecksum for a line that is none.

    >>> read_list("monitor 1.2: sum 9C41")[0].name
    'monitor 1.2'
    """
    lines = [line for line in text.splitlines() if line.strip()]
    if len(lines) > MAX_LISTED:
        raise TooManyListed(f"at most {MAX_LISTED} lines")
    found = []
    for number, line in enumerate(lines, 1):
        name, colon, figures = line.partition(":")
        if not colon or not name.strip():
            raise UnreadableChecksum(f"line {number}: expected a name, a colon, its checksums")
        found.append(KnownImage(name.strip()[:120], read_checksums(figures)))
    return tuple(found)
