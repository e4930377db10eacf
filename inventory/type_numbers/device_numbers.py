"""Numbers of diodes and transistors taken apart: the registered type, and the letters behind it.

Naming systems: JEDEC EIA-370, Pro Electron, JIS C 7012; makers' series from memory of their data books.
"""

from __future__ import annotations

import re
from typing import NamedTuple


class DeviceNumber(NamedTuple):
    base: str
    grade: str  # gain group, version, tolerance of a zener; "" where nothing stands behind the type


_JEDEC = re.compile(r"(?:JAN(?:TXV|TX|S)?)?([1-6]N[0-9]{2,5})-?([A-Z]{0,3}(?:-[0-9A-Z]{1,3})?)")
_ZENER = re.compile(
    r"([ABCR]Z[A-Z]{1,2}[0-9]{2,3})-?([A-E]?)([0-9]{1,3}(?:V[0-9]{0,2})?)(?:-?[A-Z0-9]{1,4})?"
)
_MAKERS_ZENER = re.compile(r"(Z(?:PD|PY|TE|TK))-?([0-9]{1,3})(?:[.,V]([0-9]))?")
_PEAK = re.compile(r"([ABCR][RTY][A-Z]{0,2}[0-9]{2,3}[A-Z]?-[0-9]{2,4})(R?[A-Z]{0,2})")
_EUROPEAN = re.compile(
    r"([ABCR][A-GLNP-UX-Z](?:[0-9]{3}|[A-Z][0-9]{2,3}|[A-Z]{2}[0-9]{2}))(?![0-9])-?([A-Z0-9/-]{0,8})"
)
_OLD_EUROPEAN = re.compile(r"(O(?:AZ|AP|CP|A|C)[0-9]{2,3})([A-Z]{0,2})")
_JIS = re.compile(r"([1-4]S[A-HJKMRSTVZ]?[0-9]{2,4})-?([A-Z]{0,3}(?:-[A-Z]{1,3})?)")
_JIS_SHORT = re.compile(r"([ABCDJK][0-9]{3,4})-?([A-Z]{0,3}(?:-[A-Z]{1,3})?)")
JUNCTION_FETS = re.compile(r"J(?:10[5-9]|11[0-3]|17[4-7]|20[1-4]|230|231|232|27[01]|30[4589]|310)")
"""A maker's series, which no 2SJ number is shortened to (from memory)."""
_SMALL_SIGNAL = re.compile(r"(?:SS|S|H|L|STS|C|KSP)?(90(?:1[1-68]))([A-J]?[0-9]{0,3})")
_BY_AMPS = re.compile(r"[A-Z]{2,4}[0-9]{1,3}N[A-Z]{0,2}[0-9]{2,3}[A-Z]{0,3}")
_HOUSE = re.compile(r"([A-Z]{1,5}[0-9]{2,5})-?([A-Z]{0,3}(?:-[0-9A-Z]{1,3})?)")


def split_device(kind: str, word: str) -> DeviceNumber | None:
    """The number of a diode or transistor, in capitals without blanks; None where it is no system's.

    >>> split_device("transistor", "C1815GR")
    DeviceNumber(base='2SC1815', grade='GR')
    >>> split_device("transistor", "BC547B"), split_device("diode", "BZX79C5V1")
    (DeviceNumber(base='BC547', grade='B'), DeviceNumber(base='BZX79-5V1', grade='C'))
    """
    if match := _ZENER.fullmatch(word):
        return DeviceNumber(f"{match[1]}-{match[3].removesuffix('V')}", match[2])
    if match := _MAKERS_ZENER.fullmatch(word):
        return DeviceNumber(f"{match[1]}{match[2]}{f'V{match[3]}' if match[3] else ''}", "")
    if _BY_AMPS.fullmatch(word):
        return DeviceNumber(word, "")  # current, polarity, volts and drive: all of it is the type
    for form in (_JEDEC, _PEAK, _EUROPEAN, _OLD_EUROPEAN, _JIS, _SMALL_SIGNAL):
        if match := form.fullmatch(word):
            return DeviceNumber(match[1], match[2])
    match = _JIS_SHORT.fullmatch(word) if kind == "transistor" and not JUNCTION_FETS.fullmatch(word) else None
    if match:
        return DeviceNumber(f"2S{match[1]}", match[2])
    if match := _HOUSE.fullmatch(word):
        return DeviceNumber(match[1], match[2])
    return None
