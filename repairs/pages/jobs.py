"""Jobs: what each needs, where to walk for it, promising and fitting."""

from collections import Counter
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Case, F, IntegerField, QuerySet, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory.ledger import Refused
from inventory.models import Board, Holding
from inventory.ownership import owned_by, who_may_own
from inventory.pages.frame import back, notify, number, numbers, page, typed_number, who, words
from inventory.pages.once import once
from inventory.pages.picking import PickedField, boards_to_pick, named
from inventory.pictures import photos
from inventory.refs import UnreadableRefs, parse_refs, split_ref, write_refs
from inventory.refusals import Code
from inventory.roles import BENCH, may_act_as
from repairs import benchlog, reservations
from repairs import jobs as work
from repairs.answers import shortages
from repairs.models import Job, Need, Reservation
from repairs.pages.boards import LONG_LIST
from repairs.pages.charts import completeness
from repairs.pages.need_rows import NeedRow, need_rows

ON_A_PAGE = 60
LINES_ON_A_PAGE = 200
"""So many lines of a job's parts; more go on the next page."""
STATES = {
    "promised": "Reserved, to be fetched", "wanted": "Still wanted", "in place": "In place",
    "not wanted": "No longer wanted",
}  # fmt: skip
"""The states of a need as headings, what is to be done first."""
SETTLED = ("in place", "not wanted")
"""Folded on the page of a job: nothing is left to be done about them."""


TAKEN = {"name": {"unique": "There is a job of that name already: call this one something else."}}


class _AnyJobForm(forms.ModelForm):  # type: ignore[type-arg]
    """Whose a job is is asked only where several do the work: at a bench of one nobody sees it."""

    board = PickedField(Board.objects.all(), of="boards")

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        people = who_may_own(self.instance.owner_id)
        self.fields["owner"].queryset = people  # type: ignore[attr-defined]
        self.people = list(people)
        if len(self.people) < 2:
            del self.fields["owner"]

    def clean_priority(self) -> int:
        priority: int = self.cleaned_data["priority"]
        if not 1 <= priority <= 5:
            raise forms.ValidationError("1 is first, 5 is last")
        return priority


class JobForm(_AnyJobForm):
    refs = forms.CharField(required=False, label="Which references does it need?")

    class Meta:
        model = Job
        fields = ("name", "board", "priority", "due", "symptom", "owner")
        widgets = {
            "due": forms.DateInput(attrs={"type": "date"}),
            "symptom": forms.Textarea(attrs={"rows": 2}),
        }
        error_messages = TAKEN

    def clean_refs(self) -> str | list[str]:
        text: str = self.cleaned_data["refs"].strip()
        if not text or text.lower() == "all":
            return text.lower()
        try:
            return parse_refs(text)
        except UnreadableRefs as unreadable:
            raise forms.ValidationError(str(unreadable)) from None


@page("GET", "HEAD", "POST")
@once
def jobs(request: HttpRequest) -> HttpResponse:
    """All jobs, and the form that opens one."""
    form = JobForm(request.POST or None, initial={"board": number(request, "board") or None})
    if request.method == "POST" and form.is_valid():
        columns = {name: value for name, value in form.cleaned_data.items() if name != "refs"}
        try:
            job = work.open_job(refs=form.cleaned_data["refs"], by=who(request), **columns)
        except Refused as refusal:
            form.add_error("refs", refusal.detail)
        else:
            notify(request, f"{job.name} is open.")
            return redirect("job", job.pk)
    owner = words(request, "owner", 150)
    known = owned_by(_in_line(), owner, who(request)) if owner else _in_line()
    of_page = Paginator(known, ON_A_PAGE).get_page(number(request, "page", 1))
    return render(
        request,
        "bench/jobs.html",
        {"owner": owner, "page": of_page, "form": form, "boards": boards_to_pick(Board.objects.all())},
        status=400 if form.errors else 200,
    )


def _in_line() -> QuerySet[Job]:
    """Open jobs by priority and day, then parked ones, then what is closed, the latest first."""
    line = Case(
        When(status=Job.Status.OPEN, then=0), When(status=Job.Status.PARKED, then=1), default=2,
        output_field=IntegerField(),
    )  # fmt: skip
    order = (line, F("closed").desc(nulls_last=True), "priority", F("due").asc(nulls_last=True), "id")
    return Job.objects.select_related("board", "owner").order_by(*order)


@page()
def job(request: HttpRequest, pk: int) -> HttpResponse:
    """One job: how far it is, what to do next, and every need with what is promised and where it is."""
    this = get_object_or_404(Job.objects.select_related("board__design", "owner"), pk=pk)
    every = need_rows(this)
    wanted = {row.need.pk: row.need for row in every if row.state != "not wanted"}.values()
    needed = sum(need.quantity for need in wanted)
    fitted = sum(need.fitted for need in wanted)
    counts = Counter(row.state for row in every)
    lines = [
        (state, rows) for state in STATES for rows in _alike([row for row in every if row.state == state])
    ]
    of_page = Paginator(lines, LINES_ON_A_PAGE).get_page(number(request, "page", 1))
    return render(
        request,
        "bench/job.html",
        {
            "job": this,
            "need_rows": every,
            "groups": [
                (state, title, counts[state], _by_letter([rows for at, rows in of_page if at == state]))
                for state, title in STATES.items()
                if any(at == state for at, _rows in of_page)
            ],
            "page": of_page,
            "settled": SETTLED,
            "to_fetch": sum(row.promise is not None and not row.on_a_board for row in every),
            "to_lift": sum(row.on_a_board for row in every),
            "needed": needed,
            "fitted": fitted,
            "lacking": needed - fitted - sum(need.promised for need in wanted),
            "tasks": this.entries.filter(kind="task", done=None).order_by("id"),
            "chart": completeness(this),
            "photos": photos.of("job", pk),
            "may_write": may_act_as(request.user, BENCH),
            "typed_refs": request.session.pop("typed_refs", ""),
        },
    )


def _alike(every: list[NeedRow]) -> list[list[NeedRow]]:
    """Needs of one requirement, place and note as one row, each where its first reference stands."""
    rows: dict[tuple[int, str, str, int], list[NeedRow]] = {}
    for row in every:
        need = row.need
        rows.setdefault((need.spec_id, row.path, need.note, need.quantity), []).append(row)
    return list(rows.values())


def _by_letter(rows: list[list[NeedRow]]) -> list[tuple[str, list[list[NeedRow]]]]:
    """A long list parted by what its references begin with; a short one whole, which has no letter."""
    if len(rows) <= LONG_LIST:
        return [("", rows)]
    parted: dict[str, list[list[NeedRow]]] = {}
    for alike in rows:
        parted.setdefault(split_ref(alike[0].need.ref)[0] or "loose", []).append(alike)
    return list(parted.items())


@page("POST")
def add_needs(request: HttpRequest, pk: int) -> HttpResponse:
    """Further references that the job needs, as they are written: R1-R4, C7."""
    this = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
    typed = words(request, "refs", 4000)
    try:
        refs: str | list[str] = "all" if typed.lower() == "all" else parse_refs(typed)
        made = work.add_needs(this, refs, by=who(request))
    except (UnreadableRefs, Refused) as refused:
        messages.error(request, str(refused), extra_tags="refused")
        request.session["typed_refs"] = typed
    else:
        notify(request, f"{this.name} needs {write_refs(need.ref for need in made)} too.")
    return redirect(f"{reverse('job', args=[pk])}#more-needs")


class JobChangeForm(_AnyJobForm):
    version = forms.IntegerField()

    class Meta:
        model = Job
        fields = ("name", "board", "priority", "due", "symptom", "cause", "note", "owner")
        error_messages = TAKEN


@page("GET", "HEAD", "POST")
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """What the job is called, its place in line, when it is due, what is wrong with it."""
    this = get_object_or_404(Job.objects.select_related("board"), pk=pk)
    form = JobChangeForm(request.POST or None, instance=this, initial={"version": this.version})
    if request.method == "POST" and form.is_valid():
        try:
            work.change(this, by=who(request), **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, forms.ValidationError(refusal.detail, code=refusal.code))
        else:
            notify(request, f"{this.name} is changed.")
            return redirect("job", pk)
    context = {"form": form, "job": Job.objects.get(pk=pk), "boards": boards_to_pick(Board.objects.all())}
    return render(request, "bench/job-change.html", context, status=400 if form.errors else 200)


NEXT_STEPS = {
    "tasks_left": "Tick them off in the log",
    "open_loan": "See what is owed",
    "lender_unproven": "See what is owed",
}
"""What a refusal to close a job leads to."""


@page("GET", "HEAD", "POST")
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """Finish a job with symptom and cause, so that it is found when it is seen again."""
    this = get_object_or_404(Job.objects.select_related("board"), pk=pk)
    texts = {name: words(request, name, 4000) for name in ("symptom", "cause", "note")}
    refused, step = "", ("", "")
    if request.method == "POST":
        try:
            benchlog.close(this, by=who(request), **texts)
        except Refused as refusal:
            refused = refusal.detail
            at = reverse("job-log", args=[pk]) if refusal.code == "tasks_left" else reverse("loans")
            step = (at, NEXT_STEPS.get(refusal.code, ""))
        else:
            notify(request, f"{this.name} is done.")
            return redirect("job", pk)
    else:
        texts = {name: getattr(this, name) for name in texts}
    left = sum(need.quantity - need.fitted for need in this.needs.filter(status=Need.Status.OPEN))
    return render(
        request,
        "bench/job-close.html",
        {"job": this, **texts, "refused": refused, "step": step, "left": left},
        status=409 if refused else 200,
    )


@page("POST")
def reserve_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Promise what the best plan over all open jobs gives this one."""
    this = get_object_or_404(Job, pk=pk)
    outcome = shortages.reserve(this, by=who(request))
    made = sum(promise.quantity for promise in outcome.made)
    short = sum(lack.quantity for lack in outcome.lacking)
    refs = write_refs(lack.need.ref for lack in outcome.lacking if lack.need.ref)
    still = f" Still lacking {short}{f': {refs}' if refs else ''}." if short else " Nothing is lacking."
    first = f" What is free goes to {' and '.join(outcome.first)} first." if outcome.first else ""
    notify(request, f"{made} reserved for {this.name}.{still}{first}", promises=outcome.made)
    return back(request, reverse("job", args=[pk]))


@page("POST")
@once
def fit_reserved(request: HttpRequest, pk: int) -> HttpResponse:
    """Fit what a promise holds, where its need wants it."""
    promise = get_object_or_404(
        Reservation.objects.select_related("need__job__board", "need__spec", "holding__lot__part"), pk=pk
    )
    line = reservations.fit_promised(promise, by=who(request))
    notify(request, f"{promise.need.ref or promise.holding.lot.part} is fitted.", [line])
    return back(request, reverse("job", args=[promise.need.job_id]))


@page("POST")
@once
def fit_several(request: HttpRequest, pk: int) -> HttpResponse:
    """Fit what several promises of a job hold, each where its need wants it: all of them or none."""
    asked = set(numbers(request, "reservation"))
    rows = list(
        Reservation.objects.filter(need__job=pk, pk__in=asked)
        .select_related("need__job__board", "need__spec", "holding__lot__part")
        .order_by("id")
    )
    promises = [each for each in rows if each.status == Reservation.Status.HELD]
    if not promises or len(promises) != len(asked):
        lost = write_refs(each.need.ref for each in rows if each not in promises and each.need.ref)
        which = f": {lost}" if lost else ""
        message = f"Not all of them are reserved any more{which}. Nothing was fitted: look again."
        raise Refused(Code.GONE, message)
    with transaction.atomic():
        lines = [reservations.fit_promised(each, by=who(request)) for each in promises]
    refs = write_refs(each.need.ref for each in promises if each.need.ref)
    pieces = sum(line.quantity for line in lines)
    notify(request, f"{refs or pieces} {'are' if len(lines) > 1 else 'is'} fitted.", lines)
    return back(request, reverse("fetch", args=[pk]))


@page("POST")
def release(request: HttpRequest, pk: int) -> HttpResponse:
    promise = get_object_or_404(Reservation.objects.select_related("need", "holding__lot__part"), pk=pk)
    reservations.release(promise)
    notify(request, f"{promise.holding.lot.part} is free again.")
    return back(request, reverse("job", args=[promise.need.job_id]))


@page("POST")
def status(request: HttpRequest, pk: int) -> HttpResponse:
    """Park, reopen or abandon; how it is finished stands at `close`."""
    this = get_object_or_404(Job, pk=pk)
    wanted = request.POST.get("status", "")
    if wanted not in (Job.Status.OPEN, Job.Status.PARKED, Job.Status.ABANDONED):
        messages.error(request, "A job is opened, parked or abandoned here.", extra_tags="refused")
    else:
        this = work.set_status(this, wanted)
        notify(request, f"{this.name} is {this.status}.")
    return back(request, reverse("job", args=[pk]))


@page("POST")
def reserve_one(request: HttpRequest) -> HttpResponse:
    """Promise pieces of a holding to a need, chosen by hand."""
    need = named(request, "need", Need.objects.select_related("job", "spec"), "That position of the job")
    held = Holding.objects.select_related("lot__part__spec", "place__board")
    holding = named(request, "holding", held, "That bag")
    count = typed_number(request, "quantity")
    made = reservations.reserve(need, holding, 1 if count is None else count, by=who(request))
    message = f"{holding.lot.part} is reserved for {need.job.name} {need.ref}".rstrip()
    notify(request, f"{message}.", promises=[made])
    return back(request, reverse("job", args=[need.job_id]))
