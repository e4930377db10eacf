"""A list as people have it: shown as it is read, put right by column, row or class, then imported."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.pages import aside
from inventory.pages.aside import Counter, Kept
from inventory.pages.frame import page, who, words
from inventory.pages.sheets import gone, import_once, while_counted
from inventory.places import paths
from inventory.sheets import BadCell, BadOption, BadRows, UnreadableFile
from inventory.sheets.free import (
    MEANINGS,
    TABLES,
    UNITS_OF_FIGURES,
    Correction,
    FreeList,
    ImportTarget,
    NothingToCorrect,
    as_sheet,
    prepared_list,
    read_corrections,
    read_list,
)
from inventory.sheets.free.reading import FreeReading, FreeRow, stated_in
from inventory.sheets.free.tables import FreeColumn
from inventory.whole_numbers import whole_number

FIRST = 25
"""Rows of a table that are shown in any case, and"""
MAX_ASKING = 75
"""so many more with something doubtful."""

LABELS = {
    "": "not read", "refs": "references", "quantity": "how many", "value": "value",
    "text": "the part, in words",
    "number": "type number", "kind": "kind of part", "package": "package", "place": "drawer or tray",
    "tolerance_percent": "tolerance", "volts": "volts", "watts": "watts", "amps": "amps",
    "dielectric": "dielectric", "lead_style": "leads", "pitch_mm": "pitch", "make": "make",
    "marking": "marking", "condition": "condition", "price": "price", "giver": "came from", "note": "note",
    "fitted": "whether it is fitted", "not_fitted": "whether it is not to be fitted",
    "number_in_list": "number of the line",
}  # fmt: skip


@dataclass(frozen=True)
class ShownRow:
    """A row with the name that its boxes go by; `main` is the text of the cell that says the part."""

    row: FreeRow
    name: str
    main: str


@dataclass(frozen=True)
class ShownTable:
    reading: FreeReading
    columns: Sequence[tuple[str, FreeColumn]]
    rows: Sequence[ShownRow]
    not_shown: int
    skipped: Sequence[FreeRow]


@page("GET", "HEAD", "POST")
def any_list(request: HttpRequest) -> HttpResponse:
    """A GET or a POST shows the list by what was said of it so far; with `land` a POST imports it."""
    kept = aside.find(who(request), request.GET.get("kept", "") or words(request, "kept", 64))
    if kept is None or kept.kind != "any":
        return gone(request, words(request, "kept", 64))
    try:
        return while_counted(request, kept, partial(_answered, request, kept))
    except UnreadableFile as refused:
        aside.discard(kept)
        return gone(request, "", f"{kept.name} cannot be read: {refused}. None of it was kept.")


def _answered(request: HttpRequest, kept: Kept, counter: Counter) -> HttpResponse:
    before = _kept_corrections(request)
    try:
        parts, mapping, corrections = _read(request, kept, before, counter)
    except NothingToCorrect as refused:
        others = [each for at, each in enumerate(before) if at not in refused.numbers]
        parts, mapping, corrections = _read(request, kept, others, counter)
        return _page(request, kept, parts, mapping, corrections, wrong=refused.detail)
    if request.method == "POST" and "import" in request.POST:
        try:
            return _import(request, kept, parts, counter)
        except BadRows as bad:
            return _page(request, kept, parts, mapping, corrections, bad=bad.errors, total=bad.total)
    return _page(request, kept, parts, mapping, corrections)


def _read(
    request: HttpRequest, kept: Kept, before: Sequence[dict[str, Any]], counter: Counter
) -> tuple[FreeList, dict[str, str], list[dict[str, Any]]]:
    """The list by what was said before and is said now; what cannot be read of it is passed over."""
    with kept.path.open("rb") as file:
        parts = read_list(file, kept.name, corrections=_corrections(before), progress=counter)
    mapping: dict[str, str] = {}
    corrections = list(before)
    for at, reading in enumerate(parts.readings):
        for column in reading.table.columns:
            meaning = request.POST.get(f"map-{at}-{column.at}", column.meaning)
            if meaning in LABELS and meaning != column.meaning:
                mapping[column.heading] = meaning
            name = f"{at}-{column.at}"
            if f"again-{name}" in request.POST:
                corrections = [each for each in corrections if not _is_of_figures(each, column.heading)]
            if (decimal := request.POST.get(f"decimal-{name}", "")) in (",", "."):
                corrections.append({"column": column.heading, "decimal": decimal})
            if (unit := request.POST.get(f"unit-{name}", "")) in UNITS_OF_FIGURES:
                corrections.append({"column": column.heading, "unit": unit})
        corrections += _row_corrections(request, at, reading)
    if mapping or corrections != list(before):
        with kept.path.open("rb") as file:
            parts = read_list(
                file, kept.name, mapping=mapping, corrections=_corrections(corrections), progress=counter
            )
    return parts, mapping, corrections


def _kept_corrections(request: HttpRequest) -> list[dict[str, Any]]:
    try:
        text = request.POST.get("corrections", "[]")[:500_000]
        read_corrections(text)
        return list(json.loads(text))
    except BadOption:
        return []


def _is_of_figures(correction: dict[str, Any], heading: str) -> bool:
    return correction.get("column") == heading and bool({"decimal", "unit"} & correction.keys())


def _corrections(sent: Sequence[dict[str, Any]]) -> list[Correction]:
    return read_corrections(json.dumps(sent))


def _row_corrections(request: HttpRequest, at: int, reading: FreeReading) -> Iterator[dict[str, Any]]:
    """What the boxes of the rows say; a box that is not on the page says nothing."""
    heading = _main_column(reading)
    for row in reading.rows:
        name = f"{at}-{row.number}"
        table = reading.table
        one = {"sheet": table.sheet, "row": row.number, "first_column": table.first_column}
        if f"skip-{name}" in request.POST:
            yield {**one, "skip": True}
        count = whole_number(request.POST.get(f"count-{name}", "").strip())
        if count is not None:
            yield {**one, "quantity": count}
        alike = f"alike-{name}" in request.POST and bool(heading)
        which = {"column": heading, "typed": row.cells[heading]} if alike else one
        text = request.POST.get(f"text-{name}", "").strip()[:200]
        if text and heading:
            yield {**which, "column": heading, "text": text}
        elif (chosen := _chosen(row, request.POST.get(f"choice-{name}", ""))) is not None:
            yield {**which, "spec": chosen}


def _chosen(row: FreeRow, text: str) -> dict[str, Any] | None:
    """The part that was picked of those that the row may mean, by its words; None where none was."""
    return next((stated_in(choice.spec) for choice in row.choices if choice.spec.text == text), None)


def _main_column(reading: FreeReading) -> str:
    """The heading of the column that says which part it is; blank where none does."""
    by_meaning = {column.meaning: column.heading for column in reading.table.columns}
    return next((by_meaning[name] for name in ("text", "value", "number") if name in by_meaning), "")


def _target(request: HttpRequest) -> ImportTarget:
    kind = request.POST.get("as", "stock")
    return ImportTarget(
        kind if kind in TABLES else "stock",
        place=words(request, "new_place", 400) or words(request, "place", 400),
        design=words(request, "design", 120),
        revision=words(request, "revision", 32),
    )


def _import(request: HttpRequest, kept: Kept, parts: FreeList, counter: Counter) -> HttpResponse:
    target = _target(request)
    sheet = as_sheet(parts, target)
    counter.total = sheet.found.count
    importing = prepared_list(parts, target, by=who(request), progress=counter)
    return import_once(request, kept, target.kind, sheet, importing)


def _page(
    request: HttpRequest,
    kept: Kept,
    parts: FreeList,
    mapping: dict[str, str],
    corrections: Sequence[dict[str, Any]],
    *,
    wrong: str = "",
    bad: Sequence[BadCell] = (),
    total: int = 0,
) -> HttpResponse:
    tables = [_shown(at, reading) for at, reading in enumerate(parts.readings)]
    has_refs = any(column.meaning == "refs" for reading in parts.readings for column in reading.table.columns)
    shown = {
        "kept": kept,
        "parts": parts,
        "tables": tables,
        "count": sum(not row.skipped for reading in parts.readings for row in reading.rows),
        "to_settle": sum(bool(row.problems) for reading in parts.readings for row in reading.rows),
        "doubtful": sum(bool(row.doubts) for reading in parts.readings for row in reading.rows),
        "labels": [(name, LABELS[name]) for name in ("", *MEANINGS)],
        "corrections": json.dumps(corrections),
        "mapping": mapping,
        "wrong": wrong,
        "bad": bad,
        "total": total,
        "places": sorted(paths().values()),
        "target": _target(request),
        "as_design": request.POST.get("as", "design" if has_refs else "stock") == "design",
        "has_refs": has_refs,
    }
    return render(request, "bench/any-list.html", shown, status=400 if wrong else 422 if bad else 200)


def _shown(at: int, reading: FreeReading) -> ShownTable:
    heading = _main_column(reading)
    rows = [row for row in reading.rows if not row.skipped]
    asking = [row for row in rows[FIRST:] if row.problems or row.doubts]
    asking.sort(key=lambda row: not row.problems)
    wanted = sorted([*rows[:FIRST], *asking[:MAX_ASKING]], key=lambda row: row.number)
    return ShownTable(
        reading,
        [(f"{at}-{column.at}", column) for column in reading.table.columns],
        [ShownRow(row, f"{at}-{row.number}", row.cells.get(heading, "")) for row in wanted],
        len(rows) - len(wanted),
        [row for row in reading.rows if row.skipped],
    )
