"""What a spreadsheet is made of, read or to be written, whatever it is saved as.  Pure: no Django.

Read, a cell is the text that the person sees in it; nothing is guessed to be a number.  What a spreadsheet
program changed on its own (a date made of a marking, a formula without its result) arrives as `Odd`, with the
reason.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

LAST_ROW = 1_048_576  # of an xlsx sheet


class UnreadableFile(Exception):
    """The file as a whole cannot be taken in.

    `status` is the HTTP status that says so: 413 too large, 415 another kind of file, 422 damaged.
    """

    def __init__(self, status: int, detail: str) -> None:
        self.status, self.detail = status, detail
        super().__init__(detail)


class Odd(str):
    """A cell whose text is not what was typed.  `why` says what happened; `figure`: it still is a number."""

    why: str
    figure: bool

    def __new__(cls, text: str, why: str, *, figure: bool = False) -> "Odd":
        made = super().__new__(cls, text)
        made.why, made.figure = why, figure
        return made


@dataclass(frozen=True)
class Limits:
    """The most that is taken in."""

    bytes: int = 20 * 1024 * 1024
    rows: int = 100_000
    columns: int = 200
    cell: int = 32_767  # what one cell of an xlsx sheet can hold
    sheets: int = 50
    members: int = 1_000  # parts of the zip
    inflated: int = 256 * 1024 * 1024
    short_part: int = 4 * 1024 * 1024  # one that is read whole
    bomb: int = 1024 * 1024  # a part above it may unpack to so many times its packed size at most:
    ratio: int = 200


LIMITS = Limits()


@dataclass(frozen=True)
class Sheet:
    """One sheet: rows as (number that the spreadsheet shows, cells), blank rows left out.

    The rows are read as they are asked for, once; UnreadableFile may come then.  `hidden_rows` are those of
    the rows read so far that are not seen.
    """

    name: str
    rows: Iterable[tuple[int, Sequence[str]]]
    hidden: bool = False
    hidden_rows: list[int] = field(default_factory=list)


@dataclass(frozen=True)
class Book:
    """The sheets of a file, and what the person should know of how it was read."""

    sheets: Sequence[Sheet]
    notes: list[str] = field(default_factory=list)


CellOut = str | int | Decimal | None


@dataclass(frozen=True)
class ColumnOut:
    """A column of a written sheet: a drop-down where there are choices, text format where it holds text."""

    heading: str
    width: int = 12
    text: bool = True
    choices: tuple[str, ...] = ()
    others: bool = False
    hint: str = ""


SENTENCES = 24
"""Columns from this width on hold more than a word."""


@dataclass(frozen=True)
class SheetOut:
    """A sheet to write: text is written as text, whatever it starts with; numbers as numbers.

    `on_paper` is how many of its first columns are seen and printed, 0 all: the others are folded away.
    """

    name: str
    columns: Sequence[ColumnOut]
    rows: Iterable[Sequence[CellOut]]
    wrapped: bool = False
    on_paper: int = 0

    def wraps(self, column: ColumnOut) -> bool:
        """Whether what is too long for this column takes several lines, and is not cut off."""
        return self.wrapped or (column.text and column.width >= SENTENCES)


def too_many_rows(limits: Limits) -> UnreadableFile:
    return UnreadableFile(413, f"more than {limits.rows:,} rows: split the sheet into several files")


def too_many_columns(sheet: str, limits: Limits) -> UnreadableFile:
    return UnreadableFile(
        413, f"{sheet}: more than {limits.columns} columns are filled; delete what is to the right"
    )
