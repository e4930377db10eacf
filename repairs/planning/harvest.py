"""The harvest plan: the fewest lifts, on few boards, that close what donors can close.

How many lifts there must be the plan has settled: it draws on a donor only for what no drawer holds. What
is left to choose is from which board each of several like pieces comes: from the fewest (`few_boards`).
"""

from collections import Counter, defaultdict, deque
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from inventory.spec import Fit
from repairs.planning.few_boards import few_boards
from repairs.planning.lifting import LiftStage, Piece, Worth, lifting_order, stage_of, worth_of
from repairs.planning.optimiser import Allocation, Tier
from repairs.planning.stocking import Wish
from repairs.proving.cautions import Caution, blocks, lifting, of_part


@dataclass(frozen=True, slots=True)
class Lift:
    """One piece to take off, for which demand and how it fits there; for the drawer, the wish instead."""

    piece: Piece
    demand: Any
    fit: Fit | None
    stage: LiftStage
    worth: Worth
    wish: Wish | None = None


@dataclass(frozen=True, slots=True)
class BoardWork:
    """What to do at one board, in lifting order; `extras` are worth taking while the iron is hot."""

    board: Any
    lifts: tuple[Lift, ...]
    extras: tuple[Lift, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Harvest:
    """Boards by the first in line they serve; what must not be lifted; planned pieces that none holds."""

    boards: tuple[BoardWork, ...]
    blocked: tuple[tuple[Piece, Caution], ...]
    out_of_reach: Mapping[Any, int]


def harvest(
    takes: Iterable[Allocation],
    pieces: Iterable[Piece],
    *,
    hazards: Mapping[Any, Collection[str]] | None = None,
    wishes: Iterable[Wish] = (),
) -> Harvest:
    """Choose among `pieces` those that the plan's takes from donors ask for, and say in which order to lift.

    `hazards` are the words of each board's design: a board or piece that must not be worked on is left alone.
    `wishes` are what the drawers lack beyond the jobs: suggested on boards that are opened anyway, an earlier
    wish for a supply first, and of like pieces the first in lifting order.
    """
    from_donors = [take for take in takes if take.tier == Tier.DONOR]
    free: list[Piece] = []
    blocked: list[tuple[Piece, Caution]] = []
    for piece in pieces:
        words = (hazards or {}).get(piece.board, ())
        in_the_way = [*blocks(words), *(caution for caution in of_part(piece.spec) if caution.blocked)]
        if in_the_way:
            blocked.append((piece, in_the_way[0]))
        else:
            free.append(piece)

    wanted: Counter[Any] = Counter()
    for take in from_donors:
        wanted[take.supply] += take.quantity
    chosen = _chosen(wanted, free)
    lifts: defaultdict[Any, list[Lift]] = defaultdict(list)
    for take in from_donors:
        queue = chosen[take.supply]
        for _ in range(min(take.quantity, len(queue))):
            piece = queue.popleft()
            lifts[piece.board].append(Lift(piece, take.demand, take.fit, stage_of(piece), worth_of(piece)))
            wanted[take.supply] -= 1
    extras = _extras(lifts, free, wishes)
    return Harvest(
        boards=tuple(
            BoardWork(
                board,
                tuple(sorted(at_board, key=lambda lift: lifting_order(lift.piece))),
                extras[board],
                lifting((hazards or {}).get(board, ()), [lift.piece.spec for lift in at_board]),
            )
            for board, at_board in lifts.items()
        ),
        blocked=tuple(blocked),
        out_of_reach=+wanted,
    )


def _chosen(wanted: Mapping[Any, int], free: list[Piece]) -> defaultdict[Any, deque[Piece]]:
    """Pieces of each wanted supply on few boards, as many as are wanted or are there."""
    on_board: defaultdict[Any, defaultdict[Any, list[Piece]]] = defaultdict(lambda: defaultdict(list))
    for piece in sorted(free, key=lambda piece: (piece.board, *lifting_order(piece))):
        if piece.supply in wanted:
            on_board[piece.board][piece.supply].append(piece)
    boards = few_boards(wanted, {b: {s: len(p) for s, p in held.items()} for b, held in on_board.items()})
    chosen: defaultdict[Any, deque[Piece]] = defaultdict(deque)
    for board in boards:
        for supply, there in on_board[board].items():
            chosen[supply].extend(there[: wanted[supply] - len(chosen[supply])])
    return chosen


def _extras(
    lifts: Mapping[Any, list[Lift]], free: list[Piece], wishes: Iterable[Wish]
) -> dict[Any, tuple[Lift, ...]]:
    taken = {lift.piece.id for at_board in lifts.values() for lift in at_board}
    open_wishes: defaultdict[Any, deque[Wish]] = defaultdict(deque)
    for wish in wishes:
        open_wishes[wish.supply].extend([wish] * wish.pieces)
    found: dict[Any, list[Lift]] = {board: [] for board in lifts}
    for piece in sorted(free, key=lifting_order):
        if piece.board in found and piece.id not in taken and open_wishes[piece.supply]:
            worth = worth_of(piece)
            if worth.verdict != "no":
                wish = open_wishes[piece.supply].popleft()
                found[piece.board].append(Lift(piece, None, None, stage_of(piece), worth, wish))
    return {board: tuple(extras) for board, extras in found.items()}
