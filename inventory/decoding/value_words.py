"""Every value that one word may carry by itself: by each notation, as printed, in capitals, upside down."""

from __future__ import annotations

import re
from collections.abc import Iterator

from . import capacitor_codes, chip_resistors, inductor_codes, letter_codes, order_codes, written
from .candidates import Candidate
from .patterns import Cells, MarkingWord, turned
from .run_together import part_of
from .shapes import DIGITS, Budget, Shapes, expand

SHAPES = Shapes(
    (*letter_codes.shapes(), *chip_resistors.shapes(), *capacitor_codes.shapes(), *inductor_codes.shapes())
)
UPSIDE_DOWN = 0.02
IN_CAPITALS = 0.1
UNIT_IN_CAPITALS = 0.02
"""103p: a small p is pico, and hardly the P of a tolerance (IEC 60062: small letters are units)."""
FIGURES_AND_UNIT = re.compile("[0-9]{2,4}[pnu]")
WITHOUT_CAPITALS = frozenset("mµ")  # m and M differ by nine decades
STRIPPED = 0.2
"""Leading letters taken for a maker's: only when the word reads as nothing with them."""


def values_of(word: MarkingWord, kind: str, budget: Budget) -> list[Candidate]:
    """Every value this one word may carry, alone."""
    found = list(shaped(word.cells, word.whole, kind, budget))
    found.extend(written.readings(word, budget, kind))
    if word.whole:
        found.extend(order_codes.readings(word.whole, kind))
    else:
        found.extend(order_codes.partial(word, kind, budget))
    found.extend(rotated(word, kind, budget))
    whole = word.whole
    if whole and whole.upper() != whole and not set(whole) & WITHOUT_CAPITALS:
        as_printed = {candidate.notation.name for candidate in found}
        weight = UNIT_IN_CAPITALS if FIGURES_AND_UNIT.fullmatch(whole) else IN_CAPITALS
        for candidate in with_caution(capitals_of(word), kind, budget, weight, "read in capitals"):
            if candidate.notation.name not in as_printed:
                found.append(candidate)
    if not whole:
        twins = tuple(
            seen if seen is None else tuple(dict.fromkeys(map(capital, seen))) for seen in word.cells
        )
        if twins != word.cells:
            found.extend(
                with_caution(
                    MarkingWord(twins, word.printed, ""), kind, budget, IN_CAPITALS, "read in capitals"
                )
            )
    if not found and whole and len(whole) > 3:
        for start in range(1, min(3 if kind else 2, len(whole) - 2)):
            if not whole[start - 1].isalpha():
                break
            found.extend(
                with_caution(
                    part_of(word, start, len(whole)), kind, budget, STRIPPED, "", ((whole[:start], ""),)
                )
            )
    return found


def with_caution(
    word: MarkingWord,
    kind: str,
    budget: Budget,
    weight: float,
    caution: str,
    before: tuple[tuple[str, str], ...] = (),
) -> Iterator[Candidate]:
    """The word's readings at a lower weight, with what was done to it said."""
    for candidate in (*shaped(word.cells, word.whole, kind, budget), *written.readings(word, budget, kind)):
        yield candidate.less(weight, caution)._replace(used=(*before, *candidate.used))


def capital(character: str) -> str:
    return character if character in WITHOUT_CAPITALS else character.upper()


def capitals_of(word: MarkingWord) -> MarkingWord:
    whole = word.whole.upper()
    return MarkingWord(tuple((each,) for each in whole), word.printed, whole)


def shaped(cells: Cells, whole: str, kind: str, budget: Budget) -> Iterator[Candidate]:
    if whole:
        for shape in SHAPES.of_word(whole):
            if not kind or shape.kind == kind:
                yield from shape.read(whole)
        return
    for shape in SHAPES.by_length.get(len(cells), ()):
        if not kind or shape.kind == kind:
            for text in expand(cells, shape, budget):
                yield from shape.read(text)


def rotated(word: MarkingWord, kind: str, budget: Budget) -> Iterator[Candidate]:
    """Digits read upside down, a tolerance letter behind them left in its place: 681 and 189, 820 and 028."""
    cells, tail = word.cells, ()  # type: tuple[Cells, Cells]
    last = cells[-1]
    if len(cells) > 2 and last is not None and not any(each in DIGITS for each in last):
        cells, tail = cells[:-1], cells[-1:]
    if not 2 <= len(cells) <= 4 or sum(each is None for each in cells) > 1:
        return
    other = turned(cells)
    if other is None or other == cells:
        return
    whole = "".join(each[0] for each in (*other, *tail) if each and len(each) == 1) if word.whole else ""
    soft = any(each is not None and set(each) & {"2", "5"} for each in cells)
    for candidate in shaped((*other, *tail), whole, kind, budget):
        if candidate.kind != "inductor" and not (candidate.used and candidate.used[0][0].startswith("0")):
            yield candidate.less(
                UPSIDE_DOWN * (0.2 if soft else 1.0),
                "read upside down: look for a bar, notch or maker's mark for “up”",
            )
