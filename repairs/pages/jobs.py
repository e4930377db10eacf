"""Jobs: what each needs, where to walk for it, promising and fitting."""

from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory import photos
from inventory.ledger import Refused
from inventory.models import Board, Holding
from inventory.pages.frame import back, number, page, say, who
from inventory.places import paths
from inventory.refs import UnreadableRefs, parse_refs, split_ref, write_refs
from inventory.roles import BENCH, may_act_as
from repairs import benchlog, reservations, shortages
from repairs import jobs as work
from repairs.models import Job, Need, Reservation


class JobForm(forms.ModelForm):  # type: ignore[type-arg]
    refs = forms.CharField(required=False, label="Which references does it need?")

    class Meta:
        model = Job
        fields = ("name", "board", "priority", "due", "symptom")
        widgets = {
            "due": forms.DateInput(attrs={"type": "date"}),
            "symptom": forms.Textarea(attrs={"rows": 2}),
        }

    def clean_refs(self) -> str | list[str]:
        text: str = self.cleaned_data["refs"].strip()
        if not text or text.lower() == "all":
            return text.lower()
        try:
            return parse_refs(text)
        except UnreadableRefs as unreadable:
            raise forms.ValidationError(str(unreadable)) from None

    def clean_priority(self) -> int:
        priority: int = self.cleaned_data["priority"]
        if not 1 <= priority <= 5:
            raise forms.ValidationError("1 is first, 5 is last")
        return priority


@page("GET", "HEAD", "POST")
def jobs(request: HttpRequest) -> HttpResponse:
    """All jobs, and the form that opens one."""
    form = JobForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        columns = {name: value for name, value in form.cleaned_data.items() if name != "refs"}
        try:
            job = work.open_job(refs=form.cleaned_data["refs"], by=who(request), **columns)
        except Refused as refusal:
            form.add_error("refs", refusal.detail)
        else:
            say(request, f"{job.name} is open.")
            return redirect("job", job.pk)
    known = Job.objects.select_related("board").order_by("status", "priority", "due", "id")
    return render(
        request,
        "bench/jobs.html",
        {"jobs": known, "form": form, "boards": Board.objects.order_by("name")},
        status=400 if form.errors else 200,
    )


@dataclass(frozen=True)
class Want:
    """A need with the promise that was made for it, and where the promised piece is."""

    need: Need
    promise: Reservation | None
    path: str

    @property
    def state(self) -> str:
        if self.need.fitted >= self.need.quantity:
            return "fitted"
        return "promised" if self.promise else "wanted"


def wants(job: Job) -> list[Want]:
    """The needs of a job in reference order."""
    where = paths()
    held = {
        promise.need_id: promise
        for promise in Reservation.objects.filter(need__job=job, status=Reservation.Status.HELD)
        .select_related("holding__lot__part__spec", "holding__lot__origin_board", "holding__place")
        .order_by("-id")
    }
    needs = job.needs.filter(status=Need.Status.OPEN).select_related("spec")
    found = []
    for need in sorted(needs, key=lambda each: (each.ref == "", split_ref(each.ref))):
        promise = held.get(need.pk)
        path = f"{where[promise.holding.place_id]} {promise.holding.ref}".rstrip() if promise else ""
        found.append(Want(need, promise, path))
    return found


@page()
def job(request: HttpRequest, pk: int) -> HttpResponse:
    """One job: what is promised in walking order of the drawers, and every need."""
    this = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
    every = wants(this)
    walk = sorted((want for want in every if want.promise and want.state == "promised"), key=lambda w: w.path)
    return render(
        request,
        "bench/job.html",
        {
            "job": this,
            "wants": every,
            "walk": walk,
            "fitted": sum(want.state == "fitted" for want in every),
            "lacking": sum(want.state == "wanted" for want in every),
            "photos": photos.of("job", pk),
            "may_write": may_act_as(request.user, BENCH),
        },
    )


@page("POST")
def promise_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Promise what the best plan over all open jobs gives this one."""
    this = get_object_or_404(Job, pk=pk)
    outcome = shortages.reserve(this, by=who(request))
    made = sum(promise.quantity for promise in outcome.made)
    short = sum(lack.quantity for lack in outcome.lacking)
    refs = write_refs(lack.need.ref for lack in outcome.lacking if lack.need.ref)
    still = f" Still lacking {short}{f': {refs}' if refs else ''}." if short else " Nothing is lacking."
    say(request, f"{made} promised to {this.name}.{still}", promises=outcome.made)
    return back(request, reverse("job", args=[pk]))


@page("POST")
def fit_promised(request: HttpRequest, pk: int) -> HttpResponse:
    """Fit what a promise holds, where its need wants it."""
    promise = get_object_or_404(
        Reservation.objects.select_related("need__job__board", "need__spec", "holding__lot__part"), pk=pk
    )
    line = reservations.fit_promised(promise, by=who(request))
    say(request, f"{promise.need.ref or promise.holding.lot.part} is fitted.", [line])
    return back(request, reverse("job", args=[promise.need.job_id]))


@page("POST")
def release(request: HttpRequest, pk: int) -> HttpResponse:
    promise = get_object_or_404(Reservation.objects.select_related("need", "holding__lot__part"), pk=pk)
    reservations.release(promise)
    say(request, f"{promise.holding.lot.part} is free again.")
    return back(request, reverse("job", args=[promise.need.job_id]))


@page("POST")
def status(request: HttpRequest, pk: int) -> HttpResponse:
    """Park, reopen, finish or abandon."""
    this = get_object_or_404(Job, pk=pk)
    wanted = request.POST.get("status", "")
    if wanted not in Job.Status.values:
        messages.error(request, "A job is open, parked, done or abandoned.", extra_tags="refused")
    else:
        if wanted == Job.Status.DONE:
            said = {name: request.POST.get(name, "").strip()[:4000] for name in ("symptom", "cause")}
            this = benchlog.close(this, by=who(request), **said)
        else:
            this = work.set_status(this, wanted)
        say(request, f"{this.name} is {this.status}.")
    return back(request, reverse("job", args=[pk]))


@page("POST")
def promise_one(request: HttpRequest) -> HttpResponse:
    """Promise pieces of a holding to a need."""
    need = get_object_or_404(Need.objects.select_related("job", "spec"), pk=number(request, "need"))
    holding = get_object_or_404(
        Holding.objects.select_related("lot__part__spec", "place__board"), pk=number(request, "holding")
    )
    made = reservations.reserve(need, holding, number(request, "quantity", 1), by=who(request))
    told = f"{holding.lot.part} is promised to {need.job.name} {need.ref}".rstrip()
    say(request, f"{told}.", promises=[made])
    return back(request, reverse("job", args=[need.job_id]))
