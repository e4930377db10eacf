"""The cheapest flow of whole pieces, on plain integers of any size, exactly.

Pieces are sent one way after another, each by the cheapest way that is left (Jewell, 1958; Busacker and
Gowen, 1960), found by Dijkstra on prices less what is known to be lost anyhow (Edmonds and Karp, 1972).  What
cannot reach the sink now never can again, so it is left out of every later search.
"""

from heapq import heappop, heappush
from typing import Any

Node = Any
"""What can be a key."""


class Flow:
    """Edges with room and a price of 0 or more."""

    def __init__(self) -> None:
        self._nodes: dict[Node, int] = {}
        self._open: list[dict[int, None]] = []  # by node: the edges with room that start there
        self._end: list[int] = []  # an edge and its way back are neighbours: 2n and 2n + 1
        self._room: list[int] = []
        self._price: list[int] = []
        self._far: list[int] = []  # by node: less these, no edge with room costs less than nothing
        self._lost: list[bool] = []

    def _number(self, node: Node) -> int:
        number = self._nodes.setdefault(node, len(self._open))
        if number == len(self._open):
            self._open.append({})
            self._far.append(0)
            self._lost.append(False)
        return number

    def edge(self, start: Node, end: Node, room: int, price: int = 0) -> int:
        """Add an edge; returns its number for `on`."""
        number, first, last = len(self._end), self._number(start), self._number(end)
        for node, other, free, cost in ((first, last, room, price), (last, first, 0, -price)):
            if free:
                self._open[node][len(self._end)] = None
            self._end.append(other)
            self._room.append(free)
            self._price.append(cost)
        return number

    def on(self, edge: int) -> int:
        """How much flows there."""
        return self._room[edge + 1]

    def send(self, start: Node, end: Node) -> None:
        """Send all that there is a way for, from a node that has sent nothing and that no edge leads to.

        The end is the same each time, and no edge leaves it.  What was sent before stays sent: later ways
        only lead round.
        """
        source, sink = self._nodes[start], self._nodes[end]
        self._far[source] = max((self._far[self._end[way]] for way in self._open[source]), default=0)
        room = self._room
        while way := self._cheapest(source, sink):
            pieces = min(room[edge] for edge in way)
            for edge in way:
                back = edge ^ 1
                room[edge] -= pieces
                room[back] += pieces
                self._open[self._end[edge]][back] = None
                if not room[edge]:
                    del self._open[self._end[back]][edge]

    def _cheapest(self, source: int, sink: int) -> list[int]:
        ends, price, far, lost = self._end, self._price, self._far, self._lost
        dear = {source: 0}
        came: dict[int, int] = {}
        done: dict[int, int] = {}
        waiting = [(0, source)]
        while waiting:
            spent, node = heappop(waiting)
            if node in done:
                continue
            if node == sink:
                for passed, cost in done.items():
                    far[passed] += cost - spent
                way = []
                while node != source:
                    way.append(came[node])
                    node = ends[came[node] ^ 1]
                return way
            done[node] = spent
            spent += far[node]
            most = dear.get(sink)
            for edge in self._open[node]:
                end = ends[edge]
                cost = spent + price[edge] - far[end]
                if (most is None or cost < most) and (end not in dear or cost < dear[end]) and not lost[end]:
                    dear[end] = cost
                    came[end] = edge
                    heappush(waiting, (cost, end))
        for node in done:
            lost[node] = True
        return []
