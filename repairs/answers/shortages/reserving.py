"""Promising the plan to a job, or to every job that lacks one requirement."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from django.db import transaction
from django.db.models import QuerySet

from inventory.ledger import Actor, Refused
from inventory.models import Holding
from inventory.refusals import Code
from inventory.spec.recorded import Spot
from repairs import reservations
from repairs.models import Job, Need, Reservation
from repairs.supply_and_demand import planned

ROUNDS = 3
"""How often a plan is made where pieces went elsewhere before they could be reserved."""


@dataclass(frozen=True)
class LackingNeed:
    """A need that still lacks pieces after promising; `on_order` of them are planned from purchases."""

    need: Need
    quantity: int
    on_order: int


@dataclass(frozen=True)
class Reserved:
    """What was reserved just now, what the needs in question still lack, and the jobs that come first.

    `first` names those for which the same plan keeps pieces of what is lacking.
    """

    made: Sequence[Reservation]
    lacking: Sequence[LackingNeed]
    first: Sequence[str] = ()


class _PieceGone(Exception):
    """A planned piece was reserved, moved or found faulty before it could be reserved here."""


class _Assigned(NamedTuple):
    """So many pieces that the plan gives a job for one Spec; from no holding where they are on order."""

    job: int
    spec: int
    at: Spot
    holding: int | None
    quantity: int


def reserve(job: Job, *, by: Actor) -> Reserved:
    """Promise to a job what the best plan over all open jobs gives it from drawers and donors.

    All of it in one transaction or, where a piece went elsewhere since the plan was made, nothing: then it is
    planned again.  The last round promises what it can get.  Refused for a job that is not open.
    """
    return _reserve(lambda wanted: wanted.job == job.pk, Need.objects.filter(job=job), by=by, job=job)


def reserve_requirement(stored: int, *, by: Actor) -> Reserved:
    """Promise what that plan gives for one requirement, to every open job that lacks it, as `reserve`."""
    needs = Need.objects.filter(spec=stored, job__status=Job.Status.OPEN)
    return _reserve(lambda wanted: wanted.spec == stored, needs, by=by)


def _reserve(
    asked: Callable[[_Assigned], bool], needs: QuerySet[Need], *, by: Actor, job: Job | None = None
) -> Reserved:
    for last in (*(False for _round in range(ROUNDS - 1)), True):
        plan = _plan()
        try:
            done = _promise(filter(asked, plan), needs, by=by, job=job, what_is_there=last)
        except _PieceGone:
            continue
        return replace(done, first=_first(plan, done.lacking))
    raise AssertionError("the last round takes what is there")


def _first(plan: Sequence[_Assigned], lacking: Sequence[LackingNeed]) -> tuple[str, ...]:
    """The jobs to which the plan gives pieces of what is lacking elsewhere, by name."""
    specs, own = {each.need.spec_id for each in lacking}, {each.need.job_id for each in lacking}
    jobs = {each.job for each in plan if each.holding and each.spec in specs} - own
    return tuple(Job.objects.filter(pk__in=jobs).order_by("priority", "id").values_list("name", flat=True))


def _plan() -> list[_Assigned]:
    bench, plan = planned()
    return [
        _Assigned(take.demand.job, take.demand.spec, take.demand.at, holding, quantity)
        for take, holding, quantity in bench.handed_out(plan.takes)
    ]


@transaction.atomic
def _promise(
    planned: Iterable[_Assigned],
    asked: QuerySet[Need],
    *,
    by: Actor,
    job: Job | None,
    what_is_there: bool = False,
) -> Reserved:
    planned = list(planned)
    if job is not None:
        job = Job.objects.select_for_update().get(pk=job.pk)
        if job.status != Job.Status.OPEN:
            raise Refused(
                Code.JOB_CLOSED,
                f"{job.name} is {job.status}: only an open job is given pieces",
                status=job.status,
            )
    else:
        list(Job.objects.select_for_update().filter(pk__in={each.job for each in planned}).order_by("id"))
    # All needs first, then holdings by id: whoever wants the same pieces waits for each other in one order.
    needs = list(
        asked.select_for_update(of=("self",))
        .filter(status=Need.Status.OPEN)
        .select_related("spec", "job")
        .order_by("id")
    )
    lacking = {need.pk: need.quantity - need.promised - need.fitted for need in needs}
    shares = sorted(_shared(planned, needs, dict(lacking)), key=lambda share: (share[0] or 0, share[1].pk))
    holdings = Holding.objects.select_related("lot__part__spec", "place__board").in_bulk(
        {holding for holding, _, _ in shares if holding}
    )
    made: list[Reservation] = []
    on_order: Counter[int] = Counter()
    for holding, need, quantity in shares:
        if holding is None:
            on_order[need.pk] += quantity
            continue
        try:
            made.append(reservations.reserve(need, holdings[holding], quantity, by=by))
        except Refused:
            if not what_is_there:
                raise _PieceGone from None
            continue
        lacking[need.pk] -= quantity
    return Reserved(
        made, [LackingNeed(need, lacking[need.pk], on_order[need.pk]) for need in needs if lacking[need.pk]]
    )


def _shared(
    planned: Iterable[_Assigned], needs: Iterable[Need], lacking: dict[int, int]
) -> Iterable[tuple[int | None, Need, int]]:
    """Planned pieces over the needs of that job with that Spec, by id, as (holding, need, pieces)."""
    alike: dict[tuple[int, int], list[Need]] = defaultdict(list)
    for need in needs:
        alike[need.job_id, need.spec_id].append(need)
    for job, spec, at, holding, quantity in planned:
        for need in alike[job, spec]:
            if at and need.ref != at[1]:
                continue
            share = min(lacking[need.pk], quantity)
            if share:
                lacking[need.pk] -= share
                quantity -= share
                yield holding, need, share
