"""What is written of a lot, put right where it is seen: what it is, its marking, condition and note."""

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from inventory.api.versions import claim
from inventory.ledger import Refused
from inventory.lots import refuse_change
from inventory.models import Lot, Part
from inventory.pages.drawers import lot_shown
from inventory.pages.frame import notify, number, page, typed_part, words
from inventory.pages.meanwhile import Meanwhile
from inventory.pages.once import once
from inventory.part_lines import with_unsaid
from inventory.refusals import Code

MARKING, NOTE = 200, 4000
FIELDS = ("line", "marking", "condition", "note")
"""In the order in which the form says under `seen` what stood in them as it was drawn."""


@page("POST")
@once
def correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Only what this person changed is written; Undo puts back what stood there."""
    lot = get_object_or_404(Lot.objects.select_related("part__spec"), pk=pk)
    try:
        with transaction.atomic():
            before = _changed(request, lot)
    except Refused as refused:
        request.POST = Meanwhile(request.POST, _as_shown(lot)).to_show_again()  # type: ignore[assignment]
        return lot_shown(request, pk, wrong=refused.detail, correcting=True)
    lot = Lot.objects.select_related("part__spec").get(pk=pk)
    put_back = (request.path, before) if before else None
    notify(request, f"Lot {pk}: {lot.part.spec.text}, {lot.condition}.", put_back=put_back)
    return redirect("lot", pk)


def _changed(request: HttpRequest, lot: Lot) -> dict[str, str]:
    """Write what this person changed; the form that would put it back."""
    form = Meanwhile(request.POST, _as_shown(lot))
    touched = form.touched
    _refuse_crossed(lot, form)
    columns: dict[str, object] = {}
    before: dict[str, str] = {}
    part = _part(request, lot) if "line" in touched or "part" in request.POST else lot.part
    if part != lot.part:
        columns["part"], before["part"] = part, str(lot.part_id)
        if part.spec.kind != lot.part.spec.kind and lot.measured is not None:
            columns |= {"measured": None, "measured_tolerance": None}
    if "condition" in touched and request.POST["condition"] not in Lot.Condition.values:
        raise Refused(Code.UNREADABLE, f"Say what it is: {', '.join(Lot.Condition.values)}.")
    for name, longest in (("condition", MARKING), ("marking", MARKING), ("note", NOTE)):
        now = getattr(lot, name)
        if name in touched and words(request, name, longest) != now:
            columns[name], before[name] = words(request, name, longest), now
    if columns:
        refuse_change(lot, **columns)
        claim(lot, **columns)
    return before


def _as_shown(lot: Lot) -> dict[str, str]:
    shown = (lot.part.spec.text, lot.marking, lot.condition, lot.note)
    return dict(zip(FIELDS, shown, strict=True))


def _refuse_crossed(lot: Lot, form: Meanwhile) -> None:
    """Refused (`stale`) where somebody wrote something else in a field that this person changed too."""
    now = form.now
    said = {
        "line": now["line"],
        "marking": f"marked {now['marking']}" if now["marking"] else "no marking",
        "condition": now["condition"],
        "note": f"note: {now['note'][:MARKING]}" if now["note"] else "no note",
    }
    if form.crossed:
        stands = ", ".join(said[name] for name in form.crossed)
        detail = f"Lot {lot.pk} was changed since you opened it: {stands}. Save again if yours is right."
        raise Refused(Code.STALE, detail, version=lot.version)


def _part(request: HttpRequest, lot: Lot) -> Part:
    """The part that was typed, or the one that stood there; Refused where a word is not understood."""
    if number(request, "part"):
        return get_object_or_404(Part, pk=number(request, "part"))
    typed = words(request, "line", 400)
    if not typed or typed == lot.part.spec.text:
        return lot.part
    return Part.of(with_unsaid(lot.part.spec.spec, typed_part(request, "line")))
