"""The reader of type strings: semiconductor types among the words, with the date or rating beside them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from . import semiconductors
from .attributes import attributes
from .beside import dressed, leading, row_weight
from .candidates import Candidate, NamedType, Notation, Tolerance
from .known import Known
from .patterns import MarkingWord
from .reading import Reading
from .series_names import SURFACE
from .type_strings import UNREAD
from .unknown_types import NOTATIONS
from .unlisted import LONG_TYPE, SURE, TYPE
from .words import MarkingLine
from .written import shows_its_unit

MAX_UNREADABLE = 2
BESIDE_A_VALUE = 0.01
"""A value with its unit is no type, nor, where some of the print is unreadable, what stands beside one:
68000µF is no processor, 4n7?100 no optocoupler.
"""
LARGE_SET = re.compile(r"\[[^]]{5,}\]")
"""[0123456789] is as good as unreadable."""
RATED = re.compile(r"[1-9][0-9]{0,3}V")
"""?04? 50V: volts that stand apart are those of a part, not the end of its type."""
CODED_VALUE, LIKE_A_CODE = re.compile(r"[1-9][0-9]{2}[JKM](?![0-9A-Z]|-)|[1-9][0-9]{2}[JKM][0-9]+V"), 0.05
"""334J is a capacitor far more often than an LM334J whose letters are not printed (common practice)."""
SURFACE_RECTIFIER = Notation(*SURFACE, "diode", 0.002, {"diode body": 1000.0, "chip": 500.0, "axial": 0.001})
"""Three characters that on any other body are a code, or part of one (common practice, no source)."""
CLOCK = re.compile(r"[0-9.]*[KM]HZ")
"""A frequency is printed on what makes one, or runs by one."""
PASSIVE = frozenset(("resistor", "capacitor", "inductor"))


def types(line: MarkingLine, known: Known) -> Iterator[Candidate]:
    """Each type that the line may name, with the date or rating that the other words give."""
    partly = any(not word.whole for word in line.words)
    valued = partly and any(shows_its_unit(word) for word in line.words)
    rated = [word for word in line.words if partly and RATED.fullmatch(word.whole)]
    united = [capitals(word.whole) for word in line.words if word.whole and shows_its_unit(word)]
    clocked = any(CLOCK.fullmatch(capitals(word.whole)) for word in line.words)
    for candidate, taken in named(" ".join(text_of(word) for word in line.words), known):
        of_a_value = any(
            capitals(taken).startswith(word) or (len(line.words) > 1 and capitals(taken).endswith(word))
            for word in united
        )
        if clocked and candidate.notation.kind in ("transistor", "diode"):
            candidate = candidate.less(BESIDE_A_VALUE)
        if valued or of_a_value or any(lies_in(word, taken) for word in rated):
            candidate = candidate.less(BESIDE_A_VALUE)
        if capitals(taken) in united or RATED.fullmatch(taken):  # 4700n and 385V are no type by themselves
            candidate = candidate.less(BESIDE_A_VALUE)
        others = [
            [(word, role) for role in attributes(word, known.era)]
            for word in others_of(line.words, taken)[:6]
        ]
        if not others:
            yield candidate
            continue
        for row in sorted(leading(others), key=row_weight, reverse=True)[:6]:
            whole = dressed(candidate, row, 0)
            if whole is not None:
                yield whole


def capitals(text: str) -> str:
    return text.replace("µ", "U").upper()


def text_of(word: MarkingWord) -> str:
    """The word as it is taken here: of a doubtful character what it is taken for, not what was printed."""
    return word.whole or word.printed


def named(text: str, known: Known) -> Iterator[tuple[Candidate, str]]:
    """A candidate for each type the text may name, with the characters that the type itself takes up."""
    if known.kind in PASSIVE:
        return
    unreadable = text.count("?") + len(LARGE_SET.findall(text))
    if unreadable:
        most = MAX_UNREADABLE if text.count(" ") < 2 else 1
        if unreadable > most or known.budget.partial_types <= 0:
            known.budget.spent_out = True
            return
        known.budget.partial_types -= 1
    for reading in semiconductors.read(text, era=known.era):
        if unreadable and not reading.number and "V" not in text.upper():
            continue  # B47??: the V of a zener's end must be read, or it is as good as anything
        if known.asks(reading.kind):
            taken = "".join(seen for seen, _ in reading.used)
            sure = LIKE_A_CODE if CODED_VALUE.match(taken) else SURE if len(taken) >= LONG_TYPE else 1.0
            yield candidate_of(reading).less(sure), taken


def candidate_of(reading: Reading) -> Candidate:
    tolerance = None
    if reading.tolerance_percent is not None:
        spread = float(reading.tolerance_percent) / 100
        tolerance = Tolerance(
            percent=reading.tolerance_percent, text=f"±{reading.tolerance_percent} %", spread=spread
        )
    if reading.notation == TYPE:
        notation = NOTATIONS[reading.kind]
    elif reading.notation == SURFACE[0]:
        notation = SURFACE_RECTIFIER
    else:
        notation = Notation(reading.notation, reading.standard, reading.kind)
    return Candidate(
        notation, reading.value, reading.used,
        max(reading.score, 1e-4), tolerance, reading.volts, reading.cautions, reading.reasons,
        reading.temperature, reading.traits,
        NamedType(reading.number, reading.make, reading.package, reading.function, reading.group),
        reading.date,
    )  # fmt: skip


def others_of(words: Sequence[MarkingWord], taken: str) -> list[MarkingWord]:
    """The words that are no part of the type."""
    return [word for word in words if not lies_in(word, taken)]


MICRO_MAKER = re.compile(r"[uµ](?=(?i:(?![FH][^A-Z])[A-Z]{1,3}[0-9]|F[0-9]{4}))")
"""uA741, µPC1237, uln2003, uf4007: letters of makers, where any other small u or µ is of a unit."""


def lies_in(word: MarkingWord, taken: str) -> bool:
    """Whether these characters of a type, which is read in capitals, are the word's."""
    cells = [seen and tuple(map(capital, seen)) for seen in word.cells if seen is None or seen[0].isalnum()]
    if MICRO_MAKER.match(word.printed):
        cells[0] = ("U",)
    taken = "".join(each for each in taken if each.isalnum() or each == UNREAD)
    return any(
        all(seen is None or taken[start + at] in seen for at, seen in enumerate(cells))
        for start in range(len(taken) - len(cells) + 1)
    )


def capital(character: str) -> str:
    """A letter as types have it; the u and µ of a unit stay small."""
    return character if character in "uµ" else character.upper()
