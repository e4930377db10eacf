"""Of the allotments that are equally good, the one that leaves the jobs first in line what is theirs.

Every best allotment differs from another along cycles of the network that cost nothing.  Where there are
such cycles, the pieces on them are dealt again, and there alone: the first in line gets what it would take if
it were asked alone (nearer, better, closer, then by the order of stocks), then the next.  So what comes at
the end of the line changes what those before it are given only where the plan is better for it, or where one
of them gets a nearer or better piece.

A flow is least exactly where no edge with room has a negative reduced cost (Ford and Fulkerson, 1962), and by
the potentials that prove one best flow, all of them use only edges of reduced cost 0 and the edges that they
must.  So cycles are looked for among those.
"""

from collections import defaultdict, deque
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

Node = Any
BENCH = "bench"
MAX_BITS = 4000
"""How large a price may get: so many of the first in line are told apart as it has room for, at least one;
those behind them are asked together."""


class Edge(NamedTuple):
    """An edge of the network and how many pieces flow along it; `rank` on one from a requirement."""

    start: Node
    end: Node
    capacity: int
    weight: int
    flow: int
    rank: int = -1


def settled(edges: list[Edge]) -> dict[tuple[Node, Node], int]:
    """What flows from stocks (i) to requirements (~i) in the best allotment that is also fair, of a best one
    in hand; only edges on which it differs, or may."""
    reduced = _reduced(edges)
    found: dict[tuple[Node, Node], int] = {}
    for nodes in _loose(edges, reduced):
        inside = [
            index
            for index, edge in enumerate(edges)
            if not reduced[index] and edge.start in nodes and edge.end in nodes
        ]
        if len(inside) >= len(nodes):  # else a tree: nothing can flow otherwise
            for ring in _rings(edges, inside):
                found |= _dealt(edges, {node for index in ring for node in edges[index][:2]}, ring)
    return found


def _reduced(edges: list[Edge]) -> list[int]:
    """The reduced cost of each edge, by the shortest way to each node over what the flow leaves open."""
    ways: defaultdict[Node, list[tuple[Node, int]]] = defaultdict(list)
    for edge in edges:
        if edge.flow < edge.capacity:
            ways[edge.start].append((edge.end, edge.weight))
        if edge.flow:
            ways[edge.end].append((edge.start, -edge.weight))
    far = {node: 0 for edge in edges for node in (edge.start, edge.end)}
    waiting, queued = deque(far), set(far)
    while waiting:
        node = waiting.popleft()
        queued.remove(node)
        for other, weight in ways[node]:
            if far[node] + weight < far[other]:
                far[other] = far[node] + weight
                if other not in queued:
                    queued.add(other)
                    waiting.append(other)
    return [edge.weight + far[edge.start] - far[edge.end] for edge in edges]


def _loose(edges: list[Edge], reduced: list[int]) -> Iterator[set[Node]]:
    """Nodes between which pieces may go round at no cost."""
    from networkx import DiGraph, strongly_connected_components

    graph: DiGraph[Any] = DiGraph()
    for edge, cost in zip(edges, reduced, strict=True):
        if not cost and edge.flow < edge.capacity:
            graph.add_edge(edge.start, edge.end)
        if not cost and edge.flow:
            graph.add_edge(edge.end, edge.start)
    return (nodes for nodes in strongly_connected_components(graph) if len(nodes) > 2)


def _rings(edges: list[Edge], loose: list[int]) -> Iterator[set[int]]:
    """The loose edges that lie on a cycle, apart where what goes round on some does not touch the others.

    Cycles lie within the blocks of a graph.  Two blocks that meet at a stock or the bench are dealt each by
    itself; not so at a requirement, where pieces of both go to the same ranks.
    """
    from networkx import Graph, biconnected_component_edges, connected_components

    number = {frozenset(edges[index][:2]): index for index in loose}
    graph: Graph[Any] = Graph(tuple(pair) for pair in number)
    blocks = [block for block in biconnected_component_edges(graph) if len(block) > 1]
    meeting: Graph[Any] = Graph()
    for place, block in enumerate(blocks):
        meeting.add_node(("block", place))
        for pair in block:
            requirements = (node for node in pair if node != BENCH and node < 0)
            meeting.add_edges_from((("block", place), requirement) for requirement in requirements)
    for together in connected_components(meeting):
        places = (node[1] for node in together if isinstance(node, tuple))
        yield {number[frozenset(pair)] for place in places for pair in blocks[place]}


def _dealt(edges: list[Edge], nodes: set[Node], inside: set[int]) -> dict[tuple[Node, Node], int]:
    """Deal the pieces on these edges again, rank by rank; what flows on all others stays."""
    from networkx import DiGraph, network_simplex

    graph: DiGraph[Any] = DiGraph()
    wanted: defaultdict[Node, int] = defaultdict(int)
    offered: dict[Node, dict[Node, int]] = defaultdict(dict)  # requirement -> source -> its price there
    lots: defaultdict[Node, list[Edge]] = defaultdict(list)
    tier = {edge.end: edge.weight for edge in edges if edge.start == BENCH}
    for index, edge in enumerate(edges):
        if index in inside:
            if edge.start == BENCH:
                graph.add_edge(BENCH, edge.end, capacity=edge.capacity, weight=0)
            elif edge.end == BENCH:
                lots[edge.start].append(edge)
                graph.add_edge((edge.start, edge.rank), BENCH, capacity=edge.capacity, weight=0)
            else:
                offered[edge.end][edge.start] = tier[edge.start] + edge.weight
        elif edge.flow:
            if edge.end == BENCH and edge.start in nodes:
                lots[edge.start].append(edge)
                wanted[edge.start, edge.rank] += edge.flow
            elif edge.end != BENCH and edge.start != BENCH and edge.end in nodes:
                source = edge.start, edge.end
                wanted[source] -= edge.flow
                offered[edge.end][source] = tier[edge.start] + edge.weight
            if edge.end != BENCH and edge.end in nodes and edge.start == BENCH:
                wanted[edge.end] -= edge.flow
            if edge.start != BENCH and edge.start in nodes and edge.end != BENCH:
                wanted[edge.start] += edge.flow
    pieces = 1 + sum(edge.capacity for each in lots.values() for edge in each)
    stocks = sorted(_stock(source) for source in {s for sources in offered.values() for s in sources})
    place = {stock: pieces**position for position, stock in enumerate(dict.fromkeys(stocks))}
    least = min(price for sources in offered.values() for price in sources.values())
    order = pieces ** (len(place) + 1)
    dearest = max(price - least + 1 for sources in offered.values() for price in sources.values())
    step = pieces * (dearest + 1) * order
    ranks = sorted({edge.rank for each in lots.values() for edge in each}, reverse=True)
    alike = max(0, len(ranks) - max(1, MAX_BITS // step.bit_length()))
    weight = {rank: step ** max(0, power - alike) for power, rank in enumerate(ranks)}
    for requirement, sources in offered.items():
        for source, price in sources.items():
            own = (price - least) * order + place[_stock(source)]
            for edge in lots[requirement]:
                graph.add_edge(source, (requirement, edge.rank), weight=weight[edge.rank] * own)
    for node, count in wanted.items():
        graph.add_node(node, demand=count)
    if BENCH in nodes:
        graph.add_node(BENCH, demand=-sum(wanted.values()))
    _, flow = network_simplex(graph)
    return {
        (stock, requirement): sum(flow[stock][requirement, edge.rank] for edge in lots[requirement])
        for requirement, sources in offered.items()
        for stock in sources
        if not isinstance(stock, tuple)
    }


def _stock(source: Node) -> int:
    """The stock of a source: pieces that stay where they go are a source by themselves."""
    stock: int = source[0] if isinstance(source, tuple) else source
    return stock


def edges_of(graph: Any, flow: Mapping[Node, Mapping[Node, Mapping[int, int]]]) -> list[Edge]:
    """The edges of a network as networkx holds it, with the flow that it found."""
    return [
        Edge(start, end, data["capacity"], data["weight"], flow[start][end][key], data.get("rank", -1))
        for start, end, key, data in graph.edges(keys=True, data=True)
    ]
