"""Whether pieces may serve a need although they are somebody else's: by a yes of their owner alone.

Called behind the lock of the need or its job, with the holding locked: whoever changes whose a lot is locks
its holdings first, so that what is read here stays true until the reservation is committed.
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
    owner = Lot.objects.values_list("owner_id", flat=True).get(pk=lot)
    if owner is None or owner == Job.objects.values_list("owner_id", flat=True).get(pk=need.job_id):
        return None
    agreed = PieceAsk.objects.filter(need=need, state=State.AGREED).order_by("id")
    for each in agreed.filter(Q(lot=lot) | Q(pk=ask.pk if ask else None)):
        if in_use(each) + quantity <= each.quantity:
            return each
    if by is not None and by.pk == owner:
        return given(need, lot, quantity, by=by, note="")
    raise ownership.not_yours(_named(lot), f"it is used for {need.job.name}")


def refuse_fitting_anothers(lot: Lot, board: Board, *, by: Actor) -> None:
    """Refused (`not_yours`): another's piece on a board that is not theirs, for no need it was given to."""
    owner = Lot.objects.values_list("owner_id", flat=True).get(pk=lot.pk)
    if owner is not None and owner != board.owner_id and (by is None or by.pk != owner):
        raise ownership.not_yours(_named(lot.pk), f"it is fitted to {board.name}")


def in_use(ask: PieceAsk) -> int:
    """Pieces that are reserved or fitted by this yes."""
    used = Reservation.objects.filter(ask=ask, status__in=ACTIVE).aggregate(pieces=Sum("quantity"))
    return used["pieces"] or 0


def given(need: Need, lot: int, quantity: int, *, by: User, note: str) -> PieceAsk:
    """A yes that nobody asked for: `by` gives the pieces, or lets those be that are reserved."""
    return PieceAsk.objects.create(
        need=need, lot_id=lot, quantity=quantity, owner=by, state=State.AGREED, by=by, answered_by=by,
        answered_at=timezone.now(), answer=note,
    )  # fmt: skip


def before_lots_change_hands(lots: Sequence[int], to: User | None, by: Actor) -> None:
    """What is reserved stays reserved, by the yes of whoever hands the lots over; who is asked for them is
    the new owner; the old one's ticks for friends are void."""
    new = to.pk if to else None
    if to is not None:
        held = Reservation.objects.filter(
            holding__lot__in=lots, status=Reservation.Status.HELD, ask=None
        ).exclude(need__job__owner=new)
        keep(held, owner=to, by=by)
    open_asks = PieceAsk.objects.filter(lot__in=lots, state=State.ASKED)
    needless = open_asks.filter(need__job__owner=new) if new else open_asks
    needless.update(
        state=State.WITHDRAWN, answer="no yes is needed any more", answered_at=timezone.now(),
        answered_by=by, version=F("version") + 1,
    )  # fmt: skip
    if new is not None:
        open_asks.update(owner=to, version=F("version") + 1)
    SpareMark.objects.filter(lot__in=lots).delete()


def keep(held: QuerySet[Reservation], *, owner: User, by: Actor) -> None:
    """Give these reservations a yes of their own: what was reserved before is not taken back."""
    for reservation in held.select_related("need", "holding"):
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
        used=Sum("reservations__quantity", filter=Q(reservations__status__in=ACTIVE))
    )
    found += [
        f"ask {row.pk}: yes to {row.quantity} pieces, {row.used} are used"
        for row in agreed.filter(used__gt=F("quantity")).order_by("id")
    ]
    return found


def _named(lot: int) -> Lot:
    return Lot.objects.select_related("part", "owner").get(pk=lot)
