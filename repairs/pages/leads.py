"""Where a part that was just put away goes on: the job that waits for it, and the page where that is done."""

from collections.abc import Sequence

from django.urls import reverse

from inventory.models import Movement
from inventory.refs import write_refs
from repairs.models import Need, Reservation
from repairs.wanted import wanted

MAX_NAMED = 12
"""So many positions are named; of more it is said how many."""


def lead_of(line: Movement) -> tuple[str, str] | None:
    """What waits for the pieces of a line, in words, and the address that goes on with it; None for nothing.

    What is reserved is fetched; what has to be reserved first leads to its job, the best fit of all.
    """
    lot = line.to_lot or line.lot
    kept = Reservation.objects.filter(holding__lot=lot, status=Reservation.Status.HELD)
    reserved = [each.need for each in kept.select_related("need__job").order_by("id")]
    if reserved:
        job = reserved[0].job
        return f"Fetch and fit: {_of(job.name, reserved)}", reverse("fetch", args=[job.pk])
    waiting = wanted(lot)
    if not waiting:
        return None
    job, asks = waiting[0].need.job, waiting[0].fit.grade == "ask"
    needs = [each.need for each in waiting if each.need.job_id == job.pk]
    word = "May serve" if asks else "Needed by"
    return f"{word} {_of(job.name, needs)}", reverse("job", args=[job.pk])


def _of(job: str, needs: Sequence[Need]) -> str:
    refs = [need.ref for need in needs if need.job_id == needs[0].job_id and need.ref]
    if len(refs) > MAX_NAMED:
        return f"{job}, {len(refs)} positions"
    return f"{job} {write_refs(refs)}".rstrip()
