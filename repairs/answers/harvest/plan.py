"""The harvest plan of the bench: what to lift off which donor for the jobs, and what to take while there."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from inventory.chunks import chunks
from inventory.models import Board, Holding, Part, Position
from repairs import explanations
from repairs.answers.harvest.answer import (
    BlockedPiece,
    DonorWork,
    HarvestPlan,
    OutOfReach,
    PlannedLift,
    SuggestedLift,
)
from repairs.answers.lifting import PositionOnBoard, Sitting, caution, drawn, sitting
from repairs.hazards import hazards_of
from repairs.known_to_work import known_to_work
from repairs.planning import Plan, Tier
from repairs.planning.harvest import Lift, harvest
from repairs.planning.lifting import Piece
from repairs.planning.stocking import Use, Wish, below_level, popular
from repairs.supply_and_demand import CHUNK, Alike, JobDemand, SupplyAndDemand, planned, read_specs


def harvest_plan(jobs: Collection[int] | None = None) -> HarvestPlan:
    """The fewest lifts that close what donors can close of all open jobs, or of those named.

    The plan behind it is always over all open jobs.  What the drawers lack once it is done, below the reorder
    level or for what drawings often ask for, is suggested on boards that are worked on anyway.
    """
    bench, plan = planned()
    wanted = [take for take in plan.takes if jobs is None or take.demand.job in jobs]
    wishes = _wishes(bench, plan)
    asked = {take.supply for take in wanted if take.tier == Tier.DONOR} | {wish.supply for wish in wishes}
    refused = (
        miss for line, misses in plan.refused.items() if jobs is None or line.job in jobs for miss in misses
    )
    asked |= {miss.supply for miss in refused if bench.is_blocked(miss.supply)}
    boards = {board.place_id: board for board in Board.objects.select_related("design").order_by("id")}
    found = harvest(
        wanted,
        _pieces(bench, asked, boards),
        hazards={board.pk: hazards_of(board) for board in boards.values()},
        wishes=wishes,
    )
    named = {board.pk: board for board in boards.values()}
    working = known_to_work([named[work.board] for work in found.boards])
    return HarvestPlan.of(
        [
            DonorWork(
                work.board,
                named[work.board].name,
                named[work.board].place_id,
                working.get(work.board, ""),
                [caution(each) for each in work.cautions],
                [_planned(lift, bench.lines[lift.demand]) for lift in work.lifts],
                [_suggested(lift) for lift in work.extras],
            )
            for work in found.boards
        ],
        [
            BlockedPiece(
                **sitting(piece), board=piece.board, name=named[piece.board].name, caution=caution(reason)
            )
            for piece, reason in found.blocked
        ],
        [
            OutOfReach(bench.specs[bench.spec_of[alike.part]].text, quantity)
            for alike, quantity in found.out_of_reach.items()
        ],
    )


def _lifted(lift: Lift) -> dict[str, Any]:
    """The fields of `LiftedPiece`."""
    return {**sitting(lift.piece), "worth": lift.worth.verdict, "why": lift.worth.why}


def _planned(lift: Lift, demand: JobDemand) -> PlannedLift:
    assert lift.fit is not None  # only extras are for no demand
    return PlannedLift(
        **_lifted(lift), job=demand.job, job_name=demand.name, refs=demand.lacking_refs, grade=lift.fit.grade,
        reasons=lift.fit.reasons, fit_notes=explanations.noted(lift.fit),
    )  # fmt: skip


def _suggested(lift: Lift) -> SuggestedLift:
    assert lift.wish is not None  # every extra fills one
    return SuggestedLift(**_lifted(lift), because=lift.wish.because, because_text=lift.wish.text)


def _wishes(bench: SupplyAndDemand, plan: Plan) -> list[Wish]:
    """What the drawers lack beyond the jobs: below the reorder level, or often asked for by drawings."""
    left = [supply for supply in plan.spare(bench.supplies) if supply.owner is None]
    kept = Part.objects.filter(reorder_at__gt=0).values_list("id", "reorder_at")
    levels = {part: level for part, level in kept if level is not None}
    wishes = list(below_level(levels, ((supply.id.part, supply) for supply in left)))
    return [*wishes, *popular(_uses(), left, wishes)]


def _uses() -> Iterator[Use]:
    """How often the drawings ask for each Spec; a position that revisions share counts once."""
    on_boards: defaultdict[int, defaultdict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for spec, name, ref in Position.objects.values_list("spec", "design__name", "ref").iterator():
        on_boards[spec][name].add(ref)
    counted = {spec: [len(refs) for refs in boards.values()] for spec, boards in on_boards.items()}
    return (Use(spec, sum(counted[row]), max(counted[row])) for row, spec in read_specs(counted).items())


def _pieces(bench: SupplyAndDemand, asked: Iterable[Alike], boards: Mapping[int, Board]) -> Iterator[Piece]:
    supply_of = {
        holding: (alike, free)
        for alike in asked
        for holding, free in zip(bench.shelves[alike].holdings, bench.shelves[alike].pieces, strict=True)
    }
    held = list(_held(supply_of))
    drawings = drawn(boards[place].design_id for _, _, place, _ in held)
    for holding, lot, place, ref in held:
        alike, free = supply_of[holding]
        board = boards[place]
        there = drawings.get((board.design_id, ref), PositionOnBoard())
        for number in range(free):
            yield Piece(
                Sitting(holding, lot, number),
                alike,
                board.pk,
                ref,
                bench.specs[bench.spec_of[alike.part]],
                condition=alike.condition,
                socketed=there.socketed,
                x=there.x,
                y=there.y,
            )


def _held(holdings: Iterable[int]) -> Iterator[tuple[int, int, int, str]]:
    for chunk in chunks(sorted(holdings), CHUNK):
        yield from (
            Holding.objects.filter(pk__in=chunk).order_by("id").values_list("id", "lot_id", "place_id", "ref")
        )
