"""Undo: what a line on the page named: movements reversed, promises given up, what was seen taken back."""

from django.db import transaction
from django.http import HttpRequest, HttpResponse

from inventory.models import Movement
from inventory.pages.frame import back, notify, numbers, page, who
from inventory.whole_numbers import whole_numbers
from repairs import bringing_up
from repairs.models import Reservation
from repairs.proving_models import AcceptedException, Confirmation, LinkSetting, Observed, RailReading
from repairs.reservations import release, reverse


@page("POST")
def undo(request: HttpRequest) -> HttpResponse:
    """All of it or, where one thing has gone on since, nothing; the latest first.

    What was fitted from a promise is promised again before that promise is given up.
    """
    done = request.session.pop("last", {}).get("done", "")
    promises = Reservation.objects.filter(pk__in=numbers(request, "promise"))
    lines = Movement.objects.filter(pk__in=numbers(request, "line"))
    fitted = lines.filter(kind=Movement.Kind.FIT)
    with transaction.atomic():
        for line in fitted.select_related("lot__part").order_by("-id"):
            reverse(line, by=who(request), note="undone")
        # A promise of a job that was closed meanwhile went with its fitting.
        kept = promises.exclude(status=Reservation.Status.RELEASED)
        for promise in kept.select_related("need__job", "holding").order_by("-id"):
            release(promise)
        others = lines.exclude(kind=Movement.Kind.FIT)
        for line in others.select_related("lot__part").order_by("-id"):
            reverse(line, by=who(request), note="undone")
        bringing_up.take_back(_seen(request))
    notify(request, f"Undone: {done}" if done else "Undone.")
    return back(request)


def _seen(request: HttpRequest) -> list[Observed]:
    """What was written down of a board, as the form names it: `railreading 12`."""
    found: list[Observed] = []
    for model in (Confirmation, AcceptedException, LinkSetting, RailReading):
        name = f"{model._meta.model_name} "
        named = [each.removeprefix(name) for each in request.POST.getlist("seen") if each.startswith(name)]
        found += model._default_manager.filter(pk__in=whole_numbers(named))
    return found
