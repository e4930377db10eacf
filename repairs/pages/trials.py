"""Trying a part or a board: what to connect, what to expect, the reading as typed, the verdict and why."""

from dataclasses import dataclass
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory.ledger import Refused, Spot
from inventory.models import MAX_METER_ERROR, Board, Holding, Lot
from inventory.pages.form_picture import keep_picture, picture_of
from inventory.pages.frame import notify, number, page, typed_number, who, words
from inventory.pages.once import once
from inventory.pages.picking import named
from inventory.pictures import photos
from inventory.places import paths
from inventory.questions import PERCENT
from inventory.refusals import Code
from inventory.roles import BENCH, may_act_as
from inventory.spec import UNITS
from inventory.spec.figures import plain
from inventory.spec.kinds import KINDS
from repairs import trials
from repairs.friends.findings import tried_elsewhere
from repairs.models import Trial
from repairs.proving import methods
from repairs.proving.cautions import distinct_texts, of_hazards
from repairs.proving.meter import UnreadableReading
from repairs.proving.methods import Method
from repairs.swaps import SUPPLY_OHMS

IN_WORDS = (SUPPLY_OHMS, "looked at", "another")
"""Trials that no window judges: the person says the verdict."""
WITH_SUPPLY_PINS = ("ic", "regulator", "other")
"""Kinds that have a supply and a ground to measure between."""


@dataclass(frozen=True)
class Here:
    """Some pieces of the lot that is to be tried, and where."""

    holding: Holding
    path: str


@page("GET", "HEAD", "POST")
@once
def lot(request: HttpRequest, pk: int) -> HttpResponse:
    """Try a lot, or some pieces of it."""
    this = get_object_or_404(Lot.objects.select_related("part__spec", "origin_board"), pk=pk)
    if request.method != "POST":
        return _show_lot(request, this)
    try:
        trial = _record(request, this)
    except (Refused, UnreadableReading, methods.NotJudged) as refused:
        return _show_lot(request, this, wrong=_sentence(refused), status=409)
    request.session.pop("last", None)  # the next action: what came before it is no longer undone
    return redirect("trial", trial.pk)


def _sentence(refused: Exception) -> str:
    text = str(refused)
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '?')) else '.'}"


def _record(request: HttpRequest, this: Lot) -> Trial:
    picture = picture_of(request)
    method = words(request, "method", 120)
    if method == "another":
        method = words(request, "own", 120)
    verdict = request.POST.get("verdict", "")
    if not method or verdict not in ("", *Trial.Verdict.values):
        raise Refused(Code.REQUIRED, "Say how it was tried.")
    at = Holding.objects.filter(pk=number(request, "at"), lot=this, quantity__gt=0).first()
    pieces = typed_number(request, "quantity") or None
    spot = Spot(at.place_id, at.ref) if at is not None and pieces else None
    if pieces and spot is None:
        raise Refused(Code.REQUIRED, "Say where the pieces are that were tried.")
    note = words(request, "note", 400)
    trial = trials.record(
        by=who(request), lot=this, method=method, quantity=pieces, at=spot, verdict=verdict, note=note,
        in_circuit=bool(request.POST.get("in_circuit")), reading=words(request, "reading", 200),
        expected=words(request, "expected", 400), measured_tolerance=_meter_error(request),
    )  # fmt: skip
    message = f"{method}: {trial.reading} {note}".strip()
    keep_picture(picture, by=who(request), subject="trial", row=trial.pk, note=message)
    return trial


def _meter_error(request: HttpRequest) -> Decimal | None:
    """What the meter may be off, in per cent; None where it is left to what is usual."""
    typed = words(request, "measured_tolerance", 20).rstrip("% ").replace(",", ".")
    if not typed:
        return None
    if not PERCENT.fullmatch(typed) or Decimal(typed) > MAX_METER_ERROR:
        raise Refused(Code.OUT_OF_RANGE, f"Say what the meter may be off: from 0 to {MAX_METER_ERROR} %.")
    return Decimal(typed)


def _show_lot(request: HttpRequest, this: Lot, *, wrong: str = "", status: int = 200) -> HttpResponse:
    spec, where = this.part.spec.spec, paths()
    known = methods.methods_for(spec)
    asked = words(request, "method", 120)
    chosen: Method | None = methods.named(spec, asked) if asked and asked not in IN_WORDS else None
    if chosen is None and known and asked not in IN_WORDS:
        chosen = known[0]
    holdings = this.holdings.filter(quantity__gt=0).select_related("place").order_by("id")
    here = [Here(each, f"{where[each.place_id]} {each.ref}".rstrip()) for each in holdings]
    return render(
        request,
        "bench/try.html",
        {
            "lot": this,
            "methods": [method.name for method in known],
            "in_words": [each for each in IN_WORDS if each != SUPPLY_OHMS or spec.kind in WITH_SUPPLY_PINS],
            "chosen": chosen,
            "elsewhere": tried_elsewhere(this.part.spec).get(chosen.name, ()) if chosen else (),
            "usual_meter": KINDS[spec.kind].meter_percent if spec.kind in UNITS else None,
            "asked": chosen.name if chosen else asked or IN_WORDS[0],
            "supply_ohms": SUPPLY_OHMS,
            "cautions": _cautions(this, chosen),
            "here": here,
            "on_board": any(each.holding.ref for each in here),
            "several": sum(each.holding.quantity for each in here) > 1,
            "verdicts": Trial.Verdict.values,
            "earlier": this.trials.select_related("by").order_by("-id")[:10],
            "wrong": wrong,
            "typed": request.POST,
        },
        status=status,
    )


def _cautions(this: Lot, chosen: Method | None) -> list[str]:
    asked = list(chosen.cautions) if chosen else []
    on = this.holdings.filter(quantity__gt=0, place__type="board").select_related("place__board__design")
    for each in on:
        design = each.place.board.design
        asked += of_hazards([*(design.hazards if design else ()), "stored_charge"])
    return distinct_texts(asked)


@page("POST")
@once
def sort_out(request: HttpRequest, pk: int) -> HttpResponse:
    """A handful judged at once: so many good, suspect, faulty."""
    this = get_object_or_404(Lot.objects.select_related("part__spec", "origin_board"), pk=pk)
    at = named(request, "at", Holding.objects.filter(lot=this), "Where they lay")
    method, note = words(request, "method", 120) or "looked at", words(request, "note", 400)
    try:
        counts = {verdict: typed_number(request, verdict) or 0 for verdict in trials.CONDITIONS}
        made = trials.sort_out(
            this, Spot(at.place_id, at.ref), counts, by=who(request), method=method, note=note
        )
    except Refused as refused:
        return _show_lot(request, this, wrong=refused.detail, status=409)
    counted = ", ".join(f"{pieces} {verdict}" for verdict, pieces in counts.items() if pieces)
    notify(request, f"{this.part}: {counted}. Each is a lot of its own now.")
    first = made[0].lot
    return redirect("lot", first.pk if first is not None else pk)


@page()
def trial(request: HttpRequest, pk: int) -> HttpResponse:
    """What a trial came to, and why."""
    this = get_object_or_404(
        Trial.objects.select_related("lot__part__spec", "board", "by", "record__board"), pk=pk
    )
    on = None
    if this.lot is not None:
        on = (
            this.lot.holdings.filter(quantity__gt=0, place__type="board")
            .select_related("place__board")
            .first()
        )
    record = getattr(this, "record", None)
    percent = record.measured_tolerance if record is not None else None
    board = this.board or (on.place.board if on is not None else None)
    return render(
        request,
        "bench/trial.html",
        {
            "trial": this,
            "record": record,
            "meter_error": "" if percent is None else plain(percent),
            "board": board,
            "photos": photos.of("trial", pk),
            "may_write": may_act_as(request.user, BENCH),
        },
    )


@page("GET", "HEAD", "POST")
@once
def board(request: HttpRequest, pk: int) -> HttpResponse:
    """A trial of a whole board or of one of its places: the person says the verdict."""
    this = get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)
    wrong = ""
    if request.method == "POST":
        try:
            made = _record_board(request, this)
        except (Refused, UnreadableReading, methods.NotJudged) as refused:
            wrong = _sentence(refused)
        else:
            notify(request, f"{this.name}: {made.method}, {made.verdict}.")
            return redirect("trial", made.pk)
    hazards = this.design.hazards if this.design else []
    context = {
        "board": this,
        "wrong": wrong,
        "typed": request.POST,
        "verdicts": Trial.Verdict.values,
        "refs": [position.ref for position in this.design.positions.all()] if this.design else [],
        "cautions": distinct_texts(of_hazards([*hazards, "stored_charge"])),
        "earlier": this.trials.select_related("by").order_by("-id")[:10],
        "back": reverse("safe", args=[pk]),
    }
    return render(request, "bench/try-board.html", context, status=409 if wrong else 200)


def _record_board(request: HttpRequest, this: Board) -> Trial:
    picture = picture_of(request)
    method, verdict = words(request, "method", 120), request.POST.get("verdict", "")
    ref, note = words(request, "ref", 20), words(request, "note", 400)
    if not method:
        raise Refused(Code.REQUIRED, "Say what was done, such as soak.")
    if verdict not in Trial.Verdict.values:
        raise Refused(Code.REQUIRED, "Say what it came to: no window judges a whole board.")
    if ref and this.design is not None and not this.design.positions.filter(ref=ref).exists():
        raise Refused(Code.UNKNOWN_POSITION, f"{this.design} has no position {ref}.")
    trial = trials.record(
        by=who(request), board=this, ref=ref, method=method, in_circuit=True, verdict=verdict, note=note,
        reading=words(request, "reading", 200),
    )  # fmt: skip
    keep_picture(picture, by=who(request), subject="trial", row=trial.pk, note=f"{method} {note}".strip())
    return trial
