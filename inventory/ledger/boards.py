"""Pieces that leave a board or come to it: lifted, fitted, removed."""

from collections.abc import Iterable
from typing import Any

from django.db import transaction
from django.db.models import F

from inventory.ledger.arrivals import Arrival, Origin, receive
from inventory.ledger.holdings import Spot, family, holdings_at, piece_at
from inventory.ledger.loans import open_loans
from inventory.ledger.movements import Actor, Kind, apart, is_kept, no_board, shift
from inventory.models import Board, Holding, Lot, Movement, Part, Place
from inventory.refusals import Code, Gone, KnownPiece, NotEnough, Refused


def _surveyed(board: Board, ref: str, part: Part | None, condition: str, by: Actor) -> Holding:
    """The piece at a position of a board; one that was never surveyed is entered as it is lifted."""
    if here := piece_at(board, ref):
        return here
    original = Lot.objects.filter(origin_board=board, origin_ref=ref, split_from=None).first()
    if original is not None:
        at = Holding.objects.filter(lot__in=family(original), quantity__gt=0).select_related("place").first()
        now = (
            f"now in {at.place.name} {at.ref}".rstrip()
            if at
            else "it was missing; count it in where you find it"
        )
        raise Gone(
            Code.GONE,
            f"{board.name} {ref} is not there any more: {now}",
            lot=original.pk,
            now=now,
            available=0,
        )
    if part is None:
        position = (
            board.design.positions.filter(ref=ref).select_related("spec").first() if board.design else None
        )
        if position is None:
            raise Refused(
                Code.UNKNOWN_POSITION,
                f"nothing is known of {board.name} {ref}, by survey or design: give the part that was there",
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
        raise Gone(Code.GONE, f"{board.name} {ref} is being lifted by someone else", ref=ref) from None
    return holdings_at(line.lot_id, Spot(board.place_id, ref)).get()


def _judged(here: Holding, condition: str | None, quantity: int = 1) -> dict[str, Any]:
    """What a line says of pieces judged as they come off: the lot, or these alone out of a larger one."""
    lot = here.lot
    if not condition:
        return {}
    if lot.condition == condition:
        return {"condition_after": condition}
    others = Holding.objects.filter(lot=lot, quantity__gt=0).exclude(pk=here.pk).exists()
    if others or here.quantity > quantity:
        return {"condition_after": condition, "to_lot": apart(lot, condition)}
    judged = {"condition_before": lot.condition, "condition_after": condition}
    lot.condition = condition
    Lot.objects.filter(pk=lot.pk).update(condition=condition, version=F("version") + 1)
    return judged


@transaction.atomic
def lift(
    board: Board,
    refs: Iterable[str],
    to: Spot,
    *,
    by: Actor,
    condition: str | None = None,
    part: Part | None = None,
    borrow: bool = False,
    note: str = "",
) -> list[Movement]:
    """Take pieces off a board, each as a lot of one that keeps the board and reference for life.

    A piece lifted from a working board is borrowed: it is owed back to that position.  `part` says what
    the piece is where neither a survey nor the design does.

    Refused: another's (`not_yours`), unless it is reserved and goes to a drawer or a tray: whoever works on
    what it was given to may lift it.
    """
    if board.purpose == Board.Purpose.WORKING and not borrow:
        raise Refused(
            Code.BORROW_NEEDED,
            f"{board.name} works: a piece lifted from it is borrowed and owed back; say borrow",
        )
    if board.purpose != Board.Purpose.WORKING and borrow:
        raise Refused(
            Code.NOT_A_WORKING_BOARD,
            f"{board.name} is not a working board: what comes off it is not owed back",
        )
    if to.place_id == board.place_id:
        raise Refused(Code.SAME_PLACE, f"{board.name} is where the pieces are already")
    no_board(to, instead="lift the pieces to a tray, then fit them to it")
    lines, kept_there = [], is_kept(to)
    for ref in refs:
        if borrow and any(loan.from_ref == ref for loan in open_loans().filter(from_place=board.place_id)):
            raise Refused(Code.LENT_ALREADY, f"{board.name} {ref} is out on loan already", ref=ref)
        here = _surveyed(board, ref, part, condition or Lot.Condition.UNTESTED, by)
        kept = here.promised  # a promise made while it was still on the board goes along
        lines.append(
            shift(
                Kind.LIFT,
                here.lot,
                Spot(board.place_id, ref),
                to,
                1,
                by=by,
                note=note,
                promised_out=kept,
                promised_in=kept,
                borrow=borrow,
                for_owner="" if kept and kept_there else f"{ref} is lifted",
                **_judged(here, condition),
            )
        )
    return lines


@transaction.atomic
def fit(
    lot: Lot,
    source: Spot,
    board: Board,
    ref: str,
    *,
    by: Actor,
    quantity: int = 1,
    promised: int = 0,
    note: str = "",
) -> Movement:
    """Put a piece in a position of a board (no ref: loose pieces with it).  Faulty pieces are refused."""
    if Lot.objects.only("condition").get(pk=lot.pk).condition == Lot.Condition.FAULTY:
        raise Refused(Code.FAULTY, f"{lot} is faulty: it is not fitted", lot=lot.pk, condition="faulty")
    if board.purpose == Board.Purpose.SCRAPPED:
        raise Refused(Code.SCRAPPED_BOARD, f"{board.name} is scrapped: nothing is fitted to it")
    if Place.objects.get(pk=source.place_id).type == Place.Type.BOARD:
        raise Refused(Code.STILL_ON_A_BOARD, f"{lot} is still on a board: lift it first", lot=lot.pk)
    return shift(
        Kind.FIT, lot, source, Spot(board.place_id, ref), quantity, by=by, note=note, promised_out=promised
    )


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
    """Take a fitted piece off a board again; `condition` says how it comes off, else it stays as known."""
    if board.purpose == Board.Purpose.WORKING:
        raise Refused(
            Code.BORROW_NEEDED, f"{board.name} works: lift the piece with borrow, so that it is owed back"
        )
    no_board(to, instead="take the piece to a tray, then fit it to it")
    here = piece_at(board, ref) if lot is None else holdings_at(lot.pk, Spot(board.place_id, ref)).first()
    if here is None:
        raise NotEnough(
            Code.NOT_ENOUGH, f"{board.name} {ref}: nothing is fitted there", available=0, held=0, promised=0
        )
    return shift(
        Kind.REMOVE, here.lot, Spot(board.place_id, ref), to, quantity,
        by=by, note=note, promised_out=here.promised, promised_in=here.promised,
        **_judged(here, condition, quantity),
    )  # fmt: skip
