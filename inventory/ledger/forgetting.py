"""The one way that lines leave the ledger: an invented workshop is taken out again, whole."""

from collections.abc import Collection
from typing import Any

from django.db import models

from inventory.models import Holding, Movement
from inventory.refusals import Code, Refused


def forget(lots: Collection[int]) -> None:
    """Take every line and every holding of these lots out of the ledger, in the caller's transaction.

    Refused where a line joins one of them to a lot that stays: the pieces of that one would be lost.
    """
    lines = Movement.objects.filter(lot__in=lots)
    joined = lines.filter(to_lot__isnull=False).exclude(to_lot__in=lots)
    joined |= Movement.objects.filter(to_lot__in=lots).exclude(lot__in=lots)
    if joined.exists():
        raise Refused(Code.IN_USE, "pieces were split off or put together with a lot that stays")
    for model in (Holding, Movement):
        # Past the guard of `MovementQuerySet`, and without asking what refers to the lines: the caller
        # removes that too, and the database checks every key when the transaction ends.
        found: Any = models.QuerySet(model).filter(lot__in=lots)
        found._raw_delete(found.db)
