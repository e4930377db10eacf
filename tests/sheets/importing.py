"""Imports as the tests ask for them."""

from collections.abc import Mapping
from io import BytesIO
from typing import Any

import pytest

from inventory import sheets
from inventory.ledger import Spot
from inventory.models import Holding, Lot
from inventory.own_models import own_models
from inventory.places import paths
from inventory.sheets import BadCell, BadRows, Report
from inventory.sheets.opening import open_book
from repairs.audit import audit
from tests.sheets.books import text_table, workbook

Line = Mapping[str, Any]

RESISTOR = {
    "Kind": "resistor",
    "Value": "4k7",
    "Tolerance": "5%",
    "Quantity": "10",
    "Place": "Cabinet A / Drawer 7",
}


def stock_csv(*lines: Line) -> BytesIO:
    """A stock sheet as csv; the columns are those that any of the lines has."""
    headings = list(dict.fromkeys(heading for line in lines for heading in line))
    rows = [headings, *([line.get(heading, "") for heading in headings] for line in lines)]
    quoted = (",".join('"' + str(cell).replace('"', '""') + '"' for cell in row) for row in rows)
    return text_table("\n".join(quoted) + "\n")


def take_in(file: BytesIO, kind: str = "stock", **how: Any) -> Report:
    """Import, and hold the ledger to its word."""
    file.seek(0)
    report = sheets.import_sheet(file, name="test.csv", kind=kind, by=None, **how)
    assert audit() == []
    assert report.created + report.updated + report.unchanged == report.rows
    return report


def refused(file: BytesIO, kind: str = "stock", **how: Any) -> list[BadCell]:
    """The bad cells that an import is refused for; nothing of it is kept."""
    before = everything()
    file.seek(0)
    with pytest.raises(BadRows) as bad:
        sheets.import_sheet(file, name="test.csv", kind=kind, by=None, **how)
    assert everything() == before
    return bad.value.errors


def everything() -> list[list[Any]]:
    """Every row of ours in the database."""
    return [list(model._default_manager.order_by("pk").values_list()) for model in own_models()]


def counts(report: Report) -> tuple[int, int, int]:
    return report.created, report.updated, report.unchanged


def exported(form: str = "xlsx", name: str = "stock", **options: str) -> BytesIO:
    return BytesIO(b"".join(sheets.export(name, form, {key: [value] for key, value in options.items()})))


def lines_of(file: BytesIO) -> list[dict[str, str]]:
    """The first sheet of a file as heading -> text."""
    file.seek(0)
    (_first, headings), *rows = open_book(file, "x").sheets[0].rows
    return [dict(zip(headings, [*cells, *[""] * 99], strict=False)) for _number, cells in rows]


def held(lot: Lot) -> dict[str, int]:
    """Path of a place -> pieces of the lot there now."""
    path_of = paths()
    return {
        f"{path_of[holding.place_id]} {holding.ref}".rstrip(): holding.quantity
        for holding in Holding.objects.filter(lot=lot, quantity__gt=0)
    }


def spot(path: str) -> Spot:
    return Spot(next(pk for pk, each in paths().items() if each == path))


def book_of(*lines: Line, sheet: str = "Sheet", **more: Any) -> BytesIO:
    headings = list(dict.fromkeys(heading for line in lines for heading in line))
    return workbook(
        [headings, *([line.get(heading) for heading in headings] for line in lines)], sheet=sheet, **more
    )
