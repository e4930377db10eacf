"""Buying: wanted, ordered, received; what is received becomes a lot."""

from typing import Any

from django.db import transaction
from django.db.models import F
from django.db.models.functions import Coalesce

from inventory import ledger, ownership
from inventory.ledger import Actor, Arrival, Origin, Refused, Spot
from inventory.models import Lot
from inventory.refusals import Code
from repairs.models import Purchase

State = Purchase.State
"""So many pieces are ordered, received or moved at once."""


@transaction.atomic
def receive(purchase: Purchase, to: Spot, *, by: Actor, quantity: int | None = None) -> Purchase:
    """The pieces arrived: they become a lot at a place, whose the purchase is.  Fewer than ordered leaves the
    rest on order."""
    locked = Purchase.objects.select_for_update(of=("self",)).select_related("part", "owner")
    purchase = locked.get(pk=purchase.pk)
    if purchase.state == State.RECEIVED:
        raise Refused(Code.RECEIVED_ALREADY, f"{purchase} was received before", lot=purchase.lot_id)
    arrived = quantity if quantity is not None else purchase.quantity
    if not arrived >= 1:
        raise Refused(Code.OUT_OF_RANGE, f"at least one piece is received, not {arrived}")
    line = ledger.receive(
        Arrival(
            part=purchase.part,
            quantity=arrived,
            to=to,
            origin=Origin(source=Lot.Source.BOUGHT, giver=purchase.bought_from),
            owner=purchase.owner,
        ),
        by=by,
    )
    if arrived < purchase.quantity:
        Purchase.objects.create(
            part=purchase.part,
            quantity=purchase.quantity - arrived,
            bought_from=purchase.bought_from,
            price=purchase.price,
            state=State.ORDERED,
            note=purchase.note,
            sheet_line=purchase.sheet_line,
            owner=purchase.owner,
        )
    Purchase.objects.filter(pk=purchase.pk).update(
        state=State.RECEIVED,
        quantity=arrived,
        ordered=purchase.quantity if arrived > purchase.quantity else None,
        lot_id=line.lot_id,
        place_id=to.place_id,
        version=F("version") + 1,
    )
    purchase.refresh_from_db()
    return purchase


def take_back_arrival(lot_id: int) -> None:
    """The receiving of this lot was undone: what was bought is on order again."""
    Purchase.objects.filter(lot=lot_id).update(
        state=State.ORDERED,
        quantity=Coalesce(F("ordered"), F("quantity")),
        ordered=None,
        lot=None,
        place=None,
        version=F("version") + 1,
    )


def refuse_change(purchase: Purchase, *, by: Actor, **columns: Any) -> None:
    """Refused where a change would belie the lot that a purchase became; price and note may change.  Refused
    (`not_yours`) where what is bought for one would become another's, or nobody's."""
    if "owner" in columns and columns["owner"] != purchase.owner:
        _refuse_anothers(purchase, by, "hands on what is bought for them")
    fixed = [
        name
        for name in ("part", "quantity", "state", "bought_from", "owner")
        if name in columns and columns[name] != getattr(purchase, name)
    ]
    if purchase.state == State.RECEIVED and fixed:
        raise Refused(
            Code.RECEIVED_ALREADY,
            f"{purchase} was received as lot {purchase.lot_id}: {', '.join(fixed)} cannot change any more",
            lot=purchase.lot_id,
        )


def _refuse_anothers(purchase: Purchase, by: Actor, what: str) -> None:
    owner = purchase.owner
    if owner is not None and not ownership.may_dispose(owner, by):
        alone = owner.username if ownership.is_here(owner) else "an owner of the bench"
        raise Refused(
            Code.NOT_YOURS, f"{purchase} is bought for {owner.username}: only {alone} {what}",
            owner=owner.username, row=purchase.pk,
        )  # fmt: skip


def cancel(purchase: Purchase, *, by: Actor) -> None:
    """Take a purchase that was not received off the list.  Refused (`not_yours`): another's."""
    _refuse_anothers(purchase, by, "cancels it")
    if purchase.state == State.RECEIVED:
        raise Refused(
            Code.RECEIVED_ALREADY, f"{purchase} was received as lot {purchase.lot_id}", lot=purchase.lot_id
        )
    purchase.delete()
