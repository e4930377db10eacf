"""An import from file to report: read, do, and keep all of it or nothing.

Other apps add kinds of theirs: `IMPORTS["buy"] = Import(…)`.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import BinaryIO

from django.db import transaction

from inventory import statistics
from inventory.ledger import Actor
from inventory.models import Place
from inventory.sheets import design_import, donor_import, stock_import
from inventory.sheets.apart import Apart, ChangedMeanwhile, apart_from_writers, can_be_apart, working_apart
from inventory.sheets.design_import import TABLES as DESIGN_TABLES
from inventory.sheets.donor_table import DONOR
from inventory.sheets.grid import LIMITS, Limits
from inventory.sheets.opening import open_book
from inventory.sheets.report import BadRows, Errors, Report
from inventory.sheets.stock_table import STOCK
from inventory.sheets.table import FoundRows, Progress, Table, read_tables


@dataclass(frozen=True)
class ReadSheet:
    """A file that was read and not yet acted on."""

    kind: str
    found: FoundRows
    errors: Errors


class _TakenBack(Exception):
    """The preview has seen what it wanted."""


def quietly(stage: str, done: int) -> None:
    """Progress that nobody watches."""


@dataclass(frozen=True)
class Import:
    """A kind of sheet: its tables, the first of them the main one, and what its rows do.

    `import_rows` takes the rows of each table, and by whom, the report and the progress; it names bad cells
    on the rows.  `title` is the main sheet of an empty workbook.  The sheets in `beside` are written for
    people and not read.
    """

    tables: tuple[Table, ...]
    import_rows: Callable[..., None]
    title: str
    beside: tuple[str, ...] = ()


def main_table(import_rows: Callable[..., None]) -> Callable[..., None]:
    """What imports the rows of the main table alone."""
    return lambda rows, **how: import_rows(rows[""], **how)


IMPORTS: dict[str, Import] = {
    "stock": Import((STOCK,), main_table(stock_import.import_rows), "Stock"),
    "design": Import(DESIGN_TABLES, design_import.import_rows, "Parts"),
    "donor": Import((DONOR,), main_table(donor_import.import_rows), "Survey"),
}


def read_sheet(
    file: BinaryIO, *, name: str, kind: str, limits: Limits = LIMITS, progress: Progress = quietly
) -> ReadSheet:
    """Read a file as a kind of sheet (a name in IMPORTS).  UnreadableFile where it is none.

    This is the slow half, and needs no transaction.
    """
    errors = Errors()
    meant = IMPORTS[kind]
    found = read_tables(open_book(file, name, limits), meant.tables, errors, progress, beside=meant.beside)
    return ReadSheet(kind, found, errors)


MANY_ROWS = 500
"""From here on an import changes how full the tables are, and others would wait for it to be written."""


def import_read(
    sheet: ReadSheet, *, by: Actor, dry_run: bool = False, progress: Progress = quietly
) -> Report:
    """Do what the sheet says, whole or not at all, and report it.

    A dry run does it too and takes it back; nobody who writes meanwhile waits for it.

    BadRows names every bad cell.
    """
    found = sheet.found
    report = Report(
        kind=sheet.kind,
        dry_run=dry_run,
        rows=found.count,
        unknown_columns=found.unknown_columns,
        notes=list(found.notes),
    )
    doing = IMPORTS[sheet.kind].import_rows
    if not dry_run:
        with transaction.atomic():
            _one_at_a_time()
            doing(found.rows, by=by, report=report, progress=progress)
            sheet.errors.raise_any()
            if found.count >= MANY_ROWS:
                statistics.renew()
        return report
    with suppress(_TakenBack), apart_from_writers(), transaction.atomic():
        doing(found.rows, by=by, report=report, progress=progress)
        sheet.errors.raise_any()
        raise _TakenBack
    return report


def _one_at_a_time() -> None:
    """Wait for an import that is running (SQLite locked everything at BEGIN): the same file twice is not
    new twice.

    Pieces come and go meanwhile: this lock does not hold up those who only refer to the place.
    """
    Place.objects.select_for_update(no_key=True).get(type=Place.Type.OUTSIDE)


class _Prepared:
    """An import that is worked out and waits to be kept."""

    def __init__(self, sheet: ReadSheet, by: Actor, progress: Progress) -> None:
        self._sheet, self._by, self._progress = sheet, by, progress
        self._apart: Apart | None = None
        self._report: Report | None = None
        self._refused: BadRows | None = None

    def work_out(self, apart: Apart) -> None:
        with apart.working():
            try:
                self._report = import_read(self._sheet, by=self._by, progress=self._progress)
            except BadRows as refused:
                self._refused = refused
        self._apart = apart

    def import_now(self) -> Report:
        """Keep all of it or nothing.  BadRows names every bad cell.

        Where somebody else has changed the very rows meanwhile it is all done here, while others wait.
        """
        if self._refused is not None:
            raise self._refused
        if self._apart is not None and self._report is not None:
            with suppress(ChangedMeanwhile):
                self._apart.bring_over()
                return self._report
        return import_read(self._sheet, by=self._by, progress=self._progress)


@contextmanager
def prepared(sheet: ReadSheet, *, by: Actor, progress: Progress = quietly) -> Iterator[Callable[[], Report]]:
    """What imports it, worked out before the transaction that does so: others need not wait for that.

    On SQLite, where it has many rows: on a copy, one at a time, as of now.  Elsewhere `import_read` does
    it all.
    """
    importing = _Prepared(sheet, by, progress)
    if sheet.found.count < MANY_ROWS or not can_be_apart():
        yield importing.import_now
        return
    with working_apart() as apart:
        importing.work_out(apart)
        with apart.attached():
            yield importing.import_now


def import_sheet(
    file: BinaryIO,
    *,
    name: str,
    kind: str,
    by: Actor,
    dry_run: bool = False,
    limits: Limits = LIMITS,
    progress: Progress = quietly,
) -> Report:
    """Import a spreadsheet of a kind (a name in IMPORTS) and report what it did."""
    sheet = read_sheet(file, name=name, kind=kind, limits=limits, progress=progress)
    if dry_run:
        return import_read(sheet, by=by, dry_run=True, progress=progress)
    with prepared(sheet, by=by, progress=progress) as import_now:
        return import_now()
