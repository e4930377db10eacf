"""Spreadsheets: look at what one would do, then let it land; and fetch them."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.models import Design
from inventory.pages.frame import page, say, who
from inventory.sheets import IMPORTS, BadRows, UnreadableFile, import_sheet


@page("GET", "HEAD", "POST")
def sheets(request: HttpRequest) -> HttpResponse:
    """The first POST previews and keeps the file aside; the second, with `kept`, lands it."""
    told: dict[str, object] = {"kinds": IMPORTS, "designs": Design.objects.order_by("name", "revision")}
    if request.method != "POST":
        return render(request, "bench/sheets.html", told)
    kind = request.POST.get("as", "")
    file = request.FILES.get("file")
    kept: dict[str, str] = request.session.get("kept_sheet") or {}
    landing = "kept" in request.POST
    file = file if isinstance(file, UploadedFile) else None
    if kind not in IMPORTS or not (kept if landing else file):
        messages.error(request, "Choose a file, and what it is a list of.", extra_tags="refused")
        return redirect("sheets")
    if not landing and file is not None:
        kept = _put_aside(request, file)
    path = _aside() / kept["as"]
    if not path.exists():
        messages.error(request, "That file is not here any more: choose it again.", extra_tags="refused")
        return redirect("sheets")
    try:
        with path.open("rb") as stream:
            report = import_sheet(stream, name=kept["name"], kind=kind, by=who(request), dry_run=not landing)
    except BadRows as bad:
        return render(request, "bench/sheets.html", {**told, "bad": bad, "kind": kind}, status=422)
    except UnreadableFile as unreadable:
        return render(
            request, "bench/sheets.html", {**told, "unreadable": unreadable, "kind": kind}, status=422
        )
    if not landing:
        return render(
            request, "bench/sheets.html", {**told, "report": report, "kind": kind, "name": kept["name"]}
        )
    path.unlink(missing_ok=True)
    say(
        request,
        f"{kept['name']} has landed: {report.created} new, {report.updated} changed, "
        f"{report.unchanged} as they were.",
    )
    return redirect("sheets")


def _aside() -> Path:
    folder = Path(settings.HOME) / "aside"
    folder.mkdir(exist_ok=True)
    return folder


def _put_aside(request: HttpRequest, file: UploadedFile[Any]) -> dict[str, str]:
    """Keep the uploaded file until it lands; a later one of the same person takes its place."""
    before = request.session.get("kept_sheet")
    if before:
        (_aside() / before["as"]).unlink(missing_ok=True)
    kept = {"as": uuid4().hex, "name": Path(file.name or "sheet").name}
    with (_aside() / kept["as"]).open("wb") as out:
        for chunk in file.chunks():
            out.write(chunk)
    request.session["kept_sheet"] = kept
    return kept
