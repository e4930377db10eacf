"""The reader of Soviet and GDR types, by the systems and tables of `inventory.type_numbers.eastern`."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from inventory.type_numbers import eastern_type

from .candidates import Candidate, NamedType, Notation
from .known import Known
from .words import MarkingLine

KINDS = ("ic", "transistor", "diode", "regulator")
NOTATIONS = {
    kind: Notation("Soviet, GDR or Czechoslovak type", "GOST 10862, TGL 38015", kind, 1.0, until=2000)
    for kind in KINDS
}
LISTED_IN_CYRILLIC, IN_CYRILLIC, LISTED_IN_LATIN, IN_LATIN = 30.0, 10.0, 2.0, 0.5
"""Cyrillic letters with figures in such an order are hardly ever anything else."""
LOOK_ALIKE = "legs and ratings of {like} in the books, but not the same part: compare before fitting"


def eastern_types(line: MarkingLine, known: Known) -> Iterator[Candidate]:
    """Each word that is a type number of these systems."""
    for word, behind in pairwise((*line.seen[:6], None)):
        if word is None:
            break
        found, number = eastern_type(word.whole) if 3 <= len(word.whole) <= 14 else None, word.whole
        if found and behind and behind.whole.isdigit() and number[1:2] in ("Y", "Z"):
            whole = f"{number}/{behind.whole}"  # KY132/80
            found, number = (rated, whole) if (rated := eastern_type(whole)) else (found, number)
        if found is None or not known.asks(found.kind):
            continue
        cyrillic = not number.isascii()
        weight = (
            (LISTED_IN_CYRILLIC if found.listed else IN_CYRILLIC)
            if cyrillic
            else (LISTED_IN_LATIN if found.listed else IN_LATIN)
        )
        words = f"{found.words}, as {found.like}" if found.like else found.words
        cautions = (LOOK_ALIKE.format(like=found.like),) if found.like else ()
        yield Candidate(
            NOTATIONS[found.kind], None, ((number, words or "type number"),), weight, cautions=cautions,
            traits=found.facts,
            type=NamedType(found.generic or number.upper(), function=words),
        )  # fmt: skip
