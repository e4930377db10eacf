"""Why a need was given what it was given, who has the piece it would have had, and what would change it."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.spec import Recorded, fits
from repairs.planning.candidates import Judge
from repairs.planning.optimiser import Allocation, Demand, Plan, Supply, plan
from repairs.planning.refusals import RefusedSupply


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """Pieces that the need would have had by itself, and the demand that has them instead.

    `first_in_line` says that the other comes first; else it has them because the whole plan is better so.
    """

    supply: Any
    quantity: int
    demand: Demand
    first_in_line: bool


@dataclass(frozen=True, slots=True)
class WhyPlanned:
    """What the need is given and lacks; where what it would have had by itself went; what would change it.

    `if_first` and `if_borrowing` are the pieces short if its job were first in line, or working boards lent.
    """

    given: tuple[Allocation, ...]
    short: int
    by_itself: tuple[Allocation, ...]
    elsewhere: tuple[Elsewhere, ...]
    refused: tuple[RefusedSupply, ...]
    if_first: int
    if_borrowing: int
    asked: tuple[Allocation, ...] = ()
    """Pieces left over that would serve but for a question."""


def why(
    demand_id: Any,
    demands: Iterable[Demand],
    supplies: Iterable[Supply],
    *,
    judge: Judge = fits,
    allow_ask: bool = False,
    borrow: bool = False,
    recorded: Recorded | None = None,
) -> WhyPlanned:
    """Explain the plan of these demands and supplies to one of them. KeyError: no demand has this id."""
    everyone = list(demands)
    need = {demand.id: demand for demand in everyone}[demand_id]
    # Kinds never stand in for each other, so the rest of the bench has no say in it.
    rivals = {each.id: each for each in everyone if each.spec.kind == need.spec.kind}
    held = [supply for supply in supplies if supply.spec.kind == need.spec.kind]

    def planned(line: Sequence[Demand], *, lending: bool = borrow) -> Plan:
        return plan(line, held, judge=judge, allow_ask=allow_ask, borrow=lending, recorded=recorded)

    def takes_of(result: Plan) -> tuple[Allocation, ...]:
        return tuple(take for take in result.takes if take.demand == need.id)

    now = planned(list(rivals.values()))
    by_itself = takes_of(planned([need]))
    ahead = [each._replace(priority=0) if each.job == need.job else each for each in rivals.values()]
    return WhyPlanned(
        given=takes_of(now),
        short=now.short.get(need.id, 0),
        by_itself=by_itself,
        elsewhere=tuple(_elsewhere(need, by_itself, now, rivals)),
        refused=now.refused.get(need.id, ()),
        if_first=planned(ahead).short.get(need.id, 0),
        if_borrowing=planned(list(rivals.values()), lending=True).short.get(need.id, 0),
        asked=tuple(take for take in now.asked if take.demand == need.id),
    )


def _elsewhere(
    need: Demand, by_itself: Iterable[Allocation], now: Plan, rivals: Mapping[Any, Demand]
) -> Iterator[Elsewhere]:
    missing: Counter[Any] = Counter()
    for take in by_itself:
        missing[take.supply] += take.quantity
    for take in now.takes:
        if take.demand == need.id:
            missing[take.supply] -= take.quantity
    for take in now.takes:
        pieces = min(take.quantity, missing[take.supply])
        if take.demand != need.id and pieces > 0:
            missing[take.supply] -= pieces
            other = rivals[take.demand]
            yield Elsewhere(take.supply, pieces, other, (other.rank, other.id) < (need.rank, need.id))
