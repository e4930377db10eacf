"""Promises: made, kept, carried along and given up.

A promise is two conditional updates, one on the need and one on the holding, and a row that joins them; the
database refuses either when it would be one too many.  Needs are always touched before holdings, so that two
callers who want the same pieces wait for each other in one order.  One file, so that the order is seen to
be the same in every verb.
"""

from collections.abc import Sequence
from typing import NamedTuple

from django.db import transaction
from django.db.models import F, Q

from inventory import ledger, stock
from inventory.ledger import Actor, NotEnough, Refused, Spot
from inventory.models import Board, Holding, Lot, Movement, Part, Place, StoredSpec
from inventory.ownership import refuse_anothers
from inventory.refusals import Code
from inventory.spec import Fit, Spec, is_safety_part
from repairs import hazards, lenders, purchases
from repairs.consent import (
    consent,
    end_asks_of_a_met_need,
    refuse_fitting_anothers,
    refuse_given_no_more,
    still_stands,
)
from repairs.friends import exchange
from repairs.models import Job, Need, PieceAsk, Reservation
from repairs.substitutions import Reading, judge, judge_at, judge_spec, spot_of
from repairs.supply_and_demand import read_spec
from repairs.webhooks import events

Status = Reservation.Status


class DoesNotFit(Refused):
    """The offered piece does not serve the requirement."""


def refuse_misfit(fit: Fit, lot: Lot, wanted: str) -> None:
    """Refused (`does_not_fit`) where the grade is no."""
    if fit.grade == "no":
        reasons = [
            f"{reason.property}: {reason.required} wanted, {reason.offered} offered ({reason.rule})"
            for reason in fit.reasons
            if reason.grade == "no"
        ]
        raise DoesNotFit(
            Code.DOES_NOT_FIT,
            f"{lot} does not serve {wanted}: {'; '.join(reasons)}",
            grade=fit.grade,
            reasons=reasons,
        )


def _change_need(need: Need, *, promised: int = 0, fitted: int = 0, was_short: bool = True) -> None:
    """One conditional update of a need's counts.  NotEnough where it would be given more than it wants.

    `was_short` is False where the same pieces go and come back: that closes nothing.
    """
    rows = Need.objects.filter(pk=need.pk)
    if promised + fitted > 0:
        rows = rows.filter(
            status=Need.Status.OPEN, quantity__gte=F("promised") + F("fitted") + (promised + fitted)
        )
    more = {"promised": promised, "fitted": fitted}
    if rows.update(**{count: F(count) + pieces for count, pieces in more.items() if pieces}):
        if was_short and promised + fitted > 0:
            events.shortage_closed(need.pk)
            end_asks_of_a_met_need(need.pk)
        return
    now = Need.objects.get(pk=need.pk)
    lacking = now.quantity - now.promised - now.fitted
    raise NotEnough(
        Code.NEED_IS_MET,
        f"{now.job.name} {now}: {promised + fitted} offered, {lacking} still wanted"
        + ("" if now.status == Need.Status.OPEN else f" (the need is {now.status})"),
        available=lacking,
    )


class _Held(NamedTuple):
    """What decides whether pieces of a holding may be reserved."""

    lot_id: int
    condition: str
    reading: Reading
    type: str
    place: str
    purpose: str | None
    spec: Spec

    @property
    def lot(self) -> Lot:
        return _named(self.lot_id)


def _read(holding: Holding) -> _Held:
    """To be made behind the job's lock: however old the caller's own rows are.

    Each row by its id, and no join: where PostgreSQL last counted the tables empty, it walks through the
    whole of one before it comes to the row.  Plain columns: all of a row takes twice as long.
    """
    lot_id, place_id = Holding.objects.values_list("lot_id", "place_id").get(pk=holding.pk)
    condition, measured, percent, part = Lot.objects.values_list(
        "condition", "measured", "measured_tolerance", "part_id"
    ).get(pk=lot_id)
    row = Part.objects.values_list("spec_id", flat=True).get(pk=part)
    key_hash = StoredSpec.objects.values_list("key_hash", flat=True).get(pk=row)
    kind, place = Place.objects.values_list("type", "name").get(pk=place_id)
    purpose = Board.objects.values_list("purpose", flat=True).filter(place=place_id).first()
    return _Held(lot_id, condition, (measured, percent), kind, place, purpose, read_spec(row, key_hash))


def refuse_unsound(lot: int, condition: str) -> None:
    """Refused (`faulty`): pieces that are faulty, or came off a board because they failed."""
    if condition == Lot.Condition.FAULTY:
        raise Refused(
            Code.FAULTY, f"{_named(lot)} is faulty: it cannot be reserved", lot=lot, condition="faulty"
        )
    if condition == Lot.Condition.SUSPECT and stock.failed_lots().filter(pk=lot).exists():
        raise Refused(
            Code.FAULTY,
            f"{_named(lot)} came off a board because it failed: test it before it is reserved",
            lot=lot,
            condition="suspect",
        )


def _named(lot: int) -> Lot:
    """Read for a refusal, to name it."""
    return Lot.objects.select_related("part__spec").get(pk=lot)


@transaction.atomic
def reserve(
    need: Need,
    holding: Holding,
    quantity: int,
    *,
    by: Actor,
    anyway: bool = False,
    again: bool = False,
    ask: PieceAsk | None = None,
) -> Reservation:
    """Promise free pieces of a holding to a need.

    Refused: more than is free or wanted, a faulty lot, a closed job, a piece borrowed for another, one that
    does not fit, another's without a yes.  `anyway` overrules the last but one, except for safety parts.
    `again`: these pieces were reserved for it a moment ago; `ask` is the yes behind them, where they are
    another's.
    """
    name, status = Job.objects.select_for_update().values_list("name", "status").get(pk=need.job_id)
    if status not in (Job.Status.OPEN, Job.Status.PARKED):
        raise Refused(Code.JOB_CLOSED, f"{name} is {status}: nothing is reserved for it")
    held = _read(holding)
    refuse_unsound(held.lot_id, held.condition)
    if held.type not in stock.KEPT_IN and held.purpose not in stock.LIFTED_FROM:
        raise Refused(
            Code.NOT_AT_HAND,
            f"{held.lot} is at {held.place}: pieces are reserved from drawers, trays and donors alone",
        )
    lenders.refuse_borrowed(held.lot_id, need)
    if not anyway or is_safety_part(need.spec.spec):
        fit = judge_spec(need.spec.spec, held.spec, held.reading, spot_of(need.job, need.ref))
        if fit.grade == "no":
            refuse_misfit(fit, held.lot, str(need))
    _change_need(need, promised=quantity, was_short=not again)
    ledger.promise(holding, quantity)
    yes = consent(need, held.lot_id, quantity, by=by, ask=ask)
    made = Reservation.objects.create(need=need, holding=holding, quantity=quantity, by=by, ask=yes)
    events.reservation_made(made)
    return made


def _claim(reservation: Reservation, status: str) -> None:
    """Turn a held promise into `status`, once: whoever comes second is told what it is now."""
    list(Need.objects.select_for_update().filter(pk=reservation.need_id).values_list("id", flat=True))
    changed = Reservation.objects.filter(pk=reservation.pk, status=Status.HELD).update(
        status=status, version=F("version") + 1
    )
    if not changed:
        now = Reservation.objects.select_related("need__spec").get(pk=reservation.pk)
        what = now.need.ref or now.need.spec.text
        raise Refused(Code.NOT_HELD, f"{what} is {now.status} already", status=now.status)


@transaction.atomic
def release(reservation: Reservation) -> Reservation:
    """Give the promise up; the pieces are free again."""
    _claim(reservation, Status.RELEASED)
    _change_need(reservation.need, promised=-reservation.quantity)
    ledger.release(reservation.holding, reservation.quantity)
    reservation.refresh_from_db()
    return reservation


@transaction.atomic
def free_up(holding: Holding, quantity: int) -> list[Reservation]:
    """Give up the latest promises on a holding until so many pieces are free; answers those given up."""
    given_up: list[Reservation] = []
    free = holding.quantity - holding.promised
    for promise in (
        holding.reservations.filter(status=Status.HELD).select_related("need", "holding").order_by("-id")
    ):
        if free >= quantity:
            break
        given_up.append(release(promise))
        free += promise.quantity
    return given_up


@transaction.atomic
def fit_promised(reservation: Reservation, *, by: Actor, note: str = "") -> Movement:
    """Fit the pieces of a promise to the job's board, at the need's position."""
    need, holding = reservation.need, reservation.holding
    board = need.job.board
    if board is None:
        raise Refused(Code.NO_BOARD, f"{need.job.name} has no board to fit to: give it one")
    if need.job.status != Job.Status.OPEN:
        raise Refused(Code.JOB_CLOSED, f"{need.job.name} is {need.job.status}: open it first")
    _claim(reservation, Status.FITTED)
    _change_need(need, promised=-reservation.quantity, fitted=reservation.quantity)
    line = ledger.fit(
        holding.lot,
        Spot(holding.place_id, holding.ref),
        board,
        need.ref,
        by=by,
        quantity=reservation.quantity,
        promised=reservation.quantity,
        note=note,
    )
    Reservation.objects.filter(pk=reservation.pk).update(movement=line)
    return line


@transaction.atomic
def fit(
    lot: Lot,
    source: Spot,
    board: Board,
    ref: str,
    *,
    by: Actor,
    quantity: int = 1,
    note: str = "",
    anyway: bool = False,
) -> Movement:
    """Fit a piece from a place to a position of a board.

    Where an open job needs that position filled, the need counts as met: a promise of this very piece is
    kept, and a promise of another one is given up.
    """
    if ref:
        ledger.refuse_taken(board, ref)
    need = (
        Need.objects.select_related("job__board", "spec")
        .filter(job__board=board, job__status=Job.Status.OPEN, ref=ref, status=Need.Status.OPEN)
        .order_by("job__priority", "id")
        .first()
        if ref
        else None
    )
    if need is None:
        position = (
            board.design.positions.select_related("spec").filter(ref=ref).first()
            if board.design and ref
            else None
        )
        if board.design and ref and position is None:
            raise Refused(Code.UNKNOWN_POSITION, f"{board.design} has no position {ref}", ref=ref)
        if position is not None and (not anyway or is_safety_part(position.spec.spec)):
            fit = judge_at(position.spec.spec, lot, (board.design_id, ref))
            refuse_misfit(fit, lot, str(position))
        line = ledger.fit(lot, source, board, ref, by=by, quantity=quantity, note=note)
        refuse_fitting_anothers(lot, board, by=by)
        return line
    was_short = need.quantity > need.promised + need.fitted
    for other in need.reservations.filter(status=Status.HELD).select_related("holding", "need__job__board"):
        here = other.holding
        if (here.lot_id, here.place_id, here.ref) == (lot.pk, source.place_id, source.ref):
            return fit_promised(other, by=by, note=note)
        release(other)
    if not anyway or is_safety_part(need.spec.spec):
        refuse_misfit(judge(need, lot), lot, str(need))
    _change_need(need, fitted=quantity, was_short=was_short)
    line = ledger.fit(lot, source, board, ref, by=by, quantity=quantity, note=note)
    holding = Holding.objects.get(lot=lot, place_id=source.place_id, ref=source.ref)
    Reservation.objects.create(
        need=need, holding=holding, quantity=quantity, status=Status.FITTED, movement=line, by=by,
        ask=consent(need, lot.pk, quantity, by=by),
    )  # fmt: skip
    return line


FAILED = (Lot.Condition.SUSPECT, Lot.Condition.FAULTY)
"""How a piece comes off that failed."""


@transaction.atomic
def remove(
    board: Board,
    ref: str,
    to: Spot,
    *,
    by: Actor,
    lot: Lot | None = None,
    quantity: int = 1,
    condition: str | None = None,
    note: str = "",
) -> Movement:
    """Take a fitted piece off again; the need that it met is open again.

    One that failed (`condition`) is reserved for nobody any more.  Refused: off another's board, or of what
    came with one and is another's.
    """
    _refuse_anothers(board, ref, to, lot, by)
    here = ledger.piece_at(board, ref) if lot is None else None
    leaving = lot or (here.lot if here else None)
    unfit(board, ref, leaving)
    if here is not None and condition in FAILED:
        free_up(here, here.quantity)
    return ledger.remove(board, ref, to, by=by, lot=lot, quantity=quantity, condition=condition, note=note)


def _refuse_anothers(board: Board, ref: str, to: Spot, lot: Lot | None, by: Actor) -> None:
    """A board that is being repaired is worked on by the whole bench, as any job is: what comes off it then
    stays its owner's and is kept at hand.  What was fitted to a board may come off it again, whosever it was.
    """
    repaired = board.purpose not in stock.LIFTED_FROM and board.jobs.filter(status=Job.Status.OPEN).exists()
    if repaired and ledger.is_kept(to):
        return
    what = f"{ref or 'a piece'} is taken off"
    refuse_anothers(board, by, what)
    there = Holding.objects.filter(place_id=board.place_id, ref=ref, quantity__gt=0)
    came_with_it = there.filter(lot__origin_board=board).select_related("lot__part", "lot__owner")
    for here in came_with_it if lot is None else came_with_it.filter(lot=lot):
        if not Movement.objects.filter(
            lot=here.lot, kind=Movement.Kind.FIT, to_place=board.place_id
        ).exists():
            refuse_anothers(here.lot, by, what)


def unfit(board: Board, ref: str, lot: Lot | None) -> None:
    """Whatever fitted this lot there no longer meets its need."""
    kept = Reservation.objects.filter(
        need__job__board=board, need__ref=ref, holding__lot=lot, status=Status.FITTED
    ).select_related("need")
    for reservation in kept:
        _change_need(reservation.need, fitted=-reservation.quantity)
        Reservation.objects.filter(pk=reservation.pk).update(status=Status.RELEASED, version=F("version") + 1)


def _meet_again(line: Movement) -> None:
    """A piece that is back in the position it was fitted to meets its need again, instead of a promise."""
    was = (
        Reservation.objects.filter(
            Q(movement__isnull=False) | Q(holding__place_id=line.from_place_id),
            need__job__board__place_id=line.from_place_id,
            need__ref=line.from_ref,
            need__status=Need.Status.OPEN,
            holding__lot=line.lot,
            status=Status.RELEASED,
        )
        .select_related("need__job", "holding")
        .order_by("-id")
        .first()
    )
    if was is None or not line.from_ref:
        return
    refuse_given_no_more(was)
    for other in was.need.reservations.filter(status=Status.HELD).select_related("need", "holding"):
        release(other)
    _change_need(was.need, fitted=was.quantity)
    Reservation.objects.filter(pk=was.pk).update(status=Status.FITTED, version=F("version") + 1)


def _carry(moved: Sequence[Reservation], target: Holding) -> None:
    Reservation.objects.filter(pk__in=[reservation.pk for reservation in moved]).update(
        holding=target, version=F("version") + 1
    )


@transaction.atomic
def move(lot: Lot, source: Spot, target: Spot, quantity: int, *, by: Actor, note: str = "") -> Movement:
    """Move pieces to another place, the free ones first.

    When everything there moves, the promises move along; otherwise no more than what is free.
    """
    here = (
        Holding.objects.select_for_update()
        .filter(lot=lot, place_id=source.place_id, ref=source.ref, quantity=quantity, promised__gt=0)
        .first()
    )
    if here is None:
        return ledger.move(lot, source, target, quantity, by=by, note=note)
    line = ledger.move(lot, source, target, quantity, by=by, note=note, promised=here.promised)
    _follow(here, lot, target)
    return line


def _follow(old: Holding, lot: Lot, target: Spot) -> None:
    """Promises of a holding whose promised pieces all went elsewhere follow them there."""
    held = list(old.reservations.filter(status=Status.HELD))
    if held:
        _carry(held, Holding.objects.get(lot=lot, place_id=target.place_id, ref=target.ref))


@transaction.atomic
def lift(board: Board, refs: Sequence[str], to: Spot, *, by: Actor, **how: object) -> list[Movement]:
    """Lift pieces off a board; a promise made while the piece was still on it follows the piece,
    unless it failed.

    Refused where the board, or a piece, is not worked on here at all; another's that failed, or that is
    reserved for nothing.
    """
    hazards.refuse_blocked(board, refs)
    if how.get("condition") in FAILED:
        for ref in refs:
            if there := ledger.piece_at(board, ref):
                free_up(there, there.quantity)
    lines = ledger.lift(board, refs, to, by=by, **how)  # type: ignore[arg-type]
    for line in lines:
        lifted = line.to_lot or line.lot
        for old in Holding.objects.filter(
            lot=line.lot, place_id=line.from_place_id, ref=line.from_ref, reservations__status=Status.HELD
        ).distinct():
            _follow(old, lifted, to)
        unfit(board, line.from_ref, line.lot)
        if lifted.condition == Lot.Condition.FAULTY:
            for here in lifted.holdings.filter(place_id=to.place_id, ref=to.ref):
                free_up(here, here.quantity)
    return lines


@transaction.atomic
def reverse(line: Movement, *, by: Actor, note: str = "") -> Movement:
    """Undo a movement, and what it did to promises.

    A fitted promise is held again, or given up where its job is closed or no yes is behind it any more; a
    need whose piece is back is met, which is refused for another's without a yes (`not_yours`); a purchase
    that was received is on order again.
    """
    fitted = line.reservations.select_related("need__job", "holding").filter(status=Status.FITTED).first()
    if fitted is not None:
        _change_need(fitted.need, promised=fitted.quantity, fitted=-fitted.quantity)
    mirror = ledger.reverse(line, by=by, note=note, promised=fitted.quantity if fitted else 0)
    if fitted is not None:
        Reservation.objects.filter(pk=fitted.pk).update(
            status=Status.HELD, movement=None, version=F("version") + 1
        )
        closed = fitted.need.job.status not in (Job.Status.OPEN, Job.Status.PARKED)
        if closed or not still_stands(fitted):
            release(fitted)
    if line.kind in (Movement.Kind.REMOVE, Movement.Kind.LIFT, Movement.Kind.RETURN):
        _meet_again(line)
    if line.kind == Movement.Kind.RECEIVE:
        purchases.take_back_arrival(line.lot_id)
        exchange.take_back_arrival(line.lot_id)
    if line.kind == Movement.Kind.LIFT:
        lifted = line.to_lot or line.lot
        for old in Holding.objects.filter(
            lot=lifted, place_id=line.to_place_id, ref=line.to_ref, reservations__status=Status.HELD
        ).distinct():
            _follow(old, line.lot, Spot(line.from_place_id, line.from_ref))
    return mirror


def differences() -> list[str]:
    """Each count of promises that is not what the reservations make it, in words."""
    promised: dict[int, int] = {}
    wanted: dict[int, list[int]] = {}
    for holding, need, quantity, status in (
        Reservation.objects.exclude(status=Status.RELEASED)
        .values_list("holding_id", "need_id", "quantity", "status")
        .iterator()
    ):
        counts = wanted.setdefault(need, [0, 0])
        if status == Status.HELD:
            promised[holding] = promised.get(holding, 0) + quantity
            counts[0] += quantity
        else:
            counts[1] += quantity
    found = [
        f"lot {lot} at place {place}{f' {ref}' if ref else ''}: {recorded} reserved, "
        f"reservations make {promised.get(pk, 0)}"
        for pk, lot, place, ref, recorded in Holding.objects.order_by("id").values_list(
            "id", "lot_id", "place_id", "ref", "promised"
        )
        if recorded != promised.get(pk, 0)
    ]
    for pk, held, fitted in Need.objects.order_by("id").values_list("id", "promised", "fitted"):
        should = wanted.get(pk, [0, 0])
        if [held, fitted] != should:
            found.append(
                f"need {pk}: {held} reserved and {fitted} fitted, "
                f"reservations make {should[0]} and {should[1]}"
            )
    return found
