"""Which pieces are free: held at hand or on a donor, not faulty, not failed, and reserved for nobody."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Exists, F, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.models import Board, Holding, Lot, Movement, Part, Place

KEPT_IN = (Place.Type.DRAWER, Place.Type.TRAY)
LIFTED_FROM = (Board.Purpose.DONOR, Board.Purpose.SCRAPPED)
"""Pieces are reserved from such places and boards alone: never from people, scrap or a board in use."""


def _at_hand(path: str = "") -> Q:
    return Q(**{f"{path}type__in": KEPT_IN}) | Q(**{f"{path}board__purpose__in": LIFTED_FROM})


def failed_lots() -> QuerySet[Lot, int]:
    """Ids of the lots that came off a board as suspect and were not cleared since: they are for nobody.

    A piece that only a test called suspect is another matter: that is a question, and can be answered.
    """
    came_off = Movement.objects.filter(
        kind__in=[Movement.Kind.LIFT, Movement.Kind.REMOVE],
        condition_after=Lot.Condition.SUSPECT,
        reversed_by=None,
    ).order_by()
    whole = Exists(came_off.filter(lot=OuterRef("pk"), to_lot=None))
    split_off = Exists(came_off.filter(to_lot=OuterRef("pk")))
    suspects = Lot.objects.filter(condition=Lot.Condition.SUSPECT)
    return suspects.filter(whole | split_off).order_by().values_list("id", flat=True)


def with_totals(parts: QuerySet[Part]) -> QuerySet[Part]:
    """Parts with `free` and `promised`, the pieces over all their lots."""
    held = Holding.objects.filter(lot__part=OuterRef("pk")).order_by().values("lot__part")
    promisable = (
        held.filter(_at_hand("place__"))
        .exclude(lot__condition=Lot.Condition.FAULTY)
        .exclude(lot__in=failed_lots())
    )
    free = promisable.annotate(pieces=Sum(F("quantity") - F("promised"))).values("pieces")
    promised = held.annotate(pieces=Sum("promised")).values("pieces")
    return parts.annotate(free=_or_none(free), promised=_or_none(promised))


def _or_none(pieces: Any) -> Coalesce:
    return Coalesce(Subquery(pieces, output_field=IntegerField()), 0)


def with_free(lots: QuerySet[Lot], wanted: bool = True) -> QuerySet[Lot]:
    """Lots that have free pieces, or those that have none."""
    # The places are read once, as a list of their own: a join of all holdings takes twice as long.
    held = Holding.objects.filter(place__in=Place.objects.filter(_at_hand()), quantity__gt=F("promised"))
    usable = ~Q(condition=Lot.Condition.FAULTY) & ~Q(pk__in=failed_lots())
    free = Q(pk__in=held.order_by().values("lot")) & usable
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
