"""Many parts at once, one line each: `12 x 4k7 5%`, read as their markings are and brought in together."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.db import transaction

from inventory import lots
from inventory.decoding import MalformedMarking, Question
from inventory.ledger import By, Origin
from inventory.markings import bare, knowing
from inventory.models import Board, Lot, Part, Place
from inventory.spec import Spec, values_in_text

MOST_LINES = 60
MOST_READINGS = 4
LONGEST = 80
_COUNTED = re.compile(r"\s*([0-9]{1,6})\s*(?:[x×*]|pcs?\b|off\b)\s*(?=\S)(.*)", re.IGNORECASE)

_FIGURES = re.compile("[0-9.,]+")


@dataclass(frozen=True)
class Line:
    """One line as it was typed: how many, what stands on them, what that could be; or what is wrong."""

    number: int
    text: str
    pieces: int = 1
    marking: str = ""
    specs: tuple[Spec, ...] = ()
    wrong: str = ""


def one_each(text: str) -> str:
    """What was typed with each part on a line of its own: commas between parts become ends of lines.

    A comma inside a part stays.

    >>> one_each("12 x 4k7, 5%, 1N4148; 3 x BC337")
    '12 x 4k7, 5%\\n1N4148\\n3 x BC337'
    """
    return "\n".join(part for line in text.splitlines() for part in _parts(line))


def _parts(line: str) -> list[str]:
    parts: list[str] = []
    for said in re.split(r";|,(?=\s)", line):
        if parts and said.strip() and not _begins_a_part(said.strip()):
            parts[-1] += f",{said}"
        else:
            parts.append(said.strip() if parts else said)
    return [part for part in parts if part.strip()] or [line]


def _begins_a_part(said: str) -> bool:
    """Whether it says which part, and not only more of the one before it: a count, a value or a type."""
    first = said.split()[0]
    if _COUNTED.fullmatch(said) or (not _FIGURES.fullmatch(first) and values_in_text(first)):
        return True
    try:
        likeliest = bare(Question(marking=said[:LONGEST], limit=1)).specs[:1]
    except MalformedMarking:
        return False
    return any(spec is not None and spec.number for spec in likeliest)


def read_lines(text: str) -> list[Line]:
    """The lines that say something, numbered as they stand; the likeliest reading first."""
    said = [(number, line.strip()) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    asking = knowing(Question(limit=2 * MOST_READINGS)) if said else Question()
    told = [_read(number, line, asking) for number, line in said[:MOST_LINES]]
    too_many = f"at most {MOST_LINES} lines at once: bring these in afterwards"
    return told + [Line(number, line, wrong=too_many) for number, line in said[MOST_LINES:]]


def _read(number: int, text: str, asking: Question) -> Line:
    """
    >>> line = _read(1, "12 x 4k7 5%", Question(limit=1))
    >>> line.pieces, line.specs[0].value_text
    (12, '4k7')
    """
    counted = _COUNTED.fullmatch(text)
    pieces, marking = (int(counted[1]), counted[2].strip()) if counted else (1, text)
    if not pieces:
        return Line(number, text, wrong="none of them: say how many there are")
    if len(marking) > LONGEST:
        return Line(number, text, wrong=f"at most {LONGEST} characters for each part")
    try:
        told = bare(replace(asking, marking=marking))
    except MalformedMarking as malformed:
        return Line(
            number, text, pieces, marking, wrong=f"{malformed} (at character {malformed.position + 1})"
        )
    specs = tuple(dict.fromkeys(spec for spec in told.specs if spec is not None))[:MOST_READINGS]
    wrong = (
        "" if specs else "nothing is known that reads so: write a value such as 4k7, or a type such as BC337"
    )
    return Line(number, text, pieces, marking, specs, wrong)


@dataclass(frozen=True)
class Chosen:
    """So many pieces of what a line was taken for."""

    spec: Spec
    pieces: int
    marking: str


@transaction.atomic
def bring_in(
    chosen: Sequence[Chosen], place: Place, *, condition: str, by: By, board: Board | None = None
) -> list[Lot]:
    """A lot for each, at one place, off one board where that is known; all of them or none."""
    origin = Origin(source=Lot.Source.BOARD, board=board) if board else Origin(source=Lot.Source.UNKNOWN)
    return [
        lots.bring_in(
            Part.of(each.spec), [(place, "", each.pieces)], by=by, condition=condition,
            origin=origin, marking=each.marking,
        )
        for each in chosen
    ]  # fmt: skip
