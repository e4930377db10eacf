"""Opening a job makes its needs; closing one gives back what it no longer wants."""

from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from inventory.ledger import By, Refused, open_loans
from inventory.models import Board, Holding, Position
from repairs.models import Job, Need, Reservation
from repairs.reservations import release

Status = Job.Status


@transaction.atomic
def open_job(*, refs: str | Sequence[str] = (), by: By, **columns: Any) -> Job:
    """A new job with a need at each reference of its board's design.

    `refs="all"` wants every position; those filled already count as fitted.  Named references are wanted anew,
    whatever is in them now.
    """
    job = Job.objects.create(**columns)
    if refs:
        add_needs(job, refs, by=by)
    return job


@transaction.atomic
def add_needs(job: Job, refs: str | Sequence[str], *, by: By) -> list[Need]:
    """Needs for positions of the job's board; Refused where there is no such position."""
    if job.board is None or job.board.design is None:
        raise Refused("no_design", f"{job.name} has no board with a design: give its needs one by one")
    positions = {position.ref: position for position in job.board.design.positions.select_related("spec")}
    wanted = list(positions) if refs == "all" else list(dict.fromkeys(refs))
    unknown = [ref for ref in wanted if ref not in positions]
    if unknown:
        raise Refused(
            "unknown_position", f"{job.board.design} has no position {', '.join(unknown)}", refs=unknown
        )
    clash = set(job.needs.filter(ref__in=wanted).values_list("ref", flat=True))
    if clash:
        raise Refused(
            "need_exists", f"{job.name} needs {', '.join(sorted(clash))} already", refs=sorted(clash)
        )
    needs = Need.objects.bulk_create([_need(job, positions[ref]) for ref in wanted], batch_size=500)
    if refs == "all":
        _count_filled(job.board, needs, by)
    return needs


def _need(job: Job, position: Position) -> Need:
    return Need(job=job, ref=position.ref, spec=position.spec, note=position.note)


def _count_filled(board: Board, needs: Sequence[Need], by: By) -> None:
    """Positions that hold a piece already are met by it."""
    filled = {
        holding.ref: holding
        for holding in Holding.objects.filter(place_id=board.place_id, quantity__gt=0).exclude(ref="")
    }
    met = [need for need in needs if need.ref in filled]
    Reservation.objects.bulk_create(
        [
            Reservation(
                need=need, holding=filled[need.ref], quantity=1, status=Reservation.Status.FITTED, by=by
            )
            for need in met
        ],
        batch_size=500,
    )
    Need.objects.filter(pk__in=[need.pk for need in met]).update(fitted=1)


@transaction.atomic
def set_status(job: Job, status: str) -> Job:
    """Park, reopen, finish or abandon a job.  Finishing is refused while a loan for it is open."""
    job = Job.objects.select_for_update().get(pk=job.pk)
    if status in (Status.DONE, Status.ABANDONED):
        owed = list(
            open_loans()
            .filter(Q(loan__job=job) | Q(borrow=True, to_place__board__jobs=job) | _fitted_to(job))
            .select_related("from_place")
            .distinct()
        )
        if owed:
            debts = [f"{loan.from_place.name} {loan.from_ref}".strip() for loan in owed]
            raise Refused(
                "open_loan",
                f"{job.name} still owes {', '.join(debts)}: return the piece, or a like one, first",
                loans=[loan.pk for loan in owed],
                owed=debts,
            )
        for reservation in (
            Reservation.objects.filter(need__job=job, status=Reservation.Status.HELD)
            .select_related("need", "holding")
            .order_by("holding_id")
        ):
            release(reservation)
    closed = timezone.now() if status in (Status.DONE, Status.ABANDONED) else None
    Job.objects.filter(pk=job.pk).update(status=status, closed=closed, version=F("version") + 1)
    job.refresh_from_db()
    return job


def _fitted_to(job: Job) -> Q:
    """Loans whose very piece is on the job's board now."""
    if job.board is None:
        return Q(pk__in=[])
    return Q(
        borrow=True,
        lot__in=Holding.objects.filter(place_id=job.board.place_id, quantity__gt=0).values("lot_id"),
    )


@transaction.atomic
def drop_need(need: Need) -> None:
    """A need that is not wanted after all; its promises are released."""
    for reservation in need.reservations.filter(status=Reservation.Status.HELD).select_related(
        "need", "holding"
    ):
        release(reservation)
    Need.objects.filter(pk=need.pk).update(status=Need.Status.DROPPED, version=F("version") + 1)
