"""Lenders: a board from which a piece is out is incomplete, and is proven again when the piece, or a like
one, is back.
"""

from django.db import transaction

from inventory import ledger
from inventory.ledger import By, Refused
from repairs.models import Loan
from repairs.proving_models import LoanProof

OUT, UNPROVEN, FAILED, PROVEN = "out", "unproven", "failed", "proven"
STATES = (OUT, UNPROVEN, FAILED, PROVEN)


@transaction.atomic
def prove(loan: Loan, *, by: By, when: str, passed: bool, reading: str = "", note: str = "") -> LoanProof:
    """Write down that the lender passed or failed.  Refused: of a person; after, while the piece is out."""
    loan = Loan.objects.select_for_update(of=("self",)).select_related("movement").get(pk=loan.pk)
    if not loan.movement.borrow:
        raise Refused("not_a_board", "it was lent to a person: there is no board to prove")
    if when == LoanProof.When.AFTER and _is_out(loan):
        raise Refused("still_out", "the piece is still out: put it, or a like one, back first", loan=loan.pk)
    return LoanProof.objects.create(loan=loan, when=when, passed=passed, reading=reading, note=note, by=by)


def _is_out(loan: Loan) -> bool:
    return ledger.open_loans().filter(pk=loan.movement_id).exists()


def standing(loan: Loan) -> tuple[str, str]:
    """The lender's state, and in words."""
    ref = loan.movement.from_ref or "the piece"
    if _is_out(loan):
        return OUT, f"{ref} is out: incomplete, and not lent from again at that position"
    last = loan.proofs.filter(when=LoanProof.When.AFTER).order_by("-id").first()
    if last is None:
        return UNPROVEN, f"{ref} is back; nobody has tried the board since"
    if not last.passed:
        return FAILED, f"{ref} is back and the board failed: {last.reading or 'no reading'}"
    return PROVEN, f"{ref} is back and the board passed"
