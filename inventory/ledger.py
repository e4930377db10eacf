"""The ledger: the only code that writes movements and holdings.

Every piece is in exactly one place.  A movement takes pieces from one holding and puts them in another in one
transaction, by conditional updates that the database decides; what cannot be done is refused with a reason and
the facts, and nothing is changed.  A mistake is undone by a reversing line.

Where several holdings change, they are locked in the order of their ids first, so that two movements that cross
wait for each other instead of deadlocking.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from inventory.models import Board, Holding, Lot, Movement, Part, Place
from inventory.spec import fits

Kind = Movement.Kind
By = User | None


class Refused(Exception):
    """The ledger will not do it.  `code` is stable, `facts` says what is available and why."""

    def __init__(self, code: str, detail: str, **facts: Any) -> None:
        self.code, self.detail, self.facts = code, detail, facts
        super().__init__(detail)


class NotEnough(Refused):
    """More was asked for than is held or free there."""


class PositionTaken(Refused):
    """The position on the board holds a piece already."""


class KnownPiece(Refused):
    """The piece from that board position is on record already: it is one piece, and one lot, for life."""


class Gone(Refused):
    """The piece was taken off that board before."""


@dataclass(frozen=True)
class Spot:
    """A place, and on a board the position."""

    place_id: int
    ref: str = ""


@dataclass(frozen=True)
class Origin:
    """Where pieces came from: a board and reference, or a source and whoever it was."""

    source: str = Lot.Source.UNKNOWN
    board: Board | None = None
    ref: str = ""
    giver: str = ""

    def columns(self) -> dict[str, Any]:
        return {
            "origin_source": self.source,
            "origin_board": self.board,
            "origin_ref": self.ref,
            "origin_from": self.giver,
        }


@dataclass(frozen=True)
class Arrival:
    """Pieces that come in: one lot of so many, to one spot."""

    part: Part
    quantity: int
    to: Spot
    origin: Origin = field(default_factory=Origin)
    condition: str = Lot.Condition.UNTESTED
    marking: str = ""
    note: str = ""
    measured: int | None = None


def spot_of(place: Place, ref: str = "") -> Spot:
    """A spot, refused where a reference is given for a place that is no board, and outside: nothing is kept there."""
    if place.type == Place.Type.OUTSIDE:
        raise Refused(
            "outside", f"{place.name} is no place to keep pieces: scrap, lend or count them", place=place.pk
        )
    if ref and place.type != Place.Type.BOARD:
        raise Refused("no_positions", f"{place.name} is not a board: it has no position {ref}")
    return Spot(place.pk, ref)


# --- holdings ------------------------------------------------------------------------------------------------


def _held(lot_id: int, spot: Spot) -> QuerySet[Holding]:
    return Holding.objects.filter(lot_id=lot_id, place_id=spot.place_id, ref=spot.ref)


def _lock(*keys: tuple[int, Spot]) -> None:
    """Lock these holdings in the order of their ids (PostgreSQL; SQLite locked everything at BEGIN)."""
    wanted = Q()
    for lot_id, spot in keys:
        wanted |= Q(lot_id=lot_id, place_id=spot.place_id, ref=spot.ref)
    list(Holding.objects.select_for_update().filter(wanted).order_by("id").values_list("id", flat=True))


def _take(lot: Lot, spot: Spot, quantity: int, promised: int = 0) -> None:
    """Take pieces out of a holding: `promised` of them with their promise, the rest free ones."""
    taken = (
        _held(lot.pk, spot)
        .filter(promised__gte=promised, quantity__gte=F("promised") + (quantity - promised))
        .update(quantity=F("quantity") - quantity, promised=F("promised") - promised)
    )
    if not taken:
        here = _held(lot.pk, spot).first()
        held, kept = (here.quantity, here.promised) if here else (0, 0)
        where = Place.objects.get(pk=spot.place_id).name + (f" {spot.ref}" if spot.ref else "")
        raise NotEnough(
            "not_enough",
            f"{lot}: {quantity} wanted from {where}, {held - kept} free there ({held} held, {kept} promised)",
            available=held - kept,
            held=held,
            promised=kept,
        )


def _put(lot: Lot, spot: Spot, quantity: int, promised: int = 0) -> None:
    """Put pieces into a holding, making it where there was none."""
    try:
        with transaction.atomic():
            added = _held(lot.pk, spot).update(
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
                "position_taken",
                f"{place.name} {spot.ref} holds {there.lot if there else 'one piece at most'}",
                lot=there.lot_id if there else None,
                available=0,
            ) from None
    # A twin made the holding between the two statements: it is there now.
    _held(lot.pk, spot).update(quantity=F("quantity") + quantity, promised=F("promised") + promised)


def _record(
    kind: str, lot: Lot, source: Spot, target: Spot, quantity: int, *, by: By, note: str = "", **more: Any
) -> Movement:
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


def _shift(
    kind: str,
    lot: Lot,
    source: Spot,
    target: Spot,
    quantity: int,
    *,
    by: By,
    note: str = "",
    promised_out: int = 0,
    promised_in: int = 0,
    to_lot: Lot | None = None,
    **more: Any,
) -> Movement:
    """Move pieces between two holdings and write the line; the caller is in a transaction."""
    if quantity < 1:
        raise Refused("quantity", f"a movement moves at least one piece, not {quantity}")
    arriving = to_lot or lot
    if source == target and arriving == lot:
        raise Refused("same_place", f"{lot} is there already")
    _lock((lot.pk, source), (arriving.pk, target))
    _take(lot, source, quantity, promised_out)
    _put(arriving, target, quantity, promised_in)
    return _record(kind, lot, source, target, quantity, by=by, note=note, to_lot=to_lot, **more)


def _no_board(*spots: Spot, instead: str) -> None:
    """Pieces come to a board by fitting and leave it by lifting, so that needs and debts are kept."""
    board = Place.objects.filter(pk__in=[spot.place_id for spot in spots], type=Place.Type.BOARD).first()
    if board is not None:
        raise Refused("a_board", f"{board.name} is a board: {instead}", place=board.pk)


def _family(lot: Lot) -> QuerySet[Lot]:
    """The lots that one salvaged piece has been: itself, and what was split from it."""
    return Lot.objects.filter(origin_board=lot.origin_board_id, origin_ref=lot.origin_ref)


def _stays_single(lot: Lot) -> None:
    """What came off one position of a board is one piece for life; call it after anything comes from outside."""
    if not lot.origin_ref:
        return
    list(_family(lot).select_for_update().order_by("id").values_list("id", flat=True))
    total = Holding.objects.filter(lot__in=_family(lot)).aggregate(total=Sum("quantity"))["total"]
    if total > 1:
        raise Refused(
            "one_piece",
            f"{lot.origin_board} {lot.origin_ref} gave one piece: there cannot be {total} of it",
            lot=lot.pk,
            available=0,
        )


def promise(holding: Holding, quantity: int) -> None:
    """Promise free pieces of a holding: one conditional update.  NotEnough where fewer are free."""
    done = Holding.objects.filter(pk=holding.pk, quantity__gte=F("promised") + quantity).update(
        promised=F("promised") + quantity
    )
    if not done:
        now = Holding.objects.get(pk=holding.pk)
        free = now.quantity - now.promised
        raise NotEnough(
            "not_enough_free",
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
        raise NotEnough("not_promised", f"{quantity} to release, fewer are promised", available=0)


# --- the movements -------------------------------------------------------------------------------------------


@transaction.atomic
def receive(arrival: Arrival, *, by: By) -> Movement:
    """New pieces from outside become a lot at a spot."""
    return receive_all([arrival], by=by)[0]


@transaction.atomic
def receive_all(arrivals: Sequence[Arrival], *, by: By) -> list[Movement]:
    """Many arrivals at once, in a constant number of queries for each 500."""
    outside = Place.outside()
    for arrival in arrivals:
        if arrival.quantity < 1:
            raise Refused(
                "quantity", f"{arrival.part}: at least one piece is received, not {arrival.quantity}"
            )
        if arrival.origin.ref and arrival.quantity > 1:
            raise Refused(
                "one_piece",
                f"{arrival.origin.board} {arrival.origin.ref} gave one piece, not {arrival.quantity}",
            )
    try:
        with transaction.atomic():
            lots = Lot.objects.bulk_create(
                [
                    Lot(
                        part=arrival.part,
                        condition=arrival.condition,
                        marking=arrival.marking,
                        measured=arrival.measured,
                        note=arrival.note,
                        **arrival.origin.columns(),
                    )
                    for arrival in arrivals
                ],
                batch_size=500,
            )
    except IntegrityError:
        raise _known_piece(arrivals) from None
    try:
        with transaction.atomic():
            Holding.objects.bulk_create(
                [
                    Holding(
                        lot=lot, place_id=arrival.to.place_id, ref=arrival.to.ref, quantity=arrival.quantity
                    )
                    for lot, arrival in zip(lots, arrivals, strict=True)
                ],
                batch_size=500,
            )
    except IntegrityError:
        taken = [
            arrival
            for arrival in arrivals
            if arrival.to.ref
            and (
                arrival.quantity > 1
                or Holding.objects.filter(
                    place_id=arrival.to.place_id, ref=arrival.to.ref, quantity__gt=0
                ).exists()
            )
        ]
        refs = ", ".join(sorted({arrival.to.ref for arrival in taken})) or "a position"
        raise PositionTaken("position_taken", f"{refs}: a position holds one piece", available=0) from None
    return Movement.objects.bulk_create(
        [
            Movement(
                kind=Kind.RECEIVE,
                lot=lot,
                quantity=arrival.quantity,
                from_place=outside,
                to_place_id=arrival.to.place_id,
                to_ref=arrival.to.ref,
                by=by,
            )
            for lot, arrival in zip(lots, arrivals, strict=True)
        ],
        batch_size=500,
    )


def _known_piece(arrivals: Iterable[Arrival]) -> KnownPiece:
    """Which of the arrivals is a piece that is on record, or is named twice."""
    for arrival in arrivals:
        board, ref = arrival.origin.board, arrival.origin.ref
        if board is None or not ref:
            continue
        if known := Lot.objects.filter(origin_board=board, origin_ref=ref, split_from=None).first():
            return KnownPiece(
                "known_piece", f"{board.name} {ref} is on record: {known}", lot=known.pk, ref=ref
            )
    return KnownPiece("known_piece", "the same board position is given twice")


@transaction.atomic
def move(
    lot: Lot,
    source: Spot,
    target: Spot,
    quantity: int,
    *,
    by: By,
    note: str = "",
    promised: int = 0,
) -> Movement:
    """Move pieces to another place that is no board; `promised` of them keep their promise."""
    _no_board(source, target, instead="pieces are lifted from it and fitted to it, not moved")
    return _shift(
        Kind.MOVE,
        lot,
        source,
        target,
        quantity,
        by=by,
        note=note,
        promised_out=promised,
        promised_in=promised,
    )


@transaction.atomic
def split(lot: Lot, at: Spot, quantity: int, *, condition: str, by: By, note: str = "") -> Movement:
    """Part of a lot becomes a lot of its own, with its own condition and the same origin."""
    apart = Lot.objects.create(
        part=lot.part,
        origin_source=lot.origin_source,
        origin_board=lot.origin_board,
        origin_ref=lot.origin_ref,
        origin_from=lot.origin_from,
        split_from=lot,
        condition=condition,
        marking=lot.marking,
        measured=lot.measured,
        note=lot.note,
    )
    return _shift(Kind.MOVE, lot, at, at, quantity, by=by, note=note, to_lot=apart)


@transaction.atomic
def merge(
    lot: Lot, into: Lot, source: Spot, target: Spot, quantity: int, *, by: By, note: str = ""
) -> Movement:
    """Pieces join another lot of the same part, origin and condition."""
    same = ("part_id", "condition", "origin_source", "origin_board_id", "origin_ref", "origin_from")
    differing = [name.removesuffix("_id") for name in same if getattr(lot, name) != getattr(into, name)]
    if differing:
        raise Refused(
            "lots_differ",
            f"{lot} and {into} differ in {', '.join(differing)}: merged, they would lose where they came from",
            differing=differing,
        )
    _no_board(source, target, instead="pieces are lifted from it and fitted to it, not merged")
    return _shift(Kind.MOVE, lot, source, target, quantity, by=by, note=note, to_lot=into)


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
            "position_taken", f"{board.name} {ref} holds {there.lot}", lot=there.lot_id, available=0
        )


def _surveyed(board: Board, ref: str, part: Part | None, condition: str, by: By) -> Holding:
    """The piece at a position of a board; one that was never surveyed is entered as it is lifted."""
    if here := piece_at(board, ref):
        return here
    original = Lot.objects.filter(origin_board=board, origin_ref=ref, split_from=None).first()
    if original is not None:
        at = Holding.objects.filter(lot__in=_family(original), quantity__gt=0).select_related("place").first()
        now = (
            f"now in {at.place.name} {at.ref}".rstrip()
            if at
            else "it was missing; count it in where you find it"
        )
        raise Gone(
            "gone", f"{board.name} {ref} is not there any more: {now}", lot=original.pk, now=now, available=0
        )
    if part is None:
        position = (
            board.design.positions.filter(ref=ref).select_related("spec").first() if board.design else None
        )
        if position is None:
            raise Refused(
                "unknown_position",
                f"{board.name} has no piece at {ref} and its design does not say what was there: give the part",
                ref=ref,
            )
        part = Part.of(position.spec.spec)
    try:
        line = receive(
            Arrival(
                part=part,
                quantity=1,
                to=Spot(board.place_id, ref),
                origin=Origin(source=Lot.Source.BOARD, board=board, ref=ref),
                condition=condition,
            ),
            by=by,
        )
    except KnownPiece:  # a twin lifted the same piece at the same moment
        raise Gone("gone", f"{board.name} {ref} is being lifted by someone else", ref=ref) from None
    return _held(line.lot_id, Spot(board.place_id, ref)).get()


@transaction.atomic
def lift(
    board: Board,
    refs: Iterable[str],
    to: Spot,
    *,
    by: By,
    condition: str | None = None,
    part: Part | None = None,
    borrow: bool = False,
    note: str = "",
) -> list[Movement]:
    """Take pieces off a board, each as a lot of one that keeps the board and reference for life.

    A piece lifted from a working board is borrowed: it is owed back to that position.  `part` says what
    the piece is where neither a survey nor the design does.
    """
    if board.purpose == Board.Purpose.WORKING and not borrow:
        raise Refused(
            "borrow_needed",
            f"{board.name} works: a piece lifted from it is borrowed and owed back; say borrow",
        )
    if board.purpose != Board.Purpose.WORKING and borrow:
        raise Refused(
            "nothing_to_borrow", f"{board.name} is not a working board: what comes off it is not owed back"
        )
    if to.place_id == board.place_id:
        raise Refused("same_place", f"{board.name} is where the pieces are already")
    _no_board(to, instead="lift the pieces to a tray, then fit them to it")
    lines = []
    for ref in refs:
        if borrow and any(loan.from_ref == ref for loan in open_loans().filter(from_place=board.place_id)):
            raise Refused("lent_already", f"{board.name} {ref} is out on loan already", ref=ref)
        here = _surveyed(board, ref, part, condition or Lot.Condition.UNTESTED, by)
        lot = here.lot
        if condition and lot.condition != condition:
            lot.condition = condition
            Lot.objects.filter(pk=lot.pk).update(condition=condition, version=F("version") + 1)
        kept = here.promised  # a promise made while it was still on the board goes along
        lines.append(
            _shift(
                Kind.LIFT,
                lot,
                Spot(board.place_id, ref),
                to,
                1,
                by=by,
                note=note,
                promised_out=kept,
                promised_in=kept,
                borrow=borrow,
            )  # fmt: skip
        )
    return lines


@transaction.atomic
def fit(
    lot: Lot,
    source: Spot,
    board: Board,
    ref: str,
    *,
    by: By,
    quantity: int = 1,
    promised: int = 0,
    note: str = "",
) -> Movement:
    """Put a piece in a position of a board (no ref: loose pieces with it).  Faulty pieces are refused."""
    if Lot.objects.only("condition").get(pk=lot.pk).condition == Lot.Condition.FAULTY:
        raise Refused("faulty", f"{lot} is faulty: it is not fitted", lot=lot.pk, condition="faulty")
    if board.purpose == Board.Purpose.SCRAPPED:
        raise Refused("scrapped_board", f"{board.name} is scrapped: nothing is fitted to it")
    if Place.objects.get(pk=source.place_id).type == Place.Type.BOARD:
        raise Refused("still_on_a_board", f"{lot} is still on a board: lift it first", lot=lot.pk)
    return _shift(
        Kind.FIT, lot, source, Spot(board.place_id, ref), quantity, by=by, note=note, promised_out=promised
    )


@transaction.atomic
def remove(
    board: Board, ref: str, to: Spot, *, by: By, lot: Lot | None = None, quantity: int = 1, note: str = ""
) -> Movement:
    """Take a fitted piece off a board again."""
    if board.purpose == Board.Purpose.WORKING:
        raise Refused(
            "borrow_needed", f"{board.name} works: lift the piece with borrow, so that it is owed back"
        )
    _no_board(to, instead="take the piece to a tray, then fit it to it")
    here = piece_at(board, ref) if lot is None else _held(lot.pk, Spot(board.place_id, ref)).first()
    if here is None:
        raise NotEnough(
            "not_enough", f"{board.name} {ref}: nothing is fitted there", available=0, held=0, promised=0
        )
    return _shift(
        Kind.REMOVE, here.lot, Spot(board.place_id, ref), to, quantity,
        by=by, note=note, promised_out=here.promised, promised_in=here.promised,
    )  # fmt: skip


@transaction.atomic
def lend(lot: Lot, source: Spot, person: Place, quantity: int, *, by: By, note: str = "") -> Movement:
    """Lend free pieces to a person."""
    if person.type != Place.Type.PERSON:
        raise Refused("not_a_person", f"{person.name} is not a person: pieces are lent to people")
    _no_board(source, instead="lift the piece first")
    return _shift(Kind.LEND, lot, source, Spot(person.pk), quantity, by=by, note=note)


def open_loans() -> QuerySet[Movement]:
    """Borrowings and lendings of which pieces are still owed; `owed` says how many."""
    return (
        Movement.objects.filter(Q(borrow=True) | Q(kind=Kind.LEND), reversed_by=None)
        .annotate(
            settled=Coalesce(Sum("settled_by__quantity", filter=Q(settled_by__reversed_by=None)), 0),
            owed=F("quantity") - F("settled"),
        )
        .filter(owed__gt=0)
    )


@transaction.atomic
def give_back(
    loan: Movement,
    *,
    by: By,
    lot: Lot | None = None,
    source: Spot | None = None,
    to: Spot | None = None,
    quantity: int | None = None,
    promised: int = 0,
    note: str = "",
) -> Movement:
    """Return what is owed: to the lender's position the piece or a like one, or pieces from a person.

    A borrowing is settled by the same piece, or by another whose Spec fits as `same` or `drop_in`.
    """
    owed = open_loans().filter(pk=loan.pk).first()
    if owed is None:
        raise Refused("loan_closed", "nothing is owed on this loan any more", loan=loan.pk)
    giving = lot or loan.lot
    if giving.pk != loan.lot_id:
        fit_ = fits(loan.lot.part.spec.spec, giving.part.spec.spec)
        if not loan.borrow or fit_.grade not in ("same", "drop_in"):
            raise Refused(
                "not_like",
                f"{giving} is not a like piece for {loan.lot}",
                grade=fit_.grade,
                reasons=[reason.rule for reason in fit_.reasons],
            )
        if giving.condition == Lot.Condition.FAULTY:
            raise Refused("faulty", f"{giving} is faulty: it is not given back for a good one", lot=giving.pk)
    if source is None:
        if loan.borrow:
            here = giving.holdings.filter(quantity__gt=0).order_by("id").first()
            if here is None:
                raise NotEnough(
                    "not_enough", f"{giving}: no piece left to return", available=0, held=0, promised=0
                )
            source = Spot(here.place_id, here.ref)
        else:
            source = Spot(loan.to_place_id)
    target = (
        Spot(loan.from_place_id, loan.from_ref)
        if loan.borrow
        else (to or Spot(loan.from_place_id, loan.from_ref))
    )
    if not loan.borrow:
        _no_board(target, instead="take the pieces to a tray, then fit them to it")
    count = quantity if quantity is not None else (1 if loan.borrow else owed.owed)
    if count > owed.owed:
        raise NotEnough("not_owed", f"{count} to return, {owed.owed} owed", available=owed.owed)
    return _shift(
        Kind.RETURN, giving, source, target, count, by=by, note=note, settles=loan, promised_out=promised
    )


@transaction.atomic
def scrap(lot: Lot, source: Spot, quantity: int, *, by: By, note: str = "") -> Movement:
    """Put free pieces in the scrap bin."""
    _no_board(source, instead="lift the piece first")
    return _shift(Kind.SCRAP, lot, source, Spot(Place.scrap().pk), quantity, by=by, note=note)


@transaction.atomic
def count(lot: Lot, at: Spot, quantity: int, *, by: By, note: str = "") -> Movement:
    """A stock-take: so many are really there.  The line carries the difference, to or from outside."""
    if quantity < 0:
        raise Refused("quantity", f"a count is at least nought, not {quantity}")
    _lock((lot.pk, at))
    here = _held(lot.pk, at).first()
    held, kept = (here.quantity, here.promised) if here else (0, 0)
    if quantity < kept:
        raise NotEnough(
            "promised", f"{lot}: {quantity} counted, {kept} are promised: release them first",
            available=held - kept, held=held, promised=kept,
        )  # fmt: skip
    outside = Spot(Place.outside().pk)
    if quantity >= held:
        if quantity > held:
            _put(lot, at, quantity - held)
            _stays_single(lot)
        return _record(Kind.COUNT, lot, outside, at, quantity - held, by=by, note=note)
    _take(lot, at, held - quantity)
    return _record(Kind.COUNT, lot, at, outside, held - quantity, by=by, note=note)


@transaction.atomic
def reverse(line: Movement, *, by: By, note: str = "", promised: int = 0) -> Movement:
    """Undo a movement by its mirror image.  `promised` of the pieces come back promised."""
    if line.kind == Kind.REVERSE:
        raise Refused(
            "is_a_reversal", "a reversal is not reversed: make the movement again", movement=line.pk
        )
    list(Movement.objects.select_for_update().filter(pk=line.pk).values_list("id", flat=True))
    if Movement.objects.filter(reverses=line).exists():
        raise Refused("reversed_already", f"movement {line.pk} was reversed before", movement=line.pk)
    if Movement.objects.filter(settles=line, reversed_by=None).exists():
        raise Refused(
            "settled",
            f"movement {line.pk} is a loan that was returned: reverse the return first",
            movement=line.pk,
        )
    outside = Place.outside().pk
    arrived = line.to_lot or line.lot
    source, target = Spot(line.to_place_id, line.to_ref), Spot(line.from_place_id, line.from_ref)
    carried = 0
    if line.quantity:
        _lock((arrived.pk, source), (line.lot_id, target))
        if line.kind == Kind.LIFT:  # a promise made on the piece goes back with it
            here = _held(arrived.pk, source).first()
            carried = min(here.promised, line.quantity) if here else 0
        if source.place_id != outside:
            _take(arrived, source, line.quantity, carried)
        if target.place_id != outside:
            _put(line.lot, target, line.quantity, carried or promised)
        if source.place_id == outside:
            _stays_single(line.lot)
    try:
        with transaction.atomic():
            return _record(
                Kind.REVERSE, arrived, source, target, line.quantity,
                by=by, note=note, reverses=line, to_lot=line.lot if line.to_lot_id else None,
            )  # fmt: skip
    except IntegrityError:
        raise Refused(
            "reversed_already", f"movement {line.pk} was reversed before", movement=line.pk
        ) from None


# --- the audit -----------------------------------------------------------------------------------------------


def fold() -> Mapping[tuple[int, int, str], int]:
    """Holdings as the movements alone make them: (lot, place, ref) -> pieces.  Outside holds nothing."""
    outside = Place.outside().pk
    held: dict[tuple[int, int, str], int] = {}
    lines = Movement.objects.order_by("id").values_list(
        "lot_id", "to_lot_id", "quantity", "from_place_id", "from_ref", "to_place_id", "to_ref"
    )
    for lot, to_lot, quantity, from_place, from_ref, to_place, to_ref in lines.iterator(chunk_size=5000):
        if from_place != outside:
            key = (lot, from_place, from_ref)
            held[key] = held.get(key, 0) - quantity
        if to_place != outside:
            key = (to_lot or lot, to_place, to_ref)
            held[key] = held.get(key, 0) + quantity
    return held


def differences() -> list[str]:
    """Each holding that is not what the movements make it, in words."""
    expected = fold()
    found = []
    actual = {
        (lot, place, ref): quantity
        for lot, place, ref, quantity in Holding.objects.values_list(
            "lot_id", "place_id", "ref", "quantity"
        ).iterator()
    }
    for key in sorted(expected.keys() | actual.keys()):
        should, does = expected.get(key, 0), actual.get(key, 0)
        if should != does:
            lot, place, ref = key
            found.append(
                f"lot {lot} at place {place}{f' {ref}' if ref else ''}: holds {does}, movements make {should}"
            )
    return found
