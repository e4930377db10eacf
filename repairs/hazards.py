"""Cautions before pieces come off a board, and the work that is refused: not an advice."""

from collections.abc import Sequence

from inventory.ledger import Refused
from inventory.models import Board, Holding, Lot
from inventory.refusals import Code
from inventory.spec import Spec
from repairs.proving import cautions
from repairs.proving.cautions import Caution


def before_lifting(board: Board, refs: Sequence[str] = ()) -> tuple[Caution, ...]:
    """What to mind before pieces come off: of the board, of the pieces at these positions, of the iron."""
    return cautions.lifting(hazards_of(board), _specs(board, refs))


def how_it_comes_off(board: Board, ref: str) -> Caution:
    """How a piece leaves its position: pulled where the design has a socket, else unsoldered."""
    design = board.design
    socketed = design is not None and design.positions.filter(ref=ref, socketed=True).exists()
    return cautions.PULLING if socketed else cautions.UNSOLDERING


def hazards_of(board: Board) -> list[str]:
    """The words that the board's drawing has for what is dangerous about it."""
    named = board.design.hazards if board.design else []
    return [word for word in named if isinstance(word, str)] if isinstance(named, list) else []


def blocked_places() -> frozenset[int]:
    """The places of boards that are not worked on here at all."""
    boards = Board.objects.exclude(design=None).exclude(design__hazards=[]).select_related("design")
    return frozenset(board.place_id for board in boards if cautions.blocks(hazards_of(board)))


def is_blocked_part(spec: Spec) -> bool:
    """Whether a part is of what is never lifted here."""
    return any(caution.blocked for caution in cautions.of_part(spec))


def refuse_blocked(board: Board, refs: Sequence[str]) -> None:
    """Refused where what the board or a piece is made of is not worked on here at all."""
    _refuse(before_lifting(board, refs))


def refuse_trial(lot: Lot | None, board: Board | None) -> None:
    """Refused where the part, or the board that it is tried in, is not tested here at all."""
    _refuse(
        (
            *(cautions.of_part(lot.part.spec.spec) if lot is not None else ()),
            *(cautions.of_hazards(hazards_of(board)) if board is not None else ()),
        )
    )


def _refuse(found: Sequence[Caution]) -> None:
    blocked = [caution for caution in found if caution.blocked]
    if blocked:
        raise Refused(Code.BLOCKED, blocked[0].text, hazards=[caution.step for caution in blocked])


def _specs(board: Board, refs: Sequence[str]) -> list[Spec]:
    """What is at these positions, or what the drawing wants there."""
    wanted = list(refs)
    held = Holding.objects.filter(place_id=board.place_id, ref__in=wanted, quantity__gt=0)
    found = {row.ref: row.lot.part.spec.spec for row in held.select_related("lot__part__spec")}
    if board.design is not None:
        drawn = board.design.positions.filter(ref__in=[ref for ref in wanted if ref not in found])
        found |= {row.ref: row.spec.spec for row in drawn.select_related("spec")}
    return list(found.values())
