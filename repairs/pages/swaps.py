"""Swap tests: chips tried one by one in a socket of a known good board, between two baselines."""

from dataclasses import dataclass

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory import ledger
from inventory.ledger import Refused
from inventory.models import Board, Holding, Lot, Place
from inventory.pages.drawers import storage
from inventory.pages.frame import notify, number, page, who, words
from inventory.pages.once import once
from inventory.pages.picking import picked
from inventory.places import paths
from inventory.refusals import Code
from repairs import swaps as work
from repairs.models import Job
from repairs.proving import swaps as rules
from repairs.proving.cautions import FIRST_POWER, PULLING, distinct_texts, of_hazards
from repairs.proving_models import SwapTest

MAX_OFFERED = 60


@dataclass(frozen=True)
class Result:
    """One line of the result table: the suspect and what it came to."""

    lot: Lot
    row: rules.SwapResult


def cautions(board: Board) -> list[str]:
    hazards = board.design.hazards if board.design else []
    return distinct_texts((*of_hazards([*hazards, "stored_charge"]), PULLING, FIRST_POWER))


@page("GET", "HEAD", "POST")
@once
def of_board(request: HttpRequest, pk: int) -> HttpResponse:
    """The swap tests of a working board, and the form that opens one."""
    this = get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)
    wrong = ""
    if request.method == "POST":
        try:
            test = _open(request, this)
        except Refused as refused:
            wrong = refused.detail
        else:
            notify(request, f"{this.name} {test.ref}: its own part is out on loan until the test is closed.")
            return redirect("swap", test.pk)
    filled = (
        Holding.objects.filter(place_id=this.place_id, quantity=1)
        .exclude(ref="")
        .values_list("ref", flat=True)
    )
    sockets = this.design.positions.filter(socketed=True, ref__in=filled) if this.design else ()
    context = {
        "board": this,
        "sockets": [position.ref for position in sockets],
        "tests": this.swap_tests.select_related("by").order_by("-id"),
        "trays": storage(paths()),
        "jobs": Job.objects.filter(status=Job.Status.OPEN).order_by("priority", "id"),
        "cautions": cautions(this),
        "wrong": wrong,
        "typed": request.POST,
    }
    return render(request, "bench/swaps.html", context, status=409 if wrong else 200)


def _open(request: HttpRequest, this: Board) -> SwapTest:
    to = picked(request, "to", Place.objects.all(), "drawers")
    if to is None:
        raise Refused(Code.REQUIRED, "Say where the board's own part is kept meanwhile.")
    job = picked(request, "job", Job.objects.all(), "jobs")
    note = words(request, "note", 400)
    return work.open_test(
        this, request.POST.get("ref", ""), ledger.spot_of(to), by=who(request), job=job, note=note
    )


@page("GET", "HEAD", "POST")
@once
def swap(request: HttpRequest, pk: int) -> HttpResponse:
    """One test: what comes next, and the result table."""
    test = get_object_or_404(SwapTest.objects.select_related("board__design", "loan__movement__lot"), pk=pk)
    wrong = ""
    if request.method == "POST":
        try:
            notify(request, _do(request, test))
        except Refused as refused:
            wrong = f"{refused.detail[:1].upper()}{refused.detail[1:]}."
        else:
            return redirect("swap", test.pk)
    steps = test.steps.select_related("lot__part__spec", "by").order_by("id")
    lots = {step.lot_id: step.lot for step in steps if step.lot is not None}
    offered = _offered(test)
    lots_offered = list({each.lot_id: each.lot for each in offered}.values())
    where = paths()
    context = {
        "test": test,
        "steps": steps,
        "results": [Result(lots[row.lot], row) for row in rules.results(work.steps_of(test))],
        "next": _next(test),
        "cautions": cautions(test.board),
        "offered": [(each, where[each.place_id]) for each in offered],
        "ready": work.ready_to_try(lots_offered),
        "wrong": wrong,
        "typed": request.POST,
    }
    return render(request, "bench/swap.html", context, status=409 if wrong else 200)


def _next(test: SwapTest) -> str:
    """What comes next: a baseline, a suspect or either; `closed` when all is done."""
    if test.closed is not None:
        return "closed"
    steps = work.steps_of(test)
    if not steps or steps[-1].what == rules.SUSPECT_IN:
        return "baseline"
    return "suspect" if steps[-1].passed else "failed"


def _offered(test: SwapTest) -> QuerySet[Holding]:
    """Pieces in drawers and trays of the kind that the socket wants, and of its type where it has one."""
    design = test.board.design
    position = design.positions.select_related("spec").filter(ref=test.ref).first() if design else None
    found = Holding.objects.filter(
        quantity__gt=0, ref="", place__type__in=[Place.Type.DRAWER, Place.Type.TRAY]
    )
    if position is not None:
        found = found.filter(lot__part__spec__kind=position.spec.kind)
        if position.spec.number:
            found = found.filter(lot__part__spec__number__icontains=position.spec.number)
    if test.loan is not None and test.closed is None:
        found = found.exclude(lot=test.loan.movement.lot_id)
    return found.select_related("lot__part__spec", "place").order_by("lot__condition", "id")[:MAX_OFFERED]


def _do(request: HttpRequest, test: SwapTest) -> str:
    what, reading = request.POST.get("what", ""), words(request, "reading", 200)
    passed = request.POST.get("passed") == "yes"
    if what == "close":
        work.close_test(test, by=who(request))
        return f"{test.board.name} {test.ref}: its own part is back."
    if what == "ohms":
        here = (
            Holding.objects.select_related("lot__part__spec", "place")
            .filter(pk=number(request, "piece"))
            .first()
        )
        if here is None or not reading:
            raise Refused(Code.REQUIRED, "say which piece, and what the meter reads")
        trial = work.take_ohms(here, reading, request.POST.get("shorted") == "yes", by=who(request))
        result = "shorted: it goes nowhere" if trial.verdict == "faulty" else "not shorted"
        return f"{trial.lot}: {reading}, {result}."
    if what == rules.SUSPECT_IN:
        lot = Lot.objects.select_related("part__spec").filter(pk=number(request, "lot")).first()
        if lot is None:
            raise Refused(Code.REQUIRED, "say which chip was in the socket")
        work.add_step(test, what, passed, by=who(request), lot=lot, reading=reading)
        return f"{lot}: {'passed' if passed else 'failed'}. Power off, the board's own part back, baseline."
    if what != rules.BASELINE:
        raise Refused(Code.UNKNOWN, "a step is a baseline or a suspect")
    work.add_step(test, what, passed, by=who(request), reading=reading)
    return f"Baseline {'passed' if passed else 'failed'}."
