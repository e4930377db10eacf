"""A row that a command is told by its name or its number."""

from typing import TypeVar

from django.core.management.base import CommandError
from django.db.models import Model, QuerySet

Row = TypeVar("Row", bound=Model)


def row_named(rows: QuerySet[Row], named: str, what: str) -> Row:
    """The row of that name, or else of that number; CommandError tells which there are."""
    found = rows.filter(name=named).first()
    if found is None and named.isascii() and named.isdigit() and len(named) <= 18:
        found = rows.filter(pk=int(named)).first()
    if found is None:
        known = ", ".join(rows.order_by("name").values_list("name", flat=True)[:20])
        raise CommandError(f"no {what} is named {named}; {what}s: {known or 'none'}")
    return found
