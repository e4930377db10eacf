"""The best use of everything free: demands and supplies in, a plan out.

In strict order, an earlier aim never traded for a later one:

1. fill the job of higher priority, then of earlier due date (none is last), then of lower id: job by job;
2. draw on the nearest tier: drawer, donor board, on order, then, only when asked, a working board; what has
   an open question (`ask`) comes behind all that is sure, and before what is borrowed;
3. use the fewest pieces of the worst grade, then of the next: `ask` only when allowed (the more open
   questions the worse), `with_note`, `drop_in`;
4. keep ratings close (the least sum of `Fit.closeness`), so that a better part stays for the need with no
   other.

Ties, so that equal inputs in any order give equal plans: within one requirement the job first in line gets
the nearer, then better, then closer piece, and its needs are served by id; of like pieces the tested go
before the untested, then by id; between parts that tie in all four aims the choice depends on nothing but
their keys and on who is first in line. Ids of one sort must therefore compare with `<`.

More stock never leaves any job with fewer pieces, and a job at the end of the line takes none from those
before it. It leaves them the very pieces that they had, too, wherever the best plan allows that (`ties`), or
one of them gets a nearer or better one; else where their pieces come from may change, for aims 2 to 4 are of
the whole bench.

What is somebody's own is planned for that person's jobs alone, and what is everybody's for all.

Needs with one requirement are planned as one, pieces of one part, reading and tier as one, so the work grows
with distinct parts. A caller with very many lots passes one supply for each such class. One file, since the
four aims are one order, and each step must keep to it.
"""

from collections import Counter, defaultdict, deque
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import IntEnum
from heapq import nsmallest
from operator import attrgetter
from typing import Any, NamedTuple, TypeVar

from inventory.spec import GRADES, Fit, Reason, Recorded, Spec, SubstitutionRecord, fits
from inventory.spec.recorded import Spot
from repairs.planning.candidates import Judge, Market, Offer
from repairs.planning.network import Arc, Stock, allot
from repairs.planning.refusals import (
    ANOTHERS,
    BLOCKED,
    BORROWED,
    SUSPECT,
    RefusedSupply,
    in_the_way,
    is_doubtful,
    is_near,
    lowered,
)

CONDITIONS = ("good", "untested", "suspect", "faulty")
"""Like pieces are used in this order. Suspect lowers the grade to ask unless the piece was measured;
faulty is never offered."""


class Tier(IntEnum):
    """Where a piece would come from, nearest first."""

    DRAWER = 0
    DONOR = 1
    ON_ORDER = 2
    BORROW = 3


class Demand(NamedTuple):
    """Pieces that one open need still lacks. `at` is where they go: what was recorded there may hold.

    `owner` is whose job it is; None is everybody's.
    """

    id: Any
    spec: Spec
    quantity: int
    job: Any
    priority: int = 3
    due: date | None = None
    at: Spot = ()
    owner: Any = None

    @property
    def rank(self) -> tuple[int, date, Any]:
        """The job's place in line; lower is served first."""
        return (self.priority, self.due or date.max, self.job)

    def of(self, quantity: int) -> "Demand":
        """The same for so many pieces."""
        return self if quantity == self.quantity else self._replace(quantity=quantity)


class Supply(NamedTuple):
    """Free pieces that are alike; `measured` is their reading, in the kind's smallest unit,
    and its meter may be off by `measured_tolerance` per cent (None: as is usual).

    `blocked` ones sit where nobody may work: they are never planned, only named among the refused.  `origin`
    is the spot that they came off: a type whose legs are not known serves there alone, as it came out.
    Pieces that have an `owner` are planned for demands of that owner alone, and everybody's (None) for all.
    """

    id: Any
    spec: Spec
    quantity: int
    tier: Tier
    condition: str = "untested"
    measured: int | None = None
    blocked: bool = False
    origin: Spot = ()
    measured_tolerance: Decimal | None = None
    owner: Any = None


class Allocation(NamedTuple):
    """So many pieces of a supply for a demand."""

    demand: Any
    supply: Any
    quantity: int
    tier: Tier
    fit: Fit


@dataclass(frozen=True)
class Plan:
    """Takes in order of the jobs' rank; for short demands, by id, pieces short and nearest misses.

    `asked` are pieces left over that would fill what is short but for a question that something settles.
    """

    takes: tuple[Allocation, ...]
    short: Mapping[Any, int]
    refused: Mapping[Any, tuple[RefusedSupply, ...]]
    asked: tuple[Allocation, ...] = ()

    def lacking(self, demands: Iterable[Demand]) -> list[Demand]:
        """The demands that stay short, with what they lack."""
        return [demand.of(self.short[demand.id]) for demand in demands if demand.id in self.short]

    def to_buy(self, demands: Iterable[Demand]) -> list[Demand]:
        """The demands that stay short whatever the answers to open questions, with what they lack then."""
        in_question: Counter[Any] = Counter()
        for take in self.asked:
            in_question[take.demand] += take.quantity
        lacking = (demand.of(demand.quantity - in_question[demand.id]) for demand in self.lacking(demands))
        return [demand for demand in lacking if demand.quantity]

    def spare(self, supplies: Iterable[Supply]) -> list[Supply]:
        """What the plan leaves of these supplies."""
        taken: Counter[Any] = Counter()
        for take in self.takes:
            taken[take.supply] += take.quantity
        left = (
            supply._replace(quantity=supply.quantity - taken[supply.id]) if supply.id in taken else supply
            for supply in supplies
        )
        return [supply for supply in left if supply.quantity]


def plan(
    demands: Iterable[Demand],
    supplies: Iterable[Supply],
    *,
    judge: Judge = fits,
    allow_ask: bool = False,
    borrow: bool = False,
    recorded: Recorded | None = None,
    misses: int = 3,
) -> Plan:
    """Return the best plan by the order above.

    `allow_ask` also plans pieces that a person must decide on; `borrow` also draws on working boards.
    `recorded` holds substitutions that people proved or refuted at `Demand.at`, or anywhere. At most `misses`
    refusals are named for each short demand.
    ValueError: a negative quantity, an unknown condition, or two demands or two supplies with one id.
    """
    stocks = _alike(_checked(supplies), borrow=borrow)
    market = Market(
        [
            Offer(s.spec, s.measured, s.origin, s.measured_tolerance)
            for s in (stock.supplies[0] for stock in stocks)
        ],
        judge,
        recorded,
    )
    owners = frozenset(stock.owner for stock in stocks) - {None}
    line = _in_line(_checked(demands), market, owners)
    groups = list(dict.fromkeys(group for _, _, group in line))

    planned = GRADES[: GRADES.index("ask") + allow_ask]
    settled = [stock.doubt is None or (allow_ask and stock.doubt is SUSPECT) for stock in stocks]
    for group in groups:
        for fit, indices in market.offers(group.spec, group.at):
            if fit.grade in planned:
                group.choices.update(
                    (i, lowered(fit, stocks[i].doubt))
                    for i in indices
                    if settled[i] and (not owners or stocks[i].is_open_to(group))
                )
    drawn = allot(
        [list(group.wanted.items()) for group in groups],
        [Stock(stock.quantity, _distance(stock.tier)) for stock in stocks],
        [[_arc(index, fit) for index, fit in group.choices.items()] for group in groups],
    )

    takes, short = _handed_out(line, stocks, dict(zip(groups, drawn, strict=True)))
    refused: dict[Any, tuple[RefusedSupply, ...]] = {}
    missing = (group for _, demand, group in line if demand.id in short) if misses else ()
    for group in dict.fromkeys(missing):
        offers = market.offers(group.spec, group.at, neighbours=True)
        passed_over = (
            (stocks[i], fit if stocks[i].is_open_to(group) else lowered(fit, ANOTHERS))
            for fit, indices in offers
            for i in indices
            if i not in group.choices
        )
        nearest = _nearest(passed_over, misses)
        refused.update((demand.id, nearest) for demand in group.demands if demand.id in short)
    asked = () if allow_ask or not short else _in_question(line, short, stocks, market)
    return Plan(takes, short, refused, asked)


def _in_question(
    line: "_Line", short: Mapping[Any, int], stocks: list["_Class"], market: Market
) -> tuple[Allocation, ...]:
    """The best use, for what stays short, of left-over pieces whose open questions can all be settled."""
    asking: dict[_Group, _Group] = {}
    waiting: _Line = []
    for place, demand, group in line:
        if lacking := short.get(demand.id):
            again = asking.get(group)
            if again is None:
                again = _Group(group.spec, group.at, group.owner)
                again.choices = _questionable(again, stocks, market)
                asking[group] = again
            if again.choices:
                again.wanted[place] = again.wanted.get(place, 0) + lacking
                waiting.append((place, demand.of(lacking), again))
    groups = [group for group in asking.values() if group.choices]
    drawn = allot(
        [list(group.wanted.items()) for group in groups],
        [Stock(stock.left, _distance(stock.tier)) for stock in stocks],
        [[_arc(index, fit) for index, fit in group.choices.items()] for group in groups],
    )
    return _handed_out(waiting, stocks, dict(zip(groups, drawn, strict=True)))[0]


def _questionable(group: "_Group", stocks: list["_Class"], market: Market) -> dict[int, Fit]:
    """Left-over stocks that would serve the group, once what is open about them is settled."""
    found: dict[int, Fit] = {}
    for fit, indices in market.offers(group.spec, group.at):
        for i in indices:
            stock = stocks[i]
            may = stock.doubt is None or stock.doubt is SUSPECT
            if stock.left and may and stock.is_open_to(group):
                asking = lowered(fit, stock.doubt)
                if asking.questions:
                    found[i] = asking
    return found


@dataclass(slots=True, eq=False)
class _Class:
    """Supplies that are alike but for their id and whether they were tested; `left` is not given out yet."""

    supplies: list[Supply]
    doubt: Reason | None
    quantity: int
    tier: Tier
    owner: Any
    left: int
    _pieces: deque[list[Any]] | None = None

    def is_open_to(self, group: "_Group") -> bool:
        """What is somebody's is asked for, not planned, for the jobs of others."""
        return self.owner is None or self.owner == group.owner

    @property
    def pieces(self) -> deque[list[Any]]:
        """What is left of them in order of use, each [supply, pieces]; most classes are never drawn on."""
        if self._pieces is None:
            in_use = sorted(self.supplies, key=lambda supply: (CONDITIONS.index(supply.condition), supply.id))
            self._pieces = deque([supply.id, supply.quantity] for supply in in_use)
        return self._pieces

    def use(self, most: int) -> tuple[Any, int]:
        """Take up to so many pieces of the supply that is next: which it is, and how many."""
        pieces = self.pieces
        supply, held = pieces[0]
        quantity: int = min(most, held)
        _use(pieces, quantity)
        self.left -= quantity
        return supply, quantity


@dataclass(slots=True, eq=False)
class _Group:
    """Demands that require the same; pieces wanted by the job's place in line; stocks that may serve them."""

    spec: Spec
    at: Spot
    owner: Any
    demands: list[Demand] = field(default_factory=list)
    wanted: dict[int, int] = field(default_factory=dict)
    choices: dict[int, Fit] = field(default_factory=dict)


_Line = list[tuple[int, Demand, _Group]]
"""Demands in order of rank and id, each with its job's place in line and those that require the same."""

_Request = TypeVar("_Request", Demand, Supply)


def _checked(requests: Iterable[_Request]) -> list[_Request]:
    """Demands or supplies with pieces in them; ValueError where one cannot be."""
    seen: set[Any] = set()
    kept: list[_Request] = []
    for request in requests:
        if request.quantity < 0:
            raise ValueError(f"{request.id!r}: a quantity of {request.quantity}")
        if request.id in seen:
            raise ValueError(f"{request.id!r}: two demands or two supplies with this id")
        seen.add(request.id)
        if request.quantity:
            kept.append(request)
    return kept


def _alike(supplies: list[Supply], *, borrow: bool) -> list[_Class]:
    """Classes in the order that decides ties."""
    alike: defaultdict[tuple[Any, ...], list[Supply]] = defaultdict(list)
    for supply in supplies:
        if supply.condition not in CONDITIONS:
            raise ValueError(
                f"{supply.id!r}: condition {supply.condition!r}, not one of {', '.join(CONDITIONS)}"
            )
        if supply.condition != "faulty":
            measured = -1 if supply.measured is None else supply.measured
            percent = -1 if supply.measured_tolerance is None else supply.measured_tolerance
            asked = (
                supply.tier, supply.spec.key, measured, is_doubtful(supply), supply.blocked, supply.origin,
                percent, () if supply.owner is None else (supply.owner,),
            )  # fmt: skip
            alike[asked].append(supply)
    found = []
    for _, members in sorted(alike.items()):
        first, quantity = members[0], sum(supply.quantity for supply in members)
        doubt = _doubt(first, borrow=borrow)
        found.append(_Class(members, doubt, quantity, first.tier, first.owner, quantity))
    return found


def _doubt(supply: Supply, *, borrow: bool) -> Reason | None:
    """What keeps these pieces out of the plan, or would need a person."""
    if supply.blocked:
        return BLOCKED
    if supply.tier == Tier.BORROW and not borrow:
        return BORROWED
    return SUSPECT if is_doubtful(supply) else None


def _in_line(demands: list[Demand], market: Market, owners: Collection[Any]) -> _Line:
    """In line; those of `owners`, who have pieces of their own, are apart from those of others."""
    jobs: defaultdict[tuple[int, date, Any], list[Demand]] = defaultdict(list)
    of_job: dict[tuple[Any, ...], list[Demand]] = {}  # by what says the rank: thousands of demands share one
    for demand in demands:
        asked = demand.job, demand.priority, demand.due
        ranked = of_job.get(asked)
        if ranked is None:
            ranked = of_job[asked] = jobs[demand.rank]
        ranked.append(demand)
    groups: dict[tuple[str, tuple[SubstitutionRecord, ...], Spot, Any], _Group] = {}
    known: dict[tuple[int, Spot, Any], _Group] = {}  # by the very Spec: thousands of demands share one
    line: _Line = []
    for place, rank in enumerate(sorted(jobs)):
        for demand in sorted(jobs[rank], key=attrgetter("id")):
            very = id(demand.spec), demand.at, demand.owner
            group = known.get(very)
            if group is None:
                owner = demand.owner if demand.owner in owners else None
                record = market.recorded(demand.spec, demand.at)
                key = demand.spec.key, record, market.origin(demand.at), owner
                group = groups.get(key)
                if group is None:
                    group = groups[key] = _Group(demand.spec, demand.at, owner)
                known[very] = group
            group.demands.append(demand)
            group.wanted[place] = group.wanted.get(place, 0) + demand.quantity
            line.append((place, demand, group))
    return line


def _arc(stock: int, fit: Fit) -> Arc:
    grade = GRADES.index(fit.grade)
    if fit.grade != "ask":
        return Arc(stock, grade, fit.closeness)
    more = sum(reason.grade == "ask" for reason in fit.reasons) - 1
    return Arc(stock, grade + more, fit.closeness, _BEHIND)


_BEHIND = int(Tier.BORROW)
"""Tiers by which a piece in question is farther: beyond those that nobody borrows from."""


def _distance(tier: Tier) -> int:
    return int(tier) if tier < Tier.BORROW else tier + _BEHIND


def _handed_out(
    line: _Line, stocks: list[_Class], drawn: Mapping[_Group, dict[int, int]]
) -> tuple[tuple[Allocation, ...], dict[Any, int]]:
    """Give the pieces drawn for each group to its demands, the best to the first in line."""
    best_first = {}
    for group, pieces in drawn.items():
        best_first[group] = deque([i, pieces[i]] for i in sorted(pieces, key=_near_and_good(group, stocks)))
    takes: list[Allocation] = []
    short: dict[Any, int] = {}
    for _, demand, group in line:
        lacking, drawn_on = demand.quantity, best_first[group]
        while lacking and drawn_on:
            index, given = drawn_on[0]
            supply, quantity = stocks[index].use(min(lacking, given))
            takes.append(Allocation(demand.id, supply, quantity, stocks[index].tier, group.choices[index]))
            _use(drawn_on, quantity)
            lacking -= quantity
        if lacking:
            short[demand.id] = lacking
    return tuple(takes), short


def _near_and_good(group: _Group, stocks: list[_Class]) -> Callable[[int], tuple[int, int, int, int]]:
    """Sorts the stocks of a group: the nearest first, then the better, the closer."""

    def key(stock: int) -> tuple[int, int, int, int]:
        arc = _arc(stock, group.choices[stock])
        return _distance(stocks[stock].tier) + arc.later, arc.grade, arc.closeness, stock

    return key


def _use(queue: deque[list[Any]], pieces: int) -> None:
    """Take so many pieces, which are there, off the first of a queue of [source, pieces]."""
    first = queue[0]
    if first[1] > pieces:
        first[1] -= pieces
    else:
        queue.popleft()


def _nearest(passed_over: Iterable[tuple[_Class, Fit]], misses: int) -> tuple[RefusedSupply, ...]:
    """The nearest to a yes of what is left, and of equals the nearer."""
    left = [(stock, lowered(fit, stock.doubt)) for stock, fit in passed_over if stock.left and is_near(fit)]
    nearest = nsmallest(misses, left, key=lambda miss: (*in_the_way(miss[1]), miss[0].tier))
    return tuple(RefusedSupply(stock.pieces[0][0], stock.tier, fit) for stock, fit in nearest)
