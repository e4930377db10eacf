"""Pieces given to friends, and how a swap stands: what each friend gave and got, counted by kind of part.

A gift is a movement out of the bench, as a stock-take's is, with a row that says to whom; undone by its
reversal, it counts no more.
"""

from collections import defaultdict
from collections.abc import Mapping
from typing import NamedTuple

from django.db import transaction
from django.db.models import F, Sum

from inventory import ledger, stock
from inventory.ledger import Actor, Spot
from inventory.models import Holding, Lot
from inventory.refusals import Code, Refused
from repairs.friends.spare import not_given
from repairs.sharing_models import Friend, FriendAsk, FriendGift, SpareMark


@transaction.atomic
def give(
    friend: Friend, lot: Lot, quantity: int, *, by: Actor, source: Spot | None = None, note: str = ""
) -> FriendGift:
    """Give free pieces of a lot to a friend; left out, `source` is where most of them lie free.

    Refused: faulty or suspect pieces (`faulty`), borrowed ones (`open_loan`), what is never posted
    (`blocked`), more than lie free there (`not_enough`), and whatever the ledger refuses.
    """
    if lot.condition in (Lot.Condition.FAULTY, Lot.Condition.SUSPECT):
        raise Refused(Code.FAULTY, f"{lot} is {lot.condition}: it cannot be given away")
    if ledger.borrowed_lots().filter(lot=lot).exists():
        raise Refused(Code.OPEN_LOAN, f"{lot} is borrowed: it is owed back")
    if against := not_given(lot, lot.part.spec.spec):
        raise Refused(Code.BLOCKED, f"{lot}: {against}")
    here = source or _fullest(lot)
    line = ledger.give_away(lot, here, quantity, by=by, note=f"given to {friend}. {note}".rstrip(". ")[:400])
    mark = SpareMark.objects.filter(lot=lot, keep=False).first()
    if mark is not None:  # what has gone is not on the next list
        if mark.quantity > quantity:
            SpareMark.objects.filter(pk=mark.pk).update(quantity=F("quantity") - quantity)
        else:
            mark.delete()
    return FriendGift.objects.create(friend=friend, movement=line)


def _fullest(lot: Lot) -> Spot:
    free = Holding.objects.filter(lot=lot, place__type__in=stock.KEPT_IN, quantity__gt=F("promised"))
    most = free.order_by(F("promised") - F("quantity"), "id").first()
    if most is None:
        raise Refused(Code.NOT_ENOUGH, f"{lot} has no free pieces in a drawer or tray", available=0)
    return Spot(most.place_id, most.ref)


class Balance(NamedTuple):
    """Pieces by kind of part: what the friend gave, and what it got."""

    gave: dict[str, int]
    got: dict[str, int]


def balances() -> Mapping[int, Balance]:
    """Of every friend, by its number; in two queries."""
    found: dict[int, Balance] = defaultdict(lambda: Balance({}, {}))
    arrived = FriendAsk.objects.filter(state=FriendAsk.State.ARRIVED).order_by()
    for friend, kind, pieces in arrived.values_list("friend", "spec__kind").annotate(Sum("quantity")):
        found[friend].gave[kind] = pieces
    given = FriendGift.objects.filter(movement__reversed_by=None).order_by()
    kind_of = "movement__lot__part__spec__kind"
    for friend, kind, pieces in given.values_list("friend", kind_of).annotate(Sum("movement__quantity")):
        found[friend].got[kind] = pieces
    return found
