"""Semiconductor type strings among the words of a marking, with the date that stands beside them."""

from __future__ import annotations

from collections.abc import Iterator

from . import semiconductors
from .candidates import Candidate, Maker, Notation, Tolerance
from .patterns import Budget, Word
from .reading import Reading
from .type_strings import UNREAD

LONG_TYPE, SURE = 6, 30.0
"""So many characters do not make a type by chance: it then outweighs readings of single words."""
MOST_UNREADABLE = 2
PASSIVE = frozenset(("resistor", "capacitor", "inductor"))


def types(text: str, kind: str, era: int | None, budget: Budget) -> Iterator[tuple[Candidate, str]]:
    """A candidate for each type the text may name, with the characters that the type itself takes up."""
    if kind in PASSIVE:
        return
    unreadable = text.count("?")
    if unreadable:
        most = MOST_UNREADABLE if text.count(" ") < 2 else 1
        if unreadable > most or budget.partial_types <= 0:
            budget.spent_out = True
            return
        budget.partial_types -= 1
    for reading in semiconductors.read(text, era=era):
        if kind and reading.kind != kind:
            continue
        candidate, taken = candidate_of(reading), "".join(seen for seen, _ in reading.used)
        if len(taken) >= LONG_TYPE:
            candidate.weight *= SURE
        yield candidate, taken


def candidate_of(reading: Reading) -> Candidate:
    tolerance = None
    if reading.tolerance_percent is not None:
        spread = float(reading.tolerance_percent) / 100
        tolerance = Tolerance(
            percent=reading.tolerance_percent, text=f"±{reading.tolerance_percent} %", spread=spread
        )
    return Candidate(
        Notation(reading.notation, reading.standard, reading.kind), reading.value, reading.used,
        max(reading.score, 1e-4),
        tolerance, reading.volts, reading.cautions, reading.reasons, reading.temperature, reading.traits,
        reading.number,
        reading.date, reading.kind, None, Maker(reading.make, reading.package, reading.function),
    )  # fmt: skip


def beside(words: list[Word], taken: str) -> list[Word]:
    """The words that are no part of the type."""
    return [word for word in words if not lies_in(word, taken)]


def lies_in(word: Word, taken: str) -> bool:
    cells = [seen for seen in word.cells if seen is None or seen[0].isalnum()]
    taken = "".join(each for each in taken if each.isalnum() or each == UNREAD)
    return any(
        all(seen is None or taken[start + at] in seen for at, seen in enumerate(cells))
        for start in range(len(taken) - len(cells) + 1)
    )
