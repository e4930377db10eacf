"""Edits carry a version: it is the ETag, and whoever writes claims the next one (RFC 9110, 13.1.1).

`If-Match` is honoured on PATCH, PUT and DELETE and not demanded.  A write is one conditional UPDATE of the
fields that were sent, so two holders of one ETag cannot both win and nobody's other fields are wiped.
"""

from typing import Any

from django.db.models import F, Model
from rest_framework.request import Request

from inventory.api.problems import Refusal


class Stale(Refusal):
    """It was changed since it was read: 412, with the version that it has now."""

    status_code = 412
    code = "stale"


def etag(row: Any) -> str:
    return f'"{row.version}"'


def check_if_match(request: Request, row: Any) -> None:
    """Stale where the request names versions and this row has none of them."""
    wanted = request.headers.get("If-Match")
    if wanted is None or wanted.strip() == "*":
        return
    # A bare number is taken as well; a weak tag never matches (RFC 9110, 8.8.3.2).
    if str(row.version) not in {tag.strip().strip('"') for tag in wanted.split(",")}:
        raise _stale(row, row.version)


def claim(row: Any, **columns: Any) -> None:
    """Write these columns and the next version, if the row still has the version it was read with."""
    rows = type(row)._default_manager.filter(pk=row.pk)
    if not rows.filter(version=row.version).update(version=F("version") + 1, **columns):
        raise _stale(row, rows.values_list("version", flat=True).first())
    row.version += 1


def _stale(row: Model, version: int | None) -> Stale:
    now = f"it has version {version} now: read it again" if version is not None else "it is gone"
    return Stale(f"{row._meta.verbose_name} {row.pk} was changed meanwhile; {now}", version=version)
