"""The reader of values: which word of a line carries it, and what the words beside add."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from .attributes import Attribute, attributes
from .beside import agreeing, dressed, in_turn, leading, row_weight
from .candidates import Candidate
from .capacitor_codes import DIGIT_CODE, MICRO_CODE, PLAIN_MICROFARADS
from .known import Known
from .patterns import MarkingWord
from .run_together import VOLT_ENDS
from .series import usualness
from .value_words import values_of
from .words import MarkingLine
from .written import shows_its_unit

FEW_VALUES, MAX_VALUES = 12, 90
MAX_COMBINED, MAX_BESIDE = 450, 40
MAX_COMBINATIONS = 24
PREFERRED, AFTER_A_VALUE, AFTER_HALF_A_VALUE = 0.9, 0.05, 0.1
"""687 2?: the value stands first; what is half read behind one is its volts (common practice, no source).
So it does where it is half read itself: 5? ??, 4? 10.
"""

POINTED = re.compile("[0-9]{1,3}[RKM][0-9]{1,3}", re.IGNORECASE)
BARE, BESIDE_A_POINTED = re.compile("[0-9]{2}"), 0.02
"""2K2 82: beside a value with its letter at the point a bare figure is a year or a lot (common practice)."""

BARE_BESIDE_V = {PLAIN_MICROFARADS.name: 0.02, DIGIT_CODE.name: 0.3, MICRO_CODE.name: 0.3}
"""470? 25V: who prints the V of the volts prints as a rule the unit of the value too (common practice, no
source).
"""


def values(line: MarkingLine, known: Known) -> list[Candidate]:
    """The value that one of the words carries, with what the others add to it."""
    words, budget = line.words, known.budget
    if len(words) == 1:
        return likely_of(words[0], known)
    roles = [attributes(word, known.era) for word in words[:12]]
    found: list[Candidate] = []
    carrying = [place for place in range(len(roles)) if not spoken_for(roles[place])]
    united = [place for place in carrying if shows_its_unit(words[place])]
    carrying = united or carrying  # a printed unit outweighs whatever stands beside it
    behind_a_value = behind_half_a_value = False
    signed = any(word.cells[-1] in VOLT_ENDS and word.cells[0] != ("V",) for word in words[:12])
    for place, word in enumerate(words[:12]):
        if place not in carrying and carrying:
            continue
        values = likely_of(word, known)
        if not values:
            continue
        if len(values) > MAX_BESIDE:
            known.budget.spent_out = True
            values = sorted(values, key=known.weigh, reverse=True)[:MAX_BESIDE]
        if any(other != place and POINTED.fullmatch(words[other].whole) for other in carrying):
            values = [each.less(BESIDE_A_POINTED) if BARE.fullmatch(word.whole) else each for each in values]
        if signed and not word.whole and word.cells[-1] is None:
            values = [each.less(BARE_BESIDE_V.get(each.notation.name, 1.0)) for each in values]
        if behind_a_value and not word.whole:
            values = [each.less(AFTER_A_VALUE) for each in values]
        elif behind_half_a_value:
            values = [each.less(AFTER_HALF_A_VALUE) for each in values]
        elif any(usualness(each.value or 0) >= PREFERRED for each in values):
            behind_a_value, behind_half_a_value = bool(word.whole), not word.whole
        others = [
            [(words[other], role) for role in roles[other]] for other in range(len(roles)) if other != place
        ]
        room = MAX_COMBINATIONS if len(values) < FEW_VALUES else 4
        rows = sorted(filter(agreeing, leading(others)), key=row_weight, reverse=True)[:room]
        rows = rows or [in_turn(others)]
        least = row_weight(rows[0]) / 200
        rows = [row for row in rows if row_weight(row) >= least]
        if len(found) > MAX_COMBINED:
            budget.spent_out = True
            break
        for candidate in values:
            for row in rows:
                whole = dressed(candidate, row, place)
                if whole is not None:
                    found.append(whole)
    return found


def likely_of(word: MarkingWord, known: Known) -> list[Candidate]:
    """The likeliest values that the word carries, alone; read once per question."""
    found = known.budget.read.get(word)
    if found is None:
        found = known.budget.read[word] = likely(values_of(word, known.kind, known.budget), known)
    return found


def likely(values: list[Candidate], known: Known) -> list[Candidate]:
    """Of many values those near what the meter read, if any is; of these the likeliest."""
    if len(values) <= FEW_VALUES:
        return values
    near = [each for each in values if known.budget.is_near(each.kind, each.value)]
    if near and len(near) < len(values):
        known.budget.spent_out = True
        values = near
    if len(values) > MAX_VALUES:
        values = joined(values)
    if len(values) > MAX_VALUES:
        known.budget.spent_out = True
        values = sorted(values, key=known.weigh, reverse=True)[:MAX_VALUES]
    return values


def joined(values: list[Candidate]) -> list[Candidate]:
    """Spellings of one notation that mean the same as one, or one kind fills all the room there is."""
    alike: dict[tuple[Any, ...], list[Candidate]] = {}
    for each in values:
        alike.setdefault((each.notation.name, *each.meaning()), []).append(each)
    return [
        several[0]._replace(weight=sum(each.weight for each in several)) if len(several) > 1 else several[0]
        for several in alike.values()
    ]


def spoken_for(roles: Sequence[Attribute]) -> bool:
    """100V, X7R, ±5%: a word that plainly is no value."""
    return roles[0].weight >= 0.9 and roles[0].role in ("volts", "temperature", "tolerance", "trait")
