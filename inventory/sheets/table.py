"""Tables in sheets: headings matched as people write them, cells reached by column.  Pure: no Django."""

import unicodedata
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from itertools import chain, islice

from inventory.sheets.grid import Book, Odd, Sheet
from inventory.sheets.report import BadCell, Errors

NOTES = "notes"  # the sheet of a workbook that is for people to read
_HEADINGS_WITHIN = 10  # rows: people write a title above them
_LONGEST_NAME = 100

Progress = Callable[[str, int], None]
"""Told what is being done and how many rows of it are done."""


@dataclass(frozen=True)
class Column:
    """A column that a kind of sheet has.

    `also` are other headings that people give it, with commas.  `needed` columns must be there, `unless`
    the named one is.  `rare` columns are read, but left out of what we write for people to fill
    in; `ours` only an export fills in.  `figure` columns may hold numbers that a spreadsheet program has
    rewritten; in the others that is refused, since a marking or part number would be lost.
    """

    key: str
    heading: str
    also: str = ""
    about: str = ""
    needed: bool = False
    unless: str = ""
    figure: bool = False
    rare: bool = False
    ours: bool = False
    choices: tuple[str, ...] = ()
    others: bool = False  # words beyond the choices will do
    width: int = 12
    example: str = ""


@dataclass(frozen=True)
class Table:
    """A kind of table, its columns in the order in which we write them.

    `sheet` names the sheets that hold it; the main table has no name and may stand on any other sheet.
    `on_paper` is the last column that is printed, blank the last of all; those after it are folded away.
    """

    columns: tuple[Column, ...]
    sheet: str = ""
    on_paper: str = ""
    index: dict[str, int] = field(init=False, compare=False, repr=False)
    headings: dict[str, Column] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        known: dict[str, Column] = {}
        for column in self.columns:
            for heading in (column.heading, *column.also.split(",")):
                if heading and known.setdefault(plain(heading), column) is not column:
                    raise ValueError(f"{heading} names {known[plain(heading)].heading} and {column.heading}")
        object.__setattr__(self, "index", {column.key: at for at, column in enumerate(self.columns)})
        object.__setattr__(self, "headings", known)

    def __getitem__(self, key: str) -> Column:
        return self.columns[self.index[key]]

    def column_of(self, heading: str) -> Column | None:
        """The column with this heading; what stands in brackets, a unit or a remark, does not matter."""
        bare = heading.partition("(")[0].partition("[")[0]
        return self.headings.get(plain(heading)) or self.headings.get(plain(bare))


def plain(heading: str) -> str:
    """A heading without what people vary: case, spaces, punctuation.

    >>> plain("Lead-Style "), plain("Qty.")
    ('leadstyle', 'qty')
    """
    return "".join(sign for sign in unicodedata.normalize("NFKC", heading).casefold() if sign.isalnum())


@dataclass(frozen=True)
class Layout:
    """Where the columns of a table stand on one sheet: key -> cell, and the heading as written there.

    `missing` are the needed ones that are not there; that is said once and not again for each row.
    """

    table: Table
    sheet: str
    sheet_number: int
    at: dict[str, int]
    written: dict[str, str]
    missing: set[str]


class SheetRow:
    """A row of a table: `row["value"]` is the text of a cell, blank where the sheet has no such column.

    A row is `sound` until something in it is named as bad.
    """

    __slots__ = ("cells", "errors", "layout", "number", "sound")

    def __init__(self, layout: Layout, number: int, cells: Sequence[str], errors: Errors) -> None:
        self.layout, self.number, self.cells, self.errors, self.sound = layout, number, cells, errors, True

    def __getitem__(self, key: str) -> str:
        return self.cells[self.layout.table.index[key]]

    def has(self, key: str) -> bool:
        """Whether the sheet has the column at all."""
        return key in self.layout.at

    def bad(self, key: str, detail: str) -> None:
        """Name this row's cell as not accepted."""
        self.sound = False
        if key in self.layout.missing:
            return
        heading = self.layout.written.get(key) or self.layout.table[key].heading
        at = (self.layout.sheet_number, self.number, self.layout.at.get(key, -1))
        self.errors.add(at, BadCell(self.layout.sheet, self.number, heading, self[key], detail))


@dataclass
class FoundRows:
    """What stands in a book: the rows of each table, and what the person should know."""

    rows: dict[str, list[SheetRow]]
    count: int = 0
    unknown_columns: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_tables(
    book: Book,
    tables: Sequence[Table],
    errors: Errors,
    progress: Progress | None = None,
    *,
    beside: Collection[str] = (),
) -> FoundRows:
    """Find the tables in a book and read their rows; the first of `tables` is the main one.

    Sheets with a name in `beside` are for people to read.

    Further sheets without such headings are left out, and `notes` says so; nothing left is an error.
    """
    found = FoundRows({table.sheet: [] for table in tables}, notes=list(book.notes))
    first, to_read = True, {NOTES, *map(plain, beside)}
    for number, sheet in enumerate(book.sheets):
        if sheet.hidden or (plain(sheet.name) in to_read and len(book.sheets) > 1):
            continue
        named = [table for table in tables if table.sheet and plain(table.sheet) == plain(sheet.name)]
        _read_sheet(
            sheet, number, named[0] if named else tables[0], bool(named) or first, errors, found, progress
        )
        first = False
    if not found.count and not errors.total:
        needed = ", ".join(column.heading for column in tables[0].columns if column.needed)
        detail = f"nothing to import: expected a row of headings ({needed} and others) and rows below it"
        errors.add((0, 1, 0), BadCell(_tidy(book.sheets[0].name) if book.sheets else "", 1, "", "", detail))
    return found


def _tidy(name: str) -> str:
    """A heading or the name of a sheet as it is told to the person: one line of bounded length."""
    return "".join(sign if sign.isprintable() else "?" for sign in " ".join(name.split()))[:_LONGEST_NAME]


def _read_sheet(
    sheet: Sheet,
    number: int,
    table: Table,
    meant: bool,
    errors: Errors,
    found: FoundRows,
    progress: Progress | None,
) -> None:
    rows = iter(sheet.rows)
    top = list(islice(rows, _HEADINGS_WITHIN))
    matched = [sum(table.column_of(cell) is not None for cell in cells) for _number, cells in top]
    best = max(range(len(top)), key=lambda at: matched[at], default=0)
    if not top or matched[best] < (1 if meant else 3):
        if top:
            found.notes.append(f"Sheet {_tidy(sheet.name)} was not read: it has no row of known headings.")
        return
    layout = _laid_out(table, _tidy(sheet.name), number, top[best], errors, found)
    order = [layout.at.get(column.key, -1) for column in table.columns]
    for row_number, cells in chain(top[best + 1 :], rows):
        width = len(cells)
        texts = [cells[at].strip() if -1 < at < width else "" for at in order]
        row = SheetRow(layout, row_number, texts, errors)
        if not "".join(texts).isprintable() or any(cell.__class__ is Odd for cell in cells):
            _refuse_odd(row, cells)
        found.rows[table.sheet].append(row)
        found.count += 1
        if progress and found.count % 500 == 0:
            progress("reading", found.count)


def _laid_out(
    table: Table,
    sheet: str,
    number: int,
    headings: tuple[int, Sequence[str]],
    errors: Errors,
    found: FoundRows,
) -> Layout:
    row_number, cells = headings
    layout = Layout(table, sheet, number, {}, {}, set())

    def bad(at: int, heading: str, detail: str) -> None:
        errors.add(
            (number, row_number, at), BadCell(sheet, row_number, heading, heading if at >= 0 else "", detail)
        )

    for at, cell in enumerate(cells):
        heading = _tidy(cell)
        column = table.column_of(heading)
        if column is None:
            if heading and heading not in found.unknown_columns:
                found.unknown_columns.append(heading)
        elif column.key in layout.at:
            same = layout.written[column.key]
            bad(at, heading, f"means the same as the column {same}: keep one of them")
        else:
            layout.at[column.key], layout.written[column.key] = at, heading
    for order, column in enumerate(table.columns):
        if column.needed and column.key not in layout.at and column.unless not in layout.at:
            layout.missing.add(column.key)
            also = f" (or {column.also})" if column.also else ""
            bad(
                order - len(table.columns),
                column.heading,
                f"the column is missing: expected one headed {column.heading}{also}",
            )
    return layout


def _refuse_odd(row: SheetRow, cells: Sequence[str]) -> None:
    for column in row.layout.table.columns:
        at = row.layout.at.get(column.key, len(cells))
        cell = cells[at] if at < len(cells) else ""
        if isinstance(cell, Odd) and not (cell.figure and column.figure):
            row.bad(column.key, cell.why)
        elif sign := next((sign for sign in cell if _unprintable(sign)), ""):
            row.bad(
                column.key,
                f"holds the character U+{ord(sign):04X}, which cannot be printed: type the cell again",
            )


def _unprintable(sign: str) -> bool:
    return sign not in "\t\n\r" and unicodedata.category(sign) in ("Cc", "Cs")
