"""An import from file to report: read, do, and keep all of it or nothing.

Other apps add kinds of theirs: `IMPORTS["buy"] = Import(…)`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import BinaryIO

from django.db import transaction

from inventory.ledger import By
from inventory.models import Place
from inventory.sheets import design_import, donor_import, stock_import
from inventory.sheets.design_import import TABLES as DESIGN_TABLES
from inventory.sheets.donor_table import DONOR
from inventory.sheets.grid import LIMITS, Limits
from inventory.sheets.opening import open_book
from inventory.sheets.report import Errors, Report
from inventory.sheets.stock_table import STOCK
from inventory.sheets.table import Found, Progress, Table, read_tables


@dataclass(frozen=True)
class ReadSheet:
    """A file that was read and not yet acted on."""

    kind: str
    found: Found
    errors: Errors


class _TakenBack(Exception):
    """The preview has seen what it wanted."""


def _quietly(stage: str, done: int) -> None:
    """Progress that nobody watches."""


@dataclass(frozen=True)
class Import:
    """A kind of sheet: its tables, the first of them the main one, and what its rows do.

    `land` takes the rows of each table, and by whom, the report and the progress; it names bad cells on the
    rows.  `title` is the main sheet of an empty workbook.  The sheets in `beside` are written for people and
    not read.
    """

    tables: tuple[Table, ...]
    land: Callable[..., None]
    title: str
    beside: tuple[str, ...] = ()


def main_table(land: Callable[..., None]) -> Callable[..., None]:
    """What lands the rows of the main table alone."""
    return lambda rows, **how: land(rows[""], **how)


IMPORTS: dict[str, Import] = {
    "stock": Import((STOCK,), main_table(stock_import.land), "Stock"),
    "design": Import(DESIGN_TABLES, design_import.land, "Parts"),
    "donor": Import((DONOR,), main_table(donor_import.land), "Survey"),
}


def read_sheet(
    file: BinaryIO, *, name: str, kind: str, limits: Limits = LIMITS, progress: Progress = _quietly
) -> ReadSheet:
    """Read a file as a kind of sheet (a name in IMPORTS).  UnreadableFile where it is none.

    This is the slow half, and needs no transaction.
    """
    errors = Errors()
    meant = IMPORTS[kind]
    found = read_tables(open_book(file, name, limits), meant.tables, errors, progress, beside=meant.beside)
    return ReadSheet(kind, found, errors)


def land(sheet: ReadSheet, *, by: By, dry_run: bool = False, progress: Progress = _quietly) -> Report:
    """Do what the sheet says, whole or not at all, and report it; a dry run does it too and takes it back.

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
    try:
        with transaction.atomic():
            _one_at_a_time()
            IMPORTS[sheet.kind].land(found.rows, by=by, report=report, progress=progress)
            sheet.errors.raise_any()
            if dry_run:
                raise _TakenBack
    except _TakenBack:
        pass
    return report


def _one_at_a_time() -> None:
    """Wait for an import that is running (SQLite locked everything at BEGIN): the same file twice is not
    new twice.

    Pieces come and go meanwhile: this lock does not hold up those who only refer to the place.
    """
    Place.objects.select_for_update(no_key=True).get(type=Place.Type.OUTSIDE)


def import_sheet(
    file: BinaryIO,
    *,
    name: str,
    kind: str,
    by: By,
    dry_run: bool = False,
    limits: Limits = LIMITS,
    progress: Progress = _quietly,
) -> Report:
    """Import a spreadsheet of a kind (a name in IMPORTS) and report what it did."""
    sheet = read_sheet(file, name=name, kind=kind, limits=limits, progress=progress)
    return land(sheet, by=by, dry_run=dry_run, progress=progress)
