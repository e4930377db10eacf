"""A spreadsheet file as sheets of rows of text, whatever it was saved as.  Pure: no Django.

A cell is the text that the person sees in it; nothing is guessed to be a number.  What a spreadsheet program
changed on its own (a date made of a marking, a formula without its result) arrives as `Odd`, with the reason.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import BinaryIO

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

    The rows are read as they are asked for, once; UnreadableFile may come then.
    """

    name: str
    rows: Iterable[tuple[int, Sequence[str]]]
    hidden: bool = False


@dataclass(frozen=True)
class Book:
    """The sheets of a file, and what the person should know of how it was read."""

    sheets: Sequence[Sheet]
    notes: list[str] = field(default_factory=list)


def open_book(file: BinaryIO, name: str, limits: Limits = LIMITS) -> Book:
    """Read a workbook (xlsx) or a text table (csv), told apart by content.  UnreadableFile otherwise."""
    from inventory.sheets import csvtext, xlsx

    data = file.read(limits.bytes + 1)
    if len(data) > limits.bytes:
        raise UnreadableFile(
            413, f"the file is larger than {_megabytes(limits.bytes)}, the most that is taken in"
        )
    if not data.strip():
        raise UnreadableFile(422, "the file is empty")
    if data.startswith(b"PK"):
        return xlsx.read(data, limits)
    if kind := next((kind for start, kind in _OTHERS if data.lstrip()[:16].lower().startswith(start)), None):
        raise UnreadableFile(415, f"this is {kind}: save it as .xlsx or .csv and send that")
    return csvtext.read(data, name, limits)


_OTHERS = (
    (b"\xd0\xcf\x11\xe0", "an old .xls workbook, or one locked with a password"),
    (b"<!doctype", "a web page"),
    (b"<html", "a web page"),
    (b"<?xml", "an XML file"),
    (b"%pdf", "a PDF"),
    (b"{\\rtf", "a text document"),
)


def _megabytes(count: int) -> str:
    return f"{count / 1024 / 1024:g} MB"


def too_many_rows(limits: Limits) -> UnreadableFile:
    return UnreadableFile(413, f"more than {limits.rows:,} rows: split the sheet into several files")


def too_many_columns(sheet: str, limits: Limits) -> UnreadableFile:
    return UnreadableFile(
        413, f"{sheet}: more than {limits.columns} columns are filled; delete what is to the right"
    )
