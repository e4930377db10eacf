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
from inventory.pages.once import once
from inventory.refusals import Code

MARKING, NOTE = 200, 4000


@page("POST")
@once
def correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Only what differs is changed; Undo puts back what stood there."""
    lot = get_object_or_404(Lot.objects.select_related("part__spec"), pk=pk)
    try:
        with transaction.atomic():
            before = _changed(request, lot)
    except Refused as refused:
        return lot_shown(request, pk, wrong=refused.detail, correcting=True)
    lot = Lot.objects.select_related("part__spec").get(pk=pk)
    notify(request, f"Lot {pk}: {lot.part.spec.text}, {lot.condition}.", put_back=(request.path, before))
    return redirect("lot", pk)


def _changed(request: HttpRequest, lot: Lot) -> dict[str, str]:
    """Write what differs; the form that would put it back."""
    seen = number(request, "version")
    if seen and seen != lot.version:
        now = f"{lot.part.spec.text}, {lot.condition}" + (f", marked {lot.marking}" if lot.marking else "")
        detail = f"Lot {lot.pk} was changed since you opened it: {now}. Save again if yours is right."
        raise Refused(Code.STALE, detail, version=lot.version)
    before = {
        "part": str(lot.part_id), "marking": lot.marking, "condition": lot.condition, "note": lot.note,
    }  # fmt: skip
    columns: dict[str, object] = {}
    part = _part(request, lot)
    if part != lot.part:
        columns["part"] = part
        if part.spec.kind != lot.part.spec.kind and lot.measured is not None:
            columns |= {"measured": None, "measured_tolerance": None}
    condition = request.POST.get("condition", lot.condition)
    if condition not in Lot.Condition.values:
        raise Refused(Code.UNREADABLE, f"Say what it is: {', '.join(Lot.Condition.values)}.")
    if condition != lot.condition:
        columns["condition"] = condition
    for name, longest in (("marking", MARKING), ("note", NOTE)):
        if name in request.POST and words(request, name, longest) != getattr(lot, name):
            columns[name] = words(request, name, longest)
    if columns:
        refuse_change(lot, **columns)
        claim(lot, **columns)
    return before


def _part(request: HttpRequest, lot: Lot) -> Part:
    """The part that was typed, or the one that stood there; Refused where a word is not understood."""
    if number(request, "part"):
        return get_object_or_404(Part, pk=number(request, "part"))
    typed = words(request, "line", 400)
    if not typed or typed == lot.part.spec.text:
        return lot.part
    return Part.of(typed_part(request, "line"))
