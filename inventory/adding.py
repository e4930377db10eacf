"""Many parts at once, one line each: `12 x 4k7 5%`, read word by word and brought in together."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from inventory import lots
from inventory.decoding import Question
from inventory.ledger import Actor, Origin
from inventory.markings import knowing
from inventory.models import Board, Lot, Part, Place
from inventory.part_lines import LineWord, PartLine, PartReading, read_line
from inventory.part_words.figures import offers_of

MAX_LINES = 60
LONGEST = 80
_COUNTED = re.compile(r"\s*[0-9]+\s*[x×*]\s*\S", re.IGNORECASE)
_SIZE = re.compile(r"\s*[0-9]+(?:\.[0-9]+)?\s*[x×]\s*[0-9]+\s*", re.IGNORECASE)
_NO_PART = "nothing is known that reads so: write a value such as 4k7, or a type such as BC337"


@dataclass(frozen=True)
class AddedLine:
    """One line as it was typed and as it is read; `wrong` is why nothing can be brought in by it."""

    number: int
    read: PartLine
    wrong: str = ""

    @property
    def text(self) -> str:
        return self.read.text

    @property
    def refs(self) -> tuple[str, ...]:
        return self.read.refs

    def pieces(self, pick: int = 0) -> int:
        """As many as the picked reading has, else as are typed, else one for each reference, else one."""
        said = self.readings[pick].quantity if pick < len(self.readings) else None
        said = self.read.quantity if said is None else said
        return max(1, len(self.refs)) if said is None else said

    @property
    def readings(self) -> tuple[PartReading, ...]:
        return () if self.wrong else self.read.readings

    @property
    def choices(self) -> tuple[str, ...]:
        """The readings in words, with how many where that is part of the question."""
        counted = any(each.quantity is not None for each in self.readings)
        return tuple(
            f"{self.pieces(at)} × {each.spec.text}" if counted else each.spec.text
            for at, each in enumerate(self.readings)
        )

    @property
    def must_be_picked(self) -> bool:
        """Whether nobody can know which reading is meant, so that none is taken by itself."""
        return self.read.ambiguous and len(self.readings) > 1

    @property
    def words(self) -> tuple[LineWord, ...]:
        return self.read.words


def one_each(text: str) -> str:
    """What was typed with each part on a line of its own: commas between parts become ends of lines.

    A comma inside a part, or between its references, stays.

    >>> one_each("12 x 4k7, 5%, 1N4148; R1, R3 47k")
    '12 x 4k7, 5%\\n1N4148\\nR1, R3 47k'
    """
    return "\n".join(part for line in text.splitlines() for part in _parts(line))


def _parts(line: str) -> list[str]:
    parts: list[str] = []
    for piece in re.split(r";|,(?=\s)", line):
        if parts and piece.strip() and not _begins_a_part(parts[-1], piece):
            parts[-1] += f",{piece}"
        else:
            parts.append(piece.strip() if parts else piece)
    return [part for part in parts if part.strip()] or [line]


def _begins_a_part(before: str, piece: str) -> bool:
    """Whether it says another part than what stands before it, and not only more of that one."""
    if _SIZE.fullmatch(piece) and offers_of("".join(piece.split())):
        return False  # a fuse, 5 x 20
    if _COUNTED.match(piece):
        return True  # whatever it is
    first, second = read_line(before.strip()[:LONGEST]), read_line(piece.strip()[:LONGEST])
    if first.spec is None or second.spec is None:
        return False
    together = read_line(f"{before},{piece}"[:LONGEST])
    return not second.refs or len(together.refs) == len(second.refs)  # R1, R3 47k are the same part


def read_lines(text: str) -> list[AddedLine]:
    """The lines that say something, numbered as they stand; the likeliest reading first."""
    typed = [(number, line.strip()) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    asking = knowing(Question()) if typed else Question()
    lines = [_read(number, line, asking) for number, line in typed[:MAX_LINES]]
    too_many = f"at most {MAX_LINES} lines at once: bring these in afterwards"
    return lines + [AddedLine(number, PartLine(line), too_many) for number, line in typed[MAX_LINES:]]


def _read(number: int, text: str, asking: Question) -> AddedLine:
    """
    >>> line = _read(1, "12 x 4k7 5%", Question())
    >>> line.pieces(), line.choices[0]
    (12, '4k7 5 % resistor')
    """
    if len(text) > LONGEST:
        return AddedLine(number, PartLine(text), f"at most {LONGEST} characters for each part")
    line = read_line(text, asking=asking)
    if line.quantity == 0:
        return AddedLine(number, line, "the count is zero: say how many there are")
    return AddedLine(number, line, "" if line.readings else _NO_PART)


def marking_of(reading: PartReading) -> str:
    """What was typed of the part itself."""
    beside = ("quantity", "reference")
    return " ".join(word.text for word in reading.words if word.property_name not in beside)


def left_over(reading: PartReading) -> str:
    """What of a line is not understood, to be kept as a note; blank where all of it is."""
    return f"not understood: {' '.join(word.text for word in reading.unread)}" if reading.unread else ""


@dataclass(frozen=True)
class Chosen:
    """So many pieces of what a line was taken for; off a board each reference gave one."""

    reading: PartReading
    pieces: int
    marking: str
    refs: tuple[str, ...] = ()


def chosen(line: AddedLine, pick: int) -> Chosen:
    """The reading of that number of a line that has it."""
    reading = line.readings[pick]
    return Chosen(reading, line.pieces(pick), marking_of(reading), line.refs)


@transaction.atomic
def bring_in(
    chosen: Sequence[Chosen], place: Place, *, condition: str, by: Actor, board: Board | None = None
) -> list[Lot]:
    """The lots, at one place, off one board where that is known; all of them or none.

    Off a board each reference is a lot of one.  What a lot has no column for is kept in its note.
    """
    made = []
    for each in chosen:
        refs = each.refs if board is not None and each.pieces == len(each.refs) else ()
        unplaced = f"references {', '.join(each.refs)}" if each.refs and not refs else ""
        note = "; ".join(filter(None, (left_over(each.reading), unplaced)))
        source = Lot.Source.BOARD if board is not None else Lot.Source.UNKNOWN
        for ref in refs or ("",):
            made.append(
                lots.bring_in(
                    Part.of(each.reading.spec),
                    [(place, "", 1 if ref else each.pieces)],
                    by=by,
                    condition=condition,
                    origin=Origin(source=source, board=board, ref=ref),
                    marking=each.marking,
                    note=note,
                )
            )
    return made
