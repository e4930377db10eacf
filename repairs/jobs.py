"""Opening a job makes its needs; closing one gives back what it no longer wants."""

from collections.abc import Sequence
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils import timezone

from inventory import ownership
from inventory.ledger import Actor, NotEnough, Refused, open_loans
from inventory.models import Board, Holding, Position, StoredSpec
from inventory.refs import split_ref
from inventory.refusals import Code
from inventory.roles import OWNER, may_act_as
from inventory.spec import Spec
from repairs import consent, lenders, purchases
from repairs.models import Job, Need, PieceAsk, Reservation
from repairs.proving_models import BenchEntry
from repairs.readiness import left_empty
from repairs.reservations import release

Status = Job.Status
CLOSED = (Status.DONE, Status.ABANDONED)


@transaction.atomic
def open_job(*, refs: str | Sequence[str] = (), by: Actor, **columns: Any) -> Job:
    """A new job with a need at each reference of its board's design.

    `refs="all"` wants every position; those filled already count as fitted.  Named references are wanted
    again, whatever is in them now.  Refused: another's, by anybody but an owner of the bench (`not_yours`).
    """
    _refuse_making_it_anothers(columns.get("owner"), columns["name"], by)
    job = Job.objects.create(**columns)
    if refs:
        add_needs(job, refs, by=by)
    return job


@transaction.atomic
def add_needs(job: Job, refs: str | Sequence[str], *, by: Actor) -> list[Need]:
    """Needs for positions of the job's board; Refused where there is no such position."""
    _refuse_closed(job)
    if job.board is None or job.board.design is None:
        raise Refused(Code.NO_DESIGN, f"{job.name} has no board with a design: give its needs one by one")
    positions = {position.ref: position for position in job.board.design.positions.select_related("spec")}
    wanted = list(positions) if refs == "all" else list(dict.fromkeys(refs))
    unknown = [ref for ref in wanted if ref not in positions]
    if unknown:
        raise Refused(
            Code.UNKNOWN_POSITION, f"{job.board.design} has no position {', '.join(unknown)}", refs=unknown
        )
    _refuse_known(job, wanted)
    by_rule = left_empty(job.board) if refs == "all" else {}
    made = [_need(job, positions[ref], by_rule.get(ref, "")) for ref in wanted]
    needs = Need.objects.bulk_create(made, batch_size=500)
    if refs == "all":
        _count_filled(job.board, needs, by)
    return needs


@transaction.atomic
def add_need(job: Job, *, spec: Spec, ref: str = "", quantity: int = 1, note: str = "") -> Need:
    """A need with a Spec of its own, whatever the design says: at a position of the job's board, or loose."""
    _refuse_closed(job)
    if ref:
        design = job.board.design if job.board is not None else None
        if design is not None and not design.positions.filter(ref=ref).exists():
            raise Refused(Code.UNKNOWN_POSITION, f"{design} has no position {ref}", refs=[ref])
        _refuse_known(job, [ref])
    return Need.objects.create(job=job, spec=StoredSpec.keep(spec), ref=ref, quantity=quantity, note=note)


def _refuse_closed(job: Job) -> None:
    if job.status in CLOSED:
        raise Refused(Code.JOB_CLOSED, f"{job.name} is {job.status}: open it first", status=job.status)


def _refuse_known(job: Job, refs: Sequence[str]) -> None:
    known = dict(job.needs.filter(ref__in=refs).values_list("ref", "status"))
    if known:
        listed = [ref if status == Need.Status.OPEN else f"{ref} ({status})" for ref, status in known.items()]
        raise Refused(
            Code.NEED_EXISTS,
            f"{job.name} has a need for {', '.join(listed)} already",
            refs=sorted(known, key=split_ref),
        )


def _need(job: Job, position: Position, empty: str) -> Need:
    """`empty` says why nothing is wanted there now."""
    if empty:
        note = f"left empty: {empty}"[:400]
        return Need(job=job, ref=position.ref, spec=position.spec, status=Need.Status.DROPPED, note=note)
    return Need(job=job, ref=position.ref, spec=position.spec, note=position.note)


def _count_filled(board: Board, needs: Sequence[Need], by: Actor) -> None:
    """Positions that hold a piece already are met by it."""
    filled = {
        holding.ref: holding
        for holding in Holding.objects.filter(place_id=board.place_id, quantity__gt=0).exclude(ref="")
    }
    met = [need for need in needs if need.ref in filled and need.status == Need.Status.OPEN]
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
    """Park, reopen, finish or abandon a job.

    Refused: to close while a piece for it is owed, or its lender was not tried since; to finish without a
    symptom and a cause, or with things left to do.
    """
    job = Job.objects.select_for_update(of=("self",)).select_related("board").get(pk=job.pk)
    if status in CLOSED:
        _refuse_debts(job)
        if status == Status.DONE:
            _refuse_unfinished(job)
        for reservation in (
            Reservation.objects.filter(need__job=job, status=Reservation.Status.HELD)
            .select_related("need", "holding")
            .order_by("holding_id")
        ):
            release(reservation)
        consent.end_asks(_asked(job.needs.all()), f"the job is {status}", by=None)
    closed = timezone.now() if status in CLOSED else None
    Job.objects.filter(pk=job.pk).update(status=status, closed=closed, version=F("version") + 1)
    job.refresh_from_db()
    return job


def _refuse_debts(job: Job) -> None:
    owed = list(
        open_loans()
        .filter(Q(loan__job=job) | Q(borrow=True, to_place__board__jobs=job) | _fitted_to(job))
        .select_related("from_place")
        .distinct()
    )
    if owed:
        debts = [f"{loan.from_place.name} {loan.from_ref}".strip() for loan in owed]
        raise Refused(
            Code.OPEN_LOAN,
            f"{job.name} still owes {', '.join(debts)}: return the piece, or a like one, first",
            loans=[loan.pk for loan in owed],
            owed=debts,
        )
    untried = lenders.unproven(job)
    if untried:
        reasons = "; ".join(f"{loan.movement.from_place.name}: {why}" for loan, why in untried)
        raise Refused(
            Code.LENDER_UNPROVEN,
            f"{reasons}. Switch the lender on, try it, and write down at the loan that it passed after; "
            f"then {job.name} can be closed",
            loans=[loan.pk for loan, _why in untried],
        )


def _refuse_unfinished(job: Job) -> None:
    if not job.cause.strip():
        raise Refused(Code.CAUSE_MISSING, f"{job.name}: say the cause, or that none was found")
    if not job.symptom.strip():
        raise Refused(Code.SYMPTOM_MISSING, f"{job.name}: say what was wrong with it")
    left = list(job.entries.filter(kind=BenchEntry.Kind.TASK, done=None).values_list("text", flat=True))
    if left:
        raise Refused(Code.TASKS_LEFT, f"{job.name}: still to do: {'; '.join(left[:5])}", tasks=left)


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
    """A need that is not wanted after all; its promises are released, and nothing is asked for it."""
    for reservation in need.reservations.filter(status=Reservation.Status.HELD).select_related(
        "need", "holding"
    ):
        release(reservation)
    consent.end_asks(_asked(Need.objects.filter(pk=need.pk)), "it is not wanted after all", by=None)
    Need.objects.filter(pk=need.pk).update(status=Need.Status.DROPPED, version=F("version") + 1)


def _asked(needs: QuerySet[Need]) -> QuerySet[PieceAsk]:
    return PieceAsk.objects.filter(need__in=needs, state=PieceAsk.State.ASKED)


@transaction.atomic
def want_again(need: Need) -> None:
    """A need that was dropped is wanted after all."""
    _refuse_closed(need.job)
    Need.objects.filter(pk=need.pk).update(status=Need.Status.OPEN, version=F("version") + 1)


@transaction.atomic
def change(job: Job, *, version: int, by: Actor, **columns: Any) -> Job:
    """Change what can be changed of a job.  Refused where somebody did so since `version` was read."""
    job = Job.objects.select_for_update(of=("self",)).select_related("board").get(pk=job.pk)
    if job.version != version:
        raise Refused(Code.STALE, f"{job.name} was changed since you opened it", version=job.version)
    if "board" in columns:
        refuse_board_change(job, columns["board"])
    if "owner" in columns:
        before_owner_changes(job, columns["owner"], by=by)
    Job.objects.filter(pk=job.pk).update(**columns, version=F("version") + 1)
    job.refresh_from_db()
    return job


def refuse_need_change(need: Need, **columns: Any) -> None:
    """Refused where what is changed of a need, locked by the caller, would belie what it was given."""
    held = need.promised + need.fitted
    given = f"{need.job} {need}: {need.promised} promised and {need.fitted} fitted"
    if columns.get("quantity", need.quantity) < held:
        raise NotEnough(Code.NEED_IS_MET, f"{given}: it needs {held} or more", available=held)
    changed = [name for name in ("spec", "ref") if name in columns and columns[name] != getattr(need, name)]
    if changed and held:
        raise Refused(
            Code.NEED_IS_MET,
            f"{given} for what it says now: release or remove them first",
            promised=need.promised,
            fitted=need.fitted,
        )
    if "ref" in changed and columns["ref"]:
        _refuse_known(need.job, [columns["ref"]])


def refuse_board_change(job: Job, board: Board | None) -> None:
    """Refused where pieces were fitted for a job, locked by the caller, on the board that it has now."""
    if board != job.board and job.needs.filter(fitted__gt=0).exists():
        raise Refused(
            Code.IN_USE, f"{job.board} has pieces that were fitted for {job.name}", board=job.board_id
        )


def _refuse_making_it_anothers(owner: User | None, name: str, by: Actor) -> None:
    """What is somebody's own serves their jobs without a yes: so a job becomes theirs by them alone, or by an
    owner of the bench."""
    if owner is not None and owner != by and (by is None or not may_act_as(by, OWNER)):
        raise Refused(
            Code.NOT_YOURS,
            f"{name} becomes {owner.username}'s by {owner.username} alone, or by an owner of the bench: make "
            f"it everybody's, and {owner.username} takes it",
            owner=owner.username,
        )


def before_owner_changes(job: Job, owner: User | None, *, by: Actor) -> None:
    """What is reserved or fitted for a job, locked by the caller, of its owner's own stays so, by their yes;
    what is asked of its new owner for it is not asked any more; what is on order for it goes with it.

    Refused (`not_yours`) where another than they hands the job on while it has pieces of theirs, and where it
    would become somebody's who did not take it, but by an owner of the bench.
    """
    if owner == job.owner:
        return
    _refuse_making_it_anothers(owner, job.name, by)
    if owner is not None:
        asked = PieceAsk.objects.filter(need__job=job, owner=owner, state=PieceAsk.State.ASKED)
        consent.end_asks(asked, "no yes is needed any more", by=by)
    own = Reservation.objects.filter(
        need__job=job, status__in=consent.ACTIVE, ask=None, holding__lot__owner=job.owner_id
    )
    if job.owner is None:
        return
    purchases.follow_job(job, owner)
    if not own.exists():
        return
    if not ownership.may_dispose(job.owner, by):
        raise Refused(
            Code.NOT_YOURS,
            f"pieces of {job.owner.username}'s own are reserved for {job.name} or fitted: only "
            f"{job.owner.username} hands it on, or release and remove them first",
            owner=job.owner.username,
        )
    consent.keep(own, owner=job.owner, by=by)


@transaction.atomic
def forget_job(job: Job) -> None:
    """Delete a job that nothing was done for yet; one with a history is abandoned instead."""
    _refuse_history(job, job.needs.all(), lent=job.loans.count(), instead="abandon")
    job.delete()


@transaction.atomic
def forget_need(need: Need) -> None:
    """Delete a need that nothing was given to yet; one with a history is dropped instead."""
    _refuse_history(need, Need.objects.filter(pk=need.pk), lent=0, instead="drop")
    need.delete()


def _refuse_history(row: Job | Need, needs: QuerySet[Need], *, lent: int, instead: str) -> None:
    given = Reservation.objects.filter(need__in=needs).count()
    if given or lent:
        raise Refused(
            Code.IN_USE,
            f"{row} has a history of {given} promises and {lent} loans: {instead} it instead",
            reservations=given,
            loans=lent,
        )
