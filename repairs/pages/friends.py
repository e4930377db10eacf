"""Friends: who has what we lack, what is asked of them, whom we could help, and what we can spare."""

from decimal import Decimal
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory.api.versions import claim
from inventory.ledger import Refused, spot_of
from inventory.models import Lot, Movement, Place
from inventory.pages.drawers import storage
from inventory.pages.frame import back, notify, number, page, typed_number, who, words
from inventory.pages.once import once
from inventory.pages.picking import picked
from inventory.places import paths
from inventory.refusals import Code
from inventory.roles import BENCH, OWNER, may_act_as
from inventory.whole_numbers import whole_number
from repairs.answers.buy.question import read_postage
from repairs.answers.parameters import Unreadable
from repairs.api.friend_asks import all_asked
from repairs.api.friends import list_of
from repairs.friends import exchange, findings, giving
from repairs.friends.keys import facts_of_key, refuse_key_of_another
from repairs.friends.match import friends as ask_friends
from repairs.friends.signing import read_key
from repairs.friends.spare import spare_and_lacking, tick
from repairs.models import Job
from repairs.pages.leads import lead_of
from repairs.sharing_models import Friend, FriendAsk, FriendLine

MAX_SHOWN = 100
ON_A_PAGE, WORKSHOPS = 30, 60
"""So many lines of what they have, and of every other list."""


@page("GET", "HEAD", "POST")
@once
def friends(request: HttpRequest) -> HttpResponse:
    """What there is between this workshop and others; a POST adds one."""
    wrong = ""
    if request.method == "POST":
        try:
            friend = _added(request)
        except Refused as refused:
            wrong = refused.detail
        else:
            notify(request, f"{friend} is on the list. Import what it can spare.")
            return redirect("friends")
    answer = ask_friends()
    asked = list(all_asked().filter(state__in=exchange.OPEN).select_related("job"))
    may_write = may_act_as(request.user, BENCH)
    return render(
        request,
        "bench/friends.html",
        {
            "answer": answer,
            "key": facts_of_key(),
            "page": Paginator(answer.have, ON_A_PAGE).get_page(number(request, "page", 1)),
            "help": Paginator(answer.help, WORKSHOPS).get_page(number(request, "help", 1)),
            "asked": Paginator(asked, WORKSHOPS).get_page(number(request, "asked", 1)),
            "workshops": Paginator(answer.friends, WORKSHOPS).get_page(number(request, "workshops", 1)),
            "storage": storage(paths()) if asked and may_write else (),
            "wrong": wrong,
            "post": request.POST,
            "may_write": may_write,
            "owner": may_act_as(request.user, OWNER),
        },
        status=400 if wrong else 200,
    )


def _added(request: HttpRequest) -> Friend:
    return Friend.objects.create(**_described(request))


def _described(request: HttpRequest, friend: Friend | None = None) -> dict[str, Any]:
    name = words(request, "name", 120)
    if not name:
        raise Refused(Code.NO_NAME, "Give the workshop a name.")
    if (named := Friend.objects.filter(name=name).first()) is not None and named != friend:
        raise Refused(Code.TAKEN, f"{name} is on the list already.")
    key = words(request, "key", 200)
    key = read_key(key) if key else ""
    refuse_key_of_another(key, friend)
    return {
        "name": name, "reach": words(request, "reach", 400), "postage": _postage(request),
        "key": key,
    }  # fmt: skip


def _postage(request: HttpRequest) -> Decimal | None:
    text = words(request, "postage", 12)
    try:
        return read_postage(text) if text else None
    except Unreadable as wrong:
        raise Refused(Code.UNREADABLE, f"Postage: {wrong.detail}.") from None


@page("POST")
@once
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """What is known of a friend, corrected."""
    friend = get_object_or_404(Friend, pk=pk)
    claim(friend, **_described(request, friend))
    findings.follow_name(friend)
    notify(request, "It is kept.")
    return redirect("friends")


@page("POST", writes=OWNER)
@once
def forget(request: HttpRequest, pk: int) -> HttpResponse:
    """A friend goes, with its list, unless `exchange.forget` refuses."""
    friend = get_object_or_404(Friend, pk=pk)
    exchange.forget(friend)
    notify(request, f"{friend} and its list are gone.")
    return redirect("friends")


@page("POST")
@once
def take_list(request: HttpRequest, pk: int) -> HttpResponse:
    """A friend's list comes in, in place of the last one."""
    friend = get_object_or_404(Friend, pk=pk)
    file = request.FILES.get("file")
    if file is None:
        raise Refused(Code.REQUIRED, "Choose the list that you were given: its name ends in .json.")
    seen = exchange.take_list(friend, list_of(file))
    signed = f"signed by {seen.signed_by}" if seen.signed_by else "not signed"
    notify(
        request,
        f"{friend}: {seen.spare} lines to spare and {seen.lacking} lacking, as of {seen.made}; {signed}.",
    )
    return redirect("friends")


@page("POST")
@once
def give(request: HttpRequest, pk: int) -> HttpResponse:
    """Pieces of a lot go to a friend; undo brings them back."""
    friend = get_object_or_404(Friend, pk=pk)
    lot = Lot.objects.select_related("part__spec").filter(pk=number(request, "lot")).first()
    if lot is None:
        raise Refused(Code.REQUIRED, "Say the number of the bag that they are from.")
    gift = giving.give(friend, lot, number(request, "quantity"), by=who(request))
    pieces = gift.movement.quantity
    notify(request, f"{pieces} × {lot.part} went to {friend}.", [gift.movement])
    return redirect("friends")


@page("POST")
@once
def ask(request: HttpRequest) -> HttpResponse:
    """Ask for one line, or for all lines of a parcel: `line`, `quantity`, `job` and `requirement` in step."""
    rows = list(
        zip(
            *(request.POST.getlist(name) for name in ("line", "quantity", "job", "requirement")), strict=False
        )
    )
    if not rows:
        raise Refused(Code.REQUIRED, "Say which pieces to ask for.")
    for texts in rows:
        line, quantity, job, requirement = (whole_number(each) or 0 for each in texts)
        of_line = FriendLine.objects.filter(pk=line).first()
        if of_line is None:
            raise Refused(Code.GONE, "The friend's list has changed: look again.")
        of_job = Job.objects.filter(pk=job).first()
        needs = of_job.needs.filter(spec=requirement).select_related("spec").first() if of_job else None
        exchange.ask(of_line, quantity, job=of_job, required=needs.spec if needs else None)
    count = f"{len(rows)} line{'s' if len(rows) > 1 else ''}"
    notify(request, f"{count} asked for. Tell your friend; nothing is sent from here.")
    return redirect("friends")


@page("POST")
@once
def move_on(request: HttpRequest, pk: int) -> HttpResponse:
    """Confirmed, sent, arrived at a place, or cancelled."""
    asked = get_object_or_404(FriendAsk, pk=pk)
    place = picked(request, "to", Place.objects.all(), "drawers")
    to = spot_of(place) if place is not None else None
    moved = exchange.move_on(asked, words(request, "state", 12), by=who(request), to=to)
    came = list(Movement.objects.filter(lot=moved.lot_id, kind="receive")) if moved.lot_id else []
    notify(
        request,
        f"{moved.spec} of {moved.friend}: {moved.state}.",
        came,
        lead=lead_of(came[0]) if came else None,
    )
    return back(request, "/friends/")


@page("GET", "HEAD", "POST")
@once
def spare(request: HttpRequest) -> HttpResponse:
    """What can be spared and what is lacking, ticked by the owner; only that is in the file."""
    if request.method == "POST":
        gives = {lot: typed_number(request, f"give {lot}") or 0 for lot in _named(request, "lot")}
        keeps = {lot: f"keep {lot}" in request.POST for lot in _named(request, "lot")}
        lacking = {row: f"tell {row}" in request.POST for row in _named(request, "requirement")}
        if "all" in request.POST:
            gives |= {line.lot: line.spare for line in spare_and_lacking().spare if line.lot in gives}
        tick({lot: given for lot, given in gives.items() if not keeps[lot]}, keeps, lacking, by=who(request))
        notify(request, "Your ticks are kept.")
        return back(request, "/spare/")
    both = spare_and_lacking()
    lines = sorted(both.spare, key=lambda line: (not line.ticked, not line.spare, line.spec_text, line.lot))
    page_of_lines = Paginator(lines, ON_A_PAGE).get_page(number(request, "page", 1))
    asked: dict[str, Any] = {
        "page": page_of_lines,
        "cautions": sorted({line.caution for line in page_of_lines if line.caution}),
        "lacking": Paginator(both.lacking, MAX_SHOWN).get_page(number(request, "lack", 1)),
        "ticked": sum(line.ticked for line in both.spare),
        "asked": sum(line.ticked for line in both.lacking),
        "owner": may_act_as(request.user, OWNER),
        "own": may_act_as(request.user, BENCH) and any(line.owner == who(request).username for line in lines),
        "me": who(request).username,
    }
    return render(request, "bench/spare.html", asked)


def _named(request: HttpRequest, name: str) -> list[int]:
    return [int(each) for each in request.POST.getlist(name)[:1000] if each.isdecimal() and len(each) < 18]
