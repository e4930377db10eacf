"""What if: a job parked or moved up, working boards borrowed from, a donor stripped, something bought."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.models import Board, Part
from inventory.pages.frame import number, page
from repairs.models import Job
from repairs.what_if import BadAssumption, Supposed, suppose

COUNTED = (
    ("short", "short"), ("free", "in drawers"), ("on_donors", "on donors"), ("on_order", "on order"),
)  # fmt: skip


@page()
def what_if(request: HttpRequest) -> HttpResponse:
    """The plan as it would be; `suppose` says what was assumed before, the other fields one thing more."""
    said = _said(request)
    wrong = ""
    found: Supposed | None = None
    try:
        found = suppose(said)
    except BadAssumption as bad:
        wrong = bad.detail
        kept = [text for text in said if text != bad.said]
        found = _without(kept)
        said = kept if found else []
    found = found or suppose([])
    then = _totals(found)
    short = {row.stored for row in found.rows if row.short}
    return render(
        request,
        "bench/what-if.html",
        {
            "assumed": list(zip(said, found.assumed, strict=True)),
            "wrong": wrong,
            "counts": [(word, found.now[name], then[name]) for name, word in COUNTED],
            "changes": [
                {
                    "job": change.job,
                    "name": found.names[change.job],
                    "before": change.before,
                    "after": change.after,
                    "told": _told(change.before, change.after),
                }
                for change in found.changes
            ],
            "still_short": [row for row in found.rows if row.short],
            "jobs": Job.objects.filter(status=Job.Status.OPEN).order_by("priority", "due", "id"),
            "donors": Board.objects.filter(
                purpose__in=[Board.Purpose.DONOR, Board.Purpose.SCRAPPED]
            ).order_by("name"),
            "parts": Part.objects.filter(spec__in=short).order_by("name"),
            "borrowing": "borrow" in said,
            "typed": request.GET if wrong else {},
        },
        status=400 if wrong else 200,
    )


def _said(request: HttpRequest) -> list[str]:
    """Everything that is assumed, in the words of `repairs.what_if`, each once."""
    said = [text.replace("\0", "")[:200] for text in request.GET.getlist("suppose")]
    if park := number(request, "park"):
        said.append(f"park:{park}")
    if (job := number(request, "job")) and (priority := number(request, "priority")):
        said.append(f"priority:{job}:{priority}")
    if request.GET.get("borrow"):
        said.append("borrow")
    if strip := number(request, "strip"):
        said.append(f"strip:{strip}")
    if part := number(request, "part"):
        said.append(f"buy:{part}:{number(request, 'pieces')}")
    return list(dict.fromkeys(said))


def _without(kept: list[str]) -> Supposed | None:
    """What the others come to where one was refused; nothing where another is refused too."""
    try:
        return suppose(kept)
    except BadAssumption:
        return None


def _totals(found: Supposed) -> dict[str, int]:
    return {name: sum(getattr(row, name) for row in found.rows) for name, _word in COUNTED}


def _told(before: int, after: int | None) -> str:
    if after is None:
        return "is parked"
    if after == 0:
        return "● nothing is short any more"
    return f"▲ lacks {after - before} more" if after > before else f"▼ lacks {before - after} fewer"
