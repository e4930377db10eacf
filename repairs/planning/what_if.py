"""What if: the plan under assumptions, and what changes for which job. Nothing is stored."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.spec import Recorded, Spec, fits
from repairs.planning.candidates import Judge
from repairs.planning.optimiser import Demand, Plan, Supply, Tier, plan


@dataclass(frozen=True, slots=True)
class Park:
    """The job waits and wants nothing."""

    job: Any


@dataclass(frozen=True, slots=True)
class Prioritise:
    """The job has another priority, 1 highest to 5."""

    job: Any
    priority: int


@dataclass(frozen=True, slots=True)
class Borrow:
    """Working boards may be drawn on."""


@dataclass(frozen=True, slots=True)
class Strip:
    """Everything is taken off a donor: so many pieces of each supply come into the drawers."""

    pieces: Mapping[Any, int]


@dataclass(frozen=True, slots=True)
class AssumedPurchase:
    """So many pieces are on order."""

    spec: Spec
    quantity: int


@dataclass(frozen=True, slots=True)
class Assumed:
    """The id of pieces that are there only by assumption, by its number; sorts after every real id."""

    assumption: int
    of: Any = None

    def __lt__(self, other: object) -> bool:
        if not isinstance(other, Assumed):
            return False
        return (self.assumption, str(self.of)) < (other.assumption, str(other.of))

    def __gt__(self, other: object) -> bool:
        return not isinstance(other, Assumed) or other < self


Assumption = Park | Prioritise | Borrow | Strip | AssumedPurchase


@dataclass(frozen=True, slots=True)
class JobChange:
    """Pieces that a job lacks now and under the assumptions; `after` is None for a job that is parked."""

    job: Any
    before: int
    after: int | None


@dataclass(frozen=True, slots=True)
class WhatIf:
    """Both plans, and the jobs for which they differ in what is short, first in line first."""

    now: Plan
    then: Plan
    changes: tuple[JobChange, ...]

    @property
    def completed(self) -> tuple[Any, ...]:
        """Jobs that lack something now and nothing then."""
        return tuple(change.job for change in self.changes if change.after == 0)

    @property
    def worse_off(self) -> tuple[Any, ...]:
        """Jobs that lack more than now."""
        return tuple(each.job for each in self.changes if each.after is not None and each.after > each.before)


def what_if(
    demands: Iterable[Demand],
    supplies: Iterable[Supply],
    assumptions: Sequence[Assumption],
    *,
    borrow: bool = False,
    allow_ask: bool = False,
    judge: Judge = fits,
    recorded: Recorded | None = None,
    now: Plan | None = None,
) -> WhatIf:
    """Plan as things are, unless that plan is given as `now`, and as they are assumed to be.

    ValueError: an unknown job, a priority that is none, nothing bought, stripped what is not there.
    """
    demands, supplies = list(demands), list(supplies)
    borrow_then = borrow or any(isinstance(each, Borrow) for each in assumptions)
    wanted, held = assume(demands, supplies, assumptions)
    now = now or plan(demands, supplies, borrow=borrow, allow_ask=allow_ask, judge=judge, recorded=recorded)
    then = plan(wanted, held, borrow=borrow_then, allow_ask=allow_ask, judge=judge, recorded=recorded)
    before, after = _short_by_job(demands, now), _short_by_job(wanted, then)
    jobs = dict.fromkeys(demand.job for demand in sorted(demands, key=lambda demand: demand.rank))
    changes = (JobChange(job, before[job], after.get(job)) for job in jobs)
    return WhatIf(now, then, tuple(change for change in changes if change.before != change.after))


def assume(
    demands: Iterable[Demand], supplies: Iterable[Supply], assumptions: Sequence[Assumption]
) -> tuple[list[Demand], list[Supply]]:
    """The demands and supplies under the assumptions, one after the other. ValueError as in `what_if`."""
    wanted, held = list(demands), list(supplies)
    jobs = {demand.job for demand in wanted}
    for number, assumption in enumerate(assumptions):
        match assumption:
            case Park(job=job) | Prioritise(job=job) if job not in jobs:
                raise ValueError(f"{job!r} is not a job with open needs")
            case Park(job=job):
                wanted = [demand for demand in wanted if demand.job != job]
            case Prioritise(job=job, priority=priority):
                if not 1 <= priority <= 5:
                    raise ValueError(f"expected a priority from 1 to 5, found {priority}")
                wanted = [
                    demand._replace(priority=priority) if demand.job == job else demand for demand in wanted
                ]
            case Strip(pieces=pieces):
                held = _stripped(held, pieces, number)
            case AssumedPurchase(spec=spec, quantity=quantity):
                if quantity < 1:
                    raise ValueError(f"expected at least one piece to buy, found {quantity}")
                held.append(Supply(Assumed(number), spec, quantity, Tier.ON_ORDER))
    return wanted, held


def _stripped(held: list[Supply], pieces: Mapping[Any, int], number: int) -> list[Supply]:
    left = dict(pieces)
    found: list[Supply] = []
    for supply in held:
        taken = left.pop(supply.id, 0)
        if taken and supply.tier != Tier.DONOR:
            raise ValueError(f"{supply.id!r} is not on a donor")
        if not 0 <= taken <= supply.quantity:
            raise ValueError(f"{supply.id!r}: {taken} to strip of {supply.quantity}")
        found.append(supply._replace(quantity=supply.quantity - taken))
        if taken:
            in_drawer = Assumed(number, supply.id)
            found.append(supply._replace(id=in_drawer, quantity=taken, tier=Tier.DRAWER))
    if left:
        raise ValueError(f"{next(iter(left))!r} is no supply")
    return found


def _short_by_job(demands: Iterable[Demand], result: Plan) -> Counter[Any]:
    short: Counter[Any] = Counter()
    for demand in demands:
        short[demand.job] += result.short.get(demand.id, 0)
    return short
