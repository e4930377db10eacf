"""Whose a lot or a board is, said where it is seen; and all that is a person's, handed over at once."""

from django.contrib.auth.models import User
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from inventory import ownership
from inventory.ledger import Refused
from inventory.models import Board, Lot
from inventory.pages.frame import back, notify, number, page, who, words
from inventory.refusals import Code
from inventory.roles import OWNER

EVERYBODY = "everybody"


@page("POST")
def own(request: HttpRequest) -> HttpResponse:
    """Make a lot or a board somebody's, or everybody's."""
    board, lot = number(request, "board"), number(request, "lot")
    to = heir_named(request, Board.objects.filter(pk=board) if board else Lot.objects.filter(pk=lot))
    whose = f"{to.username}'s" if to else f"{EVERYBODY}'s"
    if board:
        of = get_object_or_404(Board, pk=board)
        ownership.give_board(of, to, by=who(request))
        notify(request, f"{of.name} is {whose} now.")
        return back(request, f"/boards/{board}/")
    get_object_or_404(Lot, pk=lot)
    ownership.give_lots([lot], to, by=who(request))
    notify(request, f"Lot {lot} is {whose} now.")
    return back(request, f"/lots/{lot}/")


@page("POST", writes=OWNER)
def hand_over(request: HttpRequest, pk: int) -> HttpResponse:
    """All that is a person's becomes another's, or everybody's."""
    person = get_object_or_404(User, pk=pk)
    to = heir_named(request, Lot.objects.none())
    lots, boards = ownership.hand_all_over(person, to, by=who(request))
    counted = " and ".join(_counted(count, what) for count, what in ((lots, "lot"), (boards, "board")))
    notify(request, f"{counted} are {to.username if to else EVERYBODY}'s now.")
    return back(request, f"/people/{pk}/")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def heir_named(request: HttpRequest, rows: QuerySet) -> User | None:  # type: ignore[type-arg]
    """Whom the form names; None for everybody.  Refused where nobody of that name may own things, but who
    owns one of these rows now."""
    name = words(request, "owner", 150)
    if not name:
        return None
    also = rows.values_list("owner_id", flat=True).first()
    person = ownership.who_may_own(also).filter(username=name).first()
    if person is None:
        raise Refused(Code.UNREADABLE, f"{name} does no work here, so nothing becomes theirs.")
    return person
