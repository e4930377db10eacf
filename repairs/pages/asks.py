"""Another's pieces: asked for, answered, taken back."""

from django.db import transaction
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from inventory.ledger import Refused
from inventory.models import Lot
from inventory.pages.frame import back, notify, number, page, typed_number, who, words
from inventory.pages.picking import named
from inventory.refusals import Code
from repairs import asks
from repairs.explanations import pieces
from repairs.models import Need, PieceAsk

NOTE = 400


@page("POST")
def ask(request: HttpRequest) -> HttpResponse:
    """Ask for pieces of a lot: for one need, or for the needs of a job with one requirement, in order."""
    lot = named(request, "lot", Lot.objects.select_related("part"), "That bag")
    left = max(typed_number(request, "quantity") or 1, 1)
    left = min(left, asks.free(lot)) or left  # of none that are free it is said so
    needs = Need.objects.filter(status=Need.Status.OPEN, quantity__gt=F("promised") + F("fitted"))
    if one := number(request, "need"):
        needs = needs.filter(pk=one)
    else:
        needs = needs.filter(job=number(request, "job"), spec=number(request, "requirement"))
        needs = needs.exclude(asks__lot=lot, asks__state=PieceAsk.State.ASKED)
    made = []
    with transaction.atomic():
        for need in needs.order_by("id"):
            share = min(left, need.quantity - need.promised - need.fitted)
            if share:
                made.append(asks.ask(need, lot, share, by=who(request), note=words(request, "note", NOTE)))
                left -= share
    if not made:
        raise Refused(Code.NEED_IS_MET, "Nothing more is wanted of it there, or it was asked for already.")
    notify(
        request,
        f"{made[0].owner.username} is asked for {pieces(sum(each.quantity for each in made))} of {lot.part}.",
    )
    return back(request, reverse("need", args=[made[0].need_id]))


@page("POST")
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    """The owner's yes, which reserves the pieces, or no."""
    asked = get_object_or_404(PieceAsk.objects.select_related("need__job"), pk=pk)
    yes = request.POST.get("yes") == "1"
    done = asks.answer(asked, yes, by=who(request), note=words(request, "note", NOTE))
    job = asked.need.job.name
    notify(
        request, f"{pieces(done.quantity)} reserved for {job}." if yes else f"You keep them; {job} is told."
    )
    return back(request)


@page("POST")
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what was asked."""
    asked = get_object_or_404(PieceAsk.objects.select_related("need__job", "owner"), pk=pk)
    asks.withdraw(asked, by=who(request))
    notify(request, f"{asked.owner.username} is asked no more.")
    return back(request)
