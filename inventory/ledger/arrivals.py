"""Pieces that come in from outside: each arrival becomes a lot at a spot."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, fields
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from inventory.ledger.holdings import Spot, mark_boards
from inventory.ledger.movements import Actor, Kind
from inventory.models import Board, Holding, Lot, Movement, Part, Place
from inventory.refusals import Code, KnownPiece, PositionTaken, Refused


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
    measured_tolerance: Decimal | None = None
    owner: User | None = None
    """Whose it is; where nobody is named, what came off a board is whose the board is."""

    @property
    def owner_id(self) -> int | None:
        board = self.origin.board
        return self.owner.pk if self.owner else board.owner_id if board else None


_OF_THE_LOT = {each.name for each in fields(Arrival)} - {"quantity", "to", "origin", "owner"}
"""The members that a lot has as columns of the same name."""


@transaction.atomic
def receive(arrival: Arrival, *, by: Actor) -> Movement:
    """New pieces from outside become a lot at a spot."""
    return receive_all([arrival], by=by)[0]


@transaction.atomic
def receive_all(arrivals: Sequence[Arrival], *, by: Actor) -> list[Movement]:
    """Many arrivals at once, in a constant number of queries for each 500."""
    outside = Place.outside()
    for arrival in arrivals:
        if arrival.quantity < 1:
            raise Refused(
                Code.OUT_OF_RANGE, f"{arrival.part}: at least one piece is received, not {arrival.quantity}"
            )
        if arrival.origin.ref and arrival.quantity > 1:
            raise Refused(
                Code.ONE_PIECE,
                f"{arrival.origin.board} {arrival.origin.ref} gave one piece, not {arrival.quantity}",
            )
    try:
        with transaction.atomic():
            lots = Lot.objects.bulk_create(
                [
                    Lot(
                        owner_id=arrival.owner_id,
                        **arrival.origin.columns(),
                        **{name: getattr(arrival, name) for name in _OF_THE_LOT},
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
        raise PositionTaken(Code.POSITION_TAKEN, f"{refs}: a position holds one piece", available=0) from None
    mark_boards(*{arrival.to.place_id for arrival in arrivals if arrival.to.ref})
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
                Code.KNOWN_PIECE, f"{board.name} {ref} is on record: {known}", lot=known.pk, ref=ref
            )
    return KnownPiece(Code.KNOWN_PIECE, "the same board position is given twice")
