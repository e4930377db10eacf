"""What is owed: pieces lent to people, and pieces borrowed from working boards."""

from django.db import transaction
from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from inventory.ledger.holdings import Spot
from inventory.ledger.movements import By, Kind, no_board, shift
from inventory.ledger.refusals import NotEnough, Refused
from inventory.models import Lot, Movement, Place
from inventory.spec import fits


@transaction.atomic
def lend(lot: Lot, source: Spot, person: Place, quantity: int, *, by: By, note: str = "") -> Movement:
    """Lend free pieces to a person."""
    if person.type != Place.Type.PERSON:
        raise Refused("not_a_person", f"{person.name} is not a person: pieces are lent to people")
    no_board(source, instead="lift the piece first")
    return shift(Kind.LEND, lot, source, Spot(person.pk), quantity, by=by, note=note)


def open_loans() -> QuerySet[Movement]:
    """Borrowings and lendings of which pieces are still owed; `owed` says how many."""
    return (
        Movement.objects.filter(Q(borrow=True) | Q(kind=Kind.LEND), reversed_by=None)
        .annotate(
            settled=Coalesce(Sum("settled_by__quantity", filter=Q(settled_by__reversed_by=None)), 0),
            owed=F("quantity") - F("settled"),
        )
        .filter(owed__gt=0)
    )


@transaction.atomic
def give_back(
    loan: Movement,
    *,
    by: By,
    lot: Lot | None = None,
    source: Spot | None = None,
    to: Spot | None = None,
    quantity: int | None = None,
    promised: int = 0,
    note: str = "",
) -> Movement:
    """Return what is owed: to the lender's position the piece or a like one, or pieces from a person.

    A borrowing is settled by the same piece, or by another whose Spec fits as `same` or `drop_in`.
    """
    owed = open_loans().filter(pk=loan.pk).first()
    if owed is None:
        raise Refused("loan_closed", "nothing is owed on this loan any more", loan=loan.pk)
    giving = lot or loan.lot
    if giving.pk != loan.lot_id:
        fit_ = fits(loan.lot.part.spec.spec, giving.part.spec.spec)
        if not loan.borrow or fit_.grade not in ("same", "drop_in"):
            raise Refused(
                "not_like",
                f"{giving} is not a like piece for {loan.lot}",
                grade=fit_.grade,
                reasons=[reason.rule for reason in fit_.reasons],
            )
        if giving.condition == Lot.Condition.FAULTY:
            raise Refused("faulty", f"{giving} is faulty: it is not given back for a good one", lot=giving.pk)
    if source is None:
        if loan.borrow:
            here = giving.holdings.filter(quantity__gt=0).order_by("id").first()
            if here is None:
                raise NotEnough(
                    "not_enough", f"{giving}: no piece left to return", available=0, held=0, promised=0
                )
            source = Spot(here.place_id, here.ref)
        else:
            source = Spot(loan.to_place_id)
    target = (
        Spot(loan.from_place_id, loan.from_ref)
        if loan.borrow
        else (to or Spot(loan.from_place_id, loan.from_ref))
    )
    if not loan.borrow:
        no_board(target, instead="take the pieces to a tray, then fit them to it")
    left: int = owed.owed  # type: ignore[attr-defined]  # annotated by open_loans
    count = quantity if quantity is not None else (1 if loan.borrow else left)
    if count > left:
        raise NotEnough("not_owed", f"{count} to return, {left} owed", available=left)
    return shift(
        Kind.RETURN, giving, source, target, count, by=by, note=note, settles=loan, promised_out=promised
    )
