"""What came of an import: the report, or every bad cell by where the person finds it."""

from dataclasses import dataclass, field
from typing import Any

MAX_ERRORS = 1_000
_LONGEST_FOUND = 120


class BadOption(ValueError):
    """An option of an import or an export is missing or means nothing; `name` says which."""

    def __init__(self, name: str, detail: str) -> None:
        self.name, self.detail = name, detail
        super().__init__(f"{name}: {detail}")


@dataclass(frozen=True, order=True)
class BadCell:
    """A cell that is not accepted: where it is as the spreadsheet counts, what is there, what would do."""

    sheet: str
    row: int
    column: str
    found: str
    detail: str

    def __str__(self) -> str:
        found = f" {self.as_dict()['found']!r}" if self.found else ""
        column = f", {self.column}" if self.column else ""
        return f"{self.sheet}, row {self.row}{column}{found}: {self.detail}"

    def as_dict(self) -> dict[str, Any]:
        long = len(self.found) > _LONGEST_FOUND
        return {
            "sheet": self.sheet,
            "row": self.row,
            "column": self.column,
            "found": f"{self.found[:_LONGEST_FOUND]}…" if long else self.found,
            "detail": self.detail,
        }


class BadRows(Exception):
    """The import has bad rows and nothing of it is kept.  `errors` holds the first thousand of `total`."""

    def __init__(self, errors: list[BadCell], total: int) -> None:
        self.errors, self.total = errors, total
        what = "1 cell is" if total == 1 else f"{total:,} cells are"
        super().__init__(f"{what} not accepted; nothing is kept")


class Errors:
    """The bad cells found so far, in any order; kept up to a bound and counted beyond it."""

    def __init__(self) -> None:
        self._kept: dict[tuple[int, int, int], BadCell] = {}
        self.total = 0

    def add(self, at: tuple[int, int, int], cell: BadCell) -> None:
        """`at` is the cell: number of the sheet, row, number of the column.  A cell is named once."""
        if at in self._kept:
            return
        self.total += 1
        if len(self._kept) < MAX_ERRORS:
            self._kept[at] = cell

    def each(self) -> list[tuple[tuple[int, int, int], BadCell]]:
        """The cells that are kept with where they are, in the order in which the person reads the sheets."""
        return sorted(self._kept.items())

    def raise_any(self) -> None:
        """BadRows where anything was added."""
        if self.total:
            raise BadRows([cell for _at, cell in self.each()], self.total)


@dataclass
class Report:
    """What an import did, or in a preview would do; counted in rows of the spreadsheet."""

    kind: str
    dry_run: bool = False
    rows: int = 0
    created: int = 0
    updated: int = 0
    unchanged: int = 0
    unknown_columns: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def count(self, *, changed: bool) -> None:
        """One more row of something that was here already."""
        if changed:
            self.updated += 1
        else:
            self.unchanged += 1

    def as_dict(self) -> dict[str, Any]:
        return {
            "as": self.kind,
            "dry_run": self.dry_run,
            "rows": self.rows,
            "created": self.created,
            "updated": self.updated,
            "unchanged": self.unchanged,
            "unknown_columns": self.unknown_columns,
            "notes": self.notes,
        }
