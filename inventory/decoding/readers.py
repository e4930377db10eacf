"""The second step: every reader of a line, in one list.

A reader is a function of a Line and of what is Known that yields frozen Candidates. A new notation of one
word is a `Shape` (value_words.SHAPES) or a type `system` (semiconductors); what takes a whole line in a
grammar of its own is a reader here. Its `weight` is how common the form is against others, 1 for the
commonest; kind, body, era, figures and meter are weighed in scoring.py and are no business of a reader.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from .candidates import Candidate
from .eastern_types import KINDS as EASTERN_KINDS
from .eastern_types import eastern_types
from .known import Known
from .lone_marks import characteristics, dates, rated_volts
from .part_marks import part_marks
from .potentiometers import taper_codes
from .smd_codes import smd_codes
from .type_reader import types
from .unknown_types import unknown_types
from .value_reader import values
from .words import MarkingLine

EVERY_KIND: frozenset[str] = frozenset()


class Reader(NamedTuple):
    """`kinds` that its candidates may have; a question for another kind does not call it."""

    read: Callable[[MarkingLine, Known], Iterable[Candidate]]
    kinds: frozenset[str] = EVERY_KIND


READERS: tuple[Reader, ...] = (
    Reader(values),
    Reader(types),
    Reader(eastern_types, frozenset(EASTERN_KINDS)),
    Reader(part_marks, frozenset(("fuse", "other", "thermistor", "socket"))),
    Reader(smd_codes, frozenset(("transistor", "diode"))),
    Reader(dates),
    Reader(characteristics, frozenset(("capacitor",))),
    Reader(rated_volts, frozenset(("capacitor",))),
    Reader(taper_codes, frozenset(("resistor",))),
)
LAST: tuple[Reader, ...] = (Reader(unknown_types),)
"""Asked once the others are done, and never about characters that nobody saw."""


def read(lines: Iterable[MarkingLine], known: Known, by: tuple[Reader, ...] = READERS) -> list[Candidate]:
    """Every candidate of every reader for every line."""
    candidates: list[Candidate] = []
    for line in lines:
        for reader in by:
            if known.kind and reader.kinds and known.kind not in reader.kinds:
                continue
            read_here = list(reader.read(line, known))
            if line.share != 1:
                read_here = [each.less(line.share, line.caution) for each in read_here]
            candidates += read_here
    return candidates
