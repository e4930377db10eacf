"""Which pieces are free: held at hand or on a donor, not faulty, and promised to nobody."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.models import Board, Holding, Lot, Part, Place


def _at_hand(path: str = "") -> Q:
    """Places from which pieces may be promised: never from people, scrap, outside or a board in use."""
    drawers = Q(**{f"{path}type__in": [Place.Type.DRAWER, Place.Type.TRAY]})
    return drawers | Q(**{f"{path}board__purpose__in": [Board.Purpose.DONOR, Board.Purpose.SCRAPPED]})


def with_totals(parts: QuerySet[Part]) -> QuerySet[Part]:
    """Parts with `free` and `promised`, the pieces over all their lots."""
    held = Holding.objects.filter(lot__part=OuterRef("pk")).order_by().values("lot__part")
    promisable = held.filter(_at_hand("place__")).exclude(lot__condition=Lot.Condition.FAULTY)
    free = promisable.annotate(pieces=Sum(F("quantity") - F("promised"))).values("pieces")
    promised = held.annotate(pieces=Sum("promised")).values("pieces")
    return parts.annotate(free=_or_none(free), promised=_or_none(promised))


def _or_none(pieces: Any) -> Coalesce:
    return Coalesce(Subquery(pieces, output_field=IntegerField()), 0)


def with_free(lots: QuerySet[Lot], wanted: bool = True) -> QuerySet[Lot]:
    """Lots that have free pieces, or those that have none."""
    # The places are read once, as a list of their own: a join of all holdings takes twice as long.
    held = Holding.objects.filter(place__in=Place.objects.filter(_at_hand()), quantity__gt=F("promised"))
    free = Q(pk__in=held.order_by().values("lot")) & ~Q(condition=Lot.Condition.FAULTY)
    return lots.filter(free if wanted else ~free)


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
    above_of = dict(Place.objects.order_by().values_list("id", "within_id"))
    totals = dict.fromkeys(above_of, Held())
    for place_id, held in here.items():
        above: int | None = place_id
        while above is not None:
            totals[above] = Held(totals[above].lots + held.lots, totals[above].pieces + held.pieces)
            above = above_of[above]
    return totals
