"""The cheapest flow, by networkx's network simplex, which knows other ways to it."""

import random
from typing import Any

import pytest
from networkx import DiGraph, NetworkXUnfeasible, network_simplex

from repairs.planning.flow import Flow


def cheapest_in_turn(sent: list[int], edges: list[tuple[str, str, int, int]]) -> int:
    """What it costs when each source sends just so much, by network simplex."""
    graph: Any = DiGraph()
    for start, end, room, price in edges:
        if not start.startswith("source"):
            graph.add_edge(start, end, capacity=room, weight=price)
    for place, pieces in enumerate(sent):
        graph.add_edge("all", f"source {place}", capacity=pieces, weight=0)
        for start, end, room, price in edges:
            if start == f"source {place}":
                graph.add_edge(start, end, capacity=room, weight=price)
    graph.add_node("all", demand=-sum(sent))
    graph.add_node("sink", demand=sum(sent))
    return int(network_simplex(graph)[0])


def most_after(sent: list[int], place: int, edges: list[tuple[str, str, int, int]]) -> int:
    """How much the next source can send when those before it send what they sent."""
    most = sum(room for start, _, room, _ in edges if start == f"source {place}")
    for pieces in range(most, 0, -1):
        try:
            cheapest_in_turn([*sent, pieces], edges)
        except NetworkXUnfeasible:
            continue
        return pieces
    return 0


@pytest.mark.parametrize("seed", range(60))
def test_each_source_in_turn_sends_the_most_and_all_together_the_cheapest(seed: int) -> None:
    dice = random.Random(seed)
    large = dice.choice((1, 10**30))  # prices are powers of pieces: beyond what a machine's number holds
    edges = [
        (f"source {source}", f"need {need}", dice.randint(1, 3), 0)
        for source in range(3)
        for need in dice.sample(range(5), 2)
    ]
    edges += [
        (f"need {need}", f"stock {stock}", dice.randint(1, 3), dice.choice((0, 1, 1, 7, large)))
        for need in range(5)
        for stock in dice.sample(range(5), 3)
    ]
    edges += [
        (f"stock {stock}", "sink", dice.randint(1, 2), dice.choice((0, 2, large))) for stock in range(5)
    ]
    flow = Flow()
    numbers = [flow.edge(*edge) for edge in edges]
    sent: list[int] = []
    for place in range(3):
        flow.send(f"source {place}", "sink")
        sent.append(
            sum(flow.on(n) for n, edge in zip(numbers, edges, strict=True) if edge[0] == f"source {place}")
        )
        assert sent[place] == most_after(sent[:place], place, edges)
    cost = sum(flow.on(number) * edge[3] for number, edge in zip(numbers, edges, strict=True))
    assert cost == cheapest_in_turn(sent, edges)
