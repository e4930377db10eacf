"""Two independent ways to the best allotment: whole-number programming level by level, and trying everything.

Neither knows of weights, ample stocks or components: each aim is optimised by itself and then held fixed.
"""

import itertools
from collections.abc import Iterator, Sequence

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from repairs.planning.network import Arc, Stock

Wanted = Sequence[tuple[int, int]]
Drawn = Sequence[dict[int, int]]


def levels(
    wanted: Sequence[Wanted], stocks: Sequence[Stock], arcs: Sequence[Sequence[Arc]]
) -> tuple[list[int], list[int], list[int]]:
    """The ranks, tiers and grades that occur: ranks first in line first, tiers and grades worst first."""
    return (
        sorted({rank for line in wanted for rank, _ in line}),
        sorted({stocks[arc.stock].tier + arc.later for reachable in arcs for arc in reachable}, reverse=True),
        sorted({arc.grade for reachable in arcs for arc in reachable}, reverse=True),
    )


def objective(
    wanted: Sequence[Wanted], stocks: Sequence[Stock], arcs: Sequence[Sequence[Arc]], drawn: Drawn
) -> tuple[int, ...]:
    """Short by rank, pieces by tier and grade from the worst, sum of closeness: less is better."""
    ranks, tiers, grades = levels(wanted, stocks, arcs)
    short = dict.fromkeys(ranks, 0)
    from_tier = dict.fromkeys(tiers, 0)
    of_grade = dict.fromkeys(grades, 0)
    closeness = 0
    for requirement, line in enumerate(wanted):
        pieces = sum(drawn[requirement].values())
        for rank, quantity in sorted(line):
            given = min(quantity, pieces)
            short[rank] += quantity - given
            pieces -= given
        assert pieces == 0, "more pieces than are wanted"
        by_stock = {arc.stock: arc for arc in arcs[requirement]}
        for stock, quantity in drawn[requirement].items():
            from_tier[stocks[stock].tier + by_stock[stock].later] += quantity
            of_grade[by_stock[stock].grade] += quantity
            closeness += quantity * by_stock[stock].closeness
    for stock, held in enumerate(stocks):
        assert sum(pieces.get(stock, 0) for pieces in drawn) <= held.quantity, "more pieces than are held"
    return (*short.values(), *from_tier.values(), *of_grade.values(), closeness)


def by_programming(
    wanted: Sequence[Wanted], stocks: Sequence[Stock], arcs: Sequence[Sequence[Arc]]
) -> tuple[int, ...]:
    """The best objective, aim by aim, from scipy's mixed-integer solver (HiGHS)."""
    ranks, tiers, grades = levels(wanted, stocks, arcs)
    variables = [
        (requirement, rank, arc)
        for requirement, line in enumerate(wanted)
        for rank, _ in line
        for arc in arcs[requirement]
    ]
    wants = {(r, rank): quantity for r, line in enumerate(wanted) for rank, quantity in line}
    total = {rank: sum(q for (_, k), q in wants.items() if k == rank) for rank in ranks}
    if not variables:
        return (*total.values(), *(0 for _ in tiers), *(0 for _ in grades), 0)

    def row(chosen: Iterator[float]) -> np.ndarray:
        return np.fromiter(chosen, float, len(variables))

    limits = [
        (row(float((r, rank) == want) for r, rank, _ in variables), 0, quantity)
        for want, quantity in wants.items()
    ] + [
        (row(float(arc.stock == s) for _, _, arc in variables), 0, held.quantity)
        for s, held in enumerate(stocks)
    ]
    aims = (
        [-row(float(rank == k) for _, rank, _ in variables) for k in ranks]
        + [row(float(stocks[arc.stock].tier + arc.later == tier) for *_, arc in variables) for tier in tiers]
        + [row(float(arc.grade == grade) for *_, arc in variables) for grade in grades]
        + [row(float(arc.closeness) for *_, arc in variables)]
    )
    best = []
    for aim in aims:
        matrix, low, high = (np.array(part) for part in zip(*limits, strict=True))
        answer = milp(
            aim,
            constraints=LinearConstraint(matrix, low, high),
            integrality=np.ones(len(variables)),
            bounds=Bounds(0, np.inf),
            options={"mip_rel_gap": 0},
        )
        assert answer.success, answer.message
        reached = round(answer.fun)
        best.append(reached)
        limits.append((aim, -np.inf, reached))
    filled = [total[rank] + reached for rank, reached in zip(ranks, best, strict=False)]
    return (*filled, *best[len(ranks) :])


def by_trying_everything(
    wanted: Sequence[Wanted], stocks: Sequence[Stock], arcs: Sequence[Sequence[Arc]]
) -> tuple[int, ...]:
    """The best objective among all allotments there are; only for very small ones."""
    pairs = [(requirement, arc.stock) for requirement, reachable in enumerate(arcs) for arc in reachable]
    wants = [sum(quantity for _, quantity in line) for line in wanted]
    ranges = [range(min(wants[requirement], stocks[stock].quantity) + 1) for requirement, stock in pairs]
    best = None
    for amounts in itertools.product(*ranges):
        drawn: list[dict[int, int]] = [{} for _ in wanted]
        held = [stock.quantity for stock in stocks]
        for (requirement, stock), amount in zip(pairs, amounts, strict=True):
            drawn[requirement][stock] = amount
            held[stock] -= amount
        if min(held) < 0 or any(sum(drawn[r].values()) > wants[r] for r in range(len(wanted))):
            continue
        reached = objective(wanted, stocks, arcs, drawn)
        best = reached if best is None else min(best, reached)
    assert best is not None
    return best
