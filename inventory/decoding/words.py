"""The first step: what was typed becomes lines of words, each line one way to see it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import product
from typing import NamedTuple

from . import semiconductors
from .bodies import tags_of, words_in
from .cyrillic import body_of_series, in_latin, with_ohms
from .dates import without_copyright
from .patterns import CONFUSED, MarkingWord, doubted, tidy, words_of
from .ratings import plain_volts
from .reading import MalformedMarking, Question
from .run_together import joined, split
from .semiconductors import SURE_ENOUGH
from .written import JOINING

LONGEST_TEXT = 300
MAX_VARIANTS = 16
MAX_DOUBTED_LINES = 4
MAX_DOUBTS, FEW_DOUBTS = 60, 6
DOUBT = 0.06
"""Weight of a reading that needs one character or colour to be another than what was seen."""


PLAIN = 0.8
"""How often a bare figure on a Soviet resistor is its ohms, and no code (common practice, no source)."""


FILM, FILM_SERIES = "film", re.compile(r"(?:MK[CHPST]|FK[CPS])[0-9]{0,4}|K[CPST]1[0-9]{3}")
"""MKS4, FKP2, MKT1822: letters of DIN 41379 for metallised and foil capacitors, and a maker's number."""


MAY_HAVE_SECTIONS = frozenset(("can", "disc"))
BY_VOLTS = frozenset(("electrolytic", "tantalum"))
VALUE_AND_VOLTS = re.compile(r"(?<!\S)([0-9]{1,4}(?:[.,][0-9])?)-([0-9]{1,3})(?!\S)")
"""33-16 on a bead, 20-150 on a can: a value, and volts that parts are rated at."""


DECIMALS_AND_VOLTS = re.compile(r"(?<!\S)([0-9]?[.,][0-9]{1,4})-([0-9]{2,4})(?!\S)")
""".047-400: microfarads and volts, on American film and paper parts (common practice, no source)."""


VALUE_TIMES_VOLTS = re.compile(r"(?<!\S)([0-9]{1,4}(?:[.,][0-9])?)[xX×хХ]([0-9]{1,3})[ВвVv]?(?!\S)")
"""80,0х6, 400x15: so Soviet makers print microfarads and volts (from memory)."""


WITH_ITS_UNIT = re.compile(
    r"(?<!\S)(?:[0-9]*[.,]?[0-9]+ ?(?:[µunpkm]?F|MFD|мкФ|мФ|пФ|нФ|мк|[µunpн]|[kM]?Ω|R|K)"
    r"|[0-9]+[µunpRK][0-9]+)(?!\S)",
    re.IGNORECASE,
)
WITH_VOLTS = re.compile(r"(?<!\S)[0-9]{1,4}(?:[.,][0-9])? ?[VВ](?:DC|AC|W|-|=|~)?(?!\S)", re.IGNORECASE)
BARE_FIGURE = re.compile(r"(?<!\S)(?:[1-9][0-9]{0,2}|[1-9][0-9]{1,2}00|[0-9]+[.,][0-9]+)(?!\S)")
"""No date: a week is 01 to 53."""


APART_FROM_NUMBER = re.compile(r"(?<!\S)(PM[ERZ]|PH[EZ]|T[CEFGK]) ([0-9]{3})(?= )")  # PME 271, TC 235
WATTS_OF_SERIES = re.compile(
    r"(?<!\S)(О?МЛТ|ВС|МТ|УЛМ|БЛП|ПЭВР?) ?-? ?([0-9]{1,2}(?:[.,][0-9]{1,3})?) (?=\S)"
)
"""ОМЛТ 2 М10: resistors of so many watts (ГОСТ 7113, from memory)."""


_UNIT = "|".join(map(re.escape, JOINING))
SECTIONS = re.compile(
    rf"(?<!\S)([1-9][0-9]{{0,2}})((?:-[1-9][0-9]{{0,2}}){{1,3}})(?!\S)(?!\s+(?:{_UNIT})(?!\S))"
)
VOLTS_BESIDE = re.compile(r"([0-9]{2,3})(?:[Vv].{0,4}|[-=])?")
"""40-40-20 350: capacitors in one can and their volts."""
MAY_BE_A_TYPE = re.compile("[A-Za-z0-9][A-Za-z0-9/.-]{2,15}")
NO_SECTIONS = re.compile(r"(?:[1-9]|1[0-2])-[6-9][0-9]|(?:25|40|55)-(?:70|85|100|125)")
"""10-82, 40-85: a month and its year, the cold and the heat of a climatic category (IEC 60068-1)."""


def parted(marking: str, question: Question) -> str:
    """Figures joined by a dash set apart: sections of one can as 50 -50, on a bead or a can value and volts.

    Hardly anything else has sections: by themselves, and on most other bodies, such figures are left as they
    stand.
    """
    marking = APART_FROM_NUMBER.sub(r"\1\2", WATTS_OF_SERIES.sub(r"\1-\2 ", marking))
    if question.kind not in ("", "capacitor"):
        return marking
    tags = tags_of(words_in(question.body))
    volts = has_volts(marking)
    valued = WITH_ITS_UNIT.search(marking) is not None
    if ("electrolytic" in tags or (volts and (not tags or tags & MAY_HAVE_SECTIONS))) and not valued:
        several = volts and len(figures_of(marking)) < 2 and bool(tags & {"electrolytic", "can"})
        marking = SECTIONS.sub(lambda found: sections_of(found, marking, several), marking)
    if not tags or tags & {"film", "paper", "tubular"}:
        marking = DECIMALS_AND_VOLTS.sub(decimals_and_volts, marking)
    if tags & BY_VOLTS and not valued and not WITH_VOLTS.search(marking):
        marking = VALUE_AND_VOLTS.sub(value_and_volts, marking)
        if not BARE_FIGURE.search(marking):  # else 16x25 is the size of the can
            marking = VALUE_TIMES_VOLTS.sub(r"\1µF \2V", marking)
    return marking


def figures_of(marking: str) -> list[str]:
    return BARE_FIGURE.findall(marking) + WITH_VOLTS.findall(marking)


def sections_of(found: re.Match[str], marking: str, several: bool) -> str:
    """32-32 anywhere, 40-40-20 and 32-16 only where `several` may differ: on a can with its volts and no
    other figure. Beside a type nothing is a section.
    """
    alike = len(set(found[0].split("-"))) == 1
    if not alike and (not several or NO_SECTIONS.fullmatch(found[0])):
        return found[0]
    return found[0] if any(map(names_a_type, marking.split())) else f"{found[1]} {found[2]}"


def names_a_type(word: str) -> bool:
    return (
        MAY_BE_A_TYPE.fullmatch(word) is not None
        and not word.isdigit()
        and any(each.score >= SURE_ENOUGH for each in semiconductors.read(word))
    )


def value_and_volts(pair: re.Match[str]) -> str:
    return pair[0] if plain_volts(pair[2]) is None else f"{pair[1]} {pair[2]}V"


def decimals_and_volts(pair: re.Match[str]) -> str:
    return pair[0] if plain_volts(pair[2]) is None else f"{pair[1]}µF {pair[2]}V"


def has_volts(marking: str) -> bool:
    return any(
        (match := VOLTS_BESIDE.fullmatch(word)) and plain_volts(match[1]) is not None
        for word in marking.split()
    )


class MarkingLine(NamedTuple):
    """One way to see the marking. `seen`: its words as they stand; `words`: what print runs together parted,
    what it sets apart joined. `share`: how likely it is to be seen so, with the caution to say if it is not
    what was typed.
    """

    seen: tuple[MarkingWord, ...]
    words: tuple[MarkingWord, ...]
    share: float = 1.0
    caution: str = ""


class SeenMarking(NamedTuple):
    """A marking as lines; `notes` is what stood in round brackets, `truncated` that some was left out."""

    lines: tuple[MarkingLine, ...]
    notes: tuple[str, ...]
    truncated: bool


def seen_in(question: Question) -> SeenMarking:
    """The lines of a marking. MalformedMarking where a bracket or a bar has no partner."""
    marking = parted(without_copyright(question.marking), question)
    variants, truncated = variants_of(marking)
    lines: list[MarkingLine] = []
    notes: list[str] = []
    for variant in variants:
        words, beside, cut = words_of(variant if variant.isascii() else in_latin(variant))
        truncated = truncated or cut
        notes += beside
        if plain := "" if variant.isascii() else with_ohms(variant):
            lines.append(line_of(words_of(in_latin(plain))[0], question.kind, PLAIN))
        if words:
            lines.append(line_of(words, question.kind, 1 - PLAIN if plain else 1.0))
            notes += [FILM for word in words if FILM_SERIES.fullmatch(word.whole)]
            notes += filter(None, map(body_of_series, {word.whole for word in words}))
    if question.scheme:
        notes.append(question.scheme)
    return SeenMarking(tuple(lines), tuple(notes), truncated)


def line_of(words: list[MarkingWord], kind: str, share: float = 1.0, caution: str = "") -> MarkingLine:
    return MarkingLine(
        tuple(words), tuple(joined([part for word in words for part in split(word)], kind)), share, caution
    )


def variants_of(marking: str) -> tuple[list[str], bool]:
    """The marking with each `this|that` between spaces resolved, at most MAX_VARIANTS ways."""
    text = tidy(marking[:LONGEST_TEXT])
    if "|" not in text:
        return [text], len(marking) > LONGEST_TEXT
    choices: list[list[str]] = []
    for word in text.split():
        inside = "[" in word
        parts = [word] if inside else [each for each in word.split("|") if each]
        if not parts:
            raise MalformedMarking("A bar needs something on both sides.", max(marking.find("|"), 0))
        choices.append(parts)
    size = 1
    for each in choices:
        size *= len(each)
    rows = [" ".join(row) for _, row in zip(range(MAX_VARIANTS), product(*choices), strict=False)]
    return rows, size > MAX_VARIANTS or len(marking) > LONGEST_TEXT


def doubtful_lines(seen: SeenMarking, kind: str) -> Iterator[MarkingLine]:
    """The lines with one character taken for another that it is often mistaken for, likeliest lines first."""
    for line in seen.lines[:MAX_DOUBTED_LINES]:
        yield from with_one_exchanged(list(line.seen), kind)


def widened_lines(seen: SeenMarking, kind: str) -> Iterator[MarkingLine]:
    """Single words with every character free to be one that it is mistaken for: the last resort."""
    caution = "takes more than one character for another it is mistaken for"
    for line in seen.lines[:MAX_DOUBTED_LINES]:
        if len(line.seen) == 1:
            words = [MarkingWord(doubted(word.cells), word.printed, "") for word in line.seen]
            yield line_of(words, kind, DOUBT * DOUBT, caution)


def with_one_exchanged(words: list[MarkingWord], kind: str) -> Iterator[MarkingLine]:
    unreadable = not all(word.whole for word in words)
    tries = FEW_DOUBTS if unreadable else max(FEW_DOUBTS, MAX_DOUBTS // len(words))
    for place, word in enumerate(words[:6]):
        for at, seen in enumerate(word.cells[:12]):
            if seen is None or len(seen) != 1:
                continue
            for other in CONFUSED.get(seen[0], ""):
                tries -= 1
                if tries < 0:
                    return
                cells = (*word.cells[:at], (other,), *word.cells[at + 1 :])
                whole = word.whole[:at] + other + word.whole[at + 1 :] if word.whole else ""
                changed = [*words[:place], MarkingWord(cells, word.printed, whole), *words[place + 1 :]]
                yield line_of(changed, kind, DOUBT, f"takes the “{seen[0]}” for a worn “{other}”")
