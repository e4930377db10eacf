"""The reader of Soviet and GDR types, by the systems and tables of `inventory.type_numbers.eastern`."""

from __future__ import annotations

from collections.abc import Iterator

from inventory.type_numbers import eastern_type

from .candidates import Candidate, NamedType, Notation
from .known import Known
from .words import MarkingLine

KINDS = ("ic", "transistor", "diode", "regulator")
NOTATIONS = {
    kind: Notation("Soviet or GDR type", "GOST 10862, TGL 38015", kind, 1.0, until=2000) for kind in KINDS
}
LISTED_IN_CYRILLIC, IN_CYRILLIC, IN_LATIN = 30.0, 10.0, 0.5
"""Cyrillic letters with figures in such an order are hardly ever anything else."""
LOOK_ALIKE = "legs and ratings of {like} in the books, but not the same part: compare before fitting"


def eastern_types(line: MarkingLine, known: Known) -> Iterator[Candidate]:
    """Each word that is a type number of these systems."""
    for word in line.seen[:6]:
        found = eastern_type(word.whole) if 3 <= len(word.whole) <= 14 else None
        if found is None or not known.asks(found.kind):
            continue
        cyrillic = not word.whole.isascii()
        weight = LISTED_IN_CYRILLIC if cyrillic and found.listed else IN_CYRILLIC if cyrillic else IN_LATIN
        words = f"{found.words}, as {found.like}" if found.like else found.words
        cautions = (LOOK_ALIKE.format(like=found.like),) if found.like else ()
        yield Candidate(
            NOTATIONS[found.kind], None, ((word.whole, words or "type number"),), weight, cautions=cautions,
            traits=found.facts,
            type=NamedType(found.generic or word.whole.upper(), function=words),
        )  # fmt: skip
