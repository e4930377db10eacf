"""What open needs lack, what is free for them, and the plan over both."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, partial
from typing import Any, NamedTuple, Self

from django.db.models import Sum

from inventory.models import Holding, Lot, Part
from inventory.ownership import who_may_own
from inventory.snapshot import undisturbed
from inventory.spec import Recorded, Spec
from inventory.unchanged import while_unchanged
from repairs import hazards, planning, substitutions
from repairs.models import Job, Need, Purchase
from repairs.planning import Allocation, Demand, Plan, Supply, Tier
from repairs.supply_and_demand.grouped import (
    EVERYBODY,
    NOT_MEASURED,
    Alike,
    Declined,
    DemandKey,
    JobDemand,
    Shelf,
)
from repairs.supply_and_demand.loading import (
    read_declined,
    read_lines,
    read_origins,
    read_particular,
    read_promised_by_friends,
    read_shelves,
    read_specs,
)

NOTHING = Plan((), {}, {})


@dataclass(frozen=True)
class SupplyAndDemand:
    jobs: Mapping[int, tuple[str, int, date | None]]
    """Open jobs: name, priority, due."""
    lines: Mapping[DemandKey, JobDemand]
    """Those of one job and Spec follow each other."""
    shelves: Mapping[Alike, Shelf]
    spec_of: Mapping[int, int]
    """Part -> its Spec's row."""
    specs: Mapping[int, Spec]
    recorded: Recorded
    owners: Mapping[int, int]
    """Open jobs that are somebody's: whose."""

    @classmethod
    def load(cls, *, borrow: bool = False) -> Self:
        """Read it, in a constant number of queries.  `borrow` also offers pieces in working boards."""
        columns = "id", "name", "priority", "due", "owner_id"
        rows = list(Job.objects.filter(status=Job.Status.OPEN).values_list(*columns))
        jobs = {pk: (name, priority, due) for pk, name, priority, due, _ in rows}
        owners = {pk: owner for pk, *_, owner in rows if owner is not None}
        recorded = substitutions.recorded()
        origins = read_origins(jobs)
        names = {job: name for job, (name, _, _) in jobs.items()}
        lines = read_lines(names, read_particular(recorded), frozenset(origins.values()))
        shelves = read_shelves(origins, borrow=borrow)
        ordered: Counter[tuple[int, int]] = Counter()
        bought = Purchase.objects.filter(state=Purchase.State.ORDERED).order_by()
        for part, owner, quantity in bought.values_list("part", "owner").annotate(Sum("quantity")):
            ordered[part, owner or EVERYBODY] += quantity
        promised = read_promised_by_friends()
        for (part, owner), (_, quantity) in promised.items():
            ordered[part, owner] += quantity
        for (part, owner), quantity in ordered.items():
            coming = Alike(Tier.ON_ORDER, part, Lot.Condition.UNTESTED, NOT_MEASURED, owner=owner)
            shelves[coming] = Shelf(quantity)
        offered = {alike.part for alike in shelves}
        spec_of = {part: spec for part, spec in Part.objects.values_list("id", "spec_id") if part in offered}
        spec_of |= {part: spec for (part, _), (spec, _) in promised.items()}
        specs = read_specs({*spec_of.values(), *(line.spec for line in lines)})
        return cls(jobs, lines, shelves, spec_of, specs, recorded, owners)

    def line_of(self, need: Need) -> DemandKey:
        """The line that a need is part of."""
        at = substitutions.spot_of(need.job, need.ref)
        here = DemandKey(need.spec_id, need.job_id, at)
        return here if here in self.lines else DemandKey(need.spec_id, need.job_id)

    def plan(self, *, borrow: bool = False, ask: bool = False) -> Plan:
        return planning.plan(
            self.demands, self.supplies, borrow=borrow, allow_ask=ask, recorded=self.recorded
        )

    def of_others(self, plan: Plan) -> Plan:
        """What would fill what stays short but is the own of people whose jobs those are not.

        The tier behind donors and orders: what the best plan leaves of it, best used.  It is asked for, and
        promised by nothing but its owner's yes.
        """
        if not plan.short or not self.own_shelves:
            return NOTHING
        known = self._of_others.get(id(plan))
        if known is None:
            known = self._of_others[id(plan)] = plan, self._find_of_others(plan)
        return known[1]

    def _find_of_others(self, plan: Plan) -> Plan:
        # What is left of the job's owner's own serves none of it, or the plan would have drawn on it.
        theirs = plan.spare(
            self._supply(key, alike, shelf)._replace(owner=None) for key, alike, shelf in self.own_shelves
        )
        lacking = plan.lacking(self.demands) if theirs else []
        found = planning.plan(lacking, theirs, recorded=self.recorded, misses=0)
        if declined := read_declined() if lacking else frozenset():
            found = self._without_declined(found, lacking, theirs, declined)
        asked = (t for t in found.asked if self.owner_of(t.supply) != self.owners.get(t.demand.job))
        return replace(found, asked=tuple(asked))

    def _without_declined(
        self, found: Plan, lacking: Sequence[Demand], theirs: Sequence[Supply], declined: Collection[Declined]
    ) -> Plan:
        """The plan without what was refused to the job; the rest is looked for once more elsewhere."""
        lots = dict(Holding.objects.filter(lot__in={lot for *_, lot in declined}).values_list("id", "lot_id"))

        def is_refused(take: Allocation) -> bool:
            holdings = self.shelves[take.supply].holdings
            return any((take.demand.spec, take.demand.job, lots.get(each)) in declined for each in holdings)

        refused = {take.supply for take in (*found.takes, *found.asked) if is_refused(take)}
        if not refused:
            return found
        kept = [take for take in found.takes if take.supply not in refused]
        given: Counter[DemandKey] = Counter()
        for take in kept:
            given[take.demand] += take.quantity
        left = [each.of(each.quantity - given[each.id]) for each in lacking]
        again = planning.plan(
            [each for each in left if each.quantity],
            replace(found, takes=tuple(kept)).spare(each for each in theirs if each.id not in refused),
            recorded=self.recorded, misses=0,
        )  # fmt: skip
        return replace(again, takes=(*kept, *again.takes))

    def after_others(self, plan: Plan, lacking: Sequence[Demand]) -> Sequence[Demand]:
        """What stays short of these when others here gave all that they could: friends are asked for it."""
        would: Counter[DemandKey] = Counter()
        for take in self.of_others(plan).takes:
            would[take.demand] += take.quantity
        if not would:
            return lacking
        left = (each.of(max(each.quantity - would[each.id], 0)) for each in lacking)
        return [demand for demand in left if demand.quantity]

    @cached_property
    def _of_others(self) -> dict[int, tuple[Plan, Plan]]:
        """What was found for a plan of this bench, by its id; the plan with it, so that it keeps that."""
        return {}

    @cached_property
    def own_shelves(self) -> Sequence[tuple[Any, Alike, Shelf]]:
        """Shelves of what is the own of somebody here and can be asked for: each with its key."""
        here = set(who_may_own().values_list("id", flat=True))
        shelves = ((key, getattr(key, "of", key), shelf) for key, shelf in self.shelves.items())
        return [
            each
            for each in shelves
            if each[1] is not None and each[1].owner in here and each[1].tier != Tier.ON_ORDER
        ]

    @cached_property
    def demands(self) -> Sequence[Demand]:
        """What the lines lack."""
        demands = []
        jobs, owners, specs = self.jobs, self.owners, self.specs
        for line, demand in self.lines.items():
            if lacking := demand.lacking:
                spec, job, at = line
                _, priority, due = jobs[job]
                demands.append(Demand(line, specs[spec], lacking, job, priority, due, at, owners.get(job)))
        return demands

    @cached_property
    def supplies(self) -> Sequence[Supply]:
        """What lies on the shelves, without what is only assumed to."""
        return [
            self._supply(alike, alike, shelf)
            for alike, shelf in self.shelves.items()
            if isinstance(alike, Alike)
        ]

    def _supply(self, key: Any, alike: Alike, shelf: Shelf) -> Supply:
        """What lies on a shelf; `key` is its own where it is only assumed to be filled, from a board."""
        return Supply(
            key,
            self.specs[self.spec_of[alike.part]],
            shelf.free,
            Tier(alike.tier) if key is alike else Tier.DRAWER,
            alike.condition,
            alike.reading[0],
            self.is_blocked(alike),
            alike.origin,
            alike.reading[1],
            None if alike.owner == EVERYBODY else alike.owner,
        )

    def owner_of(self, supply: Any) -> int:
        """Whose the pieces of a supply are; `EVERYBODY` for what is only assumed to be bought."""
        alike = getattr(supply, "of", supply)
        return EVERYBODY if alike is None else int(alike.owner)

    def text_of(self, supply: Any) -> str:
        """What the pieces of a supply are; blank for what is only assumed to be bought."""
        alike = getattr(supply, "of", supply)
        return "" if alike is None else self.specs[self.spec_of[alike.part]].text

    def is_blocked(self, alike: Alike) -> bool:
        """Whether these pieces would have to be lifted and must not be, for the board or what they are."""
        if alike.tier not in (Tier.DONOR, Tier.BORROW):
            return False
        return alike.blocked or hazards.is_blocked_part(self.specs[self.spec_of[alike.part]])

    def handed_out(self, takes: Iterable[Allocation]) -> Iterator[tuple[Allocation, int | None, int]]:
        """Each take as (take, holding, pieces), the oldest holding first; on order there is no holding."""
        begun: dict[Alike, tuple[int, int]] = {}  # shelf -> which holding is next, pieces gone from it
        for take in takes:
            shelf, wanted = self.shelves[take.supply], take.quantity
            if take.tier == Tier.ON_ORDER:
                yield take, None, wanted
                continue
            index, gone = begun.get(take.supply, (0, 0))
            while wanted:
                given = min(wanted, shelf.pieces[index] - gone)
                yield take, shelf.holdings[index], given
                wanted, gone = wanted - given, gone + given
                if gone == shelf.pieces[index]:
                    index, gone = index + 1, 0
            begun[take.supply] = index, gone


class Planned(NamedTuple):
    bench: SupplyAndDemand
    plan: Plan


@while_unchanged
def the_bench(*, borrow: bool = False) -> SupplyAndDemand:
    """What is wanted and what is free; `borrow` also offers pieces in working boards."""
    return undisturbed(partial(SupplyAndDemand.load, borrow=borrow))


@while_unchanged
def planned(*, borrow: bool = False, ask: bool = False) -> Planned:
    """The bench and the best plan for all open jobs; `ask` also draws on what a person must decide on."""
    bench = the_bench(borrow=borrow)
    return Planned(bench, bench.plan(borrow=borrow, ask=ask))
