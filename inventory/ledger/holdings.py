"""Holdings: how many pieces are where, changed by conditional updates that the database decides.

Where several change, they are locked in the order of their ids first, so that two movements that cross wait
for each other instead of deadlocking.
"""

from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.db.models import F, Q, QuerySet, Sum

from inventory.models import Board, Holding, Lot, Place
from inventory.refusals import Code, NotEnough, PositionTaken, Refused


@dataclass(frozen=True)
class Spot:
    """A place, and on a board the position."""

    place_id: int
    ref: str = ""


def spot_of(place: Place, ref: str = "") -> Spot:
    """A spot; refused outside, where nothing is kept, and for a reference at a place that is no board."""
    if place.type == Place.Type.OUTSIDE:
        raise Refused(
            Code.OUTSIDE,
            f"{place.name} is not a place to keep pieces: scrap, lend or count them",
            place=place.pk,
        )
    if ref and place.type != Place.Type.BOARD:
        raise Refused(Code.NOT_A_BOARD, f"{place.name} is not a board: it has no position {ref}")
    return Spot(place.pk, ref)


def holdings_at(lot_id: int, spot: Spot) -> QuerySet[Holding]:
    return Holding.objects.filter(lot_id=lot_id, place_id=spot.place_id, ref=spot.ref)


def lock(*keys: tuple[int, Spot]) -> None:
    """Lock these holdings in the order of their ids (PostgreSQL; SQLite locked everything at BEGIN)."""
    wanted = Q()
    for lot_id, spot in keys:
        wanted |= Q(lot_id=lot_id, place_id=spot.place_id, ref=spot.ref)
    list(Holding.objects.select_for_update().filter(wanted).order_by("id").values_list("id", flat=True))


def mark_boards(*places: int) -> None:
    """Give the boards among these places their next version, before the movement is written.

    Whoever looked at one before sees that it is not the same any more; and as the row stays locked until the
    movement is committed, movements on one board have their ids in the order in which they take effect.
    """
    Board.objects.filter(place__in=places).update(version=F("version") + 1)


def take(lot: Lot, spot: Spot, quantity: int, promised: int = 0) -> None:
    """Take pieces out of a holding: `promised` of them with their promise, the rest free ones."""
    taken = (
        holdings_at(lot.pk, spot)
        .filter(promised__gte=promised, quantity__gte=F("promised") + (quantity - promised))
        .update(quantity=F("quantity") - quantity, promised=F("promised") - promised)
    )
    if not taken:
        here = holdings_at(lot.pk, spot).first()
        held, kept = (here.quantity, here.promised) if here else (0, 0)
        where = Place.objects.get(pk=spot.place_id).name + (f" {spot.ref}" if spot.ref else "")
        raise NotEnough(
            Code.NOT_ENOUGH,
            f"{lot}: {quantity} asked from {where}, {held - kept} free there ({held} held, {kept} reserved)",
            available=held - kept,
            held=held,
            promised=kept,
        )


def put(lot: Lot, spot: Spot, quantity: int, promised: int = 0) -> None:
    """Put pieces into a holding, making it where there was none."""
    try:
        with transaction.atomic():
            added = holdings_at(lot.pk, spot).update(
                quantity=F("quantity") + quantity, promised=F("promised") + promised
            )
            if not added:
                Holding.objects.create(
                    lot=lot, place_id=spot.place_id, ref=spot.ref, quantity=quantity, promised=promised
                )
            return
    except IntegrityError:
        there = Holding.objects.filter(place_id=spot.place_id, ref=spot.ref, quantity__gt=0).first()
        if spot.ref and (there is not None or quantity > 1):
            place = Place.objects.get(pk=spot.place_id)
            raise PositionTaken(
                Code.POSITION_TAKEN,
                f"{place.name} {spot.ref} holds {there.lot if there else 'one piece at most'}",
                lot=there.lot_id if there else None,
                available=0,
            ) from None
    # A twin made the holding between the two statements: it is there now.
    holdings_at(lot.pk, spot).update(quantity=F("quantity") + quantity, promised=F("promised") + promised)


def promise(holding: Holding, quantity: int) -> None:
    """Promise free pieces of a holding: one conditional update.  NotEnough where fewer are free."""
    done = Holding.objects.filter(pk=holding.pk, quantity__gte=F("promised") + quantity).update(
        promised=F("promised") + quantity
    )
    if not done:
        now = Holding.objects.get(pk=holding.pk)
        free = now.quantity - now.promised
        raise NotEnough(
            Code.NOT_ENOUGH,
            f"{now.lot}: {quantity} wanted, {free} free",
            available=free,
            held=now.quantity,
            promised=now.promised,
        )


def release(holding: Holding, quantity: int) -> None:
    """Give promised pieces of a holding back to the free ones."""
    done = Holding.objects.filter(pk=holding.pk, promised__gte=quantity).update(
        promised=F("promised") - quantity
    )
    if not done:
        raise NotEnough(Code.NOT_PROMISED, f"{quantity} to release, fewer are reserved", available=0)


def piece_at(board: Board, ref: str) -> Holding | None:
    """What is at a position of a board now."""
    return (
        Holding.objects.select_related("lot__part__spec")
        .filter(place_id=board.place_id, ref=ref, quantity__gt=0)
        .first()
    )


def refuse_taken(board: Board, ref: str) -> None:
    """PositionTaken where a position of a board holds a piece."""
    there = piece_at(board, ref)
    if there is not None:
        raise PositionTaken(
            Code.POSITION_TAKEN, f"{board.name} {ref} holds {there.lot}", lot=there.lot_id, available=0
        )


def family(lot: Lot) -> QuerySet[Lot]:
    """The lots that one salvaged piece has been: itself, and what was split from it."""
    return Lot.objects.filter(origin_board=lot.origin_board_id, origin_ref=lot.origin_ref)


def stays_single(lot: Lot) -> None:
    """What came off a board position is one piece for life; call it after anything comes from outside."""
    if not lot.origin_ref:
        return
    list(family(lot).select_for_update().order_by("id").values_list("id", flat=True))
    total = Holding.objects.filter(lot__in=family(lot)).aggregate(total=Sum("quantity"))["total"]
    if total > 1:
        raise Refused(
            Code.ONE_PIECE,
            f"{lot.origin_board} {lot.origin_ref} gave one piece: there cannot be {total} of it",
            lot=lot.pk,
            available=0,
        )
