"""Whole pieces to requirements at least cost, strictly in order: on plain integers, knowing no parts.

`allot` minimises, in this order and never trading a later aim against an earlier one:

1. pieces short at rank 0, then at rank 1, and so on;
2. pieces drawn from the farthest tier, then from the next nearer one, and so on (along an arc that is
   `later`, the piece counts as from a tier farther by that);
3. pieces of the worst grade, then of the next better one, and so on;
4. the sum of closeness.

Of equal allotments the one is chosen that leaves those first in line what is theirs (`ties`).

Why plain integer weights can do that. Let N be the pieces one component can move at most, C one more than
the dearest total of aims 3 and 4, and give a piece from tier t the price C·t and a need filled at rank r
(of R) the reward C·(R - r + T), T being the farthest tier that occurs. Aims 3 and 4 together stay below C,
so they only decide between plans equal in the sum of tier prices less rewards. A longer allotment (one
augmenting path) keeps every piece and every need that was in use and adds one of each; it changes that sum
by at most T - (1 + T) < 0, so the best sum is at a largest allotment. Needs that can be filled together
form a matroid, and so do pieces that can be used together; any base of the one goes with any base of the
other (Mendelsohn and Dulmage, 1958). So the sum is least exactly where the needs are a base of greatest
reward and the pieces a base of least price, each by itself; and in a matroid every base that is best for
strictly ordered weights is best level by level (Rado, 1957; Edmonds, 1971). The weights therefore grow with
ranks times tiers, not as powers of the number of pieces. Grades are a property of the pair and form no
matroid: their prices are powers of N, within C.  So are the prices of tiers, where an arc is `later` than
its stock; the reward of a filled need is then more than N pieces from the farthest tier cost, and what is
filled still goes by ranks level by level.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from repairs.planning.flow import Flow
from repairs.planning.ties import BENCH, Edge, settled

Wanted = Sequence[tuple[int, int]]
"""What one requirement wants: (rank, pieces), rank 0 first in line."""


class Arc(NamedTuple):
    """A stock that one requirement may draw on: grade 0 best, closeness 0 closest.

    `later`: by how many tiers a piece counts as farther here than its stock is.
    """

    stock: int
    grade: int
    closeness: int
    later: int = 0


class Stock(NamedTuple):
    """So many pieces in one tier, 0 nearest."""

    quantity: int
    tier: int


@dataclass(slots=True)
class Component:
    """A problem that shares no stock with the others."""

    wanted: dict[int, list[tuple[int, int]]]
    arcs: dict[int, list[Arc]]
    stocks: dict[int, Stock]


def allot(
    wanted: Sequence[Wanted], stocks: Sequence[Stock], arcs: Sequence[Sequence[Arc]]
) -> list[dict[int, int]]:
    """Return for each requirement the pieces it draws on each stock; the best allotment there is.

    Pieces of one requirement go to its ranks from the first on.
    """
    drawn: list[dict[int, int]] = [{} for _ in wanted]
    for component in components(wanted, stocks, arcs):
        for requirement, pieces in _best(component).items():
            drawn[requirement] = pieces
    return drawn


def components(
    wanted: Sequence[Wanted], stocks: Sequence[Stock], arcs: Sequence[Sequence[Arc]]
) -> Iterator[Component]:
    """Trim what cannot matter, then part the rest into problems that share no stock."""
    demand, choices = trimmed(wanted, stocks, arcs)
    root = list(range(len(stocks)))

    def find(stock: int) -> int:
        while root[stock] != stock:
            root[stock] = root[root[stock]]
            stock = root[stock]
        return stock

    for ordered in choices.values():
        first = find(ordered[0].stock)
        for arc in ordered[1:]:
            root[find(arc.stock)] = first
    members: defaultdict[int, list[int]] = defaultdict(list)
    for requirement, ordered in choices.items():
        members[find(ordered[0].stock)].append(requirement)
    for requirements in members.values():
        yield Component(
            wanted={r: demand[r] for r in requirements},
            arcs={r: choices[r] for r in requirements},
            stocks={arc.stock: stocks[arc.stock] for r in requirements for arc in choices[r]},
        )


def trimmed(
    wanted: Sequence[Wanted], stocks: Sequence[Stock], arcs: Sequence[Sequence[Arc]]
) -> tuple[dict[int, list[tuple[int, int]]], dict[int, list[Arc]]]:
    """Drop ranks beyond all stock within reach, and arcs worse than one on a stock that cannot run out.

    Neither changes the best allotment: a requirement fills its ranks from the first on, and a piece from a
    dearer arc could always be swapped for one of a stock that holds enough for all who may draw on it.
    """
    demand: dict[int, list[tuple[int, int]]] = {}
    choices: dict[int, list[Arc]] = {}
    for requirement, reachable in enumerate(arcs):
        ordered = sorted(
            (arc for arc in reachable if stocks[arc.stock].quantity > 0),
            key=lambda arc: (stocks[arc.stock].tier + arc.later, arc.grade, arc.closeness, arc.stock),
        )
        if ordered and wanted[requirement]:
            choices[requirement] = ordered
            demand[requirement] = sorted(wanted[requirement])
    stale = list(choices)
    pull: defaultdict[int, int] = defaultdict(int)
    counted = {requirement: sum(pieces for _, pieces in ranks) for requirement, ranks in demand.items()}
    while stale:
        for requirement in stale:
            reach = sum(stocks[arc.stock].quantity for arc in choices[requirement])
            if reach < counted[requirement]:
                demand[requirement] = _first(demand[requirement], reach)
                counted[requirement] = reach
        pull.clear()
        for requirement, ordered in choices.items():
            for arc in ordered:
                pull[arc.stock] += counted[requirement]
        stale = []
        for requirement, ordered in choices.items():
            for place, arc in enumerate(ordered[:-1], 1):
                if pull[arc.stock] <= stocks[arc.stock].quantity:
                    choices[requirement] = ordered[:place]
                    stale.append(requirement)
                    break
    return demand, choices


def _first(wanted: list[tuple[int, int]], pieces: int) -> list[tuple[int, int]]:
    kept = []
    for rank, quantity in wanted:
        if pieces <= 0:
            break
        kept.append((rank, min(quantity, pieces)))
        pieces -= quantity
    return kept


def _best(component: Component) -> dict[int, dict[int, int]]:
    if len(component.stocks) == 1:
        return _shared_out(component)
    return each_its_best(component) or _solved(component)


def _shared_out(component: Component) -> dict[int, dict[int, int]]:
    """One stock, several requirements: by rank, then the better fit."""
    ((stock, held),) = component.stocks.items()
    arcs = component.arcs
    line = sorted(
        (rank, arcs[r][0].later, arcs[r][0].grade, arcs[r][0].closeness, r, quantity)
        for r, wanted in component.wanted.items()
        for rank, quantity in wanted
    )
    drawn: defaultdict[int, dict[int, int]] = defaultdict(dict)
    left = held.quantity
    for *_, requirement, quantity in line:
        given = min(quantity, left)
        if given:
            drawn[requirement][stock] = drawn[requirement].get(stock, 0) + given
            left -= given
    return drawn


def each_its_best(component: Component) -> dict[int, dict[int, int]] | None:
    """Give every requirement what it would take if it were alone; None where two want the same piece.

    No allotment can be better than each requirement's own best, so one without a clash is the best.
    """
    left = {stock: held.quantity for stock, held in component.stocks.items()}
    drawn: dict[int, dict[int, int]] = {}
    for requirement, wanted in component.wanted.items():
        open_pieces = sum(quantity for _, quantity in wanted)
        pieces: dict[int, int] = {}
        for arc in component.arcs[requirement]:
            given = min(open_pieces, component.stocks[arc.stock].quantity)
            if given > left[arc.stock]:
                return None
            pieces[arc.stock] = given
            left[arc.stock] -= given
            open_pieces -= given
            if not open_pieces:
                break
        drawn[requirement] = pieces
    return drawn


def _solved(component: Component) -> dict[int, dict[int, int]]:
    requirements, stocks = list(component.arcs), sorted(component.stocks)
    number = {stock: place for place, stock in enumerate(stocks)}
    drawn = _solved_once(
        tuple(tuple(component.wanted[r]) for r in requirements),
        tuple(tuple(Arc(number[arc.stock], *arc[1:]) for arc in component.arcs[r]) for r in requirements),
        tuple(component.stocks[stock] for stock in stocks),
    )
    found: defaultdict[int, dict[int, int]] = defaultdict(dict)
    for requirement, stock, pieces in drawn:
        found[requirements[requirement]][stocks[stock]] = pieces
    return found


@lru_cache(maxsize=2000)
def _solved_once(
    wanted: tuple[Wanted, ...], arcs: tuple[tuple[Arc, ...], ...], stocks: tuple[Stock, ...]
) -> tuple[tuple[int, int, int], ...]:
    """The best as (requirement, stock, pieces), by place: most components stay the same from plan to plan."""
    component = Component(
        {place: list(each) for place, each in enumerate(wanted)},
        {place: list(each) for place, each in enumerate(arcs)},
        dict(enumerate(stocks)),
    )
    flowing = _sent(edges(component))
    drawn = {
        (edge.start, edge.end): edge.flow for edge in flowing if BENCH not in (edge.start, edge.end)
    } | settled(flowing)
    return tuple((~requirement, stock, pieces) for (stock, requirement), pieces in drawn.items() if pieces)


def _sent(edges: list[Edge]) -> list[Edge]:
    """The edges with the flow of a best allotment.

    Each rank in turn sends what it wants by the cheapest ways to what is free, so that no later one takes
    anything from it; which of its requirements is filled is open as long as ways change.
    """
    flow = Flow()
    numbers = [
        flow.edge((BENCH, edge.rank), edge.start, edge.capacity, 0)
        if edge.end == BENCH
        else flow.edge(edge.end, edge.start, edge.capacity, edge.weight)
        for edge in edges
    ]
    for rank in sorted({edge.rank for edge in edges if edge.end == BENCH}):
        flow.send((BENCH, rank), BENCH)
    return [edge._replace(flow=flow.on(number)) for edge, number in zip(edges, numbers, strict=True)]


def edges(component: Component) -> list[Edge]:
    """The component as a circulation: bench -> stock i -> requirement ~i -> bench, by rank."""
    wanted_pieces = sum(quantity for wanted in component.wanted.values() for _, quantity in wanted)
    pieces = min(wanted_pieces, sum(stock.quantity for stock in component.stocks.values()))
    price, tier_price = _prices(component, pieces)
    ranks = sorted({rank for wanted in component.wanted.values() for rank, _ in wanted})
    tiers = sorted({stock.tier for stock in component.stocks.values()})
    far = {tier: tier_price * place for place, tier in enumerate(tiers)}
    here = dict.fromkeys(tiers, 0)
    reward = {rank: tier_price * (len(ranks) - place + len(tiers) - 1) for place, rank in enumerate(ranks)}
    if any(arc.later for arcs in component.arcs.values() for arc in arcs):
        here, step = _tier_prices(component, pieces, tier_price)
        far = dict.fromkeys(tiers, 0)
        reward = {rank: step * (len(ranks) - place) for place, rank in enumerate(ranks)}

    found = [
        Edge(BENCH, index, min(stock.quantity, pieces), far[stock.tier])
        for index, stock in component.stocks.items()
    ]
    for requirement, arcs in component.arcs.items():
        for arc in arcs:
            tier = component.stocks[arc.stock].tier + arc.later
            weight = here[tier] + price[arc.grade] + arc.closeness
            found.append(Edge(arc.stock, ~requirement, pieces, weight))
        for rank, quantity in component.wanted[requirement]:
            found.append(Edge(~requirement, BENCH, quantity, -reward[rank], rank=rank))
    return found


def _tier_prices(component: Component, pieces: int, tier_price: int) -> tuple[dict[int, int], int]:
    """Return the price of each tier that an arc counts as, and what exceeds all pieces of the farthest."""
    counted = (arc for arcs in component.arcs.values() for arc in arcs)
    tiers = sorted({component.stocks[arc.stock].tier + arc.later for arc in counted})
    steps = [tier_price * (pieces + 1) ** place for place in range(len(tiers))]
    return dict(zip(tiers, [0, *steps], strict=False)), steps[-1]


def _prices(component: Component, pieces: int) -> tuple[dict[int, int], int]:
    """Return the price of each grade that occurs, and that of one tier, beyond any sum of the former."""
    used = [arc for arcs in component.arcs.values() for arc in arcs]
    farthest = max(arc.closeness for arc in used)
    price: dict[int, int] = {}
    dearest = farthest
    for place, grade in enumerate(sorted({arc.grade for arc in used})):
        price[grade] = pieces * dearest + 1 if place else 0
        dearest = price[grade] + farthest
    return price, pieces * dearest + 1
