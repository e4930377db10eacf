"""The fewest parcels, then the least postage, that close the most jobs: exact, on plain integers.

Pure.  A job is closed when everything that it still lacks comes, so which jobs are closed together, which
friends send and who gives what is one integer programme; HiGHS solves it three times over, each time holding
to what was best before.  What it answers is checked here in whole numbers.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import inf
from typing import Any, NamedTuple

SECONDS = 10.0
"""How long one question may take; past that the best so far is given, and said to be no more."""
_POSTAGE_KNOWN = 10**7


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
    """Who sends what, and the jobs that closes.  `truncated`: a better answer may exist."""

    friends: tuple[Any, ...] = ()
    jobs: tuple[Any, ...] = ()
    gives: tuple[Give, ...] = ()
    truncated: bool = False


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

    def solve(self, costs: Mapping[int, int], seconds: float) -> tuple[list[int] | None, bool]:
        """The columns at the least cost, and whether that is proven."""
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
        solver.run()
        proven = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
        if solver.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return None, proven
        return [round(each) for each in solver.getSolution().col_value], proven


def fewest(
    lacks: Sequence[JobLack], offers: Sequence[Offered], postage: Mapping[Any, int | None], *,
    seconds: float = SECONDS,
) -> Parcels:  # fmt: skip
    """The best parcels; `postage` of each friend in the smallest coin, None where it is not known.

    Postage that is not known counts as more than any that is.
    """
    lacks = _coverable(lacks, offers)
    if not lacks:
        return Parcels()
    programme = _Programme()
    jobs = {job: programme.column(1) for job in dict.fromkeys(lack.job for lack in lacks)}
    wanted = {lack.id: lack for lack in lacks}
    offers = [each for each in offers if each.quantity and not each.fills.isdisjoint(wanted)]
    friends = {friend: programme.column(1) for friend in dict.fromkeys(each.friend for each in offers)}
    moves: dict[int, tuple[JobLack, Offered]] = {}
    to, of = defaultdict(list), defaultdict(list)
    for offered in offers:
        for name in offered.fills & wanted.keys():
            column = programme.column(min(offered.quantity, wanted[name].quantity))
            moves[column] = wanted[name], offered
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
    best, proven = _in_order(programme, aims, seconds)
    if best is None:
        return Parcels(truncated=True)
    return _checked(best, jobs, friends, moves, lacks, truncated=not proven)


def _in_order(
    programme: _Programme, aims: Sequence[Mapping[int, int]], seconds: float
) -> tuple[list[int] | None, bool]:
    """The least of each aim in turn, never trading an earlier one for a later."""
    best: list[int] | None = None
    proven = True
    for aim in aims:
        found, sure = programme.solve(aim, seconds / len(aims))
        proven = proven and sure
        if found is None:
            break
        best = found
        reached = float(sum(cost * best[column] for column, cost in aim.items()))
        programme.rows.append((-inf, reached, [(column, float(cost)) for column, cost in aim.items()]))
    return best, proven


def _coverable(lacks: Sequence[JobLack], offers: Sequence[Offered]) -> list[JobLack]:
    """The lacks of jobs that all friends together could close, one job looked at by itself."""
    there: Counter[Any] = Counter()
    for offered in offers:
        for name in offered.fills:
            there[name] += offered.quantity
    hopeless = {lack.job for lack in lacks if there[lack.id] < lack.quantity}
    return [lack for lack in lacks if lack.job not in hopeless and lack.quantity]


def _checked(
    best: Sequence[int], jobs: Mapping[Any, int], friends: Mapping[Any, int],
    moves: Mapping[int, tuple[JobLack, Offered]], lacks: Sequence[JobLack], *, truncated: bool,
) -> Parcels:  # fmt: skip
    """The answer in whole numbers.  AssertionError where it would promise what is not there."""
    closed = {job for job, column in jobs.items() if best[column]}
    gives = [
        Give(lack.id, offered.id, best[column]) for column, (lack, offered) in moves.items() if best[column]
    ]
    filled: Counter[Any] = Counter()
    given: Counter[Any] = Counter()
    for give in gives:
        filled[give.lack] += give.quantity
        given[give.offered] += give.quantity
    assert all(filled[lack.id] == (lack.quantity if lack.job in closed else 0) for lack in lacks)
    assert all(given[offered.id] <= offered.quantity for _, offered in moves.values())
    senders = {offered.friend for column, (_, offered) in moves.items() if best[column]}
    return Parcels(
        tuple(friend for friend in friends if friend in senders),
        tuple(job for job in jobs if job in closed),
        tuple(gives),
        truncated,
    )
