"""Borrowing from a working board, and giving back.  Whether a loan is open follows from the movements."""

from collections.abc import Sequence
from datetime import date

from django.db import transaction
from django.db.models import QuerySet

from inventory import ledger
from inventory.ledger import Actor, Refused, Spot
from inventory.models import Board, Holding, Lot, Movement, Part, Place
from inventory.refusals import Code
from repairs import reservations
from repairs.models import Job, Loan, Reservation


@transaction.atomic
def borrow(
    board: Board,
    refs: Sequence[str],
    to: Spot,
    *,
    by: Actor,
    job: Job | None = None,
    reason: str = "",
    due: date | None = None,
    note: str = "",
    condition: str | None = None,
    part: Part | None = None,
) -> list[Movement]:
    """Lift pieces from a working board; each is owed back to its position.

    `condition` and `part` say what they are, as for any lift.
    """
    lines = reservations.lift(board, refs, to, by=by, borrow=True, note=note, condition=condition, part=part)
    Loan.objects.bulk_create([Loan(movement=line, job=job, reason=reason, due=due) for line in lines])
    return lines


@transaction.atomic
def lend(
    lot: Lot,
    source: Spot,
    person: Place,
    quantity: int,
    *,
    by: Actor,
    reason: str = "",
    due: date | None = None,
    note: str = "",
) -> Movement:
    """Lend free pieces to a person, with what was said about it."""
    line = ledger.lend(lot, source, person, quantity, by=by, note=note)
    Loan.objects.create(movement=line, reason=reason, due=due)
    return line


@transaction.atomic
def give_back(
    loan: Loan,
    *,
    by: Actor,
    lot: Lot | None = None,
    source: Spot | None = None,
    to: Spot | None = None,
    quantity: int | None = None,
    note: str = "",
) -> Movement:
    """Return the piece, or a like one.

    The borrowed piece is taken from the board that it was fitted to, and its need is open again; a like
    one is lifted first.
    """
    giving = lot or loan.movement.lot
    if loan.movement.borrow:
        held = giving.holdings.select_related("place__board").filter(quantity__gt=0).order_by("id")
        if source is not None:
            held = held.filter(place_id=source.place_id, ref=source.ref)
        here = held.first()
        if here is not None:
            source = Spot(here.place_id, here.ref)
            _leave_the_board(here, borrowed=giving == loan.movement.lot)
            _release_promises(giving, source)
    return ledger.give_back(loan.movement, by=by, lot=lot, source=source, to=to, quantity=quantity, note=note)


def _leave_the_board(here: Holding, *, borrowed: bool) -> None:
    if here.place.type != Place.Type.BOARD:
        return
    if not borrowed:
        raise Refused(Code.STILL_ON_A_BOARD, f"{here.lot} is on {here.place}: lift it first", lot=here.lot_id)
    if here.ref:
        reservations.unfit(here.place.board, here.ref, here.lot)


def _release_promises(lot: Lot, source: Spot) -> None:
    """A single piece that is reserved is released when it goes home: the debt comes first."""
    for promise in Reservation.objects.filter(
        holding__lot=lot,
        holding__place_id=source.place_id,
        holding__ref=source.ref,
        holding__quantity=1,
        status=Reservation.Status.HELD,
    ).select_related("need", "holding"):
        reservations.release(promise)


def all_loans() -> QuerySet[Loan]:
    """Every loan with `owed`, the pieces still out; newest first."""
    return (
        Loan.objects.select_related(
            "movement__lot__part__spec", "movement__from_place", "movement__to_place", "job"
        )
        .annotate(owed=ledger.still_owed("movement__"))
        .order_by("-id")
    )
