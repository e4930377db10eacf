"""Of the allotments that are equally good, the one that leaves the jobs first in line what is theirs.

Every best allotment differs from another along cycles of the network that cost nothing.  Where there are
such cycles, the pieces on them are dealt again, and there alone: the first in line gets what it would take if
it were asked alone (nearer, better, closer, then by the order of stocks), then the next.  So what comes at
the end of the line changes what those before it are given only where the plan is better for it, or where one
of them gets a nearer or better piece.

A flow is least exactly where no edge with room has a negative reduced cost (Ford and Fulkerson, 1962), and by
the potentials that prove one best flow, all of them use only edges of reduced cost 0 and the edges that they
must.  So cycles are looked for among those.

On an edge of reduced cost 0 the price of a piece is that of its stock and of its requirement, by the
potentials: which stock is better does not depend on who asks.  The pieces that one requirement can have so
that the rest is still dealt out are the bases of a matroid, so a rank gets the best there by taking the best
stock first, as much of it as there is a way for, then the next (Rado, 1957).  A way is looked for in the
little network of what is not dealt yet; one that is not there never comes back.  Where a rank asks at several
requirements and they are in each other's way, its pieces are one small problem of least cost.
"""

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from repairs.planning.flow import Flow, Node

BENCH = "bench"


class Edge(NamedTuple):
    """An edge of the network and what flows along it; `rank` on those from a requirement, each once."""

    start: Node
    end: Node
    capacity: int
    weight: int
    flow: int = 0
    rank: int = -1


def settled(edges: list[Edge]) -> dict[tuple[Node, Node], int]:
    """What flows from stocks (i) to requirements (~i) in the best allotment that is also fair, of a best one
    in hand; only edges on which it differs, or may."""
    far = _potentials(edges)
    tight = [not edge.weight + far[edge.start] - far[edge.end] for edge in edges]
    group = {node: number for number, nodes in enumerate(_loose(edges, tight)) for node in nodes}
    within: defaultdict[int, list[int]] = defaultdict(list)
    touching: defaultdict[Node, list[int]] = defaultdict(list)
    price = {edge.end: edge.weight for edge in edges if edge.start == BENCH}
    for index, edge in enumerate(edges):
        if edge.start != BENCH and (requirement := edge.start if edge.end == BENCH else edge.end) in group:
            touching[requirement].append(index)
        if tight[index] and edge.start in group and group[edge.start] == group.get(edge.end):
            within[group[edge.start]].append(index)
    found: dict[tuple[Node, Node], int] = {}
    for inside in within.values():
        for ring in _rings(edges, inside):
            deal = _Deal()
            for index in sorted(ring):
                if edges[index].start == BENCH:
                    deal.leave(edges[index])
            requirements = {node for index in ring for node in edges[index][:2] if node != BENCH and node < 0}
            for requirement in sorted(requirements, reverse=True):
                deal.add(
                    requirement,
                    [(edges[index], index in ring) for index in touching[requirement]],
                    {
                        edges[index].start: price[edges[index].start] + edges[index].weight - far[requirement]
                        for index in touching[requirement]
                        if edges[index].end != BENCH
                    },
                )
            found |= deal.dealt()
    return found


def _potentials(edges: list[Edge]) -> dict[Node, int]:
    """The shortest way to each node over what the flow leaves open."""
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
    return far


def _loose(edges: list[Edge], tight: list[bool]) -> Iterator[set[Node]]:
    """Nodes between which pieces may go round at no cost."""
    from networkx import DiGraph, strongly_connected_components

    graph: DiGraph[Any] = DiGraph()
    for edge, costs_nothing in zip(edges, tight, strict=True):
        if costs_nothing and edge.flow < edge.capacity:
            graph.add_edge(edge.start, edge.end)
        if costs_nothing and edge.flow:
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


class _Bin(NamedTuple):
    """Where pieces go: a requirement, or one rank of it that need not be filled (`rank`), or the bench."""

    requirement: Node
    rank: int = -1


_LEFT = _Bin(BENCH)


class _Deal:
    """The pieces on one ring, dealt again.

    A source is a stock, or the pieces of one that stay with a requirement, or what stays open at a rank:
    that is dealt like pieces, which nobody prefers.
    """

    def __init__(self) -> None:
        self._held: defaultdict[_Bin, defaultdict[Node, int]] = defaultdict(lambda: defaultdict(int))
        self._reach: defaultdict[Node, list[_Bin]] = defaultdict(list)
        self._order: dict[Node, tuple[int, int, int]] = {}  # source -> what is better is less
        self._sources: defaultdict[_Bin, list[Node]] = defaultdict(list)
        self._left: defaultdict[Node, int] = defaultdict(int)
        self._line: defaultdict[int, dict[_Bin, int]] = defaultdict(dict)
        self._closed: set[tuple[Node, _Bin]] = set()  # no way for a piece of this source to count there

    def leave(self, edge: Edge) -> None:
        """An edge from the bench: what of this stock nobody gets is as free as what somebody has."""
        self._holds(_LEFT, edge.end, edge.capacity - edge.flow)

    def add(self, requirement: Node, edges: Iterable[tuple[Edge, bool]], price: Mapping[Node, int]) -> None:
        """A requirement with its edges, each with whether it is of the ring, and what a stock costs there."""
        edges = list(edges)
        pooled = _Bin(requirement)
        bins = [pooled]
        for edge, of_ring in edges:
            if edge.end != BENCH:
                continue
            if not of_ring:
                if edge.flow:
                    self._line[edge.rank][pooled] = edge.flow
                continue
            alone = _Bin(requirement, edge.rank)
            bins.append(alone)
            self._line[edge.rank][alone] = edge.capacity
            nobody = (BENCH, edge.rank)
            self._order[nobody] = 1, 0, 0
            self._holds(alone, nobody, edge.capacity - edge.flow)
        lacking = {
            alone: self._line[alone.rank][alone] - sum(self._held[alone].values()) for alone in bins[1:]
        }
        for edge, of_ring in edges:
            if edge.end == BENCH or not (of_ring or edge.flow):
                continue
            source = edge.start if of_ring else (edge.start, requirement)
            self._order[source] = 0, price[edge.start], edge.start
            left = edge.flow
            for alone, lacks in lacking.items():
                given = min(left, lacks)
                self._holds(alone, source, given)
                lacking[alone] -= given
                left -= given
            self._holds(pooled, source, left)

    def _holds(self, each: _Bin, source: Node, pieces: int) -> None:
        self._held[each][source] = pieces
        self._left[source] += pieces
        self._reach[source].append(each)
        self._sources[each].append(source)

    def dealt(self) -> dict[tuple[Node, Node], int]:
        """What each stock of the ring gives each requirement, the first in line served first."""
        found: dict[tuple[Node, Node], int] = {
            (source, each.requirement): 0
            for source, reached in self._reach.items()
            if not isinstance(source, tuple)
            for each in reached
            if each is not _LEFT
        }
        for sources in self._sources.values():
            sources.sort(key=self._order.__getitem__)
        for rank in sorted(self._line):
            for (source, each), pieces in self._served(self._line[rank]).items():
                if not isinstance(source, tuple):
                    found[source, each.requirement] += pieces
        return found

    def _served(self, wanted: Mapping[_Bin, int]) -> dict[tuple[Node, _Bin], int]:
        """Take for one rank what it asks of each bin.

        Each bin by itself takes the best sources that there is a way for.  Where one had to do with less
        because of another, all are weighed together.
        """
        taken, none = self._each_by_itself(wanted)
        if len(wanted) == 1:
            self._closed |= none
        elif none:
            self._put_back(taken)
            for source, each in none:
                if counted := self._counted(source, each, 1):
                    self._put_back({(source, each): counted})
                else:
                    self._closed.add((source, each))
            if not none <= self._closed:
                return self._weighed(wanted)
            taken, _ = self._each_by_itself(wanted)
        return taken

    def _each_by_itself(
        self, wanted: Mapping[_Bin, int]
    ) -> tuple[dict[tuple[Node, _Bin], int], set[tuple[Node, _Bin]]]:
        """What each bin takes in turn, and for which sources and bins there proved to be no way."""
        taken: defaultdict[tuple[Node, _Bin], int] = defaultdict(int)
        none: set[tuple[Node, _Bin]] = set()
        for each, pieces in wanted.items():
            for source in self._sources[each]:
                while pieces and (source, each) not in self._closed and (source, each) not in none:
                    if counted := self._counted(source, each, pieces):
                        taken[source, each] += counted
                        pieces -= counted
                    else:
                        none.add((source, each))
        return taken, none

    def _put_back(self, taken: Mapping[tuple[Node, _Bin], int]) -> None:
        for (source, each), pieces in taken.items():
            self._held[each][source] += pieces
            self._left[source] += pieces

    def _counted(self, source: Node, here: _Bin, most: int) -> int:
        """Take up to so many pieces of the source out of what is not dealt, and as many wishes out of this
        bin, so that the rest still comes out even; returns how many."""
        came: dict[_Bin, tuple[_Bin, Node] | None] = {here: None}
        waiting = deque([here] if self._left[source] else [])
        while waiting:
            at = waiting.popleft()
            held = self._held[at]
            if not held.get(source):
                for other, pieces in held.items():
                    if pieces:
                        for end in self._reach[other]:
                            if end not in came:
                                came[end] = at, other
                                waiting.append(end)
                continue
            way = [(at, source)]
            while (step := came[way[-1][0]]) is not None:
                way.append(step)
            counted = min(most, *(self._held[start][other] for start, other in way))
            to: _Bin | None = None
            for start, other in way:
                self._held[start][other] -= counted
                if to is not None:
                    self._held[to][other] += counted
                to = start
            self._left[source] -= counted
            return counted
        return 0

    def _weighed(self, wanted: Mapping[_Bin, int]) -> dict[tuple[Node, _Bin], int]:
        """The same by the least price of all the bins of a rank together, then by the order of stocks."""
        base = sum(wanted.values()) + 1
        stocks = sorted({order[2] for order in self._order.values()})
        place = {stock: base**position for position, stock in enumerate(stocks)}
        step = base ** (len(stocks) + 1)
        prices = [order[1] for order in self._order.values() if not order[0]]
        nobody = base * (max(prices) - min(prices) + 1) * step
        flow = Flow()
        given: dict[tuple[Node, _Bin, bool], int] = {}
        for source, left in self._left.items():
            open_end, price, stock = self._order[source]
            weight = nobody if open_end else (price - min(prices)) * step + place[stock]
            flow.edge("all", (source, None), left)
            for each in self._reach[source]:
                given[source, each, False] = flow.edge((source, None), (each, False), left)
                if each in wanted:
                    given[source, each, True] = flow.edge((source, None), (each, True), left, weight)
        for each, held in self._held.items():
            flow.edge((each, False), "none", sum(held.values()) - wanted.get(each, 0))
        for each, pieces in wanted.items():
            flow.edge((each, True), "none", pieces)
        flow.send("all", "none")
        taken: dict[tuple[Node, _Bin], int] = {}
        for source in self._left:
            for each in self._reach[source]:
                self._held[each][source] = flow.on(given[source, each, False])
                if each in wanted:
                    taken[source, each] = flow.on(given[source, each, True])
            self._left[source] = sum(self._held[each][source] for each in self._reach[source])
        return taken
