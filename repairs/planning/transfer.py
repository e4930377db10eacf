"""The transfer plan: what moves from a donor board to a target of another revision, and where to.

In strict order: fill the most positions; use the fewest pieces of the worst grade, then of the next; move
each piece to the reference it came from rather than to another, as one does with both boards on the bench;
keep ratings close. Positions and pieces that are alike, in their own spec and in what sits or is wanted at
the same reference of the other board, are planned as one.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from heapq import nsmallest
from itertools import pairwise
from typing import Any, TypeVar

from inventory.refs import split_ref
from inventory.spec import GRADES, Fit, Recorded, Spec, fits
from inventory.spec.recorded import Spot
from repairs.planning.candidates import Judge, Market, Offer
from repairs.planning.lifting import LiftStage, Piece, lifting_order, stage_of
from repairs.planning.network import Arc, Stock, allot
from repairs.planning.refusals import SUSPECT, in_the_way, is_doubtful, is_near, lowered

PLANNED = GRADES[:3]
FARTHEST = 999
"""The greatest `Fit.closeness`."""


@dataclass(frozen=True, slots=True)
class PositionToFill:
    """A position to fill; `empty` says why it is left out here: "only where the later chip is fitted"."""

    ref: str
    spec: Spec
    empty: str = ""
    at: Spot = ()


@dataclass(frozen=True, slots=True)
class Move:
    """One piece and the position it goes to."""

    piece: Piece
    ref: str
    fit: Fit
    stage: LiftStage

    @property
    def same_reference(self) -> bool:
        return self.piece.ref == self.ref

    @property
    def substitute(self) -> bool:
        return self.fit.grade != "same"


@dataclass(frozen=True, slots=True)
class Missing:
    """A position that no piece of the donor fills; `refused` are the nearest that were left over."""

    ref: str
    spec: Spec
    refused: tuple[tuple[Piece, Fit], ...]


@dataclass(frozen=True, slots=True)
class PlannedTransfer:
    """Moves in lifting order; positions to fill from elsewhere; positions left empty; pieces left over."""

    moves: tuple[Move, ...]
    missing: tuple[Missing, ...]
    empty: tuple[PositionToFill, ...]
    left_over: tuple[Piece, ...]


def transfer(
    pieces: Iterable[Piece],
    targets: Iterable[PositionToFill],
    *,
    judge: Judge = fits,
    recorded: Recorded | None = None,
    misses: int = 3,
) -> PlannedTransfer:
    """Plan the moves from one board to another.

    `pieces` are what the donor holds, `targets` the positions of the target that are still open. Faulty
    pieces stay where they are, suspect ones are named among the refused. `recorded` is as in `plan`, by
    `Target.at`.
    ValueError: two pieces or two targets at one reference.
    """
    held = _in_order(pieces)
    listed = _in_order(targets)
    sound = [piece for piece in held if piece.condition != "faulty"]
    wanted = [target for target in listed if not target.empty]
    market = Market(
        [Offer(p.spec, p.measured, measured_tolerance=p.measured_tolerance) for p in sound], judge, recorded
    )

    asked = {target.ref: (target.spec.key, market.recorded(target.spec, target.at)) for target in wanted}
    there = {p.ref: (p.spec.key, p.measured, p.measured_tolerance, is_doubtful(p)) for p in sound}
    positions: defaultdict[_Class, list[PositionToFill]] = defaultdict(list)
    shelves: defaultdict[_Class, list[Piece]] = defaultdict(list)
    for target in wanted:
        positions[asked[target.ref], there.get(target.ref)].append(target)
    for piece in sound:
        shelves[there[piece.ref], asked.get(piece.ref)].append(piece)

    drawn = _drawn(positions, shelves, market, sound)
    moves = sorted(_moves(positions, shelves, drawn), key=lambda move: lifting_order(move.piece))
    moved = {move.piece.ref for move in moves}
    filled = {move.ref for move in moves}
    return PlannedTransfer(
        moves=tuple(moves),
        missing=tuple(
            Missing(target.ref, target.spec, _nearest(target, market, sound, moved, misses))
            for target in wanted
            if target.ref not in filled
        ),
        empty=tuple(target for target in listed if target.empty),
        left_over=tuple(piece for piece in held if piece.ref not in moved),
    )


_Class = tuple[Any, Any]
"""What makes positions or pieces alike: their own description, and the other board's at their reference."""
_AtRef = TypeVar("_AtRef", Piece, PositionToFill)


def _in_order(at_refs: Iterable[_AtRef]) -> list[_AtRef]:
    """By reference; ValueError where one is given twice."""
    ordered = sorted(at_refs, key=lambda at_ref: split_ref(at_ref.ref))
    for one, next_one in pairwise(ordered):
        if one.ref == next_one.ref:
            raise ValueError(f"{one.ref}: given twice")
    return ordered


def _drawn(
    positions: Mapping[_Class, list[PositionToFill]],
    shelves: Mapping[_Class, list[Piece]],
    market: Market,
    sound: list[Piece],
) -> list[dict[int, tuple[int, Fit]]]:
    """For each class of positions: how many pieces of which shelf, and how they fit."""
    keys = list(shelves)
    shelf_of = {piece.ref: index for index, members in enumerate(shelves.values()) for piece in members}
    fits_of: list[dict[int, Fit]] = []
    for members in positions.values():
        offers = market.offers(members[0].spec, members[0].at)
        fits_of.append(
            {
                shelf_of[sound[index].ref]: fit
                for fit, indices in offers
                if fit.grade in PLANNED
                for index in indices
                if not is_doubtful(sound[index])
            }
        )
    # One piece that moves to another reference counts for more than all ratings together.
    elsewhere = 1 + FARTHEST * sum(map(len, positions.values()))
    arcs = [
        [
            Arc(
                shelf,
                GRADES.index(fit.grade),
                fit.closeness + (elsewhere if keys[shelf] != (there, asked) else 0),
            )
            for shelf, fit in offered.items()
        ]
        for (asked, there), offered in zip(positions, fits_of, strict=True)
    ]
    drawn = allot(
        [[(0, len(members))] for members in positions.values()],
        [Stock(len(members), 0) for members in shelves.values()],
        arcs,
    )
    return [
        {shelf: (pieces, offered[shelf]) for shelf, pieces in taken.items()}
        for taken, offered in zip(drawn, fits_of, strict=True)
    ]


def _moves(
    positions: Mapping[_Class, list[PositionToFill]],
    shelves: Mapping[_Class, list[Piece]],
    drawn: list[dict[int, tuple[int, Fit]]],
) -> Iterator[Move]:
    """Pieces that stay at their reference first; then what is left, in order of references."""
    keys = list(shelves)
    targets = {key: {target.ref: target for target in members} for key, members in positions.items()}
    pieces = {key: {piece.ref: piece for piece in members} for key, members in shelves.items()}
    for same_reference in (True, False):
        for key, taken in zip(positions, drawn, strict=True):
            for shelf, (count, fit) in taken.items():
                if (keys[shelf] == key[::-1]) is same_reference:
                    for _ in range(count):
                        ref = next(iter(targets[key]))
                        del targets[key][ref]
                        source = ref if same_reference else next(iter(pieces[keys[shelf]]))
                        piece = pieces[keys[shelf]].pop(source)
                        yield Move(piece, ref, fit, stage_of(piece))


def _nearest(
    target: PositionToFill, market: Market, sound: list[Piece], moved: Collection[str], misses: int
) -> tuple[tuple[Piece, Fit], ...]:
    passed_over = (
        (sound[index], lowered(fit, SUSPECT if is_doubtful(sound[index]) else None))
        for fit, indices in market.offers(target.spec, target.at, neighbours=True)
        for index in indices
        if sound[index].ref not in moved and is_near(fit)
    )
    return tuple(nsmallest(misses, passed_over, key=lambda miss: in_the_way(miss[1])))
