"""Which pieces are free: held at hand or on a donor, not faulty, and promised to nobody."""

from typing import Any

from django.db.models import F, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.models import Board, Holding, Lot, Part, Place

PROMISABLE = (
    Q(place__type__in=[Place.Type.DRAWER, Place.Type.TRAY])
    | Q(place__board__purpose__in=[Board.Purpose.DONOR, Board.Purpose.SCRAPPED])
) & ~Q(lot__condition=Lot.Condition.FAULTY)
"""Holdings whose pieces may be promised.  People, scrap, outside and boards in use never."""


def with_totals(parts: QuerySet[Part]) -> QuerySet[Part]:
    """Parts with `free` and `promised`, the pieces over all their lots."""
    held = Holding.objects.filter(lot__part=OuterRef("pk")).order_by().values("lot__part")
    free = held.filter(PROMISABLE).annotate(pieces=Sum(F("quantity") - F("promised"))).values("pieces")
    promised = held.annotate(pieces=Sum("promised")).values("pieces")
    return parts.annotate(free=_or_none(free), promised=_or_none(promised))


def _or_none(pieces: Any) -> Coalesce:
    return Coalesce(Subquery(pieces, output_field=IntegerField()), 0)
