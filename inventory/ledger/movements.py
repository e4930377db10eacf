"""The movements between places, and their mirror images.

Each takes pieces from one holding and puts them in another, in one transaction; what cannot be done is
refused and nothing is changed.
"""

from typing import Any

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import F

from inventory.ledger.holdings import Spot, holdings_at, lock, mark_boards, put, stays_single, take
from inventory.models import Board, HandOver, Lot, Movement, Place
from inventory.ownership import may_dispose, refuse_anothers
from inventory.refusals import Code, NotEnough, Refused
from inventory.stock import KEPT_IN

Kind = Movement.Kind
Actor = User | None
"""Who did it; None where nobody is signed in, as at a terminal."""


def record(
    kind: str, lot: Lot, source: Spot, target: Spot, quantity: int, *, by: Actor, note: str = "", **more: Any
) -> Movement:
    mark_boards(source.place_id, target.place_id)
    return Movement.objects.create(
        kind=kind,
        lot=lot,
        quantity=quantity,
        from_place_id=source.place_id,
        from_ref=source.ref,
        to_place_id=target.place_id,
        to_ref=target.ref,
        by=by,
        note=note,
        **more,
    )


def shift(
    kind: str,
    lot: Lot,
    source: Spot,
    target: Spot,
    quantity: int,
    *,
    by: Actor,
    note: str = "",
    promised_out: int = 0,
    promised_in: int = 0,
    to_lot: Lot | None = None,
    for_owner: str = "",
    **more: Any,
) -> Movement:
    """Move pieces between two holdings and write the line; the caller is in a transaction.

    `for_owner` says what is done with them where nobody else may: refused (`not_yours`) by whoever it is not.
    """
    if quantity < 1:
        raise Refused(Code.OUT_OF_RANGE, f"a movement moves at least one piece, not {quantity}")
    arriving = to_lot or lot
    if source == target and arriving == lot:
        raise Refused(Code.SAME_PLACE, f"{lot} is there already")
    lock((lot.pk, source), (arriving.pk, target))
    if for_owner:
        _refuse_anothers(lot, by, for_owner)
    take(lot, source, quantity, promised_out)
    put(arriving, target, quantity, promised_in)
    return record(kind, lot, source, target, quantity, by=by, note=note, to_lot=to_lot, **more)


def _refuse_anothers(lot: Lot, by: Actor, what: str) -> None:
    """Its owner is read anew behind the lock of its holding, which whoever changes that locks too."""
    refuse_anothers(Lot.objects.select_related("part", "owner").get(pk=lot.pk), by, what)


def is_kept(spot: Spot) -> bool:
    """Whether pieces that are put there stay at hand, where their owner finds them: tidied, not taken."""
    return Place.objects.filter(pk=spot.place_id, type__in=KEPT_IN).exists()


def no_board(*spots: Spot, instead: str) -> None:
    """Pieces come to a board by fitting and leave it by lifting, so that needs and debts are kept."""
    board = Place.objects.filter(pk__in=[spot.place_id for spot in spots], type=Place.Type.BOARD).first()
    if board is not None:
        raise Refused(Code.A_BOARD, f"{board.name} is a board: {instead}", place=board.pk)


@transaction.atomic
def move(
    lot: Lot,
    source: Spot,
    target: Spot,
    quantity: int,
    *,
    by: Actor,
    note: str = "",
    promised: int = 0,
) -> Movement:
    """Move pieces to another place that is no board; `promised` of them keep their promise.

    Refused: another's (`not_yours`) to anywhere but a drawer or a tray.
    """
    no_board(source, target, instead="pieces are lifted from it and fitted to it, not moved")
    return shift(
        Kind.MOVE,
        lot,
        source,
        target,
        quantity,
        by=by,
        note=note,
        promised_out=promised,
        promised_in=promised,
        for_owner="" if is_kept(target) else "it is moved out of the drawers",
    )


_NOT_SHARED = frozenset(("id", "version", "split_from", "condition"))


def apart(lot: Lot, condition: str) -> Lot:
    """A lot of its own with its own condition, and all else as this one, for pieces out of it."""
    shared = [column.attname for column in Lot._meta.concrete_fields if column.name not in _NOT_SHARED]
    return Lot.objects.create(
        split_from=lot, condition=condition, **{name: getattr(lot, name) for name in shared}
    )


@transaction.atomic
def split(lot: Lot, at: Spot, quantity: int, *, condition: str, by: Actor, note: str = "") -> Movement:
    """Part of a lot becomes a lot of its own."""
    return shift(Kind.MOVE, lot, at, at, quantity, by=by, note=note, to_lot=apart(lot, condition))


@transaction.atomic
def merge(
    lot: Lot, into: Lot, source: Spot, target: Spot, quantity: int, *, by: Actor, note: str = ""
) -> Movement:
    """Pieces join another lot of the same part, origin, condition and owner.

    Refused: another's (`not_yours`) anywhere but in a drawer or a tray.
    """
    same = (
        "part_id",
        "condition",
        "origin_source",
        "origin_board_id",
        "origin_ref",
        "origin_from",
        "owner_id",
    )
    differing = [name.removesuffix("_id") for name in same if getattr(lot, name) != getattr(into, name)]
    if differing:
        raise Refused(
            Code.LOTS_DIFFER,
            f"{lot} and {into} differ in {', '.join(differing)}: merged, they forget where they came from",
            differing=differing,
        )
    no_board(source, target, instead="pieces are lifted from it and fitted to it, not merged")
    away = "" if is_kept(target) else "it is moved out of the drawers"
    return shift(Kind.MOVE, lot, source, target, quantity, by=by, note=note, to_lot=into, for_owner=away)


@transaction.atomic
def scrap(lot: Lot, source: Spot, quantity: int, *, by: Actor, note: str = "") -> Movement:
    """Put free pieces in the scrap bin.  Refused: another's (`not_yours`)."""
    no_board(source, instead="lift the piece first")
    bin_ = Spot(Place.scrap().pk)
    return shift(Kind.SCRAP, lot, source, bin_, quantity, by=by, note=note, for_owner="it is scrapped")


@transaction.atomic
def give_away(lot: Lot, source: Spot, quantity: int, *, by: Actor, note: str = "") -> Movement:
    """Free pieces leave the bench for good; `note` says to whom.  Refused: another's (`not_yours`)."""
    no_board(source, instead="lift the piece first")
    if quantity < 1:
        raise Refused(Code.OUT_OF_RANGE, f"a movement moves at least one piece, not {quantity}")
    lock((lot.pk, source))
    _refuse_anothers(lot, by, "it is given away")
    take(lot, source, quantity)
    return record(Kind.MOVE, lot, source, Spot(Place.outside().pk), quantity, by=by, note=note)


@transaction.atomic
def count(lot: Lot, at: Spot, quantity: int, *, by: Actor, note: str = "") -> Movement:
    """A stock-take: so many are really there.  The line carries the difference, to or from outside."""
    if quantity < 0:
        raise Refused(Code.OUT_OF_RANGE, f"a count is at least nought, not {quantity}")
    lock((lot.pk, at))
    here = holdings_at(lot.pk, at).first()
    held, kept = (here.quantity, here.promised) if here else (0, 0)
    if quantity < kept:
        raise NotEnough(
            Code.PROMISED, f"{lot}: {quantity} counted, {kept} are reserved: release them first",
            available=held - kept, held=held, promised=kept,
        )  # fmt: skip
    outside = Spot(Place.outside().pk)
    if quantity >= held:
        if quantity > held:
            put(lot, at, quantity - held)
            stays_single(lot)
        return record(Kind.COUNT, lot, outside, at, quantity - held, by=by, note=note)
    take(lot, at, held - quantity)
    return record(Kind.COUNT, lot, at, outside, held - quantity, by=by, note=note)


def _refuse_taking_back_anothers(line: Movement, arrived: Lot, target: Spot, by: Actor) -> None:
    """Their holdings are locked.  Whoever made a movement may take it back as long as the pieces are whose
    they were then."""
    known = Lot.objects.select_related("part", "owner")
    lot = known.get(pk=arrived.pk)
    if may_dispose(lot.owner, by):
        return
    if arrived.pk != line.lot_id and known.get(pk=line.lot_id).owner != lot.owner:
        refuse_anothers(lot, by, "it joins what is not theirs")
    if line.kind == Kind.LIFT:
        away = not Board.objects.filter(place=target.place_id, owner=lot.owner).exists()
    else:
        away = line.kind in (Kind.RECEIVE, Kind.MOVE) and not is_kept(target)
    own = by is not None and line.by_id == by.pk
    if away and not (own and not HandOver.objects.filter(lot=lot).exists()):
        refuse_anothers(lot, by, "its arrival is undone")


@transaction.atomic
def reverse(line: Movement, *, by: Actor, note: str = "", promised: int = 0) -> Movement:
    """Undo a movement by its mirror image.  `promised` of the pieces come back promised.

    What was judged as it came off is taken back with it, unless the piece was judged again since.
    Refused: where pieces of another's (`not_yours`) would leave the bench or the drawers, or become somebody
    else's.
    """
    if line.kind == Kind.REVERSE:
        raise Refused(
            Code.IS_A_REVERSAL, "a reversal is not reversed: make the movement again", movement=line.pk
        )
    list(Movement.objects.select_for_update().filter(pk=line.pk).values_list("id", flat=True))
    if Movement.objects.filter(reverses=line).exists():
        raise Refused(Code.REVERSED_ALREADY, f"movement {line.pk} was reversed before", movement=line.pk)
    if Movement.objects.filter(settles=line, reversed_by=None).exists():
        raise Refused(
            Code.LOAN_CLOSED,
            f"movement {line.pk} is a loan that was returned: reverse the return first",
            movement=line.pk,
        )
    outside = Place.outside().pk
    arrived = line.to_lot or line.lot
    source, target = Spot(line.to_place_id, line.to_ref), Spot(line.from_place_id, line.from_ref)
    carried = 0
    if line.quantity:
        lock((arrived.pk, source), (line.lot_id, target))
        if line.kind == Kind.LIFT:  # a promise made on the piece goes back with it
            here = holdings_at(arrived.pk, source).first()
            carried = min(here.promised, line.quantity) if here else 0
        _refuse_taking_back_anothers(line, arrived, target, by)
        if source.place_id != outside:
            take(arrived, source, line.quantity, carried)
        if target.place_id != outside:
            put(line.lot, target, line.quantity, carried or promised)
        if source.place_id == outside:
            stays_single(line.lot)
    if line.condition_before:
        Lot.objects.filter(pk=line.lot_id, condition=line.condition_after).update(
            condition=line.condition_before, version=F("version") + 1
        )
    try:
        with transaction.atomic():
            return record(
                Kind.REVERSE, arrived, source, target, line.quantity,
                by=by, note=note, reverses=line, to_lot=line.lot if line.to_lot_id else None,
            )  # fmt: skip
    except IntegrityError:
        raise Refused(
            Code.REVERSED_ALREADY, f"movement {line.pk} was reversed before", movement=line.pk
        ) from None
