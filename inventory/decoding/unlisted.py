"""How much of what a partly unreadable type string may be stands in no table.

What the tables list is only the best-known part of what was made: LM393 fits L?93D, and so does an L293D that
no table had. One listed type weighs 1 here; every number that a maker's letters allow weighs a little, so
that the more figures are hidden, the more of all that fits is listed nowhere. The weights are judgements
(common practice, no source), checked by tests/decoding/test_seldom_types.py on types from memory.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from inventory.type_numbers import entry_of
from inventory.type_numbers.linear_table import CHIP_SERIES

from .chip_types import LOGIC, MEMORY
from .linear_types import LINEAR, REGULATOR
from .numbered_chips import PROGRAMMABLE
from .reading import Reading
from .series_names import SERIES
from .type_names import JEDEC, JIS, PRO_ELECTRON, VALVE_STYLE
from .type_strings import TypeInWord, type_reading

TYPE = "type not known here"
CAUTION = "a type that is not known here: what it does is not in the lists, look it up"
REASON = "more chips were made than the tables list: one of those fits as well"

ANY = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
LONG_TYPE, SURE = 6, 30.0
"""So many characters do not make a type by chance: it then outweighs readings of single words."""
FEWEST_FIGURES, MAX_FIGURES = 3, 6
A_NUMBER, OF_OTHERS = 0.05, 0.01
"""One number behind letters that begin a maker's chips, and behind letters that nobody is known for."""
MAX_NUMBERS = 1000
HEADS: Final = (*CHIP_SERIES, "L", "U", "M5")
"""SGS, Telefunken and Mitsubishi too: too short to tell a chip by where all of it is readable."""
LONGEST_OTHER = 4
VERSION = re.compile("[A-Z]{0,4}[0-9]?(?:[-/.].*)?")
"""What stands behind the figures: letters, hardly ever figures again."""
BY_FORM = 0.05
"""A type that only has the form of a maker's series: as likely listed nowhere as any of another series."""
BORROWED, ONE_LETTER = 0.3, 0.1
"""An industry number behind letters that begin a maker's own numbers, or behind one letter (common practice,
no source): MOS4560, L393.
"""
OF_LOGIC: Final = frozenset(("SN", "MC", "CD", "DM", "HD", "MM"))
"""Letters of makers whose 74 and 4000 series are met everywhere (common practice, no source)."""
MILITARY = 0.1
"""The 54 series of the 74's numbers is seldom met (common practice, no source)."""
REGISTERS: Final = frozenset((JEDEC[0], PRO_ELECTRON[0], JIS[0], VALVE_STYLE[0]))
FORMS_ALONE: Final = frozenset((SERIES[0], PROGRAMMABLE[0]))
LISTED: Final = frozenset((LOGIC[0], MEMORY[0], LINEAR[0], REGULATOR[0]))

Choices = Sequence[Sequence[str]]
"""Of each character what it may be, in capitals."""


def unlisted_chip(choices: Choices, printed: str) -> TypeInWord | None:
    """A chip of which nothing is known but what can be read of its number."""
    mass = of_makers(choices) or numbers_behind(letters_of(choices), choices) * OF_OTHERS
    if not mass:
        return None
    number = printed.upper()
    used = [(number, "type number")]
    return TypeInWord(type_reading((TYPE, ""), "ic", number, used, REASON, score=mass, cautions=(CAUTION,)))


def of_makers(choices: Choices) -> float:
    """How much the numbers weigh that fit behind letters of makers."""
    return A_NUMBER * sum(numbers_behind(head, choices) for head in HEADS)


def letters_of(choices: Choices) -> str:
    """The letters that are read for certain before the first figure."""
    letters = ""
    for choice in choices[:LONGEST_OTHER]:
        if len(choice) > 1 or not choice[0].isalpha():
            break
        letters += choice[0]
    return letters


def numbers_behind(head: str, choices: Choices) -> int:
    """How many numbers of a usual length fit behind these letters; 0 where the letters do not."""
    if not head or len(choices) < len(head) + FEWEST_FIGURES:
        return 0
    if any(letter not in choice for letter, choice in zip(head, choices, strict=False)):
        return 0
    count, figures = 1, 0
    for choice in choices[len(head) :]:
        fitting = sum(each.isdigit() for each in choice)
        if not fitting:
            break
        count *= fitting
        figures += 1
    behind = "".join(choice[0] for choice in choices[len(head) + figures :] if len(choice) == 1)
    usual = FEWEST_FIGURES <= figures <= MAX_FIGURES and VERSION.fullmatch(behind)
    return min(count, MAX_NUMBERS) if usual else 0


def share_of(reading: Reading, choices: Choices) -> float:
    """How much of one listed type's weight this spelling has."""
    word, letters = "".join(seen for seen, _ in reading.used), reading.used[0][0]
    if reading.notation in FORMS_ALONE or (
        reading.notation in REGISTERS and guessed(re.split("(?<=[A-Z])[0-9]", word)[0], choices)
    ):
        return 1.0 if entry_of(reading.kind, reading.number) else BY_FORM
    if reading.notation not in LISTED or word.startswith(reading.number):
        return 1.0
    if len(letters) == 1 and reading.notation == LINEAR[0]:
        return ONE_LETTER
    own = (
        reading.notation != REGULATOR[0]
        and letters in CHIP_SERIES
        and letters not in (OF_LOGIC if reading.notation == LOGIC[0] else ())
    )
    military = MILITARY if reading.number.startswith("54") else 1.0
    return military * (BORROWED if own or guessed(letters, choices) else 1.0)


def guessed(head: str, choices: Choices) -> bool:
    """Whether some of the first characters cannot be read for certain."""
    return any(len(choice) > 1 for choice in choices[: len(head)])
