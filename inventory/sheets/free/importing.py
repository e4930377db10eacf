"""Lists as people have them, read and imported; what their columns mean is kept by their shape.

What is read becomes rows of our own stock or design sheet and goes in by the import of those: whole or not at
all, with every bad cell named where it stands in the person's list.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from functools import partial
from hashlib import sha256
from typing import Any, BinaryIO

from django.db import transaction

from inventory.ledger import Actor
from inventory.models import SheetShape
from inventory.sheets import cells
from inventory.sheets.free.corrections import Correction, NothingToCorrect
from inventory.sheets.free.grids import open_grids
from inventory.sheets.free.headings import BESIDE, KNOWN_HEADINGS, plain_heading
from inventory.sheets.free.reading import FreeReading, FreeRow, Problem, absent_rows, read_table, stated_in
from inventory.sheets.free.tables import FreeTable, tables_in
from inventory.sheets.importing import ReadSheet, prepared, quietly
from inventory.sheets.positions_sheet import POSITIONS
from inventory.sheets.report import BadCell, Errors, Report
from inventory.sheets.specs import SPEC_COLUMNS, spec_cells
from inventory.sheets.stock_table import CONDITIONS, STOCK
from inventory.sheets.table import FoundRows, Layout, Progress, SheetRow, Table

TABLES: Mapping[str, Table] = {"stock": STOCK, "design": POSITIONS}
"""What a list may be imported as -> the sheet of ours that it becomes."""
_KEYS = tuple(column.key for column in SPEC_COLUMNS)


@dataclass(frozen=True)
class FreeList:
    """A list that was read and not yet imported."""

    name: str
    readings: tuple[FreeReading, ...]
    notes: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """The preview as `imports/` answers it."""
        return {
            "tables": [_table_as_dict(reading) for reading in self.readings],
            "notes": list(self.notes),
            "rows": sum(not row.skipped for reading in self.readings for row in reading.rows),
            "problems": sum(len(row.problems) for reading in self.readings for row in reading.rows),
            "to_settle": sum(bool(row.problems) for reading in self.readings for row in reading.rows),
        }


def read_list(
    file: BinaryIO,
    name: str,
    *,
    mapping: Mapping[str, str] | None = None,
    corrections: Sequence[Correction] = (),
    progress: Progress = quietly,
) -> FreeList:
    """Every table of a file, read.  Writes nothing.

    UnreadableFile where it is no spreadsheet, NothingToCorrect where a row is corrected that is not there.
    """
    notes: list[str] = []
    tables: list[FreeTable] = []
    known = _known_headings(mapping or {})
    for grid in open_grids(file, name):
        notes += grid.notes
        found = tables_in(grid, known)
        if grid.rows and not found:
            notes.append(f"Sheet {grid.name} was not read: nothing in it looks like parts.")
        tables += found
    if absent := absent_rows(tables, corrections):
        raise NothingToCorrect(absent)
    kept = _kept_of(tables)
    readings: list[FreeReading] = []
    for table in tables:
        if meanings := kept.get(_shape(table)):
            table = table.mapped(meanings, "as the last time")
        if mapping:
            table = table.mapped(mapping, "as you said")
        read = read_table(table, corrections, partial(progress, "reading"))
        readings.append(_with_notes(read, len(readings)))
        progress("reading", sum(len(reading.rows) for reading in readings))
    headings = {plain_heading(each.heading) for table in tables for each in table.columns}
    named = [*(mapping or {}), *(each.column for each in corrections)]
    unknown = [each for each in dict.fromkeys(named) if each and plain_heading(each) not in headings]
    notes += [f"What was said of the column {each[:60]} was not used: none is headed so." for each in unknown]
    if not readings and not notes:
        notes.append("Nothing in the file looks like a list of parts.")
    return FreeList(name, tuple(readings), tuple(notes))


_LEFT_TO_NOTES: Mapping[str, tuple[Callable[[SheetRow, str], Any], str]] = {
    "price": (cells.money, "is no amount of money"),
    "condition": (partial(cells.word, words=CONDITIONS), "is no condition that is known"),
}
"""Columns that a part can do without -> what reads them in our own sheet, and what is said otherwise."""


def _with_notes(reading: FreeReading, number: int) -> FreeReading:
    """A price or condition that cannot be read becomes a note, in the preview too: it keeps no list out."""
    if all(column.meaning not in _LEFT_TO_NOTES for column in reading.table.columns):
        return reading
    layout = _layout(STOCK, reading, number)
    return replace(reading, rows=tuple(_with_note(row, layout) for row in reading.rows))


def _with_note(row: FreeRow, layout: Layout) -> FreeRow:
    for name, (read, why) in _LEFT_TO_NOTES.items():
        if name not in row.beside:
            continue
        ours = SheetRow(
            layout, row.number, [row.beside.get(each.key, "") for each in STOCK.columns], Errors()
        )
        read(ours, name)
        if not ours.sound:
            said = f"{layout.written[name]} {row.beside[name]}"
            beside = {each: text for each, text in row.beside.items() if each != name}
            beside["note"] = "; ".join(filter(None, (beside.get("note", ""), said)))
            row = replace(row, beside=beside, doubts=(*row.doubts, f"{said}: {why}, so it is kept as a note"))
    return row


# --- what columns mean, kept by the shape of the list


def _shape(table: FreeTable) -> str:
    return sha256("\x1f".join(table.shape).encode()).hexdigest()


def _known_headings(mapping: Mapping[str, str]) -> dict[str, str]:
    """Every heading that is known: by our words, from lists that came before, and as a person says now."""
    kept = SheetShape.objects.values_list("meanings", flat=True)
    own = [mapping, *kept]
    return KNOWN_HEADINGS | {
        plain_heading(heading): meaning for each in own for heading, meaning in each.items() if meaning
    }


def _kept_of(tables: Sequence[FreeTable]) -> dict[str, dict[str, str]]:
    shapes = {_shape(table) for table in tables}
    return dict(SheetShape.objects.filter(shape__in=shapes).values_list("shape", "meanings"))


def _keep(readings: Sequence[FreeReading]) -> None:
    for reading in readings:
        meanings = {column.heading: column.meaning for column in reading.table.columns}
        SheetShape.objects.update_or_create(shape=_shape(reading.table), defaults={"meanings": meanings})


# --- in


@dataclass(frozen=True)
class ImportTarget:
    """What a list is imported as: into `place` where a row names none, or as the positions of a design."""

    kind: str = "stock"
    place: str = ""
    design: str = ""
    revision: str = ""


@contextmanager
def prepared_list(
    parts: FreeList, target: ImportTarget, *, by: Actor, progress: Progress = quietly
) -> Iterator[Callable[[], Report]]:
    """What imports the list whole, or raises BadRows with everything that keeps it out; see `prepared`."""
    sheet = as_sheet(parts, target)
    with nullcontext() if sheet.errors.total else prepared(sheet, by=by, progress=progress) as import_now:

        @transaction.atomic
        def import_and_keep() -> Report:
            sheet.errors.raise_any()
            assert import_now is not None
            report = import_now()
            _keep(parts.readings)
            return report

        yield import_and_keep


def import_list(parts: FreeList, target: ImportTarget, *, by: Actor) -> Report:
    """Import the list whole, or raise BadRows with everything that keeps it out."""
    with prepared_list(parts, target, by=by) as import_now:
        return import_now()


def as_sheet(parts: FreeList, target: ImportTarget) -> ReadSheet:
    """The list as rows of our own sheet, with its problems as bad cells."""
    errors, rows = Errors(), []
    table = TABLES[target.kind]
    for number, reading in enumerate(parts.readings):
        layout = _layout(table, reading, number)
        for row in reading.rows:
            if row.skipped:
                continue
            problems = [*row.problems, *_lacking(row, target)]
            for at, problem in enumerate(problems):
                errors.add(
                    (number, row.number, at),
                    BadCell(
                        reading.table.sheet, row.number, problem.heading,
                        row.cells[problem.heading] if problem.heading else row.typed, problem.detail,
                    ),
                )  # fmt: skip
            if not problems:
                filled = _cells(row, target)
                texts = [filled.get(column.key, "") for column in table.columns]
                rows.append(SheetRow(layout, row.number, texts, errors))
    if not rows and not errors.total:
        errors.add((0, 1, 0), BadCell(parts.name, 1, "", "", "nothing in it looks like a list of parts"))
    found = FoundRows({each.sheet: [] for each in (table, *_others(target.kind))}, count=len(rows))
    found.rows[table.sheet] = rows
    found.notes += parts.notes
    found.unknown_columns += [
        column.heading for reading in parts.readings for column in reading.table.columns if not column.meaning
    ]
    return ReadSheet(target.kind, found, errors)


def _others(kind: str) -> Sequence[Table]:
    from inventory.sheets.importing import IMPORTS

    return IMPORTS[kind].tables[1:]


def _lacking(row: FreeRow, target: ImportTarget) -> list[Problem]:
    if target.kind == "stock":
        return [] if row.place or target.place else [Problem("expected the drawer or tray that it is in")]
    return [] if row.refs else [Problem("expected the references of the positions, such as R1-R4, R7")]


def _cells(row: FreeRow, target: ImportTarget) -> dict[str, str]:
    assert row.spec is not None  # a row without is a problem
    filled = dict(zip(_KEYS, spec_cells(row.spec), strict=True))
    notes = [row.beside.get("note", "")]
    if target.kind == "design":
        filled |= {"design": target.design, "revision": target.revision, "ref": ", ".join(row.refs)}
    else:
        filled |= {name: row.beside[name] for name in BESIDE if name in row.beside}
        filled |= {"quantity": str(row.quantity), "place": row.place or target.place}
        if row.refs:
            notes.append(f"references {', '.join(row.refs)}")
    if row.unknown_words:
        notes.append(f"not understood: {' '.join(row.unknown_words)}")
    return filled | {"note": "; ".join(filter(None, notes))}


def _layout(table: Table, reading: FreeReading, number: int) -> Layout:
    """Where the person finds a bad cell: under the heading in their own list."""
    headings = {column.meaning: column.heading for column in reading.table.columns if column.meaning}
    main = next((headings[name] for name in ("value", "text", "number") if name in headings), "")
    ours = ("lot", "written", "promised", "name", "measured", "measured_tolerance")
    keys = [key for key in table.index if key not in ours]
    named = {"ref": "refs", "kind": "kind"}
    written = {key: headings.get(named.get(key, key)) or main or table[key].heading for key in keys}
    return Layout(
        table, reading.table.sheet, number, {key: at for at, key in enumerate(keys)}, written, set()
    )


# --- the preview


def _table_as_dict(reading: FreeReading) -> dict[str, Any]:
    table = reading.table
    return {
        "sheet": table.sheet,
        "first_row": table.first_row,
        "first_column": table.first_column,
        "mapping": {column.heading: column.meaning for column in table.columns},
        "why": {column.heading: column.why for column in table.columns},
        "conventions": dict(reading.conventions),
        "questions": [
            {
                "column": question.column,
                "asks": question.asks,
                "example": question.example,
                "choices": [{question.asks: answer, "means": means} for answer, means in question.choices],
            }
            for question in reading.questions
        ],
        "rows": [_row_as_dict(row) for row in reading.rows if not row.skipped],
        "skipped": [
            {"row": row.number, "typed": row.typed, "reason": row.skipped}
            for row in reading.rows
            if row.skipped
        ],
    }


def _row_as_dict(row: FreeRow) -> dict[str, Any]:
    return {
        "row": row.number,
        "typed": row.typed,
        "cells": dict(row.cells),
        "spec": stated_in(row.spec) if row.spec else None,
        "spec_text": row.spec.text if row.spec else "",
        "quantity": row.quantity,
        "refs": list(row.refs),
        "place": row.place,
        "doubt": list(row.doubts),
        "problem": list(row.problems),
        "choices": [
            {"spec": stated_in(choice.spec), "spec_text": choice.spec.text, "why": choice.why}
            for choice in row.choices
        ],
    }
