"""The harvest plan: what to lift off which donor, in which order, and the way into a stripping session."""

from collections.abc import Sequence

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import urlencode

from inventory.models import Board
from inventory.pages.frame import number, page
from inventory.refs import write_refs
from repairs.harvest import HarvestPlan, harvest_plan
from repairs.models import Job
from repairs.planning.harvest import BoardWork, Lift
from repairs.planning.lifting import Stage
from repairs.proving.cautions import DEFER
from repairs.telling import grade, noted, pieces

STAGES = {
    Stage.PULL: "in a socket: pull it", Stage.LARGE: "large or tall: early", Stage.SMALL: "small: next",
    Stage.CHIP: "soldered chip: last",
}  # fmt: skip
ON_A_PAGE, MOST_TOLD = 20, 60
MANY = 3
MOST_REFS = 200
"""So many references go into one address; a longer list is walked in parts."""


@page()
def harvest(request: HttpRequest) -> HttpResponse:
    """The fewest lifts that close what donors can close of all open jobs, or of one."""
    job = get_object_or_404(Job, pk=number(request, "job")) if number(request, "job") else None
    found = harvest_plan(None if job is None else {job.pk})
    of_page = Paginator(found.plan.boards, ON_A_PAGE).get_page(number(request, "page", 1))
    return render(
        request,
        "bench/harvest.html",
        {
            "page": of_page,
            "boards": [_work(found, work) for work in of_page],
            "lifts": sum(len(work.lifts) for work in found.plan.boards),
            "blocked": [
                (piece, found.boards[piece.board], why) for piece, why in found.plan.blocked[:MOST_TOLD]
            ],
            "out_of_reach": [
                f"{found.specs[alike].text}: {pieces(count)}"
                for alike, count in [*found.plan.out_of_reach.items()][:MOST_TOLD]
            ],
            "jobs": Job.objects.filter(status=Job.Status.OPEN).order_by("priority", "due", "id"),
            "job": job,
            "defer": DEFER,
        },
    )


def session(board: Board, refs: list[str]) -> str:
    """The address of a stripping session that goes through these references alone."""
    asked = urlencode([("only", ref) for ref in refs[:MOST_REFS] if ref])
    return f"{reverse('strip', args=[board.pk])}?{asked}"


def _work(found: HarvestPlan, work: BoardWork) -> dict[str, object]:
    board = found.boards[work.board]
    refs = [lift.piece.ref for lift in work.lifts]
    return {
        "board": board,
        "cautions": [caution.text for caution in work.cautions],
        "lifts": [{**_lift(board, lift), **_for(found, lift)} for lift in work.lifts],
        "extras": len(work.extras),
        "alike": _alike(board, work.extras),
        "session": session(board, refs),
        "with_extras": session(board, [*refs, *(lift.piece.ref for lift in work.extras)]),
    }


def _alike(board: Board, extras: Sequence[Lift]) -> list[list[dict[str, object]]]:
    """What is worth taking, each by itself; where the same is to be said of many, once for all of them."""
    found: dict[tuple[str, str, str], list[dict[str, object]]] = {}
    for lift in extras:
        because = lift.wish.text if lift.wish else ""
        told = {**_lift(board, lift), "because": because}
        found.setdefault((lift.piece.spec.text, because, lift.worth.why), []).append(told)
    return [
        told
        for alike in found.values()
        for told in ([alike] if len(alike) >= MANY else [[lift] for lift in alike])
    ]


def _lift(board: Board, lift: Lift) -> dict[str, object]:
    return {
        "ref": lift.piece.ref,
        "lot": lift.piece.id.lot,
        "text": lift.piece.spec.text,
        "condition": lift.piece.condition,
        "stage": STAGES[lift.stage],
        "worth": lift.worth.why,
        "address": session(board, [lift.piece.ref]),
    }


def _for(found: HarvestPlan, lift: Lift) -> dict[str, object]:
    wanting = found.lines[lift.demand]
    assert lift.fit is not None  # only extras are for no demand
    return {
        "job": wanting.job,
        "job_name": wanting.name,
        "refs": write_refs(wanting.refs),
        "grade": grade(lift.fit),
        "reasons": noted(lift.fit),
    }
