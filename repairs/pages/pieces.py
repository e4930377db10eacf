"""What is done to pieces in a drawer: moved, counted, scrapped; promises are kept on the way."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from inventory import ledger
from inventory.ledger import Refused, Spot
from inventory.models import Holding, Lot, Movement, Place
from inventory.pages.drawers import lot_shown
from inventory.pages.frame import back, notify, number, page, who
from inventory.pages.once import once
from inventory.pages.picking import picked
from inventory.refusals import Code
from repairs import reservations


@page("POST")
@once
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """`what` is move, count, scrap or split, for `quantity` pieces of a holding.

    What is split off is a lot of its own from then on, in the `condition` that was said.  A refusal stands on
    the page of the lot, with what was typed.
    """
    here = get_object_or_404(Holding.objects.select_related("lot__part", "place"), pk=pk)
    try:
        line, done = _change(request, here)
    except Refused as refusal:
        return lot_shown(request, here.lot_id, wrong=refusal.detail, holding=pk)
    notify(request, done, [line])
    return back(request, reverse("lot", args=[here.lot_id]))


def _change(request: HttpRequest, here: Holding) -> tuple[Movement, str]:
    """The line that was written, and what it did in words."""
    lot, spot = here.lot, Spot(here.place_id, here.ref)
    what, pieces = request.POST.get("what"), number(request, "quantity", -1)
    if pieces < 0:
        raise Refused(
            Code.OUT_OF_RANGE, "How many? Give a whole number of pieces, with nothing else beside it."
        )
    if what == "count":
        line = ledger.count(lot, spot, pieces, by=who(request))
        return line, f"{lot.part}: {pieces} in {here.place.name}."
    if what == "scrap":
        return ledger.scrap(lot, spot, pieces, by=who(request)), f"{pieces} of {lot.part} scrapped."
    if what == "split":
        condition = request.POST.get("condition", "")
        if condition not in Lot.Condition.values:
            raise Refused(Code.REQUIRED, f"Say what they are: {', '.join(Lot.Condition.values)}.")
        line = ledger.split(lot, spot, pieces, condition=condition, by=who(request))
        return line, f"{pieces} of {lot.part} are a lot of their own, {condition}."
    if what != "move":
        raise Refused(Code.REQUIRED, "Say what is to be done with them: move, count, keep apart or scrap.")
    to = picked(request, "to", Place.objects.all(), "drawers")
    if to is None:
        left = here.quantity - here.promised
        if pieces > left:
            raise Refused(Code.NOT_ENOUGH, f"{pieces} wanted, and only {left} left here to move.")
        raise Refused(Code.REQUIRED, "Where to? Pick the drawer or tray they go into.")
    line = reservations.move(lot, spot, ledger.spot_of(to), pieces, by=who(request))
    request.session["last_place"] = to.pk
    return line, f"{pieces} of {lot.part} moved to {to.name}."
