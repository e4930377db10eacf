"""What open needs still lack after the best use of everything free, and promising that plan to a job."""

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from django.db import transaction
from django.db.models import QuerySet

from inventory.ledger import By, Refused
from inventory.models import Holding
from inventory.spec import Fit, Spec
from inventory.spec.recorded import Spot
from inventory.unchanged import while_unchanged
from repairs import reservations
from repairs.models import Job, Need, Reservation
from repairs.planning import Plan, Tier
from repairs.planning.refusals import settled_by
from repairs.supply_and_demand import Alike, Piece, SupplyAndDemand, Wanting, planned, read_pieces

ROUNDS = 3
"""How often a plan is made where pieces went elsewhere before they could be promised."""


class Taken(NamedTuple):
    """So many pieces that the plan takes for a job."""

    piece: Piece
    job: int
    tier: Tier
    quantity: int
    fit: Fit


class Miss(NamedTuple):
    """Pieces that were not planned for a short requirement, and why not."""

    piece: Piece
    tier: Tier
    fit: Fit

    @property
    def settled_by(self) -> str:
        """ "look" or "test": what would turn it into a yes or a clear no; else ""."""
        return settled_by(self.fit)


@dataclass(slots=True)
class Row:
    """One requirement across jobs: needed = fitted + promised + free + on_donors + on_order + short.

    `borrowed` is the part of `on_donors` that would come off working boards.
    """

    spec: Spec
    stored: int
    """The row that keeps the requirement."""
    needed: int = 0
    fitted: int = 0
    promised: int = 0
    free: int = 0
    on_donors: int = 0
    on_order: int = 0
    borrowed: int = 0
    short: int = 0
    jobs: list[Wanting] = field(default_factory=list)
    take: list[Taken] = field(default_factory=list)
    refused: list[Miss] = field(default_factory=list)
    apart: bool = False
    """Whether its lines are kept apart by where the pieces go."""

    def want(self, wanting: Wanting) -> None:
        mine = next((job for job in self.jobs if job.job == wanting.job), None) if self.apart else None
        if mine is None:
            self.jobs.append(wanting)
        else:
            mine.add(wanting)
        self.needed += wanting.needed
        self.fitted += wanting.fitted
        self.promised += wanting.promised
        self.short += wanting.short

    def give(self, taken: Taken) -> None:
        self.take.append(taken)
        if taken.tier == Tier.DRAWER:
            self.free += taken.quantity
        elif taken.tier == Tier.ON_ORDER:
            self.on_order += taken.quantity
        else:
            self.on_donors += taken.quantity
            self.borrowed += taken.quantity if taken.tier == Tier.BORROW else 0


COUNTS = ("needed", "fitted", "promised", "free", "on_donors", "on_order", "borrowed", "short")


def totals(rows: Iterable[Row]) -> dict[str, int]:
    """The sum of each count over the rows."""
    sums = dict.fromkeys(COUNTS, 0)
    for row in rows:
        for name in COUNTS:
            sums[name] += getattr(row, name)
    return sums


def shortages(
    jobs: Collection[int] | None = None, *, borrow: bool = False, ask: bool = False
) -> Sequence[Row]:
    """One row for each requirement of the open jobs, or of those named, by kind, value and number.

    The plan is always over all open jobs, so that a job which comes first keeps its pieces whoever asks.
    `borrow` also draws on working boards, `ask` also on pieces that a person must decide on.
    """
    return _rows(None if jobs is None else frozenset(jobs), borrow=borrow, ask=ask)


@while_unchanged
def _rows(jobs: frozenset[int] | None, *, borrow: bool, ask: bool) -> Sequence[Row]:
    return rows_of(*planned(borrow=borrow, ask=ask), jobs)


def rows_of(bench: SupplyAndDemand, plan: Plan, jobs: Collection[int] | None = None) -> Sequence[Row]:
    """A plan of the bench as rows; of `jobs`, where they are named, only what these require."""
    shown = bench.jobs.keys() if jobs is None else bench.jobs.keys() & set(jobs)
    rows: dict[int, Row] = {}
    for line, wanting in bench.lines.items():
        if line.job in shown:
            if line.spec not in rows:
                rows[line.spec] = Row(bench.specs[line.spec], line.spec)
            row = rows[line.spec]
            row.apart = row.apart or bool(line.at)
            row.want(wanting.falling_short(plan.short.get(line, 0)))
    _say_what_is_taken(rows, shown, bench, plan)
    line_up = {job: (priority, due or date.max, job) for job, (_, priority, due) in bench.jobs.items()}
    for row in rows.values():
        row.jobs.sort(key=lambda wanting: line_up[wanting.job])
    return sorted(
        rows.values(), key=lambda row: (row.spec.kind, row.spec.value or 0, row.spec.number, row.spec.key)
    )


def _say_what_is_taken(
    rows: dict[int, Row], shown: Collection[int], bench: SupplyAndDemand, plan: Plan
) -> None:
    handed_out = [found for found in bench.handed_out(plan.takes) if found[0].demand.job in shown]
    taken: Counter[Alike] = Counter()
    for take in plan.takes:
        taken[take.supply] += take.quantity
    # The nearest misses are of the requirement, and so the same for every job that lacks it.
    nearest = {line.spec: misses for line, misses in plan.refused.items() if line.job in shown}
    missed: set[Alike] = {miss.supply for misses in nearest.values() for miss in misses}
    left = {alike: bench.shelves[alike].after(taken[alike]) for alike in missed}
    pieces = read_pieces([*left.values(), *(holding for _, holding, _ in handed_out)])
    for take, holding, quantity in handed_out:
        rows[take.demand.spec].give(Taken(pieces[holding], take.demand.job, take.tier, quantity, take.fit))
    for spec, misses in nearest.items():
        rows[spec].refused = [Miss(pieces[left[miss.supply]], Tier(miss.tier), miss.fit) for miss in misses]


@dataclass(frozen=True)
class Lack:
    """A need that still lacks pieces after promising; `on_order` of them are planned from purchases."""

    need: Need
    quantity: int
    on_order: int


@dataclass(frozen=True)
class Promised:
    """What was promised just now, and what the needs in question still lack."""

    made: Sequence[Reservation]
    lacking: Sequence[Lack]


class _PieceGone(Exception):
    """A planned piece was promised, moved or found faulty before it could be promised here."""


class _Wanted(NamedTuple):
    """So many pieces that the plan gives a job for one Spec; from no holding where they are on order."""

    job: int
    spec: int
    at: Spot
    holding: int | None
    quantity: int


def reserve(job: Job, *, by: By) -> Promised:
    """Promise to a job what the best plan over all open jobs gives it from drawers and donors.

    All of it in one transaction or, where a piece went elsewhere since the plan was made, nothing: then it is
    planned anew.  The last round promises what it can get.  Refused for a job that is not open.
    """
    return _reserve(lambda wanted: wanted.job == job.pk, Need.objects.filter(job=job), by=by, job=job)


def reserve_requirement(stored: int, *, by: By) -> Promised:
    """Promise what that plan gives for one requirement, to every open job that lacks it, as `reserve`."""
    needs = Need.objects.filter(spec=stored, job__status=Job.Status.OPEN)
    return _reserve(lambda wanted: wanted.spec == stored, needs, by=by)


def _reserve(
    asked: Callable[[_Wanted], bool], needs: QuerySet[Need], *, by: By, job: Job | None = None
) -> Promised:
    for _round in range(ROUNDS - 1):
        try:
            return _promise(filter(asked, _planned()), needs, by=by, job=job)
        except _PieceGone:
            continue
    return _promise(filter(asked, _planned()), needs, by=by, job=job, what_is_there=True)


def _planned() -> list[_Wanted]:
    bench, plan = planned()
    return [
        _Wanted(take.demand.job, take.demand.spec, take.demand.at, holding, quantity)
        for take, holding, quantity in bench.handed_out(plan.takes)
    ]


@transaction.atomic
def _promise(
    planned: Iterable[_Wanted], asked: QuerySet[Need], *, by: By, job: Job | None, what_is_there: bool = False
) -> Promised:
    planned = list(planned)
    if job is not None:
        job = Job.objects.select_for_update().get(pk=job.pk)
        if job.status != Job.Status.OPEN:
            raise Refused(
                "job_closed",
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
    return Promised(
        made, [Lack(need, lacking[need.pk], on_order[need.pk]) for need in needs if lacking[need.pk]]
    )


def _shared(
    planned: Iterable[_Wanted], needs: Iterable[Need], lacking: dict[int, int]
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
