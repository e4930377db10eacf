"""Trials, and what they say of a lot's condition."""

from typing import Any

from django.db import transaction
from django.db.models import F, Sum

from inventory import ledger
from inventory.ledger import By, NotEnough, Spot
from inventory.models import Holding, Lot
from repairs import reservations
from repairs.models import Trial

CONDITIONS = {
    Trial.Verdict.GOOD: Lot.Condition.GOOD,
    Trial.Verdict.SUSPECT: Lot.Condition.SUSPECT,
    Trial.Verdict.FAULTY: Lot.Condition.FAULTY,
}


@transaction.atomic
def record(
    *, by: By, lot: Lot | None = None, quantity: int | None = None, at: Spot | None = None, **columns: Any
) -> Trial:
    """Write a trial down.  Out of circuit, a verdict becomes the lot's condition.

    `quantity` pieces `at` a spot judged apart from the rest become a lot of their own.  Promises of pieces
    found faulty are given up.
    """
    condition = CONDITIONS.get(columns["verdict"])
    if lot is not None and condition is not None and not columns.get("in_circuit"):
        lot = _judged(lot, condition, quantity, at, by=by, method=columns["method"])
    return Trial.objects.create(lot=lot, by=by, **columns)


def _judged(lot: Lot, condition: str, quantity: int | None, at: Spot | None, *, by: By, method: str) -> Lot:
    """The lot that was judged, in its new condition."""
    faulty = condition == Lot.Condition.FAULTY
    if quantity is not None and at is not None and condition != lot.condition:
        held = lot.holdings.aggregate(held=Sum("quantity"))["held"] or 0
        if quantity > held:
            raise NotEnough("not_enough", f"{lot}: {quantity} tried, {held} held", available=held, held=held)
        if quantity < held:
            here = Holding.objects.filter(lot=lot, place_id=at.place_id, ref=at.ref).first()
            if faulty and here is not None:
                reservations.free_up(here, min(quantity, here.quantity))
            line = ledger.split(lot, at, quantity, condition=condition, by=by, note=method)
            assert line.to_lot is not None
            return line.to_lot
    Lot.objects.filter(pk=lot.pk).update(condition=condition, version=F("version") + 1)
    if faulty:
        for holding in lot.holdings.filter(promised__gt=0).order_by("id"):
            reservations.free_up(holding, holding.quantity)
    return lot
