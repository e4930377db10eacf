"""What is owed: pieces lent to people, and pieces borrowed from working boards."""

from django.db import transaction
from django.db.models import Case, F, IntegerField, Q, QuerySet, Sum, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce

from inventory.ledger.holdings import Spot
from inventory.ledger.movements import Actor, Kind, no_board, shift
from inventory.models import Lot, Movement, Place
from inventory.refusals import Code, NotEnough, Refused
from inventory.spec import fits


@transaction.atomic
def lend(lot: Lot, source: Spot, person: Place, quantity: int, *, by: Actor, note: str = "") -> Movement:
    """Lend free pieces to a person.  Refused: another's (`not_yours`)."""
    if person.type != Place.Type.PERSON:
        raise Refused(Code.NOT_A_PERSON, f"{person.name} is not a person: pieces are lent to people")
    no_board(source, instead="lift the piece first")
    return shift(Kind.LEND, lot, source, Spot(person.pk), quantity, by=by, note=note, for_owner="it is lent")


def still_owed(loan: str = "") -> Combinable:
    """To annotate: how many pieces of a borrowing or lending are out; none of one that was reversed.

    `loan` is the path from the row to that movement, as `movement__`.
    """
    back = Sum(f"{loan}settled_by__quantity", filter=Q(**{f"{loan}settled_by__reversed_by": None}))
    return Case(
        When(**{f"{loan}reversed_by__isnull": False}, then=0),
        default=F(f"{loan}quantity") - Coalesce(back, 0),
        output_field=IntegerField(),
    )


def open_loans() -> QuerySet[Movement]:
    """Borrowings and lendings of which pieces are still owed; `owed` says how many."""
    loans = Movement.objects.filter(Q(borrow=True) | Q(kind=Kind.LEND), reversed_by=None)
    return loans.annotate(owed=still_owed()).filter(owed__gt=0)


def borrowed_lots() -> QuerySet[Movement, int]:
    """The ids of lots lifted from working boards and not back: owed, and so free for nobody else."""
    return open_loans().filter(borrow=True).values_list("lot_id", flat=True)


@transaction.atomic
def give_back(
    loan: Movement,
    *,
    by: Actor,
    lot: Lot | None = None,
    source: Spot | None = None,
    to: Spot | None = None,
    quantity: int | None = None,
    promised: int = 0,
    note: str = "",
) -> Movement:
    """Return what is owed: to the lender's position the piece or a like one, or pieces from a person.

    A borrowing is settled by the same piece, or by another whose Spec fits as `same` or `drop_in`, which its
    owner alone gives (`not_yours`).
    """
    owed = open_loans().filter(pk=loan.pk).first()
    if owed is None:
        raise Refused(Code.LOAN_CLOSED, "nothing is owed on this loan now", loan=loan.pk)
    giving = lot or loan.lot
    if giving.pk != loan.lot_id:
        fit_ = fits(loan.lot.part.spec.spec, giving.part.spec.spec)
        if not loan.borrow or fit_.grade not in ("same", "drop_in"):
            raise Refused(
                Code.DOES_NOT_FIT,
                f"{giving} is not a like piece for {loan.lot}",
                grade=fit_.grade,
                reasons=[reason.rule for reason in fit_.reasons],
            )
        if giving.condition == Lot.Condition.FAULTY:
            raise Refused(
                Code.FAULTY, f"{giving} is faulty: it is not given back for a good one", lot=giving.pk
            )
    if source is None:
        if loan.borrow:
            here = giving.holdings.filter(quantity__gt=0).order_by("id").first()
            if here is None:
                raise NotEnough(
                    Code.NOT_ENOUGH, f"{giving}: no piece left to return", available=0, held=0, promised=0
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
        raise NotEnough(Code.NOT_OWED, f"{count} to return, {left} owed", available=left)
    return shift(
        Kind.RETURN, giving, source, target, count, by=by, note=note, settles=loan, promised_out=promised,
        for_owner="" if giving.pk == loan.lot_id else "it is given back for another",
    )  # fmt: skip
