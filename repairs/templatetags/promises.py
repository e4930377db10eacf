"""What the pages of the inventory say of promises, which are not the inventory's to know."""

from itertools import groupby
from typing import NamedTuple

from django import template

from inventory.models import Lot
from inventory.refs import write_refs
from repairs.asks import waiting
from repairs.models import Job, PieceAsk, Reservation

register = template.Library()


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
