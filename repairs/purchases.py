"""Buying: wanted, ordered, received; what is received becomes a lot."""

from typing import Any

from django.db import transaction
from django.db.models import F
from django.db.models.functions import Coalesce

from inventory import ledger
from inventory.ledger import Actor, Arrival, Origin, Refused, Spot
from inventory.models import Lot
from inventory.refusals import Code
from repairs.models import Purchase

State = Purchase.State
"""So many pieces are ordered, received or moved at once."""


@transaction.atomic
def receive(purchase: Purchase, to: Spot, *, by: Actor, quantity: int | None = None) -> Purchase:
    """The pieces arrived: they become a lot at a place.  Fewer than ordered leaves the rest on order."""
    purchase = Purchase.objects.select_for_update().select_related("part").get(pk=purchase.pk)
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


def refuse_change(purchase: Purchase, **columns: Any) -> None:
    """Refused where a change would belie the lot that a purchase became; price and note may change."""
    fixed = [
        name
        for name in ("part", "quantity", "state", "bought_from")
        if name in columns and columns[name] != getattr(purchase, name)
    ]
    if purchase.state == State.RECEIVED and fixed:
        raise Refused(
            Code.RECEIVED_ALREADY,
            f"{purchase} was received as lot {purchase.lot_id}: {', '.join(fixed)} cannot change any more",
            lot=purchase.lot_id,
        )


def cancel(purchase: Purchase) -> None:
    """Take a purchase that was not received off the list."""
    if purchase.state == State.RECEIVED:
        raise Refused(
            Code.RECEIVED_ALREADY, f"{purchase} was received as lot {purchase.lot_id}", lot=purchase.lot_id
        )
    purchase.delete()
