"""The file of a design comes in: looked at beside what is there, taken as one chooses, and undone whole."""

from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory.ledger import Refused
from inventory.models import Design
from inventory.pages import aside
from inventory.pages.frame import notify, number, page, who, words
from inventory.pages.once import once
from inventory.refusals import Code
from repairs import design_files
from repairs.api.design_files import DesignBrought, opened_of
from repairs.friends.files import BadFile
from repairs.friends.keys import friend_behind
from repairs.sharing_models import DesignTaken, Friend

KIND = "design-file"
MAX_CHOICES = 6000
MAX_CREDITS = 50
_STATES = {
    design_files.DIFFERS: "Both have it, and they differ",
    design_files.NEW: "Only the file has it",
    design_files.ONLY_MINE: "Only you have it: it stays",
    design_files.SAME: "The same in both",
}


@page("GET", "HEAD", "POST")
@once
def bring(request: HttpRequest) -> HttpResponse:
    """A file is uploaded and shown beside what is there; a second press brings it in."""
    asked: dict[str, Any] = {
        "take": words(request, "take", 8) or design_files.BOTH, "friends": Friend.objects.order_by("name"),
    }  # fmt: skip
    status = 200
    if request.method == "POST":
        try:
            if "keep" in request.POST:
                return _import(request)
            asked |= _seen(request)
        except Refused as refused:
            asked["wrong"] = refused.detail
            status = refused.status if isinstance(refused, BadFile) else 400
    return render(request, "bench/design-bring.html", asked, status=status)


def _seen(request: HttpRequest) -> dict[str, Any]:
    file = request.FILES.get("file")
    kept = aside.find(who(request), words(request, "kept", 32))
    if file is None and kept is None:
        raise Refused(Code.REQUIRED, "Choose the file that you were given: its name ends in .zip.")
    if file is not None:
        opened = opened_of(file)
        file.seek(0)
        kept = aside.put_aside(who(request), file, KIND)
    else:
        assert kept is not None  # one of the two, above
        opened = _opened(kept)
    design = design_files.named_as(opened.document)
    take = _take(request)
    merged = design_files.preview(opened, design, take)
    friend = friend_behind(_friend(request), opened.signature)
    answer = DesignBrought.of(opened, merged, design, None, friend)
    groups = [
        (words_of, [line for line in answer.lines if line.state == state])
        for state, words_of in _STATES.items()
    ]
    return {
        "kept": kept,
        "take": take,
        "answer": answer,
        "design": design,
        "friend": friend,
        "credits": opened.document.credits,
        "groups": [each for each in groups if each[1]],
    }


def _import(request: HttpRequest) -> HttpResponse:
    kept = aside.find(who(request), words(request, "kept", 32))
    if kept is None or kept.kind != KIND:
        raise Refused(Code.GONE, "The file is no longer kept: choose it again.")
    opened = _opened(kept)
    choices = {
        name.removeprefix("line "): value
        for name, value in list(request.POST.items())[:MAX_CHOICES]
        if name.startswith("line ") and value in design_files.TAKES
    }
    design = design_files.named_as(opened.document)
    taken, merged = design_files.import_design(
        opened, design, _take(request), choices, by=who(request), friend=_friend(request)
    )
    aside.discard(kept)
    brought = sum(line.takes in (design_files.THEIRS, design_files.BOTH) for line in merged.lines)
    undo_at = reverse("undo-design", args=[taken.pk])
    things = "1 thing" if brought == 1 else f"{brought} things"
    notify(request, f"{taken.title}: {things} taken from the file.", put_back=(undo_at, {}))
    return redirect("positions", taken.design_id)


def _friend(request: HttpRequest) -> Friend | None:
    return Friend.objects.filter(pk=number(request, "friend")).first()


def _take(request: HttpRequest) -> str:
    asked = words(request, "take", 8) or design_files.BOTH
    if asked not in design_files.TAKES:
        raise Refused(Code.INVALID_CHOICE, f"Say theirs, mine or both, not {asked}.")
    return asked


def _opened(kept: aside.Kept) -> design_files.Opened:
    return opened_of(SimpleUploadedFile(kept.name, kept.path.read_bytes()))


@page("POST")
@once
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """The design as it was before the file."""
    taken = get_object_or_404(DesignTaken, pk=pk)
    design = None if taken.new else taken.design_id
    design_files.undo(taken)
    notify(request, f"{taken.title} is as it was before the file.")
    return redirect("designs") if design is None else redirect("positions", design)


@page("POST")
@once
def credits(request: HttpRequest, pk: int) -> HttpResponse:
    """Who made which section: a row of `of`, `author`, `licence` and `source` each; an empty row goes."""
    design = get_object_or_404(Design, pk=pk)
    columns = [request.POST.getlist(name)[:MAX_CREDITS] for name in ("of", "author", "licence", "source")]
    rows = [[text.replace("\0", "").strip() for text in row] for row in zip(*columns, strict=False)]
    kept = []
    for of, *named in rows:
        if not any(named):
            continue
        if of not in design_files.SECTIONS:
            raise Refused(Code.INVALID_CHOICE, f"Say of what: {', '.join(design_files.SECTIONS)}.")
        kept.append(
            design_files.Credit(of, *(text[:most] for text, most in zip(named, (120, 120, 400), strict=True)))
        )
    design_files.set_credits(design, kept)
    notify(request, f"{design}: who made it is kept.")
    return redirect("pins", pk)
