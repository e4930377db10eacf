"""The demo workshop: into an empty bench, and out of it again."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.ledger import Refused
from inventory.models import Board, Design, Lot, Part, Place
from inventory.pages.frame import back, notify, page, who, words
from inventory.pages.once import DONE, is_done, once
from inventory.refusals import Code
from inventory.roles import OWNER, may_act_as
from repairs import demo, demo_removal
from repairs.models import Job, Purchase


@page("POST", writes=OWNER)
def load(request: HttpRequest) -> HttpResponse:
    """Into a bench that holds nothing: what is there already might be taken for the demo's."""
    if is_done(who(request), words(request, "once", 64)):
        messages.success(request, DONE)
        return back(request)
    _refuse_unless_empty()
    with demo.prepared(by=who(request)) as load_now:
        return _load_once(request, load_now)


@once
def _load_once(request: HttpRequest, load_now: Callable[[], None]) -> HttpResponse:
    _refuse_unless_empty()  # what was prepared took a while
    load_now()
    notify(request, "The demo workshop is here: look round, nothing of your own can be hurt.")
    return redirect("now")


def _refuse_unless_empty() -> None:
    places = Place.objects.exclude(type__in=[Place.Type.OUTSIDE, Place.Type.SCRAP])
    rows = (places, Lot.objects.all(), Board.objects.all(), Design.objects.all(), Part.objects.all())
    if any(each.exists() for each in (*rows, Job.objects.all(), Purchase.objects.all())):
        raise Refused(
            Code.NOT_EMPTY, "The demo comes into an empty bench only, and this one holds something."
        )


@page("GET", "HEAD", "POST", writes=OWNER)
@once
def remove(request: HttpRequest) -> HttpResponse:
    """What taking it out would take along and what stands against it; the owner's POST takes it out."""
    if request.method == "POST":
        try:
            demo_removal.remove(request.POST.get("summary", ""))
        except Refused as refusal:
            messages.error(request, refusal.detail, extra_tags="refused")
            return redirect("remove-demo")
        request.session.pop("last_place", None)
        notify(request, "The demo is taken out. What is left is your own.")
        return redirect("now")
    context = {"removal": demo_removal.planned(), "owner": may_act_as(request.user, OWNER)}
    return render(request, "bench/demo.html", context)
