"""Boards: registering one with the place that its pieces are at, and surveying what is on it."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F

from inventory import ledger
from inventory.ledger import Actor, Arrival, Origin, Refused, Spot
from inventory.models import Board, Design, Holding, Lot, Part, Place, StoredSpec
from inventory.refusals import Code


@transaction.atomic
def register(
    *,
    name: str,
    purpose: str,
    by: Actor,
    design: Design | None = None,
    note: str = "",
    owner: User | None = None,
    surveyed: bool = False,
) -> Board:
    """A new board and its place, everybody's or `owner`'s; surveyed, with one untested piece at every
    position of its design."""
    place = Place.objects.create(name=name, type=Place.Type.BOARD)
    board = Board.objects.create(
        name=name, design=design, purpose=purpose, note=note, place=place, owner=owner
    )
    if surveyed:
        survey(board, by=by)
    return board


@transaction.atomic
def survey(board: Board, *, by: Actor) -> int:
    """Enter one untested piece at every position that nothing is known of yet; how many were entered."""
    if board.design is None:
        raise Refused(
            Code.NO_DESIGN, f"{board.name} has no design, so what is on it is unknown", board=board.pk
        )
    known = set(Lot.objects.filter(origin_board=board).values_list("origin_ref", flat=True))
    known |= set(Holding.objects.filter(place=board.place_id, quantity__gt=0).values_list("ref", flat=True))
    positions = [
        position for position in board.design.positions.select_related("spec") if position.ref not in known
    ]
    parts = _parts_for(position.spec for position in positions)
    arrivals = [
        Arrival(
            part=parts[position.spec_id],
            quantity=1,
            to=Spot(board.place_id, position.ref),
            origin=Origin(source=Lot.Source.BOARD, board=board, ref=position.ref),
        )
        for position in positions
    ]
    return len(ledger.receive_all(arrivals, by=by))


def _parts_for(specs: Iterable[StoredSpec]) -> dict[int, Part]:
    """The part of each stored Spec, made where there is none, in a few queries."""
    wanted = {spec.pk: spec for spec in specs}
    missing = wanted.keys() - set(Part.objects.filter(spec__in=wanted).values_list("spec_id", flat=True))
    # A twin may make the same part meanwhile: conflicts are ignored here and the rows read afterwards.
    Part.objects.bulk_create(
        [Part(spec=wanted[pk], name=wanted[pk].text[:200]) for pk in sorted(missing)],
        ignore_conflicts=True,
        batch_size=500,
    )
    return {part.spec_id: part for part in Part.objects.filter(spec__in=wanted)}


@transaction.atomic
def change(board: Board, *, version: int, by: Actor, surveyed: bool = False, **columns: Any) -> Board:
    """Change what can be changed of a board.  Refused where somebody did so since `version` was read."""
    rows = Board.objects.filter(pk=board.pk)
    if not rows.filter(version=version).update(version=F("version") + 1, **columns):
        raise Refused(Code.STALE, f"{board.name} was changed since you opened it")
    carry_out(board, columns, surveyed=surveyed, by=by)
    board.refresh_from_db()
    return board


def carry_out(board: Board, changes: Mapping[str, Any], *, surveyed: bool, by: Actor) -> None:
    """What follows once columns were changed: the place has the name, what is on it is written down."""
    if "name" in changes:
        rename(board, changes["name"])
    if surveyed:
        board.refresh_from_db()
        survey(board, by=by)


def rename(board: Board, name: str) -> None:
    """Give the board's place the name that the board has now."""
    Place.objects.filter(pk=board.place_id).update(name=name, version=F("version") + 1)


@transaction.atomic
def forget(board: Board) -> None:
    """Remove a board that nothing was ever on, and its place."""
    board.delete()
    board.place.delete()
