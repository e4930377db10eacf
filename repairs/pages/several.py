"""Several lots at once: moved to a drawer, said to be good or faulty, scrapped, or their labels printed."""

from django.db import transaction
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from inventory import ledger
from inventory.ledger import Refused, Spot
from inventory.lots import refuse_change
from inventory.models import Holding, Lot, Movement, Place
from inventory.pages.drawers import KEPT, picked_place
from inventory.pages.frame import back, notify, numbers, page, who, words
from inventory.pages.once import once
from inventory.refusals import Code
from repairs import reservations

MAX_LOTS = 200


@page("POST")
@once
def several(request: HttpRequest) -> HttpResponse:
    """`what` is move, scrap, print or a condition, for every ticked lot; all of it or nothing."""
    ticked = list(Lot.objects.filter(pk__in=numbers(request, "lot")).select_related("part").order_by("id"))
    if not 1 <= len(ticked) <= MAX_LOTS:
        raise Refused(Code.OUT_OF_RANGE, f"Tick 1 to {MAX_LOTS} lots.")
    what = words(request, "what", 20)
    if what == "print":
        return redirect(f"{reverse('print')}?{urlencode([('lot', lot.pk) for lot in ticked])}")
    with transaction.atomic():
        lines, done = _change(request, what, ticked)
    notify(request, done, lines)
    return back(request, reverse("drawers"))


def _change(request: HttpRequest, what: str, ticked: list[Lot]) -> tuple[list[Movement], str]:
    """The lines that were written, and what they did in words."""
    count = f"{len(ticked)} lot{'' if len(ticked) == 1 else 's'}"
    if what in Lot.Condition.values:
        for lot in ticked:
            refuse_change(lot, condition=what)
        rows = Lot.objects.filter(pk__in=[lot.pk for lot in ticked])
        rows.update(condition=what, version=F("version") + 1)
        return [], f"{count} now {what}."
    lying = Holding.objects.filter(lot__in=ticked, quantity__gt=0, place__type__in=KEPT)
    holdings = list(lying.select_related("lot__part").order_by("id"))
    if not holdings:
        raise Refused(Code.NOT_HERE, "None of them is in a drawer or tray.")
    if what == "scrap":
        lines = [
            ledger.scrap(each.lot, Spot(each.place_id, each.ref), each.quantity, by=who(request))
            for each in holdings
        ]
        return lines, f"{count} scrapped."
    if what != "move":
        raise Refused(Code.REQUIRED, "Say what is to be done with them: move, scrap, print or a condition.")
    to = picked_place(request, "to")
    if to is None:
        raise Refused(Code.REQUIRED, "Where to? Pick the drawer or tray they go into.")
    return _moved(request, holdings, to), f"{count} moved to {to.name}."


def _moved(request: HttpRequest, holdings: list[Holding], to: Place) -> list[Movement]:
    request.session["last_place"] = to.pk
    return [
        reservations.move(
            each.lot, Spot(each.place_id, each.ref), ledger.spot_of(to), each.quantity, by=who(request)
        )
        for each in holdings
        if each.place_id != to.pk
    ]
