"""Type strings of semiconductors: numbers of logic, memory and linear parts, and naming systems.

A system that says nothing of polarity, volts or gain leaves them unsaid here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import islice, product

from inventory.decoding.chip_types import (
    LINEAR,
    LOGIC,
    MEMORY,
    cmos_4000,
    fixed_regulator,
    linear,
    memory,
    named_regulator,
    ttl,
)
from inventory.decoding.dates import dates_in
from inventory.decoding.patterns import Cells, Word, words_of
from inventory.decoding.reading import Reading
from inventory.decoding.semiconductor_types import FAMILIES
from inventory.decoding.type_names import PRO_ELECTRON, jedec, jis, makers_series, old_european, pro_electron
from inventory.decoding.type_strings import Found

MOST_TRIED = 1500
"""Spellings of one partly unreadable word that are tried; a word that allows more gives no reading."""
MOST_GIVEN = 100

# How often a family is met, against the commonest (common practice, no source): tells 74LS04 from 74AS04.
COMMONNESS = dict.fromkeys(FAMILIES.values(), 0.2) | {
    "ls": 1.0,
    "std": 0.9,
    "hc": 0.9,
    "hct": 0.8,
    "cmos_4000": 1.0,
    "s": 0.5,
    "f": 0.4,
    "als": 0.4,
    "ac": 0.3,
}

_ANY = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def read(text: str, *, era: int | None = None) -> list[Reading]:
    """Every type the marking may name, likeliest first; `score` only weighs these against each other.

    `?` is one unreadable character, `[38]` either. Words that are no part of a type are passed over. A number
    that may also be a date code (7430) says so, and weighs less the better that date suits `era`.
    MalformedMarking is raised for an unclosed bracket.
    """
    words, _notes, _cut = words_of(text)
    found: list[Found] = []
    at = 0
    while at < len(words):
        here, taken = _longest(words, at)
        found += here
        at += taken
    if any(not each.bare for each in found):
        # Figures alone beside a real type are its date or its lot.
        found = [each for each in found if not each.bare]
    readings = [_against_date(each, era) for each in found]
    best: dict[tuple[str, str, tuple[str, ...]], Reading] = {}
    for reading in sorted(readings, key=lambda each: -each.score):
        best.setdefault(
            (reading.kind, reading.number, tuple(sorted(map(str, reading.traits.items())))), reading
        )
    return list(islice(best.values(), MOST_GIVEN))


def _longest(words: list[Word], at: int) -> tuple[list[Found], int]:
    """The types that start at this word, and how many words they take: print has gaps."""
    found = _read_cells(words[at].cells, words[at].printed)
    taken = 1
    if not found and not _HEAD.fullmatch(words[at].printed):
        return found, taken
    for count in (2, 3):
        run = words[at : at + count]
        if len(run) < count or not _may_join(run[-1], bool(found)):
            break
        joined = _read_cells(
            tuple(cell for word in run for cell in word.cells), " ".join(word.printed for word in run)
        )
        if found:  # a gap after a type is closed only if that says more of the same type
            numbers = {each.reading.number for each in found}
            joined = [each for each in joined if each.reading.number.startswith(tuple(numbers))]
        if joined:
            found, taken = joined, count
    return found, taken


# What may stand alone before a gap: BC 547, LM 317, 2SC 1815, 74 LS 04.
_HEAD = re.compile(r"[A-Za-zµ]{1,4}|[1-6][NnSs][A-Za-z]?|[57]4[A-Za-z]{0,4}")


def _may_join(word: Word, after_a_type: bool) -> bool:
    """A type's own head is followed by figures (BC 547), a whole type only by letters or a dash (BC547 B)."""
    first = word.printed[:1]
    return len(word.cells) <= 5 and (not first.isdigit() if after_a_type else True)


def _read_cells(cells: Cells, printed: str) -> list[Found]:
    if len(cells) < 3 or len(cells) > 24:
        return []
    choices = [_ANY if cell is None else tuple(dict.fromkeys(map(_capital, cell))) for cell in cells]
    size = 1
    for choice in choices:
        size *= len(choice)
        if size > MOST_TRIED:
            return []
    found: list[Found] = []
    for letters in product(*choices):
        word = "".join(letters)
        for each in _types_of(word):
            if size > 1:
                if each.reading.score < 0.5:  # of many spellings only those that a list or a system confirms
                    continue
                note = f"{word} is one of the spellings that {printed} may stand for"
                usual = COMMONNESS.get(str(each.reading.traits.get("family", "")), 1.0)
                likelier = replace(
                    each.reading, score=each.reading.score * usual, reasons=(note, *each.reading.reasons)
                )
                each = each._replace(reading=likelier)
            found.append(each)
    return found


def _capital(character: str) -> str:
    return "U" if character == "µ" else character.upper()


@lru_cache(maxsize=8192)
def _types_of(word: str) -> tuple[Found, ...]:
    """Every type that one certain word, in capitals, may name."""
    plain = word.split("/")[0]
    if not (plain.isascii() and any(c.isdigit() for c in plain)):
        return ()
    found = [each for system in _SYSTEMS for each in system(plain)]
    notations = {each.reading.notation for each in found}
    if MEMORY[0] in notations:  # 74S188 is a memory by name; its number stands in no list of gates
        found = [each for each in found if each.reading.notation != LOGIC[0] or each.reading.score > 0.5]
    if LINEAR[0] in notations:  # AD711 is an op-amp by name, and no germanium transistor
        found = [each for each in found if each.reading.notation != PRO_ELECTRON[0]]
    return tuple(found)


def _against_date(found: Found, era: int | None) -> Reading:
    reading = found.reading
    printed = "".join(characters for characters, _ in reading.used)
    dates = dates_in(printed, era) if found.bare else []
    if not dates:
        return reading
    date = max(dates, key=lambda each: each.weight)
    # Practice.md section 4: prefix, suffix and neighbours tell a type from a date; alone it may be either.
    return replace(
        reading,
        score=reading.score / (1 + 2 * date.weight),
        cautions=(
            *reading.cautions,
            f"{printed} may also be the date {date.words}: look for a prefix, a suffix or another number.",
        ),
    )


_SYSTEMS: tuple[Callable[[str], Iterator[Found]], ...] = (
    ttl,
    cmos_4000,
    memory,
    linear,
    fixed_regulator,
    named_regulator,
    jedec,
    pro_electron,
    old_european,
    jis,
    makers_series,
)
