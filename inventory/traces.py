"""Where a piece came from and where it is now, read from the movements.

Pieces of a lot are alike, so what can be said of one is said of the lot; but a lot may be split from another
and merged into another.  A trace follows the pieces through both: backwards only through spots from which
they can have come, forwards only through spots to which they can have gone, each at its time.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from django.db.models import Prefetch, Q

from inventory.models import Board, Holding, Lot, Movement, Place, Position
from inventory.refs import split_ref
from inventory.spec import Spec

Spot = tuple[int, int, str]
"""A lot, a place and on a board the position."""


@dataclass(frozen=True)
class Whereabouts:
    """Pieces that are somewhere now.  `mixed`: in a lot that they joined, where others can be among them."""

    holding: Holding
    mixed: bool


@dataclass(frozen=True)
class LotTrace:
    lot: Lot
    movements: Sequence[Movement]
    now: Sequence[Whereabouts]


def trace_lot(lot: Lot) -> LotTrace:
    """Every movement that can have carried a piece of this lot, oldest first; and where they are now."""
    kin = _kin(lot)
    lines = list(
        Movement.objects.filter(Q(lot__in=kin) | Q(to_lot__in=kin))
        .select_related("from_place", "to_place", "by")
        .order_by("id")
    )
    steps = _steps(lines)
    own = {line.pk for line in lines if lot.pk in (line.lot_id, line.to_lot_id)}
    later, reached, mixed = _after(lot, steps)
    ours = own | _before(lot, steps) | later
    held = (
        Holding.objects.filter(lot__in=kin, quantity__gt=0)
        .select_related("place__board")
        .order_by("lot_id", "id")
    )
    return LotTrace(
        lot=lot,
        movements=[line for line in lines if line.pk in ours],
        now=[
            Whereabouts(holding, mixed=spot in mixed and holding.lot_id != lot.pk)
            for holding in held
            if (spot := (holding.lot_id, holding.place_id, holding.ref)) in reached
            or holding.lot_id == lot.pk
        ],
    )


def _kin(lot: Lot) -> set[int]:
    """The lot and all with which it shares pieces by splits and merges."""
    kin, fresh = {lot.pk}, {lot.pk}
    while fresh:
        pairs = Movement.objects.filter(
            Q(lot__in=fresh) | Q(to_lot__in=fresh), to_lot__isnull=False
        ).values_list("lot_id", "to_lot_id")
        fresh = {pk for pair in pairs for pk in pair if pk is not None} - kin
        kin |= fresh
    return kin


class _Step(NamedTuple):
    """Pieces that went between two spots; None is outside.  It emptied the one, or found the other empty."""

    line: int
    source: Spot | None
    target: Spot | None
    empties: bool
    fills: bool


def _steps(lines: Sequence[Movement]) -> list[_Step]:
    held: dict[Spot | None, int] = defaultdict(int)
    steps = []
    for line in lines:
        outside = line.from_place.type == Place.Type.OUTSIDE, line.to_place.type == Place.Type.OUTSIDE
        source = None if outside[0] else (line.lot_id, line.from_place_id, line.from_ref)
        target = None if outside[1] else (line.to_lot_id or line.lot_id, line.to_place_id, line.to_ref)
        found = held[target]
        held[source] -= line.quantity
        held[target] += line.quantity
        if line.quantity:
            steps.append(_Step(line.pk, source, target, empties=not held[source], fills=not found))
    return steps


def _before(lot: Lot, steps: Sequence[_Step]) -> set[int]:
    """Lines of other lots by which pieces came to this one; an empty spot has no past."""
    lines: set[int] = set()
    spots: set[Spot] = set()
    for step in reversed(steps):
        if step.target is None:
            continue
        came = step.target in spots
        if came:
            lines.add(step.line)
        if step.source is not None and (came or (step.target[0] == lot.pk != step.source[0])):
            spots.add(step.source)
        if step.fills:
            spots.discard(step.target)
    return lines


def _after(lot: Lot, steps: Sequence[_Step]) -> tuple[set[int], set[Spot], set[Spot]]:
    """Lines of other lots by which pieces went on, where they can be now, and where others can be too."""
    lines: set[int] = set()
    ours: set[Spot] = set()
    others: set[Spot] = set()
    for step in steps:
        from_ours = step.source is not None and (step.source[0] == lot.pk or step.source in ours)
        if step.source in ours:
            lines.add(step.line)
        if step.target is not None and step.target[0] != lot.pk:
            if from_ours:
                ours.add(step.target)
            if step.source is None or step.source in others:
                others.add(step.target)
        if step.source is not None and step.empties:
            ours.discard(step.source)
            others.discard(step.source)
    return lines, ours, ours & others


# --- boards


@dataclass
class PositionTrace:
    """A position of a board (no ref: loose on it): what it wants, what came off it and what is in it."""

    ref: str
    spec: Spec | None = None
    came_off: list[tuple[Lot, list[Holding]]] = field(default_factory=list)
    fitted: list[Holding] = field(default_factory=list)


def trace_board(board: Board) -> list[PositionTrace]:
    """Each position in its natural order.  A piece that never left its position is what is fitted there."""
    traces: dict[str, PositionTrace] = defaultdict(lambda: PositionTrace(""))
    drawn = Position.objects.filter(design=board.design_id).select_related("spec")
    for position in drawn:
        traces[position.ref].spec = position.spec.spec
    for lot, elsewhere in _came_off(board):
        traces[lot.origin_ref].came_off.append((lot, elsewhere))
    for holding in _held_by(board):
        traces[holding.ref].fitted.append(holding)
    for ref, trace in traces.items():
        trace.ref = ref
    return sorted(traces.values(), key=lambda trace: split_ref(trace.ref))


def _came_off(board: Board) -> Iterable[tuple[Lot, list[Holding]]]:
    held = Prefetch(
        "holdings", Holding.objects.filter(quantity__gt=0).select_related("place__board").order_by("id")
    )
    salvaged = Lot.objects.filter(origin_board=board).select_related("part__spec").prefetch_related(held)
    for lot in salvaged.order_by("id"):
        here = [h for h in lot.holdings.all() if (h.place_id, h.ref) == (board.place_id, lot.origin_ref)]
        elsewhere = [holding for holding in lot.holdings.all() if holding not in here]
        if elsewhere or not here:
            yield lot, elsewhere


def _held_by(board: Board) -> Iterable[Holding]:
    return (
        Holding.objects.filter(place_id=board.place_id, quantity__gt=0)
        .select_related("lot__origin_board", "lot__part__spec")
        .order_by("id")
    )
