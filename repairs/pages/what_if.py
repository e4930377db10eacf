"""What if: a job parked or moved up, working boards borrowed from, a donor stripped, something bought."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.ledger import Refused
from inventory.models import Board, Part
from inventory.pages.frame import page, words
from inventory.pages.picking import boards_to_pick, picked
from repairs.answers.shortages import BadAssumption, JobDifference, Shortages, suppose
from repairs.models import Job

COUNTED = (
    ("short", "short"), ("free", "in drawers"), ("on_donors", "on donors"), ("on_order", "on order"),
)  # fmt: skip


@page()
def what_if(request: HttpRequest) -> HttpResponse:
    """The plan as it would be; `suppose` says what was assumed before, the other fields one thing more."""
    wrong = ""
    try:
        assumptions = _assumptions(request)
    except Refused as refused:
        assumptions, wrong = _supposed(request), refused.detail
    answer: Shortages | None = None
    try:
        answer = suppose(assumptions)
    except BadAssumption as bad:
        wrong = f"{bad.reason}."
        kept = [text for text in assumptions if text != bad.assumption]
        answer = _without(kept)
        assumptions = kept if answer else []
    answer = answer or suppose([])
    difference = answer.difference
    assert difference is not None  # whatever is supposed is compared
    still_short = [row for row in answer.results if row.short]
    lacking = [row.requirement for row in still_short]
    open_jobs = Job.objects.filter(status=Job.Status.OPEN).order_by("priority", "due", "id")
    return render(
        request,
        "bench/what-if.html",
        {
            "assumed": list(zip(assumptions, difference.assumed, strict=True)),
            "wrong": wrong,
            "counts": [
                (word, getattr(difference.now, name), getattr(answer.totals, name)) for name, word in COUNTED
            ],
            "changes": [(change, _change(change)) for change in difference.jobs],
            "still_short": still_short,
            "jobs": open_jobs,
            "priorities": [(job.pk, f"{job.name}, now {job.priority}") for job in open_jobs],
            "donors": boards_to_pick(
                Board.objects.filter(purpose__in=[Board.Purpose.DONOR, Board.Purpose.SCRAPPED])
            ),
            "parts": list(Part.objects.filter(spec__in=lacking).order_by("name")),
            "borrowing": "borrow" in assumptions,
            "typed": request.GET if wrong else {},
        },
        status=400 if wrong else 200,
    )


def _assumptions(request: HttpRequest) -> list[str]:
    """Everything that is assumed, in the words of `repairs.answers.shortages`, each once."""
    texts, jobs = _supposed(request), Job.objects.all()
    if park := picked(request, "park", jobs, "jobs"):
        texts.append(f"park:{park.pk}")
    if (job := picked(request, "job", jobs, "jobs")) and (priority := words(request, "priority", 40)):
        texts.append(f"priority:{job.pk}:{priority}")
    if request.GET.get("borrow"):
        texts.append("borrow")
    if strip := picked(request, "strip", Board.objects.all(), "boards"):
        texts.append(f"strip:{strip.pk}")
    if part := picked(request, "part", Part.objects.all(), "parts"):
        texts.append(f"buy:{part.pk}:{words(request, 'pieces', 40)}")
    return list(dict.fromkeys(texts))


def _supposed(request: HttpRequest) -> list[str]:
    """What was assumed before."""
    return [text.replace("\0", "")[:200] for text in request.GET.getlist("suppose")]


def _without(kept: list[str]) -> Shortages | None:
    """What the others come to where one was refused; nothing where another is refused too."""
    try:
        return suppose(kept)
    except BadAssumption:
        return None


def _change(change: JobDifference) -> str:
    before, after = change.short_now, change.short_then
    if after is None:
        return "is parked"
    if after == 0:
        return "● nothing is short now"
    return f"▲ {after - before} more short" if after > before else f"▼ {before - after} fewer short"
