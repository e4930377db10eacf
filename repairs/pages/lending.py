"""Loans: what is owed to working boards and lent to people; returned, proven and lent on one page."""

from datetime import date
from typing import Any

from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date

from inventory import ledger
from inventory.ledger import Refused
from inventory.models import Board, Holding, Lot, Place
from inventory.pages.drawers import storage
from inventory.pages.frame import back, notify, number, page, typed_number, who, words
from inventory.pages.once import once
from inventory.pages.picking import named, picked
from inventory.places import paths
from inventory.refusals import Code
from inventory.roles import BENCH, may_act_as
from repairs import lenders, reservations
from repairs.explanations import pieces
from repairs.loans import all_loans, borrow, give_back, lend
from repairs.models import Job, Loan, Need
from repairs.proving_models import LoanProof

ON_A_PAGE = 60
REASON, READING = 400, 200
WANTED = "The position that it was to be reserved for"


@page()
def loans(request: HttpRequest) -> HttpResponse:
    """Open loans, what is overdue first; then those that are settled, the newest first."""
    rows = all_loans()
    due = F("due").asc(nulls_last=True)
    is_open = rows.filter(owed__gt=0).order_by(due, "id")  # type: ignore[misc]  # annotated by all_loans
    gone = rows.filter(owed__lte=0)  # type: ignore[misc]
    settled = Paginator(gone, ON_A_PAGE).get_page(number(request, "page", 1))
    return render(
        request,
        "bench/loans.html",
        {
            "owed": Paginator(is_open.filter(movement__borrow=True), ON_A_PAGE).get_page(
                number(request, "owed", 1)
            ),
            "lent": Paginator(is_open.filter(movement__borrow=False), ON_A_PAGE).get_page(
                number(request, "lent", 1)
            ),
            "page": settled,
            "settled": [
                (loan, state, explanation) for loan, (state, explanation) in _with_lenders(list(settled))
            ],
            "today": timezone.localdate(),
            "jobs": Job.objects.filter(status=Job.Status.OPEN).order_by("priority", "id"),
            "storage": storage(paths()),
            "may_write": may_act_as(request.user, BENCH),
        },
    )


def _with_lenders(rows: list[Loan]) -> list[tuple[Loan, tuple[str, str]]]:
    """Each loan with the state of its lender and that in words; of a person there is none to tell."""
    borrowed = [loan for loan in rows if loan.movement.borrow]
    states = dict(zip((loan.pk for loan in borrowed), lenders.standings(borrowed), strict=True))
    return [(loan, states.get(loan.pk, ("", ""))) for loan in rows]


def _due(request: HttpRequest) -> date | None:
    typed = words(request, "due", 20)
    try:
        day = parse_date(typed) if typed else None
    except ValueError:
        day = None
    if typed and day is None:
        raise Refused(Code.UNREADABLE, f"{typed} is not a date: write it as 2027-01-15.")
    return day


@page("POST")
@once
def lend_out(request: HttpRequest, pk: int) -> HttpResponse:
    """Lend free pieces of a lot to somebody, who is written down where nobody of that name is known."""
    holding = get_object_or_404(Holding.objects.select_related("lot__part__spec", "place"), pk=pk)
    name = words(request, "person", Place._meta.get_field("name").max_length or 0)
    if not name:
        raise Refused(Code.NO_NAME, "Who borrows it? Write a name.")
    due = _due(request)
    person = Place.objects.filter(name__iexact=name, type=Place.Type.PERSON).first()
    person = person or Place.objects.create(name=name, type=Place.Type.PERSON)
    line = lend(
        holding.lot, ledger.Spot(holding.place_id, holding.ref), person, number(request, "quantity"),
        by=who(request), reason=words(request, "reason", REASON), due=due,
    )  # fmt: skip
    until = f", until {due:%d %B}" if due else ""
    notify(request, f"{pieces(line.quantity)} lent to {person.name}{until}.", [line])
    return redirect("lot", holding.lot_id)


@page("POST")
@once
@transaction.atomic
def borrow_piece(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a piece off a board that works, owed back to its position; with a need, reserved for it."""
    holding = get_object_or_404(Holding.objects.select_related("place__board", "lot__part"), pk=pk)
    board = getattr(holding.place, "board", None)
    if board is None or board.purpose != Board.Purpose.WORKING:
        raise Refused(Code.CONTRADICTION, "Only from a board that works is a piece borrowed: lift it there.")
    to = picked(request, "to", Place.objects.all(), "drawers")
    if to is None:
        raise Refused(Code.REQUIRED, "Where does it go? Pick a drawer or tray.")
    need = named(request, "need", Need.objects.all(), WANTED) if request.POST.get("need") else None
    job = need.job if need else picked(request, "job", Job.objects.all(), "jobs")
    due, reason = _due(request), words(request, "reason", REASON)
    ref, spot = holding.ref, ledger.spot_of(to)
    [line] = borrow(board, [ref], spot, by=who(request), job=job, reason=reason, due=due)
    made = []
    if need:
        lot = line.to_lot or line.lot
        here = Holding.objects.get(lot=lot, place=to, ref="")
        made.append(reservations.reserve(need, here, 1, by=who(request)))
    kept = f", reserved for {need.job.name} {need.ref}".rstrip() if need else ""
    notify(request, f"Borrowed: {ref} of {board.name}. It is in {to.name}{kept}.", [line], promises=made)
    return back(request, reverse("loans"))


@page("POST")
@once
def return_loan(request: HttpRequest, pk: int) -> HttpResponse:
    """Back it goes: a borrowed piece, or a like one, to its position; pieces that were lent to a drawer."""
    loan = get_object_or_404(Loan.objects.select_related("movement__lot", "movement__from_place"), pk=pk)
    asked: dict[str, Any] = {}
    if like := number(request, "lot"):
        asked["lot"] = Lot.objects.filter(pk=like).first()
        if asked["lot"] is None:
            raise Refused(Code.UNREADABLE, f"There is no lot {like}: its number stands on its label.")
    if not loan.movement.borrow:
        to = picked(request, "to", Place.objects.all(), "drawers")
        asked |= {
            "to": ledger.spot_of(to) if to else None,
            "quantity": typed_number(request, "quantity") or None,
        }
    line = give_back(loan, by=who(request), **asked)
    where = f"{line.to_place} {line.to_ref}".rstrip()
    notify(request, f"{line.lot.part} is back in {where}.", [line])
    return back(request, reverse("loans"))


@page("POST")
@once
def change_loan(request: HttpRequest, pk: int) -> HttpResponse:
    """What was said of it: by when it goes back, for which job, and why."""
    loan = get_object_or_404(Loan, pk=pk)
    job = picked(request, "job", Job.objects.all(), "jobs")
    reason, due = words(request, "reason", REASON), _due(request)
    Loan.objects.filter(pk=pk).update(job=job, reason=reason, due=due, version=F("version") + 1)
    notify(request, f"Loan of {loan.movement.lot.part}: kept.")
    return back(request, reverse("loans"))


@page("POST")
@once
def prove_lender(request: HttpRequest, pk: int) -> HttpResponse:
    """The lender was tried once more, with its piece back."""
    loan = get_object_or_404(Loan.objects.select_related("movement__from_place"), pk=pk)
    passed = request.POST.get("passed") == "yes"
    reading = words(request, "reading", READING)
    lenders.prove(loan, by=who(request), when=LoanProof.When.AFTER, passed=passed, reading=reading)
    notify(request, f"{loan.movement.from_place.name} {'passed' if passed else 'failed'}, and that is kept.")
    return back(request, reverse("loans"))
