"""What open needs lack and what is free for them, as `repairs.planning` takes it.

Needs are grouped by requirement and job, free pieces by part, condition, reading and tier.  Nothing is loaded
as rows of a model, and only holdings that a plan draws on are looked up by name.  The bench and its plan are
kept while nothing is committed, and so shared: nobody may change them.  What loads, what groups and what
names pieces again go by the same keys, and therefore stand in one file.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from functools import cached_property, partial
from itertools import groupby
from operator import itemgetter
from typing import Any, NamedTuple, Self

from django.db.models import F, Sum

from inventory import stock
from inventory.chunks import chunks
from inventory.ledger import borrowed_lots
from inventory.models import Board, Holding, Lot, Part, Place, Position, StoredSpec
from inventory.ownership import who_may_own
from inventory.places import paths
from inventory.snapshot import undisturbed
from inventory.spec import Recorded, Spec
from inventory.spec.recorded import Spot
from inventory.unchanged import while_unchanged
from repairs import hazards, planning, readiness, substitutions
from repairs.models import Job, Need, PieceAsk, Purchase
from repairs.planning import Allocation, Demand, Plan, Supply, Tier
from repairs.sharing_models import FriendAsk

CHUNK = 5000
NOT_MEASURED = -1
EVERYBODY = 0
"""Stands for the owner of what is nobody's own."""
USUAL_METER = Decimal(-1)
"""Stands for a reading of which nobody said what the meter may be off."""


Declined = tuple[int, int, int | None]
"""A requirement, a job and a lot whose owner refused it."""


class DemandKey(NamedTuple):
    """What one job requires of one Spec: the key of a demand.

    `at` is where, as (design, reference), only for needs of which something was recorded at a place, and
    where a free piece came off just that position.
    """

    spec: int
    job: int
    at: Spot = ()


class Alike(NamedTuple):
    """Pieces between which a plan sees no difference: the key of a supply."""

    tier: int
    part: int
    condition: str
    measured: int
    blocked: bool = False
    origin: Spot = ()
    measured_tolerance: Decimal = USUAL_METER
    owner: int = EVERYBODY

    @property
    def reading(self) -> tuple[int | None, Decimal | None]:
        """What it reads and what the meter may be off, each as the judge takes it."""
        return (
            None if self.measured == NOT_MEASURED else self.measured,
            None if self.measured_tolerance == USUAL_METER else self.measured_tolerance,
        )


@dataclass(slots=True)
class JobDemand:
    """One job's share of a requirement, in pieces."""

    job: int
    name: str
    refs: tuple[str, ...] = ()
    needed: int = 0
    fitted: int = 0
    promised: int = 0
    open: tuple[tuple[str, int], ...] = ()
    """Needs that are not filled, in the order in which they are given pieces: the reference of each ("" where
    it is loose) and how many it lacks."""

    @property
    def lacking(self) -> int:
        return self.needed - self.fitted - self.promised

    @property
    def lacking_refs(self) -> tuple[str, ...]:
        if len(self.open) == 1 and self.refs == (self.open[0][0],):
            return self.refs  # the usual line is one need: what it says stands once in memory
        return tuple(ref for ref, _ in self.open if ref)

    def short_refs(self, short: int) -> tuple[str, ...]:
        """The references that lack a piece still when all but `short` of what is lacking is given out."""
        if not short:
            return ()
        if short == self.lacking:
            return self.lacking_refs
        left = self.lacking - short
        found = []
        for ref, lacks in self.open:
            if left < lacks and ref:
                found.append(ref)
            left = max(left - lacks, 0)
        return tuple(found)


@dataclass(slots=True)
class Shelf:
    """Alike pieces: their holdings, oldest first, and in step how many are free at each; none on order."""

    free: int = 0
    holdings: list[int] = field(default_factory=list)
    pieces: list[int] = field(default_factory=list)

    def after(self, taken: int) -> int | None:
        """The holding of the next piece when so many are taken."""
        for holding, pieces in zip(self.holdings, self.pieces, strict=True):
            if taken < pieces:
                return holding
            taken -= pieces
        return None


class FreePieces(NamedTuple):
    """Free pieces of one lot at one place, named from the top: `Cabinet A / Drawer 7`; no lot and no place
    where they are still on order."""

    holding: int | None
    lot: int | None
    place: int | None
    place_name: str
    ref: str


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
        origins = _origins(jobs)
        names = {job: name for job, (name, _, _) in jobs.items()}
        lines = _lines(names, _particular(recorded), frozenset(origins.values()))
        shelves = _shelves(origins, borrow=borrow)
        ordered: Counter[tuple[int, int]] = Counter()
        bought = Purchase.objects.filter(state=Purchase.State.ORDERED).order_by()
        for part, owner, quantity in bought.values_list("part", "owner").annotate(Sum("quantity")):
            ordered[part, owner or EVERYBODY] += quantity
        promised = _promised_by_friends()
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
        if declined := _declined() if lacking else frozenset():
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
        for line, demand in self.lines.items():
            if lacking := demand.lacking:
                _, priority, due = self.jobs[line.job]
                owner = self.owners.get(line.job)
                spec = self.specs[line.spec]
                demands.append(Demand(line, spec, lacking, line.job, priority, due, line.at, owner))
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


def _declined() -> frozenset[Declined]:
    """What its owner refused to a job that lacks it still, and was not asked for it again."""
    open_needs = PieceAsk.objects.filter(need__status=Need.Status.OPEN).order_by()
    rows = open_needs.values_list("need__spec", "need__job", "lot")
    refused = rows.filter(
        state=PieceAsk.State.DECLINED, need__quantity__gt=F("need__promised") + F("need__fitted")
    )
    return frozenset(refused) - frozenset(rows.filter(state=PieceAsk.State.ASKED))


def _promised_by_friends() -> dict[tuple[int, int], tuple[int, int]]:
    """What friends said yes to, which is on its way as what was ordered is: (part, whose it will be) -> its
    Spec's row, pieces.

    A Spec of which the bench has no part yet stands under its own number, below nought.
    """
    agreed = FriendAsk.objects.filter(state__in=FriendAsk.ON_ITS_WAY)
    pieces = list(agreed.order_by().values_list("spec", "job__owner").annotate(Sum("quantity")))
    parts = dict(Part.objects.filter(spec__in={spec for spec, *_ in pieces}).values_list("spec_id", "id"))
    return {
        (parts.get(spec, -spec), owner or EVERYBODY): (spec, quantity) for spec, owner, quantity in pieces
    }


def _particular(recorded: Recorded) -> frozenset[int]:
    """Rows of the required Specs of which something was recorded for one design only."""
    if not any(record.design is not None for record in recorded):
        return frozenset()
    wanted = StoredSpec.objects.filter(kind__in=recorded.kinds, needs__status=Need.Status.OPEN)
    specs = read_specs(set(wanted.values_list("id", flat=True)))
    return frozenset(
        row for row, spec in specs.items() if any(record.design is not None for record in recorded.of(spec))
    )


def _left_empty(jobs: Collection[int]) -> frozenset[tuple[int, str]]:
    """(job, reference) of positions that what is fitted now leaves empty: nothing is wanted there."""
    designs = set(Position.objects.exclude(empty_when={}).values_list("design", flat=True))
    if not designs:
        return frozenset()
    asked = Job.objects.filter(pk__in=jobs, board__design__in=designs).select_related("board__design")
    boards = {job.pk: job.board for job in asked if job.board}
    empty = readiness.left_empty_on({board.pk: board for board in boards.values()}.values())
    return frozenset((job, ref) for job, board in boards.items() for ref in empty[board.pk])


LEGS_IN_ORDER = ("transistor", "regulator", "diode")
"""Kinds of which a type number may be made with two pin orders."""


def _origins(jobs: Collection[int]) -> dict[int, Spot]:
    """Lot -> the spot that it came off, for lots whose pin order is not known and of which an open job wants
    something at that very position of a board of that design."""
    wanted = set(
        Need.objects.filter(
            status=Need.Status.OPEN, job__in=list(jobs), job__board__design__isnull=False,
            spec__kind__in=LEGS_IN_ORDER, quantity__gt=F("promised") + F("fitted"),
        ).exclude(ref="").values_list("job__board__design", "ref")
    )  # fmt: skip
    if not wanted:
        return {}
    came_off = Lot.objects.filter(
        part__spec__kind__in=LEGS_IN_ORDER, origin_board__design__in={design for design, _ in wanted}
    ).exclude(origin_ref="")
    return {
        lot: (design, ref)
        for lot, design, ref, traits in came_off.values_list(
            "id", "origin_board__design", "origin_ref", "part__spec__traits"
        )
        if (design, ref) in wanted and "pin_order" not in traits
    }


def _lines(
    names: Mapping[int, str], particular: Collection[int], origins: Collection[Spot]
) -> dict[DemandKey, JobDemand]:
    """`particular` requirements, and needs at one of these origins, are kept apart by where the pieces go."""
    design_of: dict[int, int] = {}
    if particular or origins:
        designs = Job.objects.filter(board__design__isnull=False).values_list("id", "board__design")
        design_of = dict(designs)
    empty = _left_empty(names)
    lines: dict[DemandKey, JobDemand] = {}
    same: dict[Any, Any] = {}  # what many lines say alike is kept once
    rows = (
        Need.objects.filter(status=Need.Status.OPEN, job__in=list(names))
        .order_by("spec_id", "job_id", "id")
        .values_list("spec_id", "job_id", "ref", "quantity", "fitted", "promised")
        .iterator(chunk_size=CHUNK)
    )
    for (spec, job), needs in groupby(rows, itemgetter(0, 1)):
        spec, job = same.setdefault(spec, spec), same.setdefault(job, job)
        apart: dict[DemandKey, list[tuple[int, int, str, int, int, int]]] = {}
        for need in needs:
            at = (design_of[job], need[2]) if job in design_of else ()
            key = DemandKey(spec, job, at) if spec in particular or at in origins else DemandKey(spec, job)
            if not empty or (job, need[2]) not in empty:
                apart.setdefault(key, []).append(need)
        for key, wanted in apart.items():
            line = lines[key] = JobDemand(job, names[job])
            refs, lacking = [], []
            for _, _, ref, quantity, fitted, promised in wanted:
                line.needed += quantity
                line.fitted += fitted
                line.promised += promised
                if ref:
                    refs.append(same.setdefault(ref, ref))
                if lacks := quantity - fitted - promised:
                    lacking.append(same.setdefault((ref, lacks), (ref, lacks)))
            line.refs, line.open = tuple(refs), tuple(lacking)
            if len(wanted) == 1:
                line.refs = same.setdefault(line.refs, line.refs)
                line.open = same.setdefault(line.open, line.open)
    return lines


def _tiers(*, borrow: bool) -> dict[int, int]:
    """Place -> tier, of every place whose pieces may be planned: never people, scrap or boards in use."""
    at_hand = Place.objects.filter(type__in=stock.KEPT_IN)
    tiers = {place: int(Tier.DRAWER) for place in at_hand.values_list("id", flat=True)}
    of_board: dict[str, Tier] = dict.fromkeys(stock.LIFTED_FROM, Tier.DONOR)
    if borrow:
        of_board[Board.Purpose.WORKING] = Tier.BORROW
    for place, purpose in Board.objects.filter(purpose__in=of_board).values_list("place_id", "purpose"):
        tiers[place] = int(of_board[purpose])
    return tiers


def _shelves(origins: Mapping[int, Spot], *, borrow: bool) -> dict[Alike, Shelf]:
    """What is free for jobs; a borrowed piece is owed back and one that failed is put by: free for none."""
    blocked = hazards.blocked_places()
    borrowed = list(borrowed_lots())
    failed = frozenset(stock.failed_lots())
    where = {place: (tier, place in blocked) for place, tier in _tiers(borrow=borrow).items()}
    found: dict[tuple[tuple[int, bool], int, str, int | None, Spot, Decimal | None, int], Shelf] = {}
    # One pass over plain tuples: quicker than to let the database group them and then look for the pieces.
    for holding, place, quantity, promised, lot, part, condition, measured, tolerance, owner in (
        Holding.objects.filter(quantity__gt=F("promised"))
        .exclude(lot__condition=Lot.Condition.FAULTY)
        .exclude(lot__in=borrowed)
        .order_by("id")
        .values_list(
            "id",
            "place_id",
            "quantity",
            "promised",
            "lot_id",
            "lot__part_id",
            "lot__condition",
            "lot__measured",
            "lot__measured_tolerance",
            "lot__owner_id",
        )
        .iterator(chunk_size=CHUNK)
    ):
        here = where.get(place)
        if here is None or lot in failed:
            continue
        key = here, part, condition, measured, origins.get(lot, ()), tolerance, owner or EVERYBODY
        shelf = found.get(key)
        if shelf is None:
            shelf = found[key] = Shelf()
        shelf.free += quantity - promised
        shelf.holdings.append(holding)
        shelf.pieces.append(quantity - promised)
    return {
        Alike(
            tier,
            part,
            condition,
            NOT_MEASURED if measured is None else measured,
            is_blocked,
            origin,
            USUAL_METER if tolerance is None else tolerance,
            owner,
        ): shelf
        for ((tier, is_blocked), part, condition, measured, origin, tolerance, owner), shelf in found.items()
    }


def read_specs(rows: Collection[int]) -> dict[int, Spec]:
    """The Specs of these rows of StoredSpec."""
    found: dict[int, Spec] = {}
    for chunk in chunks(sorted(rows), CHUNK):
        missing = []
        for pk, key in StoredSpec.objects.filter(pk__in=chunk).values_list("id", "key_hash"):
            known = StoredSpec.remembered(key)
            if known is None:
                missing.append(pk)
            else:
                found[pk] = known
        if missing:
            for row in StoredSpec.objects.filter(pk__in=missing):
                found[row.pk] = row.spec
    return found


def read_spec(row: int, key_hash: str) -> Spec:
    """The Spec of one row of StoredSpec, of which the hash is at hand already."""
    known = StoredSpec.remembered(key_hash)
    return read_specs([row])[row] if known is None else known


def read_pieces(holdings: Iterable[int | None]) -> dict[int | None, FreePieces]:
    """What these holdings are, for people; None is what is on order."""
    wanted = {holding for holding in holdings if holding is not None}
    found: dict[int | None, FreePieces] = {None: FreePieces(None, None, None, "", "")}
    where = paths() if wanted else {}
    for chunk in chunks(sorted(wanted), CHUNK):
        for pk, lot, place, ref in Holding.objects.filter(pk__in=chunk).values_list(
            "id", "lot_id", "place_id", "ref"
        ):
            found[pk] = FreePieces(pk, lot, place, where[place], ref)
    return found
