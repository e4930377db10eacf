"""Read a part: what a marking could mean and who wants it; one tap puts it away, promises it, or fits it."""

import json
from urllib.parse import urlencode, urlsplit

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory import lots
from inventory.ledger import Origin, Refused
from inventory.models import Holding, Lot, Movement, Part, Photo, Place
from inventory.pages.drawers import KEPT, picked_place, storage, usual_place
from inventory.pages.frame import back, notify, number, page, who, words
from inventory.pages.once import first_press
from inventory.pages.picking import Picked, in_box
from inventory.pictures import photos
from inventory.places import paths
from inventory.refusals import Code
from inventory.roles import BENCH, may_act_as
from inventory.spec import KINDS, Spec, SpecError, UnreadableValue, parse_value
from inventory.whole_numbers import MAX_PIECES, whole_number
from repairs.models import Need, Reservation
from repairs.pages.asking import asked, for_template
from repairs.reservations import fit_promised, reserve


@page()
def read(request: HttpRequest) -> HttpResponse:
    """Ranked readings of what was typed or picked; with `part`, only what changes as one types."""
    this = asked(request)
    this.read()
    part = "part" in request.GET
    return render(
        request,
        "bench/read-part.html" if part else "bench/read.html",
        {**for_template(this), **into(request), "kinds": KINDS, "may_write": may_act_as(request.user, BENCH)},
        status=400 if (this.wrong or tray_in_box(request).wrong) and not part else 200,
    )


def into(request: HttpRequest) -> dict[str, object]:
    """The drawers and trays, and the one that was used last; how many of it there are."""
    trays = storage(paths())
    box = tray_in_box(request)
    return {
        "storage": trays,
        "tray": box if box.row or box.wrong else usual_place(request),
        "quantity": request.GET.get("quantity", "1")[:12],
        "new_place": words(request, "new_place", 400) or "Drawer 1",
    }


def tray_in_box(request: HttpRequest) -> Picked[Place]:
    """The drawer or tray that the form or the address of the page says; none where a new one is named."""
    if words(request, "new_place", 400) and request.method == "POST":
        return Picked()
    return in_box(request, "tray", Place.objects.filter(type__in=KEPT), "drawers")


@page("POST")
def put_away(request: HttpRequest) -> HttpResponse:
    """The part that was read becomes a lot in a drawer; where a need is named it is promised, or fitted.

    `put` names the reading, `3`; the need that it is promised to, `3-17`; and that it is fitted, `3-17-fit`.
    A refusal is said beside the readings, where what was typed still stands.
    """
    try:
        return _put(request)
    except Refused as refusal:
        if not tray_in_box(request).wrong:  # else the box itself says it
            messages.error(request, refusal.detail, extra_tags="refused")
        return _as_typed(request)


def _as_typed(request: HttpRequest) -> HttpResponse:
    """To the readings again, with how many there are and where they go."""
    marking = urlencode({"marking": words(request, "marking", 80)})
    there = urlsplit(back(request, f"{reverse('read')}?{marking}").headers["Location"])
    asked = QueryDict(there.query, mutable=True)
    for name in ("quantity", "tray", "new_place"):
        if name in request.POST:
            asked[name] = words(request, name, 400)
    return redirect(f"{there.path}?{asked.urlencode()}")


def _put(request: HttpRequest) -> HttpResponse:
    which, _dash, wanted = request.POST.get("put", "").partition("-")
    wanted, _dash, now = wanted.partition("-")
    spec = _spec_sent(request.POST.get(f"spec{which}", ""))
    need = None
    if wanted:
        pk = whole_number(wanted)
        need = get_object_or_404(Need.objects.select_related("job__board", "spec"), pk=pk)
    if not 1 <= number(request, "quantity", 0 if "quantity" in request.POST else 1) <= MAX_PIECES:
        raise Refused(
            Code.OUT_OF_RANGE, f"How many? Give a whole number of pieces, from 1 to {MAX_PIECES:,}."
        )
    done = None
    with transaction.atomic():
        place = picked_place(request, "tray")
        if place is None:
            raise Refused(Code.REQUIRED, "Say which drawer or tray it goes into.")
        if first_press(request):
            done = _bring_in(request, spec, place, need, fit=now == "fit")
    if done is None:
        messages.success(request, "That one is put away already.")
    else:
        request.session["last_place"] = place.pk
        notify(request, _done(spec, place, need, done[0]), *done)
    return redirect(f"{reverse('read')}?tray={place.pk}")


def _bring_in(
    request: HttpRequest, spec: Spec, place: Place, need: Need | None, *, fit: bool
) -> tuple[list[Movement], list[Reservation]]:
    """The lot, its promise and its fitting: the lines and the promise that undo takes back together."""
    lot = lots.bring_in(
        Part.of(spec), [(place, "", number(request, "quantity", 1))], by=who(request),
        origin=Origin(source=Lot.Source.UNKNOWN), marking=words(request, "marking", 200),
        measured=_measured(spec, words(request, "measured", 40)),
    )  # fmt: skip
    lines = list(lot.movements.order_by("id")[:1])
    picture = Photo.objects.filter(pk=number(request, "photo"), subject="").first()
    if picture is not None:
        photos.show(picture, "lot", lot.pk)
    if need is None:
        return lines, []
    promise = reserve(need, Holding.objects.get(lot=lot, place=place), 1, by=who(request))
    if fit:
        lines.append(fit_promised(promise, by=who(request)))
    return lines, [promise]


def _done(spec: Spec, place: Place, need: Need | None, lines: list[Movement]) -> str:
    if need is None:
        return f"{spec.text} is in {place.name}."
    job = f"{need.job.name} {need.ref}".rstrip()
    if lines[-1].kind == Movement.Kind.FIT:
        return f"{spec.text} is fitted: {job}."
    return f"{spec.text} is in {place.name}, reserved for {job}."


def _measured(spec: Spec, text: str) -> int | None:
    """What the meter said, where it is of this kind of part."""
    try:
        return parse_value(spec.kind, text) if text and spec.value is not None else None
    except UnreadableValue:
        return None


def _spec_sent(text: str) -> Spec:
    try:
        sent = json.loads(text)
    except ValueError:
        sent = None
    if not isinstance(sent, dict):
        raise Refused(Code.REQUIRED, "Say which of the readings it is.")
    try:
        return Spec.from_dict(sent)
    except SpecError as wrong:
        raise Refused(Code.UNREADABLE, "; ".join(problem.detail for problem in wrong.problems)) from None
