"""One need: what it wants, what is in place or promised, what would do, and what the plan does for it."""

from django.contrib.auth.models import User
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory import adding, ledger
from inventory.adding import AddedLine
from inventory.designs import is_ref
from inventory.ledger import Refused
from inventory.pages.drawers import storage, usual_place
from inventory.pages.frame import back, notify, number, page, words
from inventory.pages.once import first_press
from inventory.places import paths
from inventory.roles import BENCH, may_act_as
from repairs import asks
from repairs import jobs as work
from repairs.answers.why import explain
from repairs.explanations import TIER_LABELS, grade, noted, objections
from repairs.models import Job, Need, Reservation
from repairs.offers import OfferedPieces, offers
from repairs.pages.boards import taking_off_form
from repairs.pages.need_rows import look


@page()
def need(request: HttpRequest, pk: int) -> HttpResponse:
    this = get_object_or_404(Need.objects.select_related("spec", "job__board__design"), pk=pk)
    lacking = this.quantity - this.promised - this.fitted
    wanted = this.status == Need.Status.OPEN and lacking > 0 and this.job.status not in work.CLOSED
    where = paths()
    held = this.reservations.filter(status=Reservation.Status.HELD).select_related(
        "holding__lot__part__spec", "holding__lot__origin_board", "holding__place__board"
    )
    board = this.job.board
    there = ledger.piece_at(board, this.ref) if board is not None and this.ref else None
    return render(
        request,
        "bench/need.html",
        {
            "need": this,
            "job": this.job,
            "value": this.spec.spec.value_text or this.spec.number or this.spec.kind,
            "look": look(this.spec.spec),
            "there": there,
            "promises": [
                (promise, f"{where[promise.holding.place_id]} {promise.holding.ref}".rstrip())
                for promise in held.order_by("id")
            ],
            "lacking": lacking if wanted else 0,
            "offers": _offered(this) if wanted else [],
            "asks": asks.waiting(this.asks.all()),
            "why": explain(this).sentences if wanted else [],
            "off": taking_off_form(request, where) if there is not None else None,
            "may_write": may_act_as(request.user, BENCH),
            "trays": storage(where),
            "tray": usual_place(request),
        },
    )


def _offered(need: Need) -> list[dict[str, object]]:
    """What would do, with whom to ask for what is another's."""
    found = offers(need)
    names = dict(User.objects.filter(pk__in={each.owner for each in found}).values_list("id", "username"))
    return [{**_offer(each), "owner": names.get(each.owner or 0, "")} for each in found]


def _offer(offer: OfferedPieces) -> dict[str, object]:
    return {
        "holding": offer.piece.holding,
        "lot": offer.piece.lot,
        "where": f"{offer.piece.place_name} {offer.piece.ref}".strip(),
        "tier": TIER_LABELS[offer.tier],
        "borrow": TIER_LABELS[offer.tier] == "to borrow",
        "text": offer.text,
        "condition": offer.condition,
        "quantity": offer.quantity,
        "grade": grade(offer.fit),
        "reasons": noted(offer.fit) if offer.fit.grade != "ask" else objections(offer.fit),
    }


@page("GET", "HEAD", "POST")
def another(request: HttpRequest, pk: int) -> HttpResponse:
    """A part that a job needs, by what it is: loose, or at a place of a board without a drawing."""
    this = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
    fields = {
        "part": words(request, "part", 200),
        "ref": words(request, "ref", 60),
        "note": words(request, "note", 401),
    }
    line = next(iter(adding.read_lines(fields["part"])), None)
    refs = [fields["ref"]] if fields["ref"] else list(line.refs) if line else []
    pick, wrong = number(request, "pick", -1), ""
    if request.method == "POST":
        wrong = _wrong(line, pick, refs, **fields)
        try:
            if not wrong and line is not None:
                with transaction.atomic():
                    if not first_press(request):
                        return redirect("job", pk)
                    made = _add(this, line, pick, refs, fields["note"])
                notify(request, f"{this.name} needs {fields['part']} too.")
                return redirect("need", made[0].pk) if len(made) == 1 else redirect("job", pk)
        except Refused as refusal:
            wrong = refusal.detail
    if pick < 0 and line is not None and not line.must_be_picked:
        pick = 0
    shown = {"job": this, "line": line, "pick": pick, "wrong": wrong, **fields}
    return render(request, "bench/another.html", shown, status=400 if wrong else 200)


def _add(job: Job, line: AddedLine, pick: int, refs: list[str], note: str) -> list[Need]:
    """A need for each reference, or a loose one; what of the line is not understood is in its note."""
    reading = line.readings[pick]
    note = "; ".join(filter(None, (note, adding.left_over(reading))))[:400]
    return [
        work.add_need(job, spec=reading.spec, ref=ref, quantity=1 if ref else line.pieces(pick), note=note)
        for ref in refs or [""]
    ]


def _wrong(line: AddedLine | None, pick: int, refs: list[str], *, part: str, ref: str, note: str) -> str:
    """What stands against wanting it, in one sentence."""
    if line is None:
        return "Write what it needs: a value such as 4k7, or a type such as BC337."
    if line.wrong:
        return f"{part}: {line.wrong}."
    if not 0 <= pick < len(line.readings):
        return "Choose what it is."
    if ref and not is_ref(ref):
        return f"{ref} is not a reference such as R7: leave it empty if there is none."
    if ref and line.refs and line.refs != (ref,):
        return f"The line names {', '.join(line.refs)} and the box {ref}: keep one of them."
    if refs and line.pieces(pick) != len(refs):
        each = " each" if refs[1:] else ""
        return f"{', '.join(refs)} takes one piece{each}: write no other number, or no place."
    return "At most 400 characters of note." if len(note) > 400 else ""


@page("POST")
def drop(request: HttpRequest, pk: int) -> HttpResponse:
    """No longer needed, or wanted again."""
    this = get_object_or_404(Need.objects.select_related("job"), pk=pk)
    name = this.ref or "the loose need"
    if number(request, "again"):
        work.want_again(this)
        notify(request, f"{name} is wanted again.")
    else:
        work.drop_need(this)
        notify(request, f"{name} is no longer needed.")
    return back(request, reverse("need", args=[pk]))
