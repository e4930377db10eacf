"""What is written of a lot, put right where it is seen: what it is, its marking, condition and note."""

from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
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
        request.POST = _with_what_others_wrote(request, lot)  # type: ignore[assignment]
        return lot_shown(request, pk, wrong=refused.detail, correcting=True)
    lot = Lot.objects.select_related("part__spec").get(pk=pk)
    put_back = (request.path, before) if before else None
    notify(request, f"Lot {pk}: {lot.part.spec.text}, {lot.condition}.", put_back=put_back)
    return redirect("lot", pk)


def _changed(request: HttpRequest, lot: Lot) -> dict[str, str]:
    """Write what this person changed; the form that would put it back."""
    touched = _touched(request, lot)
    _refuse_crossed(request, lot, touched)
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


def _seen(request: HttpRequest, lot: Lot) -> dict[str, str]:
    """What stood in each field as this person saw it; what stands there now, where the form does not say."""
    seen = request.POST.getlist("seen")
    return dict(zip(FIELDS, seen, strict=True)) if len(seen) == len(FIELDS) else _as_shown(lot)


def _in_a_box(text: str) -> str:
    """As a box of one line sends it again (HTML Living Standard: newlines are taken out of its value)."""
    return text.replace("\r", "").replace("\n", "").strip()


def _touched(request: HttpRequest, lot: Lot) -> set[str]:
    """The fields in which this person wrote something else than they saw."""
    seen = _seen(request, lot)
    return {
        name
        for name in FIELDS
        if name in request.POST and _in_a_box(request.POST[name]) != _in_a_box(seen[name])
    }


def _refuse_crossed(request: HttpRequest, lot: Lot, touched: set[str]) -> None:
    """Refused (`stale`) where somebody wrote something else in a field that this person changed too."""
    seen, now = _seen(request, lot), _as_shown(lot)
    others = {name for name in touched if _in_a_box(seen[name]) != _in_a_box(now[name])}
    crossed = {name for name in others if _in_a_box(request.POST[name]) != _in_a_box(now[name])}
    if crossed:
        said = {
            "line": now["line"],
            "marking": f"marked {now['marking']}" if now["marking"] else "no marking",
            "condition": now["condition"],
            "note": f"note: {now['note'][:MARKING]}" if now["note"] else "no note",
        }
        stands = ", ".join(said[name] for name in FIELDS if name in crossed)
        detail = f"Lot {lot.pk} was changed since you opened it: {stands}. Save again if yours is right."
        raise Refused(Code.STALE, detail, version=lot.version)


def _with_what_others_wrote(request: HttpRequest, lot: Lot) -> QueryDict:
    """What was typed, to be shown again, and what stands there now in the fields left alone."""
    touched, sent = _touched(request, lot), request.POST.copy()
    for name, now in _as_shown(lot).items():
        if name in sent and name not in touched:
            sent[name] = now
    return sent


def _part(request: HttpRequest, lot: Lot) -> Part:
    """The part that was typed, or the one that stood there; Refused where a word is not understood."""
    if number(request, "part"):
        return get_object_or_404(Part, pk=number(request, "part"))
    typed = words(request, "line", 400)
    if not typed or typed == lot.part.spec.text:
        return lot.part
    return Part.of(typed_part(request, "line"))
