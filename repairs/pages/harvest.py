"""The harvest plan: what to lift off which donor, in which order, and the way into a stripping session."""

from collections.abc import Iterable, Sequence

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode

from inventory.pages.frame import number, page
from inventory.pages.picking import in_box
from repairs.answers.harvest import harvest_plan
from repairs.answers.harvest.answer import DonorWork, SuggestedLift
from repairs.explanations import pieces
from repairs.models import Job
from repairs.proving.cautions import DEFER

ON_A_PAGE, MAX_SHOWN = 20, 60
MANY = 3
MAX_REFS = 200
"""So many references go into one address; a longer list is walked in parts."""


@page()
def harvest(request: HttpRequest) -> HttpResponse:
    """The fewest lifts that close what donors can close of all open jobs, or of one."""
    box = in_box(request, "job", Job.objects.all(), "jobs")
    job = box.row
    plan = harvest_plan(None if job is None else {job.pk})
    of_page = Paginator(plan.boards, ON_A_PAGE).get_page(number(request, "page", 1))
    return render(
        request,
        "bench/harvest.html",
        {
            "page": of_page,
            "boards": [_section(work) for work in of_page],
            "lifts": plan.totals.lifts,
            "blocked": plan.blocked[:MAX_SHOWN],
            "out_of_reach": [
                f"{each.spec_text}: {pieces(each.quantity)}" for each in plan.out_of_reach[:MAX_SHOWN]
            ],
            "jobs": Job.objects.filter(status=Job.Status.OPEN).order_by("priority", "due", "id"),
            "job": job,
            "asked_job": box,
            "most": MAX_REFS,
            "defer": DEFER,
        },
        status=400 if box.wrong else 200,
    )


def session(board: int, refs: Iterable[str], *, fetch_for: int = 0) -> str:
    """The address of a stripping session that goes through these references alone, and on to that job."""
    only = [("only", ref) for ref in refs if ref][:MAX_REFS]
    asked = urlencode([*only, *([("fetch", str(fetch_for))] if fetch_for else [])])
    return f"{reverse('strip', args=[board])}?{asked}"


def _section(work: DonorWork) -> dict[str, object]:
    """The work at one board, and the addresses of its stripping sessions, without and with the extras."""
    refs = [lift.ref for lift in work.lifts if lift.ref]
    more = [lift.ref for lift in work.extras if lift.ref][: max(0, MAX_REFS - len(refs))]
    return {
        "work": work,
        "shown": work.lifts[:MAX_SHOWN],
        "cautions": [caution.text for caution in work.cautions],
        "alike": _alike(work.extras),
        "session": session(work.board, refs),
        "with_extras": session(work.board, [*refs, *more]),
        "more": len(more),
    }


def _alike(extras: Sequence[SuggestedLift]) -> list[list[SuggestedLift]]:
    """What is worth taking, each by itself; where the same is to be said of many, once for all of them."""
    groups: dict[tuple[str, str, str], list[SuggestedLift]] = {}
    for lift in extras:
        groups.setdefault((lift.spec_text, lift.because_text, lift.why), []).append(lift)
    return [
        group
        for alike in groups.values()
        for group in ([alike] if len(alike) >= MANY else [[lift] for lift in alike])
    ]
