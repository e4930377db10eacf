"""A sheet that was read, as the person sees it: its rows by their numbers, each bad cell with what would do.

Pure: no Django.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from inventory.sheets.importing import IMPORTS, ReadSheet
from inventory.sheets.report import BadCell
from inventory.sheets.table import Column, Layout, SheetRow, plain

WHOLE = 60
"""A sheet with so many rows is shown whole; of a longer one"""
FIRST = 20
"""the first so many, and"""
MAX_BAD = 100
"""so many bad ones."""
_LONGEST = 120


@dataclass(frozen=True)
class SeenColumn:
    """A column that is shown: the heading as it stands in the sheet (blank: not there), and what it was read
    as where that is another word."""

    written: str
    read_as: str


@dataclass(frozen=True)
class SeenCell:
    """`bad` counts the bad cells from 1 (0: this one is taken), and `detail` says what would do."""

    heading: str
    text: str
    bad: int = 0
    detail: str = ""


@dataclass(frozen=True)
class SeenRow:
    """`skipped` rows stand between the row before and this one and are not shown."""

    number: int
    cells: Sequence[SeenCell]
    skipped: int

    @property
    def bad(self) -> bool:
        return any(cell.bad for cell in self.cells)


@dataclass(frozen=True)
class SeenSheet:
    """`blank` are headings of columns with nothing in them, and `skipped` rows come after the last shown."""

    name: str
    columns: Sequence[SeenColumn]
    rows: Sequence[SeenRow]
    blank: Sequence[str]
    skipped: int


@dataclass(frozen=True)
class SheetsAsSeen:
    """What is shown of a file.

    `beside` are bad headings and what is wrong with the sheet as a whole; `unread` are headings that nobody
    knows, each with a known one that is written nearly so, or blank.
    """

    sheets: Sequence[SeenSheet]
    beside: Sequence[BadCell]
    bad_cells: Sequence[tuple[int, BadCell]]
    unread: Sequence[tuple[str, str]]
    total: int


Numbered = Mapping[tuple[int, int], Sequence[tuple[int, BadCell]]]
"""(sheet, row) -> its bad cells, each with its number; 0 where the row is one too many to show."""


def as_seen(sheet: ReadSheet) -> SheetsAsSeen:
    """What to show of a sheet, after it was tried: the bad cells are known only then."""
    by_sheet: dict[int, list[SheetRow]] = defaultdict(list)
    for rows in sheet.found.rows.values():
        for row in rows:
            by_sheet[row.layout.sheet_number].append(row)
    there = {(number, row.number) for number, rows in by_sheet.items() for row in rows}
    bad: dict[tuple[int, int], list[tuple[int, BadCell]]] = {}
    beside: list[BadCell] = []
    shown: list[tuple[int, BadCell]] = []
    for (number, row_number, _column), cell in sheet.errors.each():
        if (number, row_number) not in there:
            beside.append(cell)
            continue
        row_of = bad.setdefault((number, row_number), [])
        if len(bad) <= MAX_BAD:
            shown.append((len(shown) + 1, cell))
        row_of.append((len(shown) if len(bad) <= MAX_BAD else 0, cell))
    return SheetsAsSeen(
        sheets=[_seen(number, rows, bad) for number, rows in sorted(by_sheet.items())],
        beside=beside,
        bad_cells=shown,
        unread=[(heading, _nearest(sheet.kind, heading)) for heading in sheet.found.unknown_columns],
        total=sheet.errors.total,
    )


def _seen(number: int, rows: Sequence[SheetRow], bad: Numbered) -> SeenSheet:
    layout = rows[0].layout
    named = {cell.column for row in rows for _number, cell in bad.get((number, row.number), ())}
    columns, blank = [], []
    for column in _in_order(layout):
        heading = _heading(layout, column)
        if heading in named or any(row[column.key] for row in rows):
            columns.append(column)
        elif column.key in layout.at:
            blank.append(heading)
    shown: list[SeenRow] = []
    last = -1
    for at in _shown(rows, number, bad):
        row = rows[at]
        cells = _cells(row, columns, bad.get((number, row.number), ()))
        shown.append(SeenRow(row.number, cells, at - last - 1))
        last = at
    return SeenSheet(
        name=layout.sheet,
        columns=[_seen_column(layout, column) for column in columns],
        rows=shown,
        blank=blank,
        skipped=len(rows) - last - 1,
    )


def _shown(rows: Sequence[SheetRow], number: int, bad: Numbered) -> Iterable[int]:
    if len(rows) <= WHOLE:
        return range(len(rows))
    wrong = (at for at, row in enumerate(rows) if any(n for n, _cell in bad.get((number, row.number), ())))
    return sorted({*range(FIRST), *wrong})


def _in_order(layout: Layout) -> list[Column]:
    """The columns in the order of the sheet; those that it does not have come last."""
    return sorted(layout.table.columns, key=lambda column: layout.at.get(column.key, 10**6))


def _heading(layout: Layout, column: Column) -> str:
    return layout.written.get(column.key) or column.heading


def _seen_column(layout: Layout, column: Column) -> SeenColumn:
    written = layout.written.get(column.key, "")
    return SeenColumn(written, "" if plain(written) == plain(column.heading) else column.heading)


def _cells(
    row: SheetRow, columns: Sequence[Column], wrong: Iterable[tuple[int, BadCell]]
) -> Sequence[SeenCell]:
    by_heading = {cell.column: (number, cell.detail) for number, cell in wrong}
    return [
        SeenCell(heading, _short(row[column.key]), *by_heading.get(heading, ()))
        for column in columns
        for heading in [_heading(row.layout, column)]
    ]


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"


def _nearest(kind: str, heading: str) -> str:
    """The known heading that this one is nearly, for a slip of the pen; blank where there is none."""
    known = {name: column for table in IMPORTS[kind].tables for name, column in table.headings.items()}
    close = get_close_matches(plain(heading), known, n=1, cutoff=0.8)
    return known[close[0]].heading if close else ""
