"""What an earlier job was given stays its own when a later job comes, as far as the best plan allows.

The referee looks at every allotment there is on a tiny bench, and shares no code with the network.
"""

import itertools
from collections import Counter
from collections.abc import Iterator, Sequence

import pytest

from repairs.planning import network
from repairs.planning.network import Arc, Stock, allot
from tests.planning.referees import objective
from tests.planning.test_network import Instance, scramble

Held = dict[int, Counter[tuple[int, int]]]
"""Rank -> (requirement, stock) -> pieces."""


def held_by(instance: Instance, drawn: Sequence[dict[int, int]]) -> Held:
    """Who has which pieces: within a requirement the first in line has the nearer, better, closer one."""
    wanted, stocks, arcs = instance
    found: Held = {rank: Counter() for line in wanted for rank, _ in line}
    for requirement, line in enumerate(wanted):
        order = sorted(arcs[requirement], key=lambda arc: (stocks[arc.stock].tier, arc[1:], arc.stock))
        pieces = [arc.stock for arc in order for _ in range(drawn[requirement].get(arc.stock, 0))]
        for rank, quantity in sorted(line):
            for stock in pieces[:quantity]:
                found[rank][requirement, stock] += 1
            pieces = pieces[quantity:]
    return found


def stocks_of(held: Counter[tuple[int, int]]) -> Counter[int]:
    found: Counter[int] = Counter()
    for (_, stock), pieces in held.items():
        found[stock] += pieces
    return found


def how_good(instance: Instance, held: Counter[tuple[int, int]]) -> tuple[object, ...]:
    """What one job has, by itself: nearer, then better, then closer is less."""
    _, stocks, arcs = instance
    fits = {(r, arc.stock): arc for r, reachable in enumerate(arcs) for arc in reachable}
    tiers, grades = Counter[int](), Counter[int]()
    closeness = 0
    for pair, pieces in held.items():
        tiers[stocks[pair[1]].tier] += pieces
        grades[fits[pair].grade] += pieces
        closeness += pieces * fits[pair].closeness
    count = [[kinds[level] for level in range(4, -1, -1)] for kinds in (tiers, grades)]
    return -sum(held.values()), *count, closeness


def every_best(instance: Instance) -> Iterator[list[dict[int, int]]]:
    """Every allotment that is as good as the best."""
    wanted, stocks, arcs = instance
    pairs = [(r, arc.stock) for r, reachable in enumerate(arcs) for arc in reachable]
    wants = [sum(quantity for _, quantity in line) for line in wanted]
    found = []
    ranges = [range(min(wants[r], stocks[stock].quantity) + 1) for r, stock in pairs]
    for amounts in itertools.product(*ranges):
        drawn: list[dict[int, int]] = [{} for _ in wanted]
        for (r, stock), amount in zip(pairs, amounts, strict=True):
            if amount:
                drawn[r][stock] = amount
        if any(sum(drawn[r].values()) > wants[r] for r in range(len(wanted))):
            continue
        if any(sum(d.get(s, 0) for d in drawn) > stock.quantity for s, stock in enumerate(stocks)):
            continue
        found.append((objective(wanted, stocks, arcs, drawn), drawn))
    best = min(goal for goal, _ in found)
    return (drawn for goal, drawn in found if goal == best)


def bench(seed: int) -> Instance:
    """A tiny one in which much is equally good."""
    wanted, stocks, arcs = scramble(seed, requirements=3, stocks=4, ranks=3, pieces=1, arcs=3)
    stocks = [Stock(min(stock.quantity, 2), stock.tier // 2) for stock in stocks]
    arcs = [[Arc(arc.stock, min(arc.grade, 1), min(arc.closeness, 1)) for arc in line] for line in arcs]
    return wanted, stocks, arcs


def outcome(instance: Instance) -> str:
    """What became of what the earlier jobs had before the last one came."""
    wanted, stocks, arcs = instance
    last = max(rank for line in wanted for rank, _ in line)
    earlier = [[(rank, quantity) for rank, quantity in line if rank != last] for line in wanted]
    before = held_by(instance, allot(earlier, stocks, arcs))
    now = held_by(instance, allot(wanted, stocks, arcs))
    ranks = sorted(before.keys() - {last})
    if all(stocks_of(before[rank]) == stocks_of(now[rank]) for rank in ranks):
        return "kept"
    for best in every_best(instance):
        there = held_by(instance, best)
        if all(stocks_of(before[rank]) == stocks_of(there[rank]) for rank in ranks):
            break
    else:
        return "the best plan asks for it"
    for rank in ranks:
        was, is_now = how_good(instance, before[rank]), how_good(instance, now[rank])
        if is_now != was:
            return "the earlier gains" if is_now < was else "lost"
    return "lost"


SEEDS = range(400)


@pytest.mark.parametrize("start", range(0, len(SEEDS), 100))
def test_an_earlier_job_keeps_its_pieces_wherever_the_best_plan_allows(start: int) -> None:
    for seed in SEEDS[start : start + 100]:
        assert outcome(bench(seed)) != "lost", seed


def test_without_that_rule_pieces_are_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    """The control: these benches do have ties that matter."""
    network._solved_once.cache_clear()
    monkeypatch.setattr(network, "settled", lambda edges: {})
    assert "lost" in {outcome(bench(seed)) for seed in SEEDS}
    network._solved_once.cache_clear()


def test_two_needs_of_one_job_that_are_in_each_others_way_are_weighed_together() -> None:
    """Found among random benches: each need by itself would take the first stock, and one of them then the
    last; together they get the one before it at the same price."""
    wanted = [
        [(1, 2), (2, 2)], [(0, 1), (1, 2), (2, 3)], [(0, 1), (1, 1)], [(0, 3)], [(2, 3)], [(2, 1)], [(2, 2)],
        [(0, 1), (1, 3), (2, 1)],
    ]  # fmt: skip
    stocks = [Stock(5, 0), Stock(3, 0), Stock(1, 1), Stock(2, 1), Stock(1, 1), Stock(1, 1), Stock(1, 0)]
    arcs = [
        [Arc(1, 1, 1), Arc(2, 1, 0)],
        [Arc(0, 1, 0), Arc(1, 1, 1), Arc(3, 1, 0), Arc(4, 1, 0), Arc(5, 1, 1)],
        [Arc(0, 0, 1), Arc(6, 1, 1), Arc(4, 0, 0)],
        [Arc(6, 0, 0), Arc(1, 1, 1), Arc(2, 0, 0), Arc(4, 1, 0), Arc(5, 1, 1)],
        [Arc(4, 0, 1), Arc(3, 1, 0), Arc(2, 1, 1), Arc(5, 1, 1)],
        [Arc(0, 1, 0), Arc(5, 0, 1), Arc(2, 1, 1)],
        [Arc(6, 1, 1), Arc(4, 1, 0), Arc(2, 1, 1)],
        [Arc(0, 1, 0), Arc(1, 1, 1), Arc(6, 1, 1), Arc(4, 1, 1)],
    ]
    first = held_by((wanted, stocks, arcs), allot(wanted, stocks, arcs))[0]
    assert stocks_of(first) == Counter([0, 0, 1, 2, 3, 6])
