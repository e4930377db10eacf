"""What is done to pieces in a drawer: moved, counted, scrapped; promises are kept on the way."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from inventory import ledger
from inventory.ledger import Refused, Spot
from inventory.models import Holding, Lot, Place
from inventory.pages.frame import back, number, page, say, who
from repairs import reservations


@page("POST")
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """`what` is move, count, scrap or split, for `quantity` pieces of a holding.

    What is split off is a lot of its own from then on, in the `condition` that was said.
    """
    here = get_object_or_404(Holding.objects.select_related("lot__part", "place"), pk=pk)
    spot, pieces, what = (
        Spot(here.place_id, here.ref),
        number(request, "quantity", -1),
        request.POST.get("what"),
    )
    if pieces < 0:
        messages.error(request, "How many? Give a whole number.", extra_tags="refused")
    elif what == "move":
        to = get_object_or_404(Place, pk=number(request, "to"))
        line = reservations.move(here.lot, spot, ledger.spot_of(to), pieces, by=who(request))
        say(request, f"{pieces} of {here.lot.part} moved to {to.name}.", [line])
    elif what == "count":
        line = ledger.count(here.lot, spot, pieces, by=who(request))
        say(request, f"{here.lot.part}: {pieces} in {here.place.name}.", [line])
    elif what == "scrap":
        line = ledger.scrap(here.lot, spot, pieces, by=who(request))
        say(request, f"{pieces} of {here.lot.part} scrapped.", [line])
    elif what == "split":
        condition = request.POST.get("condition", "")
        if condition not in Lot.Condition.values:
            raise Refused("condition", f"Say what they are: {', '.join(Lot.Condition.values)}.")
        line = ledger.split(here.lot, spot, pieces, condition=condition, by=who(request))
        say(request, f"{pieces} of {here.lot.part} are a lot of their own, {condition}.", [line])
    return back(request, reverse("lot", args=[here.lot_id]))
