"""A drawing: the pictures of its sides, and its positions pinned on them, several at a time."""

from decimal import Decimal, InvalidOperation

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory.ledger import Refused
from inventory.models import Design
from inventory.pages.attachments import files_of
from inventory.pages.board_map import board_map
from inventory.pages.frame import page, words
from inventory.pages.once import first_press
from inventory.pictures import photos
from inventory.pins import SIDES, Pin, pin, unpin
from inventory.refs import UnreadableRefs, parse_refs, split_ref
from inventory.refusals import Code
from inventory.roles import BENCH, may_act_as
from repairs.design_files import SECTIONS, records_of
from repairs.sharing_models import DesignCredit

MAX_AT_ONCE = 500


@page("GET", "HEAD", "POST")
def pins(request: HttpRequest, pk: int) -> HttpResponse:
    """The pictures with every pin; a POST pins, takes pins off, or puts the last ones back."""
    design = get_object_or_404(Design, pk=pk)
    wrong, kept = "", []
    if request.method == "POST":
        try:
            return _changed(request, design)
        except (Refused, UnreadableRefs) as refused:
            wrong = refused.detail if isinstance(refused, Refused) else str(refused)
            kept = request.POST.getlist("pin")[:MAX_AT_ONCE]
    positions = sorted(design.positions.select_related("spec"), key=lambda each: split_ref(each.ref))
    unpinned = [each.ref for each in positions if each.x is None or each.y is None]
    undo = request.session.get("pins_before") or {}
    return render(
        request,
        "bench/design.html",
        {
            "design": design,
            "map": board_map(design, {each.ref: "pinned" for each in positions}),
            "positions": positions,
            "unpinned": unpinned,
            "wrong": wrong,
            "kept": kept,
            "refs": words(request, "refs", 2000),
            "undo": len(undo.get("pins", ())) if undo.get("design") == pk else 0,
            "boards": design.boards.order_by("name"),
            "photos": photos.of("design", pk),
            **files_of(design),
            "records": records_of(design),
            "credits": (credits := list(design.credits.order_by("id"))),
            "rows": [*credits, DesignCredit()],
            "sections": SECTIONS,
            "may_write": may_act_as(request.user, BENCH),
        },
        status=400 if wrong else 200,
    )


def _changed(request: HttpRequest, design: Design) -> HttpResponse:
    undo = request.session.get("pins_before") or {}
    with transaction.atomic():
        if not first_press(request):
            return redirect("pins", design.pk)
        if "undo" in request.POST:
            before = [Pin(*_read_back(each)) for each in undo.get("pins", ())]
            if undo.get("design") != design.pk or not before:
                raise Refused(Code.NOTHING_TO_UNDO, "There are no pins to put back.")
            pin(design, before)
            request.session["pins_before"] = None
            messages.success(request, f"{len(before)} put back as they were.")
            return redirect("pins", design.pk)
        if "unpin" in request.POST:
            before = unpin(design, parse_refs(words(request, "refs", 2000)))
            done = f"{len(before)} taken off the picture."
        else:
            before = pin(design, [_pin_sent(text) for text in request.POST.getlist("pin")[:MAX_AT_ONCE]])
            done = f"{len(before)} pinned."
            if not before:
                raise Refused(Code.REQUIRED, "Nothing was pinned: tap on the picture first.")
    if before:
        request.session["pins_before"] = {"design": design.pk, "pins": [_kept(each) for each in before]}
    messages.success(request, done)
    return redirect("pins", design.pk)


def _pin_sent(text: str) -> Pin:
    """`R47 0.123 0.456 top`, as the picture's script writes it."""
    pieces = text.strip().split(" ")
    if len(pieces) < 4 or pieces[-1] not in SIDES:
        raise Refused(Code.UNREADABLE, f"{text[:60]!r} is no pin.")
    ref = " ".join(pieces[:-3])
    try:
        x, y = (round(Decimal(each), 6) for each in pieces[-3:-1])
    except InvalidOperation:
        raise Refused(Code.UNREADABLE, f"{ref[:32]} is pinned nowhere.") from None
    if not (x.is_finite() and y.is_finite()):
        raise Refused(Code.UNREADABLE, f"{ref[:32]} is pinned nowhere.")
    return Pin(ref, x, y, pieces[-1])


def _kept(each: Pin) -> list[str | None]:
    """A pin as the session keeps it."""
    return [each.ref, *(None if along is None else str(along) for along in (each.x, each.y)), each.side]


def _read_back(kept: list[str | None]) -> tuple[str, Decimal | None, Decimal | None, str]:
    ref, x, y, side = kept
    return str(ref), None if x is None else Decimal(x), None if y is None else Decimal(y), str(side or "")
