"""Digits on inductors: µH on power parts, nH on some RF chips (TDK inductor questions page; two RF chip data
sheets).
"""

from __future__ import annotations

from collections.abc import Iterator

from .candidates import Candidate, Notation
from .letter_codes import with_tolerance
from .ratings import INDUCTOR_TOLERANCE
from .shapes import DIGIT, Shape, cell

MICROHENRY, NANOHENRY = 10**6, 10**3
MICRO_CODE = Notation("three-digit code, µH", "makers' practice", "inductor", 1.0, {"rf": 0.05})
NANO_CODE = Notation(
    "three-digit code, nH", "RF chip makers' practice", "inductor", 0.1, {"rf": 10, "chip": 1.5}, since=1985
)
PLAIN_MICROHENRIES = Notation("plain microhenries", "makers' practice", "inductor", 0.1)


def digits(word: str) -> Iterator[Candidate]:
    if word[0] == "0":
        return
    figures, exponent = int(word[:2]), int(word[2])
    caution = ("power parts count µH, some RF chip series nH",)
    used = ((word[:2], "figures"), (word[2], f"x10^{exponent} µH"))
    yield Candidate(MICRO_CODE, figures * 10**exponent * MICROHENRY, used, 1.0, cautions=caution)
    used = ((word[:2], "figures"), (word[2], f"x10^{exponent} nH"))
    yield Candidate(NANO_CODE, figures * 10**exponent * NANOHENRY, used, 1.0, cautions=caution)


def digits_and_letter(word: str) -> Iterator[Candidate]:
    for candidate in digits(word[:3]):
        yield from with_tolerance(candidate, word[3], INDUCTOR_TOLERANCE[word[3]])


def plain(word: str) -> Iterator[Candidate]:
    if word[0] != "0":
        yield Candidate(PLAIN_MICROHENRIES, int(word) * MICROHENRY, ((word, "µH"),))


def shapes() -> Iterator[Shape]:
    yield Shape((DIGIT,) * 3, "inductor", digits, (0, 1))
    yield Shape(
        (DIGIT,) * 3 + (cell("".join(INDUCTOR_TOLERANCE), "KMJ"),), "inductor", digits_and_letter, (0, 1)
    )
    yield Shape((DIGIT,) * 2, "inductor", plain, (0, 1))
