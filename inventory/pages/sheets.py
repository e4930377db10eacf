"""Spreadsheets: look at what one would do, then import it; and fetch them."""

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import partial
from typing import Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import Count
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from inventory.models import Board, Design, Movement, Place
from inventory.pages import aside
from inventory.pages.aside import Counter, Kept
from inventory.pages.frame import notify, page, who, words
from inventory.pages.once import DONE, first_time, is_done
from inventory.places import paths
from inventory.sheets import (
    EXPORTS,
    IMPORTS,
    LIMITS,
    BadRows,
    ReadSheet,
    Report,
    UnreadableFile,
    as_seen,
    import_read,
    prepared,
    read_sheet,
)

MAX_UNDONE = 300
"""Movements that one press takes back; more would keep everybody waiting."""
MAX_LINKS = 12

WORDS: Mapping[str, tuple[str, str]] = {
    "stock": ("what is in the drawers", "A row for each part in each drawer: new ones, counts, moves."),
    "design": ("the parts of a design", "A row for each reference; links, rails and banks."),
    "donor": ("what is still on a board", "A row for some references: there, lifted or gone."),
    "buy": ("what was ordered or has come", "The list of what to buy, its lines marked."),
}  # fmt: skip
"""Kind of sheet -> what it is a list of, and what a row of it says."""


@dataclass(frozen=True)
class SheetChoice:
    key: str
    words: str
    about: str


ANY = "any"
"""A list in any form: read, shown and put right on a page of its own."""


def kinds() -> list[SheetChoice]:
    """What a file may be a list of, in our own sheets."""
    return [SheetChoice(key, *WORDS.get(key, (key, ""))) for key in IMPORTS]


@page("GET", "HEAD", "POST")
def sheets(request: HttpRequest) -> HttpResponse:
    """A POST shows what a sheet would do: an uploaded one, or one that was kept aside."""
    if request.method != "POST":
        return _page(request)
    kind = request.POST.get("as", "")
    file = request.FILES.get("file")
    kept = aside.find(who(request), words(request, "kept", 64))
    if "kept" in request.POST and kept is None:
        return _page(request, wrong=GONE, kind=kind, status=410)
    if kind not in (*IMPORTS, ANY):
        return _page(request, wrong="Say what it is a list of, and choose the file again.", status=400)
    if kept is not None:
        return _look(request, aside.as_another(kept, kind))
    if not isinstance(file, UploadedFile):
        return _page(
            request, wrong="Choose the file first: .xlsx, .csv, .xls or .ods.", kind=kind, status=400
        )
    if (file.size or 0) > LIMITS.bytes:
        most = f"{LIMITS.bytes // 2**20} MB"
        return _page(request, wrong=f"{file.name} is larger than {most}: split it.", kind=kind, status=413)
    return _look(request, aside.put_aside(who(request), file, kind))


GONE = "That file is not kept any more: a day is over, or newer ones took its place. Choose it again."


def _look(request: HttpRequest, kept: Kept) -> HttpResponse:
    """Try the sheet and take it back; nothing of it is in the ledger afterwards."""
    request.session.pop("imported", None)
    if kept.kind == ANY:
        return redirect(f"{reverse('any-list')}?kept={kept.word}")
    return while_counted(request, kept, partial(_tried, request, kept))


def _tried(request: HttpRequest, kept: Kept, counter: Counter) -> HttpResponse:
    try:
        sheet = _read(kept, counter)
    except UnreadableFile as unreadable:
        aside.discard(kept)
        wrong = f"{kept.name} cannot be read: {unreadable}. None of it was kept."
        return _page(request, wrong=wrong, kind=kept.kind, status=unreadable.status)
    try:
        report = import_read(sheet, by=who(request), dry_run=True, progress=counter)
    except BadRows:
        return _bad(request, kept, sheet)
    return _page(request, **_seen(kept, sheet), report=report)


@page("POST")
def import_sheet(request: HttpRequest) -> HttpResponse:
    """Land a file that was looked at, once however often the button is pressed."""
    word = words(request, "kept", 64)
    kept = aside.find(who(request), word)
    if kept is None:
        return _not_there(request, word)
    return while_counted(request, kept, partial(_import_now, request, kept))


def _import_now(request: HttpRequest, kept: Kept, counter: Counter) -> HttpResponse:
    try:
        sheet = _read(kept, counter)
    except (UnreadableFile, FileNotFoundError):
        return _not_there(request, kept.word)
    try:
        importing = prepared(sheet, by=who(request), progress=counter)
        return import_once(request, kept, kept.kind, sheet, importing)
    except BadRows:  # what was sound when it was looked at is not any more
        return _bad(request, kept, sheet)


def import_once(
    request: HttpRequest,
    kept: Kept,
    kind: str,
    sheet: ReadSheet,
    importing: AbstractContextManager[Callable[[], Report]],
) -> HttpResponse:
    """Import a file that was looked at, and lead to what came of it.  BadRows names every bad cell."""
    with importing as import_now, transaction.atomic():
        if not first_time(who(request), kept.word):
            return _not_there(request, kept.word)
        before = Movement.objects.order_by("-id").values_list("id", flat=True).first() or 0
        report = import_now()
        mine = Movement.objects.filter(pk__gt=before, by=who(request)).values_list("id", flat=True)
        _keep_summary(request, kept.name, kind, sheet, report, list(mine))
    aside.discard(kept)
    return redirect("sheets")


def gone(request: HttpRequest, word: str, wrong: str = GONE) -> HttpResponse:
    """The page of sheets where a file is not kept any more, or cannot be read; or was imported before."""
    return _not_there(request, word) if wrong == GONE else _page(request, wrong=wrong, status=422)


def _not_there(request: HttpRequest, word: str) -> HttpResponse:
    if is_done(who(request), word):
        messages.success(request, DONE)
        return redirect("sheets")
    return _page(request, wrong=GONE, status=410)


def while_counted(request: HttpRequest, kept: Kept, work: Callable[[Counter], HttpResponse]) -> HttpResponse:
    """What the work answers, counted meanwhile for the page that waits for it, which may stop it."""
    counter = Counter(who(request), words(request, "watch", 64))
    try:
        return work(counter)
    except aside.Stopped:
        notify(request, f"Stopped: nothing of {kept.name} was imported. It is kept here for a day.")
        return redirect("sheets")
    finally:
        counter.end()


def _read(kept: Kept, counter: Counter) -> ReadSheet:
    counter("reading", 0)
    with kept.path.open("rb") as stream:
        sheet = read_sheet(stream, name=kept.name, kind=kept.kind, progress=counter)
    counter.total = sheet.found.count
    return sheet


def _bad(request: HttpRequest, kept: Kept, sheet: ReadSheet) -> HttpResponse:
    others = [each for each in kinds() if each.key != kept.kind]
    return _page(request, **_seen(kept, sheet), others=others, status=422)


def _seen(kept: Kept, sheet: ReadSheet) -> dict[str, Any]:
    return {"kept": kept, "seen": as_seen(sheet), "rows": sheet.found.count, "kind": kept.kind}


@page("POST")
def throw_away(request: HttpRequest) -> HttpResponse:
    """A file that was looked at is not wanted after all."""
    kept = aside.find(who(request), words(request, "kept", 64))
    if kept is not None:
        aside.discard(kept)
        notify(request, f"{kept.name} was discarded; none of it had been imported.")
    return redirect("sheets")


@page("POST")
def progress(request: HttpRequest) -> HttpResponse:
    """How far the work is that goes by this word, for the page that waits for it."""
    now = aside.progress(who(request), words(request, "watch", 64))
    return JsonResponse({"stage": now.stage, "done": now.done, "total": now.total} if now else {})


@page("POST")
def stop(request: HttpRequest) -> HttpResponse:
    """Stop the work that goes by this word; the page that waits for it is told what came of it."""
    aside.ask_to_stop(who(request), words(request, "watch", 64))
    return JsonResponse({})


# --- what came of it


def _keep_summary(
    request: HttpRequest, name: str, kind: str, sheet: ReadSheet, report: Report, lines: list[int]
) -> None:
    """Keep for the next page what an import did, with its movements to undo."""
    counts = f"{report.created} new, {report.updated} changed, {report.unchanged} as they were"
    undone = Movement.objects.filter(pk__in=lines) if len(lines) <= MAX_UNDONE else ()
    notify(request, f"{name} is imported: {counts}.", list(undone))
    request.session["imported"] = {
        "name": name,
        "words": WORDS.get(kind, (kind, ""))[0],
        "notes": report.notes,
        "links": _links(sheet, lines),
        "lines": len(lines),
        "line": lines[0] if lines else 0,
        "undone": bool(undone),
    }


def _links(sheet: ReadSheet, lines: list[int]) -> list[tuple[str, str]]:
    """Where to look at what was imported: the drawers, the boards, the drawings."""
    found: list[tuple[str, str]] = []
    path_of = paths()
    if lines:
        arrived = Movement.objects.filter(pk__gte=lines[0], pk__lte=lines[-1])
        places = Place.objects.filter(arrivals__in=arrived).exclude(type__in=["outside", "scrap"])
        for place in (
            places.annotate(moved=Count("arrivals")).select_related("board").order_by("-moved", "id")
        ):
            board = getattr(place, "board", None)
            address = reverse("board", args=[board.pk]) if board else f"{reverse('drawers')}?place={place.pk}"
            found.append((path_of[place.pk], address))
    named = {(row["design"], row["revision"]) for row in _rows(sheet, "design")}
    for design in Design.objects.filter(name__in={name for name, _revision in named}).order_by("name", "id"):
        if sheet.kind == "design" and (design.name, design.revision) in named:
            found.append((str(design), reverse("pins", args=[design.pk])))
    if sheet.kind == "buy":
        found.append(("What is on order", f"{reverse('buy')}#on-order"))
    boards = {row["board"] for row in _rows(sheet, "board")}
    for board in Board.objects.filter(name__in=boards).order_by("name"):
        found.append((board.name, reverse("board", args=[board.pk])))
    return list(dict.fromkeys(found))[:MAX_LINKS]


def _rows(sheet: ReadSheet, key: str) -> list[Any]:
    return [row for rows in sheet.found.rows.values() for row in rows if key in row.layout.table.index]


def _last_import(request: HttpRequest) -> dict[str, Any] | None:
    """What was imported last, unless it was taken back since."""
    imported: dict[str, Any] | None = request.session.get("imported")
    if imported and imported["line"] and Movement.objects.filter(reverses=imported["line"]).exists():
        del request.session["imported"]
        return None
    return imported


# --- the page


def _page(
    request: HttpRequest, *, wrong: str = "", kind: str = "", status: int = 200, **more: Any
) -> HttpResponse:
    every = {
        "kinds": kinds(),
        "kind": kind,
        "wrong": wrong,
        "aside": [] if more else aside.of(who(request)),
        "imported": None if more or wrong else _last_import(request),
        "exports": [_offered(name) for name in EXPORTS],
        "most": LIMITS.bytes,
    }
    return render(request, "bench/sheets.html", {**every, **more}, status=status)


def _offered(name: str) -> dict[str, Any]:
    export = EXPORTS[name]
    about = export.about.replace("`", "")
    asked = [
        (key, option.about, list(option.offers())) for key, option in export.options.items() if option.needed
    ]
    nothing = any(not offers for _key, _about, offers in asked)
    return {
        "name": name,
        "title": export.title or name,
        "about": about,
        "asked": asked,
        "nothing": nothing,
    }
