"""A part taken off a board: how it comes off is asked, and what failed is kept apart or scrapped."""

from django.db import transaction

from inventory import ledger
from inventory.ledger import Actor
from inventory.models import Board, Lot, Movement, Place
from inventory.refusals import Code, Refused
from repairs import reservations

HOW = (
    (str(Lot.Condition.SUSPECT), "it failed, or may have: suspect"),
    (str(Lot.Condition.FAULTY), "it failed: faulty"),
    (str(Lot.Condition.GOOD), "it is good"),
    ("", "nothing against it: as it was"),
)
"""How it comes off, the usual first."""


@transaction.atomic
def take_off(
    board: Board,
    ref: str,
    *,
    by: Actor,
    condition: str = Lot.Condition.SUSPECT,
    to: Place | None = None,
    note: str = "",
) -> Movement:
    """Take the piece at a position off; what failed goes to the tray of failed parts unless `to` says where.

    Refused: a condition that is none, and a piece that did not fail with nowhere to go.
    """
    if condition not in dict(HOW):
        raise Refused(Code.INVALID_CHOICE, f"how it comes off: {', '.join(filter(None, dict(HOW)))}")
    if to is None:
        if condition not in reservations.FAILED:
            raise Refused(Code.REQUIRED, f"{board.name} {ref}: say where to put it")
        to = Place.failed_tray()
    spot = ledger.spot_of(to)
    return reservations.remove(board, ref, spot, by=by, condition=condition or None, note=note)
