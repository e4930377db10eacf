"""The transfer plan of a job: which pieces of a donor go to which position of the job's board."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from django.db.models import F

from inventory.ledger import Refused
from inventory.models import Board, Design, Holding, Lot
from repairs.harvest import Drawn, Sitting, drawn
from repairs.hazards import hazards_of
from repairs.models import Job, Need, Reservation
from repairs.planning.lifting import Piece
from repairs.planning.transfer import Target, Transfer, transfer
from repairs.proving.cautions import Caution, blocks, lifting
from repairs.proving_models import Exemption
from repairs.readiness import left_empty
from repairs.substitutions import recorded


@dataclass(frozen=True)
class TransferPlan:
    """The plan; what to mind before it; where a need stands open at a reference, its id; filled positions."""

    plan: Transfer
    cautions: tuple[Caution, ...]
    needs: Mapping[str, int]
    filled: tuple[str, ...]


def transfer_plan(job: Job, donor: Board) -> TransferPlan:
    """Plan the moves from the donor to the positions of the job's board that are still open.

    Those are the job's open needs; of a job without needs at positions, whatever its board's drawing has.
    Pieces that are promised to another job, and loose ones, stay out of it.
    Refused: no board, a board of no known drawing, the board itself, a donor that is not worked on at all.
    """
    board = job.board
    if board is None or board.design is None:
        raise Refused("no_drawing", f"{job.name} has no board with a drawing: nothing says what goes where")
    if board.pk == donor.pk:
        raise Refused("same_board", f"{donor} is the board of {job.name} itself", board=donor.pk)
    blocked = blocks(hazards_of(donor))
    if blocked:
        raise Refused("blocked", blocked[0].text, hazards=[caution.step for caution in blocked])
    needs = {need.ref: need for need in job.needs.exclude(ref="").select_related("spec")}
    held = Holding.objects.filter(place_id=board.place_id, quantity__gt=0).exclude(ref="")
    filled = set(held.values_list("ref", flat=True))
    targets = list(_targets(board, board.design, needs, filled))
    plan = transfer(_pieces(job, donor), targets, recorded=recorded(board.design))
    return TransferPlan(
        plan,
        lifting(hazards_of(donor), [move.piece.spec for move in plan.moves]),
        {ref: need.pk for ref, need in needs.items() if need.status == Need.Status.OPEN},
        tuple(sorted(filled & {*needs, *(target.ref for target in targets)})),
    )


def _targets(board: Board, design: Design, needs: Mapping[str, Need], filled: set[str]) -> Iterator[Target]:
    """Positions not filled, each with why it stays empty: left out on purpose, or not wanted after all."""
    left_out = {
        exemption.subject: exemption.why
        for exemption in Exemption.objects.filter(board=board, item="position", withdrawn=None)
    }
    elsewhere = dict(
        Reservation.objects.filter(need__in=[need.pk for need in needs.values()], status="held")
        .exclude(holding__place__type="board")
        .values_list("need_id", "holding__place__name")
    )
    by_rule = left_empty(board)
    for position in design.positions.select_related("spec"):
        ref, need = position.ref, needs.get(position.ref)
        if ref in filled or (needs and need is None):
            continue
        spec = (need.spec if need is not None else position.spec).spec
        why = left_out.get(ref, "") or (f"left empty: {by_rule[ref]}" if ref in by_rule else "")
        if need is not None and need.status == Need.Status.DROPPED:
            why = why or f"not wanted after all: {need.note}".rstrip(": ")
        elif need is not None and need.pk in elsewhere:
            why = why or f"a piece from {elsewhere[need.pk]} is promised to it"
        yield Target(ref, spec, why, (design.pk, ref))


def _pieces(job: Job, donor: Board) -> Iterator[Piece]:
    own = set(
        Reservation.objects.filter(need__job=job, status="held", holding__place=donor.place_id).values_list(
            "holding_id", flat=True
        )
    )
    held = (
        Holding.objects.filter(place_id=donor.place_id, quantity__gt=0)
        .exclude(ref="")
        .annotate(free=F("quantity") - F("promised"))
        .select_related("lot__part__spec")
    )
    drawings = drawn([donor.design_id])
    for holding in held:
        lot: Lot = holding.lot
        if holding.free or holding.pk in own:
            there = drawings.get((donor.design_id, holding.ref), Drawn())
            yield Piece(
                Sitting(holding.pk, lot.pk, 0),
                lot.part_id,
                donor.pk,
                holding.ref,
                lot.part.spec.spec,
                condition=lot.condition,
                measured=lot.measured,
                socketed=there.socketed,
                x=there.x,
                y=there.y,
            )
