"""Edits carry a version: it is the ETag, and whoever writes claims the next one (RFC 9110, 13.1.1).

What is read carries a digest beside it, since what hangs on a row, such as where a lot is, is told with it
and has no part in its version: `If-None-Match` asks for both, `If-Match` looks at the version alone.  Lists
and what has no version carry a weak digest.

`If-Match` is honoured on PATCH, PUT and DELETE and not demanded.  A write is one conditional UPDATE of the
fields that were sent, so two holders of one ETag cannot both win and nobody's other fields are wiped.
"""

from collections import deque
from hashlib import sha256
from typing import Any

from django.db.models import F, Model
from django.http import HttpResponse, HttpResponseNotModified, StreamingHttpResponse
from django.utils.http import parse_etags
from rest_framework.request import Request

from inventory.api.problems import Refusal
from inventory.refusals import Code


class Stale(Refusal):
    """It was changed since it was read: 412, with the version that it has now."""

    status_code = 412
    code = Code.STALE


def etag(row: Any) -> str:
    return f'"{row.version}"'


def check_if_match(request: Request, row: Any) -> None:
    """Stale where the request names versions and this row has none of them."""
    wanted = request.headers.get("If-Match")
    if wanted is None or wanted.strip() == "*":
        return
    # A bare number is taken as well; a weak tag never matches (RFC 9110, 8.8.3.2).
    if str(row.version) not in {tag.strip().strip('"').partition("-")[0] for tag in wanted.split(",")}:
        raise _stale(row, row.version)


def unless_it_is_known(
    request: Request, response: HttpResponse | StreamingHttpResponse
) -> HttpResponse | None:
    """Tag what was read, once it is rendered; the 304 that replaces it where the request knows it already."""
    digest = _digest(response)
    version = response.headers.get("ETag", "").strip('"')
    response.headers["ETag"] = f'"{version}-{digest}"' if version else f'W/"{digest}"'
    known = {tag.removeprefix("W/") for tag in parse_etags(request.headers.get("If-None-Match", ""))}
    if known.isdisjoint({"*", response.headers["ETag"].removeprefix("W/")}):
        return None
    same = HttpResponseNotModified()
    for name in ("ETag", "Cache-Control", "Vary"):
        if name in response.headers:
            same.headers[name] = response.headers[name]
    return same


def _digest(response: HttpResponse | StreamingHttpResponse) -> str:
    """Of what is answered.  What comes in pieces is kept as pieces, and let go as they are sent."""
    if not isinstance(response, StreamingHttpResponse):
        return sha256(response.content).hexdigest()[:16]
    pieces = deque(response)
    response.streaming_content = (pieces.popleft() for _ in range(len(pieces)))
    response.headers["Content-Length"] = str(sum(map(len, pieces)))
    found = sha256()
    for piece in pieces:
        found.update(piece)
    return found.hexdigest()[:16]


def claim(row: Any, **columns: Any) -> None:
    """Write these columns and the next version, if the row still has the version it was read with."""
    rows = type(row)._default_manager.filter(pk=row.pk)
    if not rows.filter(version=row.version).update(version=F("version") + 1, **columns):
        raise _stale(row, rows.values_list("version", flat=True).first())
    row.version += 1


def _stale(row: Model, version: int | None) -> Stale:
    now = f"it has version {version} now: read it again" if version is not None else "it is gone"
    return Stale(f"{row._meta.verbose_name} {row.pk} was changed meanwhile; {now}", version=version)
