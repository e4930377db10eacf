"""Which pieces are free: held at hand or on a donor, not faulty, and promised to nobody."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.models import Board, Holding, Lot, Part, Place
from inventory.places import tree

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


@dataclass(frozen=True)
class Held:
    """How many lots and pieces are somewhere; a lot in two drawers counts in each."""

    lots: int = 0
    pieces: int = 0


def held_within() -> dict[int, Held]:
    """For every place what is there and in everything within, in two queries."""
    rows = (
        Holding.objects.filter(quantity__gt=0)
        .order_by()
        .values_list("place_id")
        .annotate(lots=Count("lot_id", distinct=True), pieces=Sum("quantity"))
    )
    here = {place_id: Held(lots, pieces) for place_id, lots, pieces in rows}
    places, _contents = tree()
    totals = dict.fromkeys(places, Held())
    for place_id, held in here.items():
        above: int | None = place_id
        while above is not None:
            totals[above] = Held(totals[above].lots + held.lots, totals[above].pieces + held.pieces)
            above = places[above].within_id
    return totals
