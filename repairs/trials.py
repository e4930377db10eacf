"""Trials, and what they say of a lot's condition."""

from typing import Any

from django.db import transaction
from django.db.models import F

from inventory import ledger
from inventory.ledger import By, Spot
from inventory.models import Lot
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

    `quantity` pieces `at` a spot judged apart from the rest become a lot of their own.
    """
    condition = CONDITIONS.get(columns["verdict"])
    judged = lot
    if lot is not None and condition is not None and not columns.get("in_circuit"):
        if quantity is not None and at is not None and condition != lot.condition:
            held = sum(lot.holdings.values_list("quantity", flat=True))
            if quantity < held:
                line = ledger.split(lot, at, quantity, condition=condition, by=by, note=columns["method"][:100])
                judged = line.to_lot
        if judged is lot:
            Lot.objects.filter(pk=lot.pk).update(condition=condition, version=F("version") + 1)
    return Trial.objects.create(lot=judged, by=by, **columns)
