"""Fetching and fitting: the pick list in walking order, one piece after the other; and a donor compared."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inventory import ledger
from inventory.ledger import Refused
from inventory.models import Board, Holding
from inventory.pages.drawers import storage
from inventory.pages.frame import number, page
from inventory.places import paths
from inventory.refs import write_refs
from repairs import readiness
from repairs.hazards import hazards_of
from repairs.models import Job
from repairs.pages.harvest import STAGES, session
from repairs.pages.wants import Want, drawn, told_of, walk, wants
from repairs.planning.transfer import Move
from repairs.proving.cautions import DEFER, SOLDERING, of_hazards
from repairs.telling import grade, noted, objections
from repairs.transfer import transfer_plan


@page()
def fetch(request: HttpRequest, pk: int) -> HttpResponse:
    """What is promised to a job, as one walks the drawers; the first is the one to fit now.

    `skip` names promises that are left for later.
    """
    this = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
    skipped = {int(each) for each in request.GET.getlist("skip") if each.isascii() and each.isdigit()}
    walked = drawn(walk(wants(this)))
    waiting = [want for want in walked if want.promise and want.promise.pk not in skipped] or walked
    here = waiting[0] if waiting else None
    old = _old(this, here)
    return render(
        request,
        "bench/fetch.html",
        {
            "job": this,
            "here": here,
            "told": told_of(here.promise.holding.lot) if here and here.promise else "",
            "fitting": _said(this, here),
            "old": old,
            "storage": storage(paths()) if old else [],
            "tray": request.session.get("last_place", 0),
            "later": [want for want in walked if want is not here],
            "skipped": sorted(skipped),
            "left": len(walked),
            "cautions": _cautions(this),
            "lift": _lift(here),
        },
    )


def _old(job: Job, want: Want | None) -> Holding | None:
    """What is still where the next piece goes: it is taken off first."""
    if want is None or job.board is None or not want.need.ref:
        return None
    return ledger.piece_at(job.board, want.need.ref)


def _said(job: Job, want: Want | None) -> dict[str, str]:
    """Which way round the piece goes in, and which links it asks for."""
    if want is None or want.promise is None or job.board is None or not want.need.ref:
        return {}
    return dict(readiness.said_at_fitting(job.board, want.need.ref, want.promise.holding.lot))


def _cautions(job: Job) -> list[str]:
    words = hazards_of(job.board) if job.board is not None else []
    return [caution.text for caution in (*of_hazards(words), SOLDERING)] + [DEFER]


def _lift(want: Want | None) -> str:
    """Where a piece that is still on a board is lifted."""
    if want is None or want.promise is None or not want.on_a_board:
        return ""
    return session(want.promise.holding.place.board, [want.promise.holding.ref])


@page()
def compare(request: HttpRequest, pk: int) -> HttpResponse:
    """What of a donor goes where on the job's board: a work list in lifting order."""
    this = get_object_or_404(Job.objects.select_related("board__design", "board__place"), pk=pk)
    boards = Board.objects.exclude(purpose__in=[Board.Purpose.WORKING]).select_related("design")
    if this.board is not None:
        boards = boards.exclude(pk=this.board.pk)
    asked = number(request, "from")
    donor = get_object_or_404(Board.objects.select_related("design", "place"), pk=asked) if asked else None
    told: dict[str, object] = {"job": this, "boards": boards.order_by("name"), "donor": donor}
    if donor is not None:
        try:
            found = transfer_plan(this, donor)
        except Refused as refusal:
            told["refused"] = refusal.detail
            return render(request, "bench/compare.html", told, status=409)
        plan = found.plan
        told |= {
            "cautions": [caution.text for caution in found.cautions],
            "moves": [{**_move(move), "need": found.needs.get(move.ref)} for move in plan.moves],
            "session": session(donor, [move.piece.ref for move in plan.moves]),
            "missing": [
                {
                    "ref": each.ref,
                    "text": each.spec.text,
                    "need": found.needs.get(each.ref),
                    "refused": [(near.ref, objections(fit)) for near, fit in each.refused],
                }
                for each in plan.missing
            ],
            "empty": plan.empty,
            "left_over": [(piece.ref, piece.spec.text, piece.condition) for piece in plan.left_over],
            "filled": write_refs(found.filled),
            "defer": DEFER,
        }
    return render(request, "bench/compare.html", told)


def _move(move: Move) -> dict[str, object]:
    how = "another place" if not move.same_reference else "the same place"
    return {
        "ref": move.piece.ref,
        "to_ref": move.ref,
        "how": f"a substitute, {how}" if move.substitute else how,
        "lot": move.piece.id.lot,
        "text": move.piece.spec.text,
        "condition": move.piece.condition,
        "stage": STAGES[move.stage],
        "grade": grade(move.fit),
        "reasons": noted(move.fit),
    }
