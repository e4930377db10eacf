"""The log of a job: everything that was done, with pictures; notes and things to do are added here."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from inventory.pages.frame import back, notify, number, page, who, words
from inventory.pages.life import WORDS
from inventory.pages.once import first_press
from inventory.roles import BENCH, may_act_as
from repairs import benchlog
from repairs.benchlog import LogLine
from repairs.models import Job
from repairs.proving_models import BenchEntry

KINDS = {
    **WORDS, "task": "to do", "link": "link set", "confirmation": "looked at", "rail": "measured",
    "exception": "accepted as it is",
}  # fmt: skip
MAX_SEEN = 10
ON_A_PAGE = 20


@dataclass(frozen=True)
class ShownLine:
    """A line of the log in the bench's words, with where more is said of it."""

    line: LogLine
    kind: str
    more: str

    @property
    def day(self) -> date:
        return timezone.localdate(self.line.at)


@page("GET", "HEAD", "POST")
def log(request: HttpRequest, pk: int) -> HttpResponse:
    """The time line, newest first; what is sent is a note or a thing to do."""
    this = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
    text, wrong = words(request, "text", 2001), ""
    if request.method == "POST":
        kind = BenchEntry.Kind.TASK if request.POST.get("kind") == "task" else BenchEntry.Kind.NOTE
        wrong = _wrong(text)
        if not wrong:
            with transaction.atomic():
                if first_press(request):
                    BenchEntry.objects.create(job=this, kind=kind, text=text, by=who(request))
            notify(request, "It is in the log.")
            return redirect("job-log", pk)
    of_page = Paginator(benchlog.time_line(this)[::-1], ON_A_PAGE).get_page(number(request, "page", 1))
    design = this.board.design if this.board else None
    like = words(request, "like", 200)
    return render(
        request,
        "bench/job-log.html",
        {
            "job": this,
            "page": of_page,
            "lines": list(map(_shown, of_page)),
            "tasks": this.entries.filter(kind=BenchEntry.Kind.TASK, done=None).order_by("id"),
            "photos": [],
            "may_write": may_act_as(request.user, BENCH),
            "text": text,
            "wrong": wrong,
            "most": benchlog.MAX_LINES,
            "design": design,
            "like": like,
            "seen": benchlog.seen_before(design, like).exclude(pk=this.pk)[:MAX_SEEN] if design else (),
            "elsewhere": benchlog.seen_elsewhere(design, like)[:MAX_SEEN] if design else (),
        },
        status=400 if wrong else 200,
    )


def _wrong(text: str) -> str:
    if not text:
        return "Write what is to be kept."
    return "At most 2000 characters: keep it shorter, or write two." if len(text) > 2000 else ""


def _shown(line: LogLine) -> ShownLine:
    more = reverse("trial", args=[line.row]) if line.kind == "trial" else ""
    return ShownLine(line, KINDS.get(line.kind, line.kind), more)


@page()
def lately(request: HttpRequest) -> HttpResponse:
    """What was done on the bench, newest first, whatever job it was for."""
    every: Any = benchlog.Lately()  # counted and sliced, and no more is asked of it
    of_page = Paginator(every, ON_A_PAGE).get_page(number(request, "page", 1))
    return render(request, "bench/lately.html", {"page": of_page, "lines": list(map(_shown, of_page))})


@page("POST")
def tick(request: HttpRequest, pk: int) -> HttpResponse:
    """A thing to do is done, or is to be done again."""
    entry = get_object_or_404(BenchEntry, pk=pk)
    done = not number(request, "again")
    benchlog.tick(entry, by=who(request), done=done)
    notify(request, f"{entry.text}: {'done' if done else 'to do again'}.")
    return back(request, reverse("job-log", args=[entry.job_id]))
