"""Tapers of potentiometers printed with the value: A100K, B503, 500KA, 47K LOG.

A and B as in the makers' letters of the Far East, A logarithmic and B linear (common practice, no source);
older European parts use them the other way round, so the taper is said with a caution.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from .candidates import Candidate, Notation
from .known import Known
from .letter_codes import OHM, pointed
from .series import TRACKS
from .words import MarkingLine

TAPER = Notation("value with a taper", "makers' practice", "resistor", 0.02, {"trimmer": 40, "chip": 0.1})
LETTERS = {"A": "logarithmic", "B": "linear", "C": "reverse logarithmic", "W": "s-shaped"}
WORDS = {
    "LOG": "logarithmic",
    "LIN": "linear",
    "LG": "logarithmic",
    "LN": "linear",
    "REV": "reverse logarithmic",
}
CAUTION = (
    "A is logarithmic and B linear on most parts, the other way round on some old European ones: measure"
)

UNIT_BETWEEN = 15.0
"""With K or M behind the figures of a track, a letter of a taper is hardly anything else."""

ROUND = 10.0
"""20, 25 and 50 are usual tracks, and hardly ever another resistor's value (common practice, no source)."""
AS_CODE = 8.0
"""B503 is a track of 50 kΩ, and may be a 2SB503."""

_VALUE = "(?P<plain>[1-9][0-9]{0,2}[KM][0-9]?|[1-9][0-9]{2})(?:Ω|OHM)?"
_BEFORE = re.compile(rf"(?P<letter>[ABCW])-?{_VALUE}")
_BEHIND = re.compile(rf"{_VALUE}-?(?P<letter>[ABCW])(?:X[1-4])?")
_SHORT = re.compile("(?P<letter>[ABC])(?P<short>[1-9][1-6])")
SHORT = Notation("trimmer code of two figures", "makers' practice", "resistor", 1e-4, {"trimmer": 4000})
"""B14: one figure and the noughts behind it, 10 kΩ (a maker's trimmers, from memory)."""
_VALUED = re.compile(rf"[ABCW]?-?{_VALUE.replace('?P<plain>', '?:')}-?[ABCW]?")
_WORD = re.compile(
    rf"{_VALUE} ?(?P<word>LOG|LIN|LG|LN|REV)\.?|(?P<before>LOG|LIN|LG|LN) ?{_VALUE.replace('plain', 'also')}"
)


def taper_codes(line: MarkingLine, known: Known) -> Iterator[Candidate]:
    """The line as a value and a taper, in either order."""
    words = [word.whole.upper() for word in line.seen[:3]]
    text = " ".join(words)
    if "A" <= text[:1] <= "Z" and len(words) > 1 and all(words) and not _VALUED.fullmatch(words[0]):
        yield from _tapered(" ".join(words[1:]), words[0])
    yield from _tapered(text)


def _tapered(text: str, series: str = "") -> Iterator[Candidate]:
    """`series` is what stands before it: a maker's name or its number of the type."""
    for form in (_BEFORE, _BEHIND, _WORD, _SHORT):
        match = form.fullmatch(text)
        if match is None:
            continue
        parts = match.groupdict()
        code = parts.get("plain") or parts.get("also") or ""
        if parts.get("short"):
            code = f"{parts['short'][0]}0{int(parts['short'][1]) - 1}"
        mark = parts.get("letter") or parts.get("word") or parts.get("before") or ""
        value = ohms_of(code)
        if not value:
            continue
        taper = LETTERS.get(mark) or WORDS[mark]
        likely = 1.0
        if not parts.get("short"):
            if code[-1] in "KM" and int(code[:-1]) in TRACKS:
                likely = UNIT_BETWEEN
            elif code.isdigit() and code[2] != "0":
                likely = AS_CODE
            likely *= ROUND if value // 10 ** (len(str(value)) - 2) in (20, 25, 50) else 1.0
        used = ((parts.get("short") or code, "value"), (mark, f"{taper} taper"))
        cautions = (CAUTION,) if mark in LETTERS else ()
        yield Candidate(
            SHORT if parts.get("short") else TAPER, value,
            (*(((series, ""),) if series else ()), *(used if text.startswith(code) else used[::-1])),
            likely, cautions=cautions, traits={"taper": taper},
        )  # fmt: skip


def ohms_of(code: str) -> int:
    """µΩ of 100K, 1M or 503."""
    if code.isdigit():
        return int(code[:2] + "0" * int(code[2])) * OHM
    at = code.index("K") if "K" in code else code.index("M")
    units: int = 1000 * OHM if code[at] == "K" else 10**6 * OHM
    return pointed(code, at, units) or 0
