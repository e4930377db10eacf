"""How long a plan takes beside the bare solver on the same instance: `python -m tests.benchmarks.planning`.

The instance is an invented workshop: 200 open jobs with 150 needs each over 5,000 distinct parts, 100,000
lots in drawers, on donors and on order. The floor is networkx's network simplex on the same instance, built
beforehand, once with every component as it is and once with what trimming leaves. Judging for the first
time is timed apart: a pair is judged once in the life of a server.
"""

import argparse
import random
import resource
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import product
from typing import Any
from unittest.mock import patch

from networkx import MultiDiGraph, network_simplex

from inventory.spec import Spec
from repairs.planning import Demand, Supply, Tier, network, optimiser, plan
from tests.benchmarks import verdict

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
E12 = E24[::2]


def parts() -> list[Spec]:
    """5,000 distinct parts in the proportions of a bench that mends consumer electronics and computers."""
    found = [
        Spec(
            "resistor",
            value=value * 10**decade * 10**5,
            tolerance_percent=tolerance,
            watts=watts,
            lead_style="axial",
        )
        for value, decade, (tolerance, watts) in product(
            E24,
            range(1, 7),
            [
                (Decimal(5), Decimal("0.25")),
                (Decimal(5), Decimal("0.5")),
                (Decimal(1), Decimal("0.25")),
                (Decimal(10), Decimal(1)),
                (Decimal(5), Decimal(2)),
            ],
        )
    ]
    found += [
        Spec(
            "capacitor",
            value=value * 10**decade * 100,
            tolerance_percent=Decimal(10),
            volts=volts,
            dielectric=dielectric,
            lead_style="radial",
        )
        for value, decade, (dielectric, volts) in product(
            E12,
            range(3, 8),
            [
                ("film", Decimal(63)),
                ("film", Decimal(100)),
                ("film", Decimal(400)),
                ("class2", Decimal(50)),
                ("class2", Decimal(100)),
                ("c0g", Decimal(50)),
                ("c0g", Decimal(100)),
            ],
        )
    ]
    found += [
        Spec(
            "capacitor",
            value=value * 10**decade * 10**8,
            tolerance_percent=Decimal(20),
            volts=Decimal(volts),
            dielectric="aluminium",
            lead_style=lead,
            polarised=True,
        )
        for value, decade, volts, lead in product(
            (10, 22, 33, 47), range(1, 6), (10, 16, 25, 35, 50, 63, 100), ("radial", "axial")
        )
    ]
    found += [
        Spec(
            "ic",
            number=f"74{family}{n:02}",
            traits={"family": family.lower(), "function": f"{n:02}"},
            lead_style="dip",
        )
        for family, n in product(("LS", "HCT", "HC", "ALS"), range(100))
    ]
    found += [Spec("ic", number=f"IC{n}", lead_style="dip") for n in range(1400)]
    found += [Spec("transistor", number=f"T{n}") for n in range(300)]
    found += [
        Spec("diode", number=f"D{n}", volts=Decimal(50 * (1 + n % 20)), amps=Decimal(1)) for n in range(200)
    ]
    found += [Spec("connector", number=f"J{n}") for n in range(5000 - len(found))]
    return found


@dataclass(frozen=True)
class Workshop:
    demands: list[Demand]
    supplies: list[Supply]


def workshop(*, jobs: int, needs: int, lots: int, seed: int = 1) -> Workshop:
    """Popular parts are asked for and held more often, by a power law."""
    dice = random.Random(seed)
    known = parts()
    dice.shuffle(known)
    weights = [1 / (10 + place) ** 0.7 for place in range(len(known))]
    asked = dice.choices(known, weights, k=jobs * needs)
    dice.shuffle(known)
    held = dice.choices(known, weights, k=lots)
    today = date(2026, 1, 1)
    due = [None if dice.random() < 0.3 else today + timedelta(dice.randrange(90)) for _ in range(jobs)]
    priority = [dice.randint(1, 5) for _ in range(jobs)]
    demands = [
        Demand(
            number,
            spec,
            dice.choice((1, 1, 1, 1, 2, 4)),
            job=number // needs,
            priority=priority[number // needs],
            due=due[number // needs],
        )
        for number, spec in enumerate(asked)
    ]
    supplies = [
        Supply(
            number,
            spec,
            1 if tier is Tier.DONOR else dice.choice((1, 1, 2, 5)),
            tier,
            dice.choices(("good", "untested", "suspect", "faulty"), (4, 5, 1, 1))[0],
        )
        for number, spec in enumerate(held)
        for tier in dice.choices((Tier.DRAWER, Tier.DONOR, Tier.ON_ORDER), (3, 6, 1))
    ]
    return Workshop(demands, supplies)


def in_classes(supplies: list[Supply]) -> list[Supply]:
    """What a grouping query gives: one supply for each part, tier and condition."""
    alike: dict[tuple[str, Tier, str], list[Supply]] = {}
    for supply in supplies:
        alike.setdefault((supply.spec.key, supply.tier, supply.condition), []).append(supply)
    return [
        members[0]._replace(id=number, quantity=sum(supply.quantity for supply in members))
        for number, members in enumerate(alike.values())
    ]


def prepared(bench: Workshop) -> tuple[list[Any], list[Any]]:
    """The graphs of the instance: of every component as it is, and of what trimming leaves to the solver."""
    with patch.object(optimiser, "allot", wraps=network.allot) as allot:
        plan(bench.demands, bench.supplies)
    parts = allot.call_args.args
    hard = [c for c in network.components(*parts) if len(c.stocks) > 1 and network.each_its_best(c) is None]
    return whole_graphs(parts), [flow_graph(component) for component in hard]


def whole_graphs(parts: Any) -> list[Any]:
    """The graphs of what `allot` was given, every component as it is."""
    with patch.object(network, "trimmed", untrimmed):
        return [flow_graph(component) for component in network.components(*parts)]


def flow_graph(component: network.Component) -> Any:
    """What a component asks of the solver, as networkx takes it."""
    graph: Any = MultiDiGraph()
    for edge in network.edges(component):
        graph.add_edge(edge.start, edge.end, capacity=edge.capacity, weight=edge.weight)
    return graph


def untrimmed(wanted: Any, stocks: Any, arcs: Any) -> Any:
    choices = {r: [arc for arc in reach if stocks[arc.stock].quantity] for r, reach in enumerate(arcs)}
    choices = {r: reach for r, reach in choices.items() if reach}
    return {r: sorted(wanted[r]) for r in choices}, choices


def seconds(call: Callable[[], Any], repeats: int = 5) -> float:
    """The median of a few runs, in seconds of processor time: one thread, and the machine may be shared."""
    taken = []
    for _ in range(repeats):
        start = time.process_time()
        call()
        taken.append(time.process_time() - start)
    return statistics.median(taken)


def main() -> None:
    argparse.ArgumentParser(description=__doc__).parse_args()
    bench = workshop(jobs=200, needs=150, lots=100_000)
    classes = Workshop(bench.demands, in_classes(bench.supplies))
    cold = seconds(lambda: plan(bench.demands, classes.supplies), 1)
    lots, warm = (seconds(lambda each=each: plan(each.demands, each.supplies)) for each in (bench, classes))
    whole, hard = prepared(classes)
    bare, trimmed = (
        seconds(lambda each=each: [network_simplex(g) for g in each], 3) for each in (whole, hard)
    )
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"plan() from {len(classes.supplies)} classes, nothing judged before: {cold:.2f} s")
    print(f"plan() from {len(classes.supplies)} classes: {warm:.2f} s; from single lots: {lots:.2f} s")
    print(f"bare solver, {len(whole)} components as they are: {bare:.2f} s; ratio {warm / bare:.2f}")
    print(f"bare solver, {len(hard)} components after trimming: {trimmed:.2f} s; ratio {warm / trimmed:.2f}")
    print(f"peak memory of the process with the workshop in it: {memory} MB")
    print("jobs x 150 needs, lots: seconds from classes")
    for jobs, held in ((10, 100_000), (50, 100_000), (200, 100_000), (1000, 100_000),
                       (200, 1000), (200, 10_000), (200, 1_000_000)):  # fmt: skip
        grown = workshop(jobs=jobs, needs=150, lots=held)
        supplies = in_classes(grown.supplies)
        taken = seconds(lambda: plan(grown.demands, supplies), 2)  # noqa: B023 (called at once)
        print(f"  {jobs:5} {held:8}: {taken:.2f} ({len(supplies)} classes)")
    verdict("plan() to the bare solver", warm / bare, 3)


if __name__ == "__main__":
    main()
