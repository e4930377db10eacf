"""Whether pieces may serve a need although they are somebody else's: by a yes of their owner alone.

Called behind the lock of the need or its job, with the holding locked: whoever changes whose a lot is locks
its holdings too, so that what is read here stays true until the reservation is committed.  The order of locks
is jobs, needs, what is asked, holdings, lots, boards.
"""

from collections.abc import Sequence

from django.contrib.auth.models import User
from django.db.models import F, Q, QuerySet, Sum
from django.utils import timezone

from inventory import ownership
from inventory.ledger import Actor
from inventory.models import Board, Lot
from repairs.models import Job, Need, PieceAsk, Reservation
from repairs.sharing_models import SpareMark

State = PieceAsk.State
ACTIVE = (Reservation.Status.HELD, Reservation.Status.FITTED)


def consent(
    need: Need, lot: int, quantity: int, *, by: Actor, ask: PieceAsk | None = None
) -> PieceAsk | None:
    """By whose yes these pieces may be reserved for the need, or fitted; None where none is needed.

    `ask` is the yes that a reservation of them had a moment ago.  What the owner reserves for another's job
    is given by that.  Refused (`not_yours`) without a yes that has so many pieces left.
    """
    owner = _owner_to_ask(lot, need)
    if owner is None:
        return None
    agreed = PieceAsk.objects.filter(need=need, state=State.AGREED)
    theirs = agreed.filter(Q(lot=lot, owner=owner) | Q(pk=ask.pk if ask else None))
    for each in sorted(theirs, key=lambda row: (ask is None or row.pk != ask.pk, row.pk)):
        if spent(each) + quantity <= each.quantity:
            return each
    if by is not None and by.pk == owner:
        return given(need, lot, quantity, by=by, note="")
    raise ownership.not_yours(_named(lot), f"it is used for {need.job.name}")


def _owner_to_ask(lot: int, need: Need) -> int | None:
    """Whose yes pieces of the lot want for the need; None where they are everybody's or the job's owner's."""
    owner = Lot.objects.values_list("owner_id", flat=True).get(pk=lot)
    if owner is None or owner == Job.objects.values_list("owner_id", flat=True).get(pk=need.job_id):
        return None
    return owner


def refuse_fitting_anothers(lot: Lot, board: Board, *, by: Actor) -> None:
    """Refused (`not_yours`): another's piece on a board that is not theirs, for no need it was given to."""
    owner = Lot.objects.values_list("owner_id", flat=True).get(pk=lot.pk)
    if owner is not None and owner != board.owner_id and (by is None or by.pk != owner):
        raise ownership.not_yours(_named(lot.pk), f"it is fitted to {board.name}")


def in_use(ask: PieceAsk) -> int:
    """Pieces that are reserved or fitted by this yes now."""
    used = Reservation.objects.filter(ask=ask, status__in=ACTIVE).aggregate(pieces=Sum("quantity"))
    return used["pieces"] or 0


SPENT = Q(status__in=ACTIVE) | Q(movement__isnull=False)
"""Reservations that use up a yes: reserved, or fitted once, wherever the pieces went since."""


def spent(ask: PieceAsk) -> int:
    """Pieces of this yes that are reserved, or were fitted: so many were given, once."""
    used = Reservation.objects.filter(SPENT, ask=ask).aggregate(pieces=Sum("quantity"))
    return used["pieces"] or 0


def still_stands(was: Reservation) -> bool:
    """Whether the pieces of a reservation may be reserved or fitted again, as they were: they need no yes,
    or the one behind them was not taken back."""
    if _owner_to_ask(was.holding.lot_id, was.need) is None:
        return True
    return PieceAsk.objects.filter(reservations=was, state=State.AGREED).exists()


def refuse_given_no_more(was: Reservation) -> None:
    """Refused (`not_yours`) where no yes is behind pieces that would be fitted again."""
    if not still_stands(was):
        raise ownership.not_yours(_named(was.holding.lot_id), f"it is used for {was.need.job.name}")


def end_asks(asks: QuerySet[PieceAsk], why: str, *, by: Actor) -> None:
    """End what is asked, or agreed to and not used: what it was for is no more.  `why` is its answer."""
    asks.update(
        state=State.WITHDRAWN, answer=why, answered_at=timezone.now(), answered_by=by,
        version=F("version") + 1,
    )  # fmt: skip


def end_asks_of_a_met_need(need: int) -> None:
    """What is still asked for a need, locked by the caller, ends once it has all that it wants."""
    met = Need.objects.filter(pk=need, quantity__lte=F("promised") + F("fitted"))
    end_asks(
        PieceAsk.objects.filter(need__in=met, state=State.ASKED), "it was filled from elsewhere", by=None
    )


def unused(asks: QuerySet[PieceAsk]) -> QuerySet[PieceAsk]:
    """Those agreed to of which nothing is reserved or fitted now."""
    used = Reservation.objects.filter(status__in=ACTIVE, ask__isnull=False).values("ask")
    return asks.filter(state=State.AGREED).exclude(pk__in=used)


def given(need: Need, lot: int, quantity: int, *, by: User, note: str) -> PieceAsk:
    """A yes that nobody asked for: `by` gives the pieces, or lets those be that are reserved."""
    return PieceAsk.objects.create(
        need=need, lot_id=lot, quantity=quantity, owner=by, state=State.AGREED, by=by, answered_by=by,
        answered_at=timezone.now(), answer=note,
    )  # fmt: skip


def lock_what_uses(lots: Sequence[int]) -> None:
    """Lock the jobs and needs that these lots are asked for or used for, then what is asked."""
    asked = PieceAsk.objects.filter(lot__in=lots, state__in=(State.ASKED, State.AGREED))
    used = Reservation.objects.filter(holding__lot__in=lots, status__in=ACTIVE)
    needs = Need.objects.filter(Q(pk__in=asked.values("need")) | Q(pk__in=used.values("need")))
    ids, jobs = sorted(needs.values_list("id", flat=True)), sorted(set(needs.values_list("job", flat=True)))
    for rows in (Job.objects.filter(pk__in=jobs), Need.objects.filter(pk__in=ids), asked):
        list(rows.select_for_update(no_key=True).order_by("id").values_list("id"))


def before_lots_change_hands(lots: Sequence[int], to: User | None, by: Actor) -> None:
    """What is reserved or fitted stays so, by the yes of whoever hands the lots over; a yes of which nothing
    is in use ends; who is asked for them is the new owner; the old one's ticks for friends are void."""
    new = to.pk if to else None
    if to is not None:
        used = Reservation.objects.filter(holding__lot__in=lots, status__in=ACTIVE, ask=None)
        keep(used.exclude(need__job__owner=new), owner=to, by=by)
    end_asks(unused(PieceAsk.objects.filter(lot__in=lots)), "the lot changed hands", by=by)
    open_asks = PieceAsk.objects.filter(lot__in=lots, state=State.ASKED)
    needless = open_asks.filter(need__job__owner=new) if new else open_asks
    end_asks(needless, "no yes is needed any more", by=by)
    if new is not None:
        open_asks.update(owner=to, version=F("version") + 1)
    SpareMark.objects.filter(lot__in=lots).delete()


def keep(used: QuerySet[Reservation], *, owner: User, by: Actor) -> None:
    """Give these reservations a yes of their own: what was reserved or fitted before is not taken back."""
    for reservation in used.select_related("need", "holding"):
        yes = PieceAsk.objects.create(
            need=reservation.need, lot_id=reservation.holding.lot_id, quantity=reservation.quantity,
            owner=owner, state=State.AGREED, by=reservation.by, answered_by=by,
            answered_at=timezone.now(), answer="it was reserved before it changed hands",
        )  # fmt: skip
        Reservation.objects.filter(pk=reservation.pk).update(ask=yes, version=F("version") + 1)


def without_a_yes() -> list[str]:
    """Reservations of pieces of another than the job's owner that no yes is behind, in words."""
    held = (
        Reservation.objects.filter(status=Reservation.Status.HELD, holding__lot__owner__isnull=False)
        .exclude(need__job__owner=F("holding__lot__owner"))
        .select_related("ask", "need__job", "holding__lot__owner")
        .order_by("id")
    )
    found = []
    for row in held:
        if row.ask is None or row.ask.state != State.AGREED or row.ask.need_id != row.need_id:
            whose = row.holding.lot.owner
            found.append(
                f"reservation {row.pk}: lot {row.holding.lot_id} is {whose}'s, who said no yes to "
                f"{row.need.job.name}"
            )
    agreed = PieceAsk.objects.filter(state=State.AGREED).annotate(
        used=Sum(
            "reservations__quantity",
            filter=Q(reservations__status__in=ACTIVE) | Q(reservations__movement__isnull=False),
        )
    )
    found += [
        f"ask {row.pk}: yes to {row.quantity} pieces, {row.used} are used"
        for row in agreed.filter(used__gt=F("quantity")).order_by("id")
    ]
    return found


def _named(lot: int) -> Lot:
    return Lot.objects.select_related("part", "owner").get(pk=lot)
