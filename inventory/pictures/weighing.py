"""Readings of what a picture shows, weighed by how surely each character or colour was seen. Pure.

The decoder is asked with sets (`[8B]`, `red|orange`), all members alike, and knows what is printed on parts;
the picture knows what the eye saw. Both are evidence of the same part, so their weights multiply.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from inventory.decoding import Reading, Readings
from inventory.decoding.patterns import words_of
from inventory.decoding.series_names import SERIES
from inventory.decoding.type_names import CHIP, JEDEC, JIS, PRO_ELECTRON, VALVE_STYLE
from inventory.decoding.unknown_types import UNKNOWN
from inventory.type_numbers import entry_of

ASKED: Final = 60
"""Readings to ask the decoder for before they are weighed: the right one may be far down by grammar alone."""
UNSEEN: Final = 0.002  # share of what was not offered: a reading with a character exchanged still has some

FEWEST_SURE, NOT_SURE = 5, 0.75
"""Of print that is so short, has a place where one may have been missed, or names a type that no table lists,
nothing tells whether a character of it was missed: such a reading is never sure (measured on drawn print:
tests/benchmarks/print_in_pictures.py).
"""
SYSTEMS = UNKNOWN | {name for name, _ in (SERIES, CHIP, JEDEC, JIS, PRO_ELECTRON, VALVE_STYLE)}
"""Names of what any string of such a form is, whatever its figures."""

Cells = Sequence[Mapping[str, float]]
"""In printed order, for each character or band what it may be, with shares of at most 1 together.

An empty one is unread. What is missing to 1 is the share of something not offered.
"""


def weighed(answer: Readings, cells: Cells, limit: int) -> Readings:
    """The same readings in the order of grammar and picture together.

    Scores are scaled down by the chance that the picture shows none of what was offered, so they add up to
    less than one.
    """
    if not answer.readings or not cells:
        return answer
    weights = [reading.score * _agreement(reading, cells) for reading in answer.readings]
    total = sum(weights)
    if not total:
        return answer
    trust = 1.0
    for cell in cells:
        trust *= min(1.0, sum(cell.values())) if cell else 1.0
    of_print = not _is_bands(cells)
    if of_print and (len(cells) < FEWEST_SURE or not all(cells)):
        trust *= NOT_SURE
    order = sorted(range(len(weights)), key=lambda at: -weights[at])[:limit]
    readings = tuple(
        replace(
            answer.readings[at],
            score=weights[at] / total * min(trust, sureness(answer.readings[at]) if of_print else 1.0),
        )
        for at in order
    )
    return replace(answer, readings=readings, truncated=answer.truncated or len(weights) > limit)


def sureness(reading: Reading) -> float:
    """How sure a reading of print can be, by whether a table confirms its number."""
    if reading.notation in SYSTEMS and not entry_of(reading.kind, reading.number):
        return NOT_SURE
    return 1.0


def _agreement(reading: Reading, cells: Cells) -> float:
    """How well the picture agrees with what the reading takes each cell for, 1 where it does not matter."""
    taken = [cell for characters, _meaning in reading.used for cell in _taken(characters)]
    if len(taken) != len(cells):
        return _usual(cells)
    return max(_product(taken, cells), _product(taken[::-1], cells) if _is_bands(cells) else 0.0)


def _taken(characters: str) -> list[tuple[str, ...] | None]:
    if characters.isalpha() and characters.islower() and len(characters) > 2:  # the name of a colour
        return [(characters,)]
    return [cell for word in words_of(characters)[0] for cell in word.cells]


def _is_bands(cells: Cells) -> bool:
    return any(len(name) > 1 for cell in cells for name in cell)


def _product(taken: Sequence[tuple[str, ...] | None], cells: Cells) -> float:
    product = 1.0
    for options, cell in zip(taken, cells, strict=True):
        if options is not None and cell:
            product *= max(cell.get(option, UNSEEN) for option in options)
    return product


def _usual(cells: Cells) -> float:
    """Of a reading that leaves cells out: as if it took each for the likeliest, and a little less."""
    product = 0.5
    for cell in cells:
        product *= max(cell.values()) if cell else 1.0
    return product
