"""Chips out of their sockets while the rails are measured, and back again, as one step each."""

from django.db import transaction

from inventory.ledger import Actor, Refused, Spot
from inventory.models import Board, Holding, Movement, Place
from inventory.refs import split_ref
from inventory.refusals import Code
from repairs import readiness, reservations

NOTE = "chips out, to measure the rails"


def in_sockets(board: Board) -> list[str]:
    """Positions whose chip is to be out while the rails are measured, and can be."""
    facts = readiness.facts_of(board)
    if facts.works:
        return []
    return sorted((facts.protected & facts.fitted.keys()) - facts.soldered, key=split_ref)


def taken_out(board: Board) -> list[Movement]:
    """The movements by which chips came out, of those that are still where they were put, by reference."""
    lines = Movement.objects.filter(
        kind=Movement.Kind.REMOVE, from_place=board.place_id, note=NOTE, reversed_by=None
    ).select_related("lot", "to_place")
    filled = set(
        Holding.objects.filter(place=board.place_id, quantity__gt=0)
        .exclude(ref="")
        .values_list("ref", flat=True)
    )
    latest = {line.from_ref: line for line in lines.order_by("id") if line.from_ref not in filled}
    there = Holding.objects.filter(
        lot__in=[line.lot_id for line in latest.values()], quantity__gt=0
    ).values_list("lot_id", "place_id")
    at = set(there)
    return [
        line
        for _ref, line in sorted(latest.items(), key=lambda each: split_ref(each[0]))
        if (line.lot_id, line.to_place_id) in at
    ]


@transaction.atomic
def take_out(board: Board, *, by: Actor) -> list[Movement]:
    """Lift every chip that a rail protects to a tray of the board's own.  Refused: no such chip is in."""
    refs = in_sockets(board)
    if not refs:
        raise Refused(Code.EMPTY_POSITION, f"{board.name}: no chip that a rail protects is in a socket")
    tray, _made = Place.objects.get_or_create(
        name=f"Chips of {board.name}"[:120], within=None, defaults={"type": Place.Type.TRAY}
    )
    return [reservations.remove(board, ref, Spot(tray.pk), by=by, note=NOTE) for ref in refs]


@transaction.atomic
def put_back(board: Board, *, by: Actor) -> list[Movement]:
    """Each chip into the socket that it came out of.  Refused: none is out."""
    lines = taken_out(board)
    if not lines:
        raise Refused(Code.NOT_HERE, f"{board.name}: no chip is out of its socket for a measurement")
    return [reservations.reverse(line, by=by, note="chips back in") for line in lines]
