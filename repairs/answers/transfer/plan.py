"""The transfer plan of a job: which pieces of a donor go to which position of the job's board."""

from collections.abc import Collection, Iterator, Mapping

from django.db.models import F

from inventory.ledger import Refused
from inventory.models import Board, Design, Holding, Lot
from inventory.places import paths
from inventory.refusals import Code
from repairs.answers.lifting import (
    JudgedPiece,
    PositionOnBoard,
    Sitting,
    SittingPiece,
    caution,
    drawn,
    sitting,
)
from repairs.answers.pieces import fitting
from repairs.answers.transfer.answer import (
    HOW,
    EmptyPosition,
    MissingPosition,
    PlannedMove,
    Transfer,
    TransferTotals,
)
from repairs.hazards import hazards_of
from repairs.models import Job, Need, Reservation
from repairs.planning.lifting import Piece
from repairs.planning.transfer import Move, PositionToFill, transfer
from repairs.proving.cautions import blocks, lifting
from repairs.proving_models import AcceptedException
from repairs.readiness import left_empty
from repairs.substitutions import recorded
from repairs.supply_and_demand import planned


def transfer_plan(job: Job, donor: Board) -> Transfer:
    """Plan the moves from the donor to the positions of the job's board that are still open.

    Those are the job's open needs; of a job without needs at positions, whatever its board's design has.
    Pieces that are reserved for another job, or that the plan of all open jobs gives to one, and loose ones,
    stay out of it.
    Refused: no board, a board of no known design, the board itself, a donor that is not worked on at all.
    """
    board = job.board
    if board is None or board.design is None:
        raise Refused(Code.NO_DESIGN, f"{job.name} has no board with a design: nothing says what goes where")
    if board.pk == donor.pk:
        raise Refused(Code.SAME_BOARD, f"{donor} is the board of {job.name} itself", board=donor.pk)
    blocked = blocks(hazards_of(donor))
    if blocked:
        raise Refused(Code.BLOCKED, blocked[0].text, hazards=[each.step for each in blocked])
    needs = {need.ref: need for need in job.needs.exclude(ref="").select_related("spec")}
    held = Holding.objects.filter(place_id=board.place_id, quantity__gt=0).exclude(ref="")
    filled = set(held.values_list("ref", flat=True))
    targets = list(_targets(board, board.design, needs, filled))
    given = _given_to_others(job)
    plan = transfer(_pieces(job, donor, given), targets, recorded=recorded(board.design))
    open_needs = {ref: need.pk for ref, need in needs.items() if need.status == Need.Status.OPEN}
    went = _where_they_went(job, donor, {each.ref for each in plan.missing}, given)
    ways = [_how(move) for move in plan.moves]
    in_place = sorted(filled & {*needs, *(target.ref for target in targets)})
    works = donor.purpose == Board.Purpose.WORKING
    return Transfer(
        job.pk, donor.pk, donor.name, board.pk, board.name,
        f"{donor.name} works: what is lifted off it is borrowed, and owed back" if works else "",
        TransferTotals(
            **{way: ways.count(way) for way in HOW}, missing=len(plan.missing), empty=len(plan.empty),
            left_over=len(plan.left_over), filled=len(in_place),
        ),
        [caution(each) for each in lifting(hazards_of(donor), [move.piece.spec for move in plan.moves])],
        [
            PlannedMove(
                **sitting(move.piece), **fitting(move.fit), to_ref=move.ref, need=open_needs.get(move.ref),
                how=way,
            )
            for move, way in zip(plan.moves, ways, strict=True)
        ],
        [
            MissingPosition(
                each.ref, each.spec, each.spec.text, open_needs.get(each.ref), went.get(each.ref, ""),
                [JudgedPiece(**sitting(near), **fitting(fit)) for near, fit in each.refused],
            )
            for each in plan.missing
        ],
        [EmptyPosition(each.ref, each.spec.text, each.empty) for each in plan.empty],
        [SittingPiece(**sitting(piece)) for piece in plan.left_over],
        in_place,
    )  # fmt: skip


def _how(move: Move) -> str:
    return "substitute" if move.substitute else "same" if move.same_reference else "moved"


def _given_to_others(job: Job) -> dict[int, str]:
    """Holding -> the job that the plan of all open jobs gives its pieces to."""
    others = Need.objects.filter(
        status=Need.Status.OPEN, job__status=Job.Status.OPEN, quantity__gt=F("promised") + F("fitted")
    ).exclude(job=job)
    if not others.exists():
        return {}
    bench, plan = planned()
    return {
        holding: bench.jobs[take.demand.job][0]
        for take, holding, _ in bench.handed_out(plan.takes)
        if take.demand.job != job.pk and holding is not None
    }


def _where_they_went(
    job: Job, donor: Board, refs: Collection[str], given: Mapping[int, str]
) -> dict[str, str]:
    """Position of the donor -> who has its piece, or where that lies now."""
    went: dict[str, str] = {}
    where = paths()
    gone = Holding.objects.filter(lot__origin_board=donor, lot__origin_ref__in=refs, quantity__gt=0).exclude(
        place=donor.place_id
    )
    for ref, lot, condition, place, at in gone.order_by("id").values_list(
        "lot__origin_ref", "lot_id", "lot__condition", "place_id", "ref"
    ):
        bad = f" ({condition})" if condition in ("suspect", "faulty") else ""
        went[ref] = f"lot {lot}{bad} came off there: it is at {where[place]} {at}".rstrip()
    promised = Reservation.objects.filter(
        status=Reservation.Status.HELD, holding__place=donor.place_id, holding__ref__in=refs
    ).select_related("need__job", "holding")
    there = Holding.objects.filter(place=donor.place_id, ref__in=refs, quantity__gt=0)
    for pk, ref, owner, name in there.values_list("id", "ref", "lot__owner_id", "lot__owner__username"):
        if owner not in (None, job.owner_id):
            went[ref] = f"it is {name}'s: ask {name}"
        elif pk in given:
            went[ref] = f"the plan gives it to {given[pk]}"
    for each in promised:
        went[each.holding.ref] = f"reserved for {each.need.job.name} {each.need.ref}".rstrip()
    return went


def _targets(
    board: Board, design: Design, needs: Mapping[str, Need], filled: set[str]
) -> Iterator[PositionToFill]:
    """Positions not filled, each with why it stays empty: left out on purpose, or not wanted after all."""
    left_out = {
        accepted.subject: accepted.why
        for accepted in AcceptedException.objects.filter(board=board, item="position", withdrawn=None)
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
            why = why or f"a piece from {elsewhere[need.pk]} is reserved for it"
        yield PositionToFill(ref, spec, why, (design.pk, ref))


def _pieces(job: Job, donor: Board, given: Collection[int]) -> Iterator[Piece]:
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
        anothers = lot.owner_id not in (None, job.owner_id)
        if holding.pk in own or (holding.free and not anothers and holding.pk not in given):
            there = drawings.get((donor.design_id, holding.ref), PositionOnBoard())
            yield Piece(
                Sitting(holding.pk, lot.pk, 0),
                lot.part_id,
                donor.pk,
                holding.ref,
                lot.part.spec.spec,
                condition=lot.condition,
                measured=lot.measured,
                measured_tolerance=lot.measured_tolerance,
                socketed=there.socketed,
                x=there.x,
                y=there.y,
            )
