"""Undo: what a line on the page named, movements reversed and promises given up."""

from django.db import transaction
from django.http import HttpRequest, HttpResponse

from inventory.models import Movement
from inventory.pages.frame import back, numbers, page, say, who
from repairs.models import Reservation
from repairs.reservations import release, reverse


@page("POST")
def undo(request: HttpRequest) -> HttpResponse:
    """All of it or, where one thing has gone on since, nothing; the latest first."""
    done = request.session.pop("last", {}).get("done", "")
    promises = Reservation.objects.filter(pk__in=numbers(request, "promise"))
    lines = Movement.objects.filter(pk__in=numbers(request, "line"))
    with transaction.atomic():
        for promise in promises.select_related("need__job", "holding").order_by("-id"):
            release(promise)
        for line in lines.select_related("lot__part").order_by("-id"):
            reverse(line, by=who(request), note="undone")
    say(request, f"Undone: {done}" if done else "Undone.")
    return back(request)
