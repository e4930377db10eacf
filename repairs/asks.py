"""Another's pieces are asked for: asked, answered by their owner, or taken back by whoever asked.

The owner's yes itself reserves the pieces, by the conditional updates of every reservation: there is no
moment at which they are given and still free.  The job is locked first, as wherever pieces are reserved,
then the need.
"""

from django.db import IntegrityError, transaction
from django.db.models import F, QuerySet, Sum
from django.utils import timezone

from inventory import ownership, stock
from inventory.ledger import Actor, NotEnough, Refused
from inventory.models import Board, Holding, Lot
from inventory.refusals import Code
from repairs import lenders, reservations
from repairs.consent import State, in_use
from repairs.models import Job, Need, PieceAsk
from repairs.substitutions import judge

OPEN_JOB = (Job.Status.OPEN, Job.Status.PARKED)


@transaction.atomic
def ask(need: Need, lot: Lot, quantity: int, *, by: Actor, note: str = "") -> PieceAsk:
    """Ask the owner of a lot for pieces of it, for this need.

    Refused: what needs no yes (`needs_no_ask`), of somebody who left (`not_yours`), asked already
    (`asked_already`), and whatever no yes could reserve: for a job that is not open, more than is free or
    wanted, what is faulty, borrowed for another job or does not fit.
    """
    job = Job.objects.select_for_update().get(pk=need.job_id)
    need = Need.objects.select_related("job__board", "spec").get(pk=need.pk)
    lot = Lot.objects.select_related("part__spec", "owner", "origin_board").get(pk=lot.pk)
    owner = lot.owner
    if owner is None or owner.pk == job.owner_id:
        whose = "everybody's" if owner is None else f"{owner.username}'s own, as the job is"
        raise Refused(Code.NEEDS_NO_ASK, f"{lot} is {whose}: reserve it", lot=lot.pk)
    if not ownership.is_here(owner):
        raise ownership.not_yours(lot, f"it is used for {job.name}")
    if job.status not in OPEN_JOB:
        raise Refused(Code.JOB_CLOSED, f"{job.name} is {job.status}: nothing is asked for it")
    lacking = need.quantity - need.promised - need.fitted
    if need.status != Need.Status.OPEN or not 1 <= quantity <= lacking:
        raise NotEnough(
            Code.NEED_IS_MET, f"{job.name} {need}: {quantity} asked for, {lacking} still wanted",
            available=lacking,
        )  # fmt: skip
    reservations.refuse_unsound(lot.pk, lot.condition)
    lenders.refuse_borrowed(lot.pk, need)
    here = free(lot)
    if quantity > here:
        raise NotEnough(Code.NOT_ENOUGH, f"{lot}: {quantity} asked for, {here} free", available=here)
    reservations.refuse_misfit(judge(need, lot), lot, str(need))
    try:
        with transaction.atomic():
            return PieceAsk.objects.create(
                need=need, lot=lot, quantity=quantity, owner=owner, by=by, note=note
            )
    except IntegrityError:
        raise Refused(Code.ASKED_ALREADY, f"{owner.username} was asked for {lot} for it already") from None


@transaction.atomic
def answer(asked: PieceAsk, yes: bool, *, by: Actor, note: str = "") -> PieceAsk:
    """Say yes, which reserves the pieces, or no; a yes of which nothing is in use may become a no.

    Refused: by anybody but the owner of the lot (`not_yours`), twice (`answered_already`); a yes where less
    is free or wanted by now, the job is closed, and whatever else a reservation is refused for.
    """
    _lock_what_it_is_for(asked)
    asked = PieceAsk.objects.select_related("need__job__board", "need__spec", "lot__owner").get(pk=asked.pk)
    ownership.refuse_anothers(asked.lot, by, "a request for it is answered")
    if yes or asked.state != State.AGREED:
        _settle(asked, State.AGREED if yes else State.DECLINED, (State.ASKED,), by, note)
    elif used := in_use(asked):
        raise Refused(
            Code.ANSWERED_ALREADY, f"{used} of them are reserved or fitted: release them first",
            state=asked.state,
        )  # fmt: skip
    else:
        _settle(asked, State.DECLINED, (State.AGREED,), by, note)
    asked.refresh_from_db()
    if yes:
        _reserve(asked, by)
    return asked


@transaction.atomic
def withdraw(asked: PieceAsk, *, by: Actor) -> PieceAsk:
    """Take back what was asked.  Refused: by anybody but who asked or whose the job is, or once answered."""
    _lock_what_it_is_for(asked)
    asked = PieceAsk.objects.select_related("need__job", "by").get(pk=asked.pk)
    if by is not None and by.pk not in (asked.by_id, asked.need.job.owner_id):
        name = asked.by.username if asked.by else "the terminal"
        raise Refused(Code.NOT_YOURS, f"{name} asked for it: only they take that back", owner=name)
    _settle(asked, State.WITHDRAWN, (State.ASKED,), by, "")
    asked.refresh_from_db()
    return asked


def _lock_what_it_is_for(asked: PieceAsk) -> None:
    list(Job.objects.select_for_update().filter(pk=asked.need.job_id).values_list("id"))
    list(Need.objects.select_for_update().filter(pk=asked.need_id).values_list("id"))


def _settle(asked: PieceAsk, state: str, was: tuple[str, ...], by: Actor, note: str) -> None:
    """One conditional update: whoever comes second is told what it is now."""
    changed = PieceAsk.objects.filter(pk=asked.pk, state__in=was).update(
        state=state, answered_by=by, answered_at=timezone.now(), answer=note, version=F("version") + 1
    )
    if not changed:
        now = PieceAsk.objects.values_list("state", flat=True).get(pk=asked.pk)
        raise Refused(Code.ANSWERED_ALREADY, f"it is {now} already", state=now)


def _reserve(asked: PieceAsk, by: Actor) -> None:
    left = asked.quantity
    for row in _free(asked.lot):
        pieces = min(left, row.quantity - row.promised)
        if pieces:
            reservations.reserve(asked.need, row, pieces, by=by, ask=asked)
            left -= pieces
    if left:
        raise NotEnough(
            Code.NOT_ENOUGH, f"{asked.lot}: {asked.quantity} asked for, {asked.quantity - left} free by now",
            available=asked.quantity - left,
        )  # fmt: skip


def _free(lot: Lot) -> QuerySet[Holding]:
    """Where free pieces of it lie that may be reserved, in the order in which holdings are locked."""
    at_hand = Holding.objects.filter(lot=lot, quantity__gt=F("promised"))
    boards = Board.objects.filter(purpose__in=stock.LIFTED_FROM).values("place")
    return (at_hand.filter(place__type__in=stock.KEPT_IN) | at_hand.filter(place__in=boards)).order_by("id")


def free(lot: Lot) -> int:
    """Pieces of it that a yes could reserve."""
    return sum(row.quantity - row.promised for row in _free(lot))


def waiting(asks: QuerySet[PieceAsk]) -> QuerySet[PieceAsk]:
    """Those that nobody answered yet, with what pages and lists tell of each, the oldest first."""
    return told(asks.filter(state=State.ASKED)).order_by("id")


def told(asks: QuerySet[PieceAsk]) -> QuerySet[PieceAsk]:
    return asks.select_related("need__job", "need__spec", "lot__part__spec", "owner", "by", "answered_by")


def asked_by_requirement() -> dict[tuple[int, int], int]:
    """Pieces that wait for an answer, by requirement and job."""
    rows = PieceAsk.objects.filter(state=State.ASKED).order_by().values_list("need__spec", "need__job")
    return {(spec, job): pieces for spec, job, pieces in rows.annotate(Sum("quantity"))}
