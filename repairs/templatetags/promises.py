"""What the pages of the inventory say of promises, which are not the inventory's to know."""

from itertools import groupby
from typing import NamedTuple

from django import template

from inventory.models import Board, Holding, Lot
from inventory.refs import split_ref, write_refs
from repairs.asks import waiting
from repairs.models import Job, Need, PieceAsk, Reservation
from repairs.wanted import wanted

register = template.Library()
SHOWN = 5
"""So many needs are named with a lot."""


class JobPromise(NamedTuple):
    """So many pieces that one job may count on, and the places that they are for."""

    job: Job
    pieces: int
    refs: str


@register.simple_tag
def asks_for(lot: Lot) -> list[PieceAsk]:
    """What is asked of a lot's owner and not answered yet."""
    return list(waiting(lot.asks.all())) if lot.owner_id else []


@register.simple_tag
def wanted_by(lot: Lot) -> list[Need]:
    """Needs that a lot would serve by its owner's yes, which is not asked for yet: the first few."""
    asked = set(lot.asks.filter(state=PieceAsk.State.ASKED).values_list("need", flat=True))
    needs = [each.need for each in wanted(lot) if each.fit.grade != "no" and each.need.pk not in asked]
    return [need for need in needs if need.job.owner_id != lot.owner_id][:SHOWN]


@register.simple_tag
def reserved_on(board: Board) -> list[str]:
    """The positions of a board whose pieces are reserved for jobs."""
    kept = Holding.objects.filter(place=board.place_id, promised__gt=0).exclude(ref="")
    return sorted(kept.values_list("ref", flat=True), key=split_ref)


@register.simple_tag
def promises_of(lot: Lot) -> list[JobPromise]:
    """For whom pieces of a lot are reserved, job by job."""
    held = Reservation.objects.filter(holding__lot=lot, status=Reservation.Status.HELD)
    rows = held.select_related("need__job").order_by("need__job", "id")
    return [
        JobPromise(
            each[0].need.job,
            sum(promise.quantity for promise in each),
            write_refs(promise.need.ref for promise in each if promise.need.ref),
        )
        for _job, grouped in groupby(rows, key=lambda promise: promise.need.job_id)
        if (each := list(grouped))
    ]
