"""Lenders: a board from which a piece is out is incomplete, and is proven again when the piece, or a like
one, is back.
"""

from collections.abc import Sequence

from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from inventory import ledger
from inventory.ledger import Actor, Refused
from inventory.models import Movement
from inventory.refusals import Code
from repairs.models import Job, Loan, Need
from repairs.proving_models import LoanProof

OUT, UNPROVEN, FAILED, PROVEN = "out", "unproven", "failed", "proven"
STATES = (OUT, UNPROVEN, FAILED, PROVEN)


@transaction.atomic
def prove(loan: Loan, *, by: Actor, when: str, passed: bool, reading: str = "", note: str = "") -> LoanProof:
    """Write down that the lender passed or failed.  Refused: of a person; after, while the piece is out."""
    loan = Loan.objects.select_for_update(of=("self",)).select_related("movement").get(pk=loan.pk)
    if not loan.movement.borrow:
        raise Refused(Code.NO_BOARD, "it was lent to a person: there is no board to prove")
    if when == LoanProof.When.AFTER and _is_out(loan):
        raise Refused(
            Code.OPEN_LOAN, "the piece is still out: put it, or a like one, back first", loan=loan.pk
        )
    return LoanProof.objects.create(loan=loan, when=when, passed=passed, reading=reading, note=note, by=by)


def refuse_borrowed(lot: int, need: Need) -> None:
    """Refused: a borrowed piece is owed back, and reserved for none but the job it was borrowed for."""
    for line in ledger.open_loans().filter(borrow=True, lot=lot):  # hardly ever any: names are read for those
        job = Job.objects.filter(loans__movement=line).first()
        if job is None or job.pk != need.job_id:
            raise Refused(
                Code.NOT_AT_HAND,
                f"{line.lot} is borrowed from {line.from_place}{f' for {job}' if job else ''} and owed back: "
                f"it is not reserved for {need.job}",
                lot=lot,
            )


def _is_out(loan: Loan) -> bool:
    return ledger.open_loans().filter(pk=loan.movement_id).exists()


def standing(loan: Loan) -> tuple[str, str]:
    """The lender's state, and in words."""
    return standings([loan])[0]


def standings(loans: Sequence[Loan]) -> list[tuple[str, str]]:
    """The state of the lender of each, in two queries."""
    out = set(
        ledger.open_loans().filter(pk__in=[loan.movement_id for loan in loans]).values_list("pk", flat=True)
    )
    proofs = LoanProof.objects.filter(loan__in=loans, when=LoanProof.When.AFTER).order_by("id")
    last = {proof.loan_id: proof for proof in proofs}
    return [_standing(loan, loan.movement_id in out, last.get(loan.pk)) for loan in loans]


def _standing(loan: Loan, out: bool, last: LoanProof | None) -> tuple[str, str]:
    ref = loan.movement.from_ref or "the piece"
    if out:
        return OUT, f"{ref} is out: incomplete, and not lent from again at that position"
    if last is None:
        return UNPROVEN, f"{ref} is back; the board has not been tried since"
    if not last.passed:
        return FAILED, f"{ref} is back and the board failed: {last.reading or 'no reading'}"
    return PROVEN, f"{ref} is back and the board passed"


def of_job(job: Job) -> list[tuple[Loan, str, str]]:
    """Loans for a job from working boards, each with the lender's state, and that in words."""
    rows = Loan.objects.filter(_lent_for(job), movement__borrow=True, movement__reversed_by=None)
    loans = list(rows.select_related("movement__from_place").order_by("id"))
    return [(loan, *state) for loan, state in zip(loans, standings(loans), strict=True)]


def unproven(job: Job) -> list[tuple[Loan, str]]:
    """Loans for a job whose piece is back while its lender was not tried since, or failed; each with why."""
    return [(loan, explanation) for loan, state, explanation in of_job(job) if state in (UNPROVEN, FAILED)]


def _lent_for(job: Job) -> Q:
    """Loans that name the job, and those whose piece went to its board while it was open."""
    if job.board is None:
        return Q(job=job)
    there = Movement.objects.filter(
        lot=OuterRef("movement__lot"), to_place=job.board.place_id, at__gte=job.opened,
        id__gte=OuterRef("movement_id"),
    )  # fmt: skip
    return Q(job=job) | Q(Exists(there), job=None)
