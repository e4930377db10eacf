"""Allotments are the best there are, by two referees that share no code with the network."""

import random

from repairs.planning.network import Arc, Stock, allot, components
from tests.examples import examples
from tests.planning.referees import by_programming, by_trying_everything, objective

Instance = tuple[list[list[tuple[int, int]]], list[Stock], list[list[Arc]]]


def scramble(seed: int, *, requirements: int, stocks: int, ranks: int, pieces: int, arcs: int) -> Instance:
    """A random instance with contention, ties and ample stocks in it."""
    dice = random.Random(seed)
    wanted = [
        [
            (rank, dice.randint(1, pieces))
            for rank in sorted(dice.sample(range(ranks), dice.randint(1, ranks)))
        ]
        for _ in range(requirements)
    ]
    held = [
        Stock(dice.choice([0, 1, 1, 2, pieces, pieces * ranks * 4]), dice.choice([0, 0, 1, 2, 3]))
        for _ in range(stocks)
    ]
    reach = [
        [
            Arc(
                stock,
                dice.choice([0, 1, 1, 2, 3]),
                dice.choice([0, 0, 1, 7, 999]),
                dice.choice([0, 0, 1, 3]) if seed % 2 else 0,
            )  # fmt: skip
            for stock in sorted(dice.sample(range(stocks), min(stocks, dice.randint(0, arcs))))
        ]
        for _ in range(requirements)
    ]
    return wanted, held, reach


def test_no_allotment_found_by_programming_is_better_at_any_level() -> None:
    for seed in range(examples(50, 150)):
        wanted, stocks, arcs = scramble(seed, requirements=6, stocks=8, ranks=3, pieces=3, arcs=4)
        drawn = allot(wanted, stocks, arcs)
        assert objective(wanted, stocks, arcs, drawn) == by_programming(wanted, stocks, arcs), seed


def test_no_allotment_at_all_is_better_on_a_tiny_bench() -> None:
    for seed in range(150):
        wanted, stocks, arcs = scramble(seed, requirements=3, stocks=3, ranks=2, pieces=1, arcs=3)
        drawn = allot(wanted, stocks, arcs)
        assert objective(wanted, stocks, arcs, drawn) == by_trying_everything(wanted, stocks, arcs), seed


def test_the_random_instances_do_reach_the_solver() -> None:
    contested = 0
    for seed in range(100):
        wanted, stocks, arcs = scramble(seed, requirements=6, stocks=8, ranks=3, pieces=3, arcs=4)
        contested += any(len(c.wanted) > 1 and len(c.stocks) > 1 for c in components(wanted, stocks, arcs))
    assert contested > 60
