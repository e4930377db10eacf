"""The fewest parcels, then the least postage, that close the most jobs: exact, on plain integers.

Pure.  A job is closed when everything that it still lacks comes, so which jobs are closed together, which
friends send and who gives what is one integer programme; HiGHS solves it once for each aim, each time holding
to what was best before.  What it answers is checked here in whole numbers; where its time is over, how far
the answer may be from the best is told by the bound that it has proven.  `cheapest` weighs friends' parcels
against what buying costs.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from heapq import heapify, heappop, heappush
from math import ceil, floor, inf, isfinite
from typing import Any, NamedTuple

SECONDS = 10.0
"""How long one question may take; past that the best so far is given, and said to be no more."""
MAX_COLUMNS = 50_000
"""So many ways for a line to fill a lack are weighed one by one."""
_POSTAGE_KNOWN = 10**7
_ROUNDING = 1e-6
"""How far the solver may be off a whole number."""


class JobLack(NamedTuple):
    """What one job still lacks of one requirement."""

    id: Any
    job: Any
    quantity: int


class Offered(NamedTuple):
    """So many alike pieces of one friend, and the lacks that each of them would fill."""

    id: Any
    friend: Any
    quantity: int
    fills: frozenset[Any]


class Give(NamedTuple):
    lack: Any
    offered: Any
    quantity: int


@dataclass(frozen=True)
class Parcels:
    """Who sends what, and the jobs that closes.

    No choice closes more than `jobs_at_most` jobs, and none closes as many as these with fewer than
    `parcels_at_least` parcels.  `truncated`: a better answer may exist, within these or of less postage.
    """

    friends: tuple[Any, ...] = ()
    jobs: tuple[Any, ...] = ()
    gives: tuple[Give, ...] = ()
    truncated: bool = False
    jobs_at_most: int = 0
    parcels_at_least: int = 0


class _Solved(NamedTuple):
    """The columns at the least cost that was found, and the least that any could cost."""

    columns: list[int] | None
    bound: float
    proven: bool


@dataclass
class _Programme:
    """The integer programme: columns with bounds, rows of (column, factor) between bounds."""

    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    rows: list[tuple[float, float, list[tuple[int, float]]]] = field(default_factory=list)

    def column(self, most: int) -> int:
        self.lower.append(0.0)
        self.upper.append(float(most))
        return len(self.lower) - 1

    def solve(self, costs: Mapping[int, int], seconds: float, start: list[int] | None = None) -> _Solved:
        """The least cost, searched from `start`, columns that are known to keep to the rows."""
        import highspy  # takes 0.2 s, which no other page should wait for

        solver: Any = highspy.Highs()  # type: ignore[no-untyped-call]
        solver.silent()
        for name, value in (
            ("threads", 1), ("time_limit", seconds), ("mip_rel_gap", 0.0),
            ("mip_abs_gap", 0.5), ("random_seed", 1),
        ):  # fmt: skip
            solver.setOptionValue(name, value)
        for index, (low, high) in enumerate(zip(self.lower, self.upper, strict=True)):
            solver.addVar(low, high)
            solver.changeColIntegrality(index, highspy.HighsVarType.kInteger)
            solver.changeColCost(index, float(costs.get(index, 0)))
        for low, high, entries in self.rows:
            solver.addRow(
                low, high, len(entries), [each for each, _ in entries], [each for _, each in entries]
            )
        if start is not None:
            known: Any = highspy.HighsSolution()
            known.col_value = [float(each) for each in start]
            solver.setSolution(known)
        solver.run()
        told = solver.getInfo()
        proven = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
        if told.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return _Solved(None, told.mip_dual_bound, proven)
        columns = [round(each) for each in solver.getSolution().col_value]
        if proven:  # within less than one of the bound, and whole
            return _Solved(columns, _cost(costs, columns), True)
        return _Solved(columns, told.mip_dual_bound, False)


def fewest(
    lacks: Sequence[JobLack], offers: Sequence[Offered], postage: Mapping[Any, int | None], *,
    seconds: float = SECONDS,
) -> Parcels:  # fmt: skip
    """The best parcels; `postage` of each friend in the smallest coin, None where it is not known.

    Postage that is not known counts as more than any that is.  Where the exact programme does not end, or
    would have more than `MAX_COLUMNS` ways to fill what is lacking, a smaller one tells how few parcels could
    do, and which friends to look at.
    """
    lacks = _coverable(lacks, offers)
    if not lacks:
        return Parcels()
    wanted = {lack.id: lack for lack in lacks}
    offers = _useful(wanted, offers)
    found = _one_by_one(lacks, offers, postage)
    if sum(len(each.fills) for each in offers) <= MAX_COLUMNS:
        found = _exactly(lacks, offers, postage, found, seconds / 2)
        if not found.truncated:
            return found
    else:
        found = replace(found, jobs_at_most=len({lack.job for lack in lacks}))
    at_least, promising = _at_least(lacks, offers, found, seconds / 4)
    if len(promising) < len(found.friends):
        theirs = [each for each in offers if each.friend in promising]
        first = _one_by_one(lacks, theirs, postage)
        found = max(
            found,
            replace(
                _exactly(lacks, theirs, postage, first, seconds / 4),
                jobs_at_most=found.jobs_at_most,
                parcels_at_least=found.parcels_at_least,
                truncated=True,
            ),
            key=lambda each: (len(each.jobs), -len(each.friends)),
        )
    return replace(found, parcels_at_least=max(at_least, found.parcels_at_least))


def _useful(wanted: Mapping[Any, JobLack], offers: Sequence[Offered]) -> list[Offered]:
    """What of these fills what is wanted, and no more of it than that: the programme's bounds are closer."""
    found = []
    for each in offers:
        fills = each.fills & wanted.keys()
        pieces = min(each.quantity, sum(wanted[name].quantity for name in fills))
        if pieces:
            found.append(Offered(each.id, each.friend, pieces, fills))
    return found


def _exactly(
    lacks: Sequence[JobLack], offers: Sequence[Offered], postage: Mapping[Any, int | None], first: Parcels,
    seconds: float,
) -> Parcels:  # fmt: skip
    """By the integer programme, from a first answer, which it does not fall behind."""
    programme = _Programme()
    jobs = {job: programme.column(1) for job in dict.fromkeys(lack.job for lack in lacks)}
    wanted = {lack.id: lack for lack in lacks}
    friends = {friend: programme.column(1) for friend in dict.fromkeys(each.friend for each in offers)}
    moves: dict[int, tuple[JobLack, Offered]] = {}
    to, of, column_of = defaultdict(list), defaultdict(list), {}
    for offered in offers:
        for name in sorted(offered.fills, key=str):
            column = programme.column(min(offered.quantity, wanted[name].quantity))
            moves[column] = wanted[name], offered
            column_of[name, offered.id] = column
            to[name].append(column)
            of[offered.id].append(column)
    for lack in lacks:
        entries = [(column, 1.0) for column in to[lack.id]]
        programme.rows.append((0.0, 0.0, [*entries, (jobs[lack.job], -float(lack.quantity))]))
    for offered in offers:
        entries = [(column, 1.0) for column in of[offered.id]]
        programme.rows.append((-inf, 0.0, [*entries, (friends[offered.friend], -float(offered.quantity))]))
    dearest = max([each for each in postage.values() if each is not None] or [0]) + 1
    aims: list[dict[int, int]] = [
        dict.fromkeys(jobs.values(), -1),
        dict.fromkeys(friends.values(), 1),
        {
            column: min(_known if (_known := postage.get(friend)) is not None else dearest, _POSTAGE_KNOWN)
            for friend, column in friends.items()
        },
    ]
    start = [0] * len(programme.lower)
    for column in (*(jobs[job] for job in first.jobs), *(friends[friend] for friend in first.friends)):
        start[column] = 1
    for give in first.gives:
        start[column_of[give.lack, give.offered]] += give.quantity
    solved = _in_order(programme, aims, seconds, start, least=-len(jobs))
    best = solved[-1].columns
    assert best is not None
    found = _checked(best, jobs, friends, moves, lacks)
    at_most = min(len(jobs), floor(-solved[0].bound + _ROUNDING) if isfinite(solved[0].bound) else len(jobs))
    few = solved[1].bound if len(solved) > 1 else -inf
    return replace(
        found,
        truncated=len(solved) < len(aims) or not all(each.proven for each in solved),
        jobs_at_most=at_most,
        parcels_at_least=_whole_parcels(few, found.jobs),
    )


def _at_least(
    lacks: Sequence[JobLack], offers: Sequence[Offered], first: Parcels, seconds: float
) -> tuple[int, set[Any]]:
    """How many parcels at the least close as many jobs, and the friends whose would come nearest.

    As if a piece could be given to each lack that it fills: every choice of parcels that closes jobs does so
    in this programme too, which has a column for a friend and not for a piece.
    """
    programme = _Programme()
    jobs = {job: programme.column(1) for job in dict.fromkeys(lack.job for lack in lacks)}
    friends = {friend: programme.column(1) for friend in dict.fromkeys(each.friend for each in offers)}
    gives: dict[Any, Counter[Any]] = {lack.id: Counter() for lack in lacks}
    for offered in offers:
        for name in offered.fills:
            gives[name][offered.friend] += offered.quantity
    for lack in lacks:
        entries = [(friends[f], float(min(n, lack.quantity))) for f, n in gives[lack.id].items()]
        programme.rows.append((0.0, inf, [*entries, (jobs[lack.job], -float(lack.quantity))]))
    programme.rows.append((float(len(first.jobs)), inf, [(column, 1.0) for column in jobs.values()]))
    start = [0] * len(programme.lower)
    for column in (*(jobs[job] for job in first.jobs), *(friends[friend] for friend in first.friends)):
        start[column] = 1
    columns, bound, _ = programme.solve(dict.fromkeys(friends.values(), 1), seconds, start)
    promising = {friend for friend, column in friends.items() if columns and columns[column]}
    return max(_whole_parcels(bound, first.jobs), _by_counting(lacks, gives, len(first.jobs))), promising


def _by_counting(lacks: Sequence[JobLack], gives: Mapping[Any, Counter[Any]], jobs: int) -> int:
    """At least so many parcels close so many jobs: what the smallest of them lack, by who could fill most."""
    lacking: Counter[Any] = Counter()
    could: Counter[Any] = Counter()
    for lack in lacks:
        lacking[lack.job] += lack.quantity
        for friend, pieces in gives[lack.id].items():
            could[friend] += min(pieces, lack.quantity)
    wanted, count = sum(sorted(lacking.values())[:jobs]), 0
    for pieces in sorted(could.values(), reverse=True):
        if wanted <= 0:
            break
        wanted, count = wanted - pieces, count + 1
    return count


def _whole_parcels(bound: float, jobs: Sequence[Any]) -> int:
    """At least so many parcels close these jobs; without jobs none are sent."""
    return max(1, ceil(bound - _ROUNDING) if isfinite(bound) else 1) if jobs else 0


class Buyable(NamedTuple):
    """A line of the buy list: packs of so many at a price in the smallest coin, None where it is not known.

    `least` packs are bought whoever gives what, `beside` pieces of it are wanted beyond what the lacks want.
    """

    id: Any
    pack_size: int
    price: int | None
    least: int = 0
    beside: int = 0


class CostLack(NamedTuple):
    """What is lacking, and the line of the buy list that would serve it."""

    id: Any
    quantity: int
    line: Any


def cheapest(
    lacks: Sequence[CostLack], lines: Sequence[Buyable], offers: Sequence[Offered],
    postage: Mapping[Any, int | None], shop_postage: int = 0, *, seconds: float = SECONDS,
) -> tuple[tuple[Give, ...], bool]:  # fmt: skip
    """What to ask of friends so that it and the rest, bought, cost the least; and whether that is proven.

    The fewest packs of unknown price, then the least money with the postage of every parcel and of the shop,
    then the fewest parcels, then the most pieces of friends.  A friend whose postage is not known is left
    out: it cannot be weighed.
    """
    wanted = {lack.id: lack for lack in lacks if lack.quantity}
    offers = [
        each
        for each in offers
        if each.quantity and not each.fills.isdisjoint(wanted) and postage.get(each.friend) is not None
    ]
    if not offers:
        return (), True
    if sum(len(each.fills & wanted.keys()) for each in offers) > MAX_COLUMNS:
        return (), False
    programme = _Programme()
    moves: dict[int, tuple[CostLack, Offered]] = {}
    to, of, saved = defaultdict(list), defaultdict(list), defaultdict(list)
    for offered in offers:
        for name in sorted(offered.fills & wanted.keys()):
            column = programme.column(min(offered.quantity, wanted[name].quantity))
            moves[column] = wanted[name], offered
            to[name].append(column)
            of[offered.id].append(column)
            saved[wanted[name].line].append(column)
    parcels = {friend: programme.column(1) for friend in dict.fromkeys(each.friend for each in offers)}
    ordered = programme.column(1)
    for lack in wanted.values():
        programme.rows.append((-inf, float(lack.quantity), [(column, 1.0) for column in to[lack.id]]))
    for offered in offers:
        entries = [(column, 1.0) for column in of[offered.id]]
        programme.rows.append((-inf, 0.0, [*entries, (parcels[offered.friend], -float(offered.quantity))]))
    needed: Counter[Any] = Counter()
    for lack in wanted.values():
        needed[lack.line] += lack.quantity
    packs = {}
    for line in lines:
        pieces = needed[line.id] + line.beside
        most = max(line.least, -(-pieces // line.pack_size))
        packs[line.id] = programme.column(most)
        entries = [(column, 1.0) for column in saved[line.id]]
        programme.rows.append((float(pieces), inf, [*entries, (packs[line.id], float(line.pack_size))]))
        programme.rows.append((float(line.least), inf, [(packs[line.id], 1.0)]))
        programme.rows.append((-inf, 0.0, [(packs[line.id], 1.0), (ordered, -float(most or 1))]))
    known = {packs[line.id]: line.price for line in lines if line.price is not None}
    aims: list[dict[int, int]] = [
        {packs[line.id]: 1 for line in lines if line.price is None},
        {
            **known,
            ordered: shop_postage,
            **{column: postage.get(friend) or 0 for friend, column in parcels.items()},
        },
        dict.fromkeys(parcels.values(), 1),
        dict.fromkeys(moves, -1),
    ]
    solved = _in_order(programme, aims, seconds)
    best = next((each.columns for each in reversed(solved) if each.columns is not None), None)
    if best is None:
        return (), False
    gives, filled = _given(best, moves)
    assert all(filled[lack.id] <= lack.quantity for lack in lacks)
    return tuple(gives), all(each.proven for each in solved)


def _in_order(
    programme: _Programme, aims: Sequence[Mapping[int, int]], seconds: float, start: list[int] | None = None,
    least: int | None = None,
) -> list[_Solved]:  # fmt: skip
    """The least of each aim in turn, never trading an earlier one for a later, and never worse than `start`;
    none has less than `least` of the first."""
    found: list[_Solved] = []
    for number, aim in enumerate(filter(None, aims)):
        of_start = None if start is None else _cost(aim, start)
        if number == 0 and of_start is not None and of_start == least:
            solved = _Solved(start, least, True)
        else:
            solved = programme.solve(aim, seconds / len(aims), start)
        if of_start is not None and (solved.columns is None or _cost(aim, solved.columns) >= of_start):
            solved = solved._replace(columns=start)
        found.append(solved)
        if solved.columns is None:
            break
        start = solved.columns
        entries = [(column, float(cost)) for column, cost in aim.items()]
        programme.rows.append((-inf, float(_cost(aim, start)), entries))
    return found


def _cost(aim: Mapping[int, int], columns: Sequence[int]) -> int:
    return sum(cost * columns[column] for column, cost in aim.items())


def _one_by_one(
    lacks: Sequence[JobLack], offers: Sequence[Offered], postage: Mapping[Any, int | None]
) -> Parcels:
    """Ask again and again the friend who fills most of what is left, of equals the cheaper: no optimum.

    The first answer, from which the programme looks for a better one.
    """
    left = {lack.id: lack.quantity for lack in lacks}
    job_of = {lack.id: lack.job for lack in lacks}
    place_of = {name: place for place, name in enumerate(left)}
    of: defaultdict[Any, list[Offered]] = defaultdict(list)
    for offered in offers:
        if not offered.fills.isdisjoint(left):
            of[offered.friend].append(offered)

    def given(friend: Any) -> list[Give]:
        open_ones, gives = dict(left), []
        for offered in sorted(of[friend], key=lambda each: len(each.fills)):  # the least useful first
            pieces = offered.quantity
            for name in sorted(offered.fills & open_ones.keys(), key=place_of.__getitem__):
                if pieces and open_ones[name]:
                    taken = min(pieces, open_ones[name])
                    open_ones[name] -= taken
                    pieces -= taken
                    gives.append(Give(name, offered.id, taken))
        return gives

    # As a rule a friend fills no more later than now: whose figure is still true at the top is asked.
    heap = [(-sum(each.quantity for each in given(f)), _dear(postage, f), n, f) for n, f in enumerate(of)]
    heapify(heap)
    gives: list[Give] = []
    while heap and any(left.values()):
        _, dear, place, friend = heappop(heap)
        now = given(friend)
        fills = sum(each.quantity for each in now)
        if heap and (-fills, dear, place) > heap[0][:3]:
            if fills:
                heappush(heap, (-fills, dear, place, friend))
            continue
        for give in now:
            left[give.lack] -= give.quantity
        gives += now
    open_jobs = {job_of[name] for name, pieces in left.items() if pieces}
    kept = tuple(give for give in gives if job_of[give.lack] not in open_jobs)
    friend_of = {each.id: each.friend for each in offers}
    closed = tuple(job for job in dict.fromkeys(job_of.values()) if job not in open_jobs)
    senders = tuple(dict.fromkeys(friend_of[give.offered] for give in kept))
    return Parcels(senders, closed, kept, truncated=True)


def _dear(postage: Mapping[Any, int | None], friend: Any) -> int:
    known = postage.get(friend)
    return _POSTAGE_KNOWN if known is None else known


def _coverable(lacks: Sequence[JobLack], offers: Sequence[Offered]) -> list[JobLack]:
    """The lacks of jobs that all friends together could close, one job looked at by itself."""
    there: Counter[Any] = Counter()
    for offered in offers:
        for name in offered.fills:
            there[name] += offered.quantity
    hopeless = {lack.job for lack in lacks if there[lack.id] < lack.quantity}
    return [lack for lack in lacks if lack.job not in hopeless and lack.quantity]


def _given(
    best: Sequence[int], moves: Mapping[int, tuple[JobLack | CostLack, Offered]]
) -> tuple[list[Give], Counter[Any]]:
    """Who gives what, and the pieces of each lack.  AssertionError where more is given than is offered."""
    gives = [
        Give(lack.id, offered.id, best[column]) for column, (lack, offered) in moves.items() if best[column]
    ]
    filled: Counter[Any] = Counter()
    given: Counter[Any] = Counter()
    for give in gives:
        filled[give.lack] += give.quantity
        given[give.offered] += give.quantity
    assert all(given[offered.id] <= offered.quantity for _, offered in moves.values())
    return gives, filled


def _checked(
    best: Sequence[int], jobs: Mapping[Any, int], friends: Mapping[Any, int],
    moves: Mapping[int, tuple[JobLack, Offered]], lacks: Sequence[JobLack],
) -> Parcels:  # fmt: skip
    """The answer in whole numbers.  AssertionError where it would promise what is not there."""
    closed = {job for job, column in jobs.items() if best[column]}
    gives, filled = _given(best, moves)
    assert all(filled[lack.id] == (lack.quantity if lack.job in closed else 0) for lack in lacks)
    senders = {offered.friend for column, (_, offered) in moves.items() if best[column]}
    return Parcels(
        tuple(friend for friend in friends if friend in senders),
        tuple(job for job in jobs if job in closed),
        tuple(gives),
    )
