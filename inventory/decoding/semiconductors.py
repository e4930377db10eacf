"""Type strings of semiconductors: numbers of logic, memory and linear parts, and naming systems.

A system that says nothing of polarity, volts or gain leaves them unsaid here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence, Set
from dataclasses import replace
from functools import lru_cache
from itertools import islice, product
from math import prod
from typing import Any

from inventory.decoding import chip_types, linear_types, type_names
from inventory.decoding.chip_types import LOGIC, MEMORY
from inventory.decoding.dates import dates_in
from inventory.decoding.linear_types import LINEAR
from inventory.decoding.patterns import Cells, MarkingWord, words_of
from inventory.decoding.reading import Reading
from inventory.decoding.series_names import SERIES
from inventory.decoding.type_names import CHIP, JIS, PRO_ELECTRON, makers_chip
from inventory.decoding.type_strings import UNREAD, TypeInWord, type_reading
from inventory.decoding.unlisted import ANY, REGISTERS, share_of, unlisted_chip
from inventory.type_numbers import entry_of
from inventory.type_numbers.logic_table import FAMILIES

MAX_TRIED = 500
"""Spellings of one partly unreadable word that are tried; a system that allows more is left out."""
LATE, USUAL_ENDS = 5, "0123456789ABCDGLNOPRTY"
"""From so many characters on a letter is a gain group, a version or a package, and seldom any but these
(common practice, no source): nothing else is tried there where all of it would be too much.
"""
MAX_GIVEN = 60
LISTED = 1.5
SURE_ENOUGH = 0.5

_SYSTEMS = (*chip_types.SYSTEMS, *linear_types.SYSTEMS, *type_names.SYSTEMS)

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

# Types met on bench after bench (common practice, no source): of the spellings that a partly unreadable one
# may stand for these come first.
_WELL_KNOWN = """
BC107 BC108 BC109 BC177 BC182 BC184 BC212 BC237 BC307 BC327 BC337 BC517 BC546 BC547 BC548 BC549 BC550 BC556
BC557 BC558 BC559 BC560 BC639 BC640 BD131 BD132 BD135 BD136 BD139 BD140 BD437 BD438 BF245 BF494 BU208 BU508
BUZ11 2N2222 2N2907 2N3053 2N3055 2N3773 2N3819 2N3904 2N3906 2N5457 2N5551 2N5401 2N7000 1N4001 1N4002
1N4004 1N4007 1N4148 1N914 1N5401 1N5408 1N5817 1N5819 1N34 2SC945 2SC1815 2SA733 2SA1015 2SC2240 2SK30 TIP31
TIP32 TIP41 TIP42 TIP120 TIP122 TIP2955 TIP3055 MJ2955 MPSA42 MPSA92 IRF540 IRF640 IRF740 IRF840 AC127 AC128
AC187 AC188 AD161 AD162 OC71 OA91 AA119 BA157 BAT85 BY127
LM358 LM324 LM393 LM339 LM311 LM386 741 1458 4558 555 556 TL071 TL072 TL074 TL081 TL082 TL084 NE5532 NE5534
TDA2003 TDA2030 TDA2822 LM3914 ULN2003 ULN2803 TL494 UC3842 UC3843 MC34063 MAX232 7805 7812 7905 7912 LM317
TL431 PC817 4N25 4N35
"""
WELL_KNOWN = frozenset(_WELL_KNOWN.split())
KNOWN_BY_ALL = 6.0


def read(text: str, *, era: int | None = None) -> list[Reading]:
    """Every type the marking may name, likeliest first; `score` only weighs these against each other.

    `?` is one unreadable character, `[38]` either. Words that are no part of a type are passed over. A number
    that may also be a date code (7430) says so, and weighs less the better that date suits `era`.
    MalformedMarking is raised for an unclosed bracket.
    """
    words, _notes, _cut = words_of(text)
    found: list[TypeInWord] = []
    at = 0
    while at < len(words):
        here, taken = _longest(words, at)
        found += here
        at += taken
    if any(not each.bare for each in found):
        # Figures alone beside a real type are its date or its lot.
        found = [each for each in found if not each.bare]
    readings = [_as_listed(_against_date(each, era)) for each in found]
    best: dict[tuple[str, str, tuple[str, ...]], Reading] = {}
    for reading in sorted(readings, key=lambda each: -each.score):
        best.setdefault(
            (reading.kind, reading.number, tuple(sorted(map(str, reading.traits.items())))), reading
        )
    return list(islice(best.values(), MAX_GIVEN))


def _longest(words: list[MarkingWord], at: int) -> tuple[Sequence[TypeInWord], int]:
    """The types that start at this word, and how many words they take: print has gaps."""
    found = _read_cells(words[at].cells, words[at].printed)
    taken = 1
    alone = bool(found)
    if not found and not _HEAD.fullmatch(words[at].printed):
        return found, taken
    for count in (2, 3, 4):
        run = words[at : at + count]
        if len(run) < count or not _may_join(run[-1], bool(found)):
            break
        if found and _is_a_word(run[-1].printed, run[0].printed):
            break
        if not alone and _RATING.fullmatch(run[-1].printed) and "Z" not in run[0].printed.upper():
            break  # the volts of 100 UF 25V are no number of a type; those of ZPD 12V are
        joined = _read_cells(
            tuple(cell for word in run for cell in word.cells), " ".join(word.printed for word in run)
        )
        if (alone and count > 2) or (found and count > 3 and not _VOLTS.fullmatch(run[-1].printed)):
            break  # BC547 B PH: one group of letters follows a type, what comes then is the maker's
        if found:  # a gap after a type is closed only if that says more of the same type
            numbers = {each.reading.number for each in found}
            joined = tuple(each for each in joined if each.reading.number.startswith(tuple(numbers)))
        if joined:
            found, taken = joined, count
    return found, taken


# What may stand alone before a gap: BC 547, LM 317, 2SC 1815, 74 LS 04.
_HEAD = re.compile(r"[A-Za-zµ]{1,4}|[1-6][NnSs][A-Za-z]?|[57]4[A-Za-z]{0,4}")


_VOLTS = re.compile(r"[0-9]{1,3}V[0-9]?")
_RATING = re.compile(r"[0-9]{1,3}V")


def _is_a_word(word: str, number: str) -> bool:
    """BC547B box: what follows in small letters is more of a type in small letters only, and short."""
    return word.isalpha() and word.islower() and (not number.islower() or len(word) > LONGEST_GROUP)


LONGEST_GROUP = 2


def _may_join(word: MarkingWord, after_a_type: bool) -> bool:
    """A type's own head is followed by figures (BC 547), a whole type only by letters or a dash (BC547 B)."""
    first = word.printed[:1]
    if after_a_type and first.isdigit():
        return _VOLTS.fullmatch(word.printed) is not None  # BZX 55 C 5V1
    return len(word.cells) <= 5


FEW = 3
"""A character that is one of so many is as good as read."""


@lru_cache(maxsize=512)
def _read_cells(cells: Cells, printed: str) -> tuple[TypeInWord, ...]:
    """Every type that one word may name; a word stands in many lines of a question in doubt."""
    if len(cells) < 3 or len(cells) > 24:
        return ()
    choices: list[Sequence[str]] = [
        ANY if cell is None else tuple(dict.fromkeys(map(_capital, cell))) for cell in cells
    ]
    if all(len(choice) == 1 for choice in choices):
        return tuple(_types_of("".join(choice[0] for choice in choices)))
    if 2 * sum(len(choice) <= FEW for choice in choices) < len(choices):
        return ()  # a type of which less than half is read is as good as any
    return tuple(_without_its_end(choices) or _spelt(choices, printed))


def _capital(character: str) -> str:
    return "U" if character == "µ" else character.upper()


def _without_its_end(choices: list[Sequence[str]]) -> list[TypeInWord]:
    """What is unreadable after a whole type that ends on a letter is more of its version or package.

    Unless figures there would say something else of it: BZX79C5V? may be 5.1 V.
    """
    size = len(choices)
    while size and choices[size - 1] is ANY:
        size -= 1
    word = "".join(choice[0] for choice in choices[:size])
    if size == len(choices) or any(len(choice) > 1 for choice in choices[:size]) or not word[-1:].isalpha():
        return []
    unread = len(choices) - size
    whole = [each for each in _types_of(word) if each.reading.score >= SURE_ENOUGH]
    known = {_facts(each.reading) for each in whole}
    if any({_facts(each.reading) for each in _types_of(word + figure * unread)} - known for figure in "17"):
        return []
    used = (UNREAD * unread, "not readable")
    return [each._replace(reading=replace(each.reading, used=(*each.reading.used, used))) for each in whole]


def _facts(reading: Reading) -> tuple[str, str]:
    """What is said of a type but for its number and suffix."""
    return reading.kind, str({name: fact for name, fact in reading.traits.items() if name != "suffix"})


def _spelt(choices: list[Sequence[str]], printed: str) -> list[TypeInWord]:
    """The likeliest types among the spellings of a partly unreadable word, each once."""
    best: dict[tuple[Any, ...], tuple[float, str, TypeInWord]] = {}
    for word, systems in _spellings(choices).items():
        for each in _types_of(word, tuple(systems)):
            reading = each.reading
            if reading.score < SURE_ENOUGH:  # of many spellings only those that a list or a system confirms
                continue
            weight = reading.score * COMMONNESS.get(str(reading.traits.get("family", "")), 1.0)
            share = share_of(reading, choices)
            weight *= share
            by_its_name = share == 1 or reading.notation in REGISTERS
            if by_its_name and (
                reading.number in WELL_KNOWN or reading.number.rstrip("ABCDEFGH") in WELL_KNOWN
            ):
                weight *= KNOWN_BY_ALL
            key = (reading.kind, reading.number, str(reading.traits))
            if key not in best or weight > best[key][0]:
                best[key] = weight, word, each
    found = []
    # Of equals those with more figures first: a type has more numbers than versions.
    ranked = sorted(best.values(), key=lambda row: (-row[0], sum(map(str.isalpha, row[1]))))
    for weight, word, each in ranked[:MAX_GIVEN]:
        note = f"{word} is one of the spellings that {printed} may stand for"
        reading = replace(each.reading, score=weight, reasons=(note, *each.reading.reasons))
        found.append(each._replace(reading=reading))
    other = unlisted_chip(choices, printed) if found else None
    return [*found, other] if other else found


def _spellings(choices: list[Sequence[str]]) -> dict[str, list[int]]:
    """The words that some system may read, each with those; at each place only what their forms allow."""
    seen = "".join(choice[0] if len(choice) == 1 else UNREAD for choice in choices)
    allowed: list[tuple[int, int, list[Sequence[str]]]] = []
    for index, system in enumerate(_SYSTEMS):
        fits = system.form.fullmatch
        if not fits(seen):
            continue
        narrowed = [
            choice if len(choice) == 1 else [c for c in choice if fits(seen[:at] + c + seen[at + 1 :])]
            for at, choice in enumerate(choices)
        ]
        if prod(map(len, narrowed)) > MAX_TRIED:
            narrowed[LATE:] = [
                choice if len(choice) == 1 else [c for c in choice if c in USUAL_ENDS]
                for choice in narrowed[LATE:]
            ]
        if prod(map(len, narrowed)) > MAX_TRIED:
            narrowed = in_figures(narrowed)
        allowed.append((prod(map(len, narrowed)), index, narrowed))
    words: dict[str, list[int]] = {}
    left = MAX_TRIED
    for size, index, narrowed in sorted(allowed, key=lambda row: row[0]):
        if size > left:  # a type has more numbers than versions
            narrowed = in_figures(narrowed)
            size = prod(map(len, narrowed))
        if size > left:
            continue
        left -= size
        for letters in product(*narrowed):
            words.setdefault("".join(letters), []).append(index)
    return words


def in_figures(choices: list[Sequence[str]]) -> list[Sequence[str]]:
    """What is unreadable behind a figure taken for another figure."""
    narrowed: list[Sequence[str]] = []
    for choice in choices:
        figures = (
            [each for each in choice if each.isdigit()] if narrowed and narrowed[-1][0].isdigit() else []
        )
        narrowed.append(figures or choice)
    return narrowed


@lru_cache(maxsize=2048)
def _types_of(word: str, systems: tuple[int, ...] = ()) -> tuple[TypeInWord, ...]:
    """Every type that one certain word, in capitals, may name by these systems, or by any."""
    plain = word.replace("38510/", "38510").split("/")[0]
    if not (plain.isascii() and any(c.isdigit() for c in plain)):
        return ()
    chosen = [_SYSTEMS[index] for index in sorted(systems)] if systems else _SYSTEMS
    found = [each for system in chosen for each in system.read(plain)]
    if not systems:
        found += _by_the_tables(plain, {each.reading.kind for each in found})
    if not found:
        return () if systems else tuple(makers_chip(plain))
    notations = {each.reading.notation for each in found}
    if MEMORY[0] in notations:  # 74S188 is a memory by name; its number stands in no list of gates
        found = [each for each in found if each.reading.notation != LOGIC[0] or each.reading.score > 0.5]
    if any(is_thyristor_of_maker(each.reading) for each in found):
        found = [each for each in found if each.reading.notation != JIS[0]]  # C106D is no 2SC106
    if LINEAR[0] in notations:  # AD711 is an op-amp by name, and no germanium transistor
        found = [each for each in found if each.reading.notation not in (PRO_ELECTRON[0], CHIP[0])]
    return tuple(found)


def _by_the_tables(word: str, read: Set[str]) -> Iterator[TypeInWord]:
    """The type that a table has by just this name, though no naming system reads it as of that kind."""
    for kind in ("diode", "transistor", "regulator"):
        row = None if kind in read else entry_of(kind, word)
        if row is not None and row["number"] == word:
            function = row.get("function", "")
            words = function.replace("_", " ") or kind
            traits = {"function": function}
            reason = f"{word}: {words} in the makers' data books"
            yield TypeInWord(
                type_reading(
                    SERIES, kind, word, [(word, words)], reason, score=0.9, traits=traits, function=words
                )
            )


def is_thyristor_of_maker(reading: Reading) -> bool:
    return (
        reading.notation == SERIES[0]
        and reading.traits.get("function") in ("thyristor", "triac")
        and reading.score > SURE_ENOUGH
    )


def _as_listed(reading: Reading) -> Reading:
    """A listed type is likelier than one that only fits its system, and does what its table says: by its
    letters a BAT46 is any small diode, a BT136 a thyristor or a triac; some 2N are listed as thyristors.
    """
    if row := entry_of(reading.kind, reading.number):
        by_letters = "function" in reading.traits or reading.notation == PRO_ELECTRON[0]
        listed = {"function": row["function"]} if by_letters and row.get("function") else {}
        return replace(reading, score=reading.score * LISTED, traits={**reading.traits, **listed})
    if reading.kind == "transistor" and (row := entry_of("diode", reading.number)):
        traits = {name: fact for name, fact in reading.traits.items() if name == "material"}
        traits["function"] = row["function"]
        words = row["function"].replace("_", " ")
        return replace(reading, kind="diode", traits=traits, function=words, score=reading.score * LISTED)
    return reading


def _against_date(found: TypeInWord, era: int | None) -> Reading:
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
