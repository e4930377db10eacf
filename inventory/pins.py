"""Where positions are on the picture of their side: pinned several at a time, and put back as they were."""

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from django.db import transaction
from django.db.models import F

from inventory.ledger import Refused
from inventory.models import Design, Position
from inventory.refusals import Code

SIDES = ("top", "bottom")


class Pin(NamedTuple):
    """A position, how far from the left and the top of its side's picture (0 to 1); None on none."""

    ref: str
    x: Decimal | None
    y: Decimal | None
    side: str


@transaction.atomic
def pin(design: Design, pins: Sequence[Pin]) -> list[Pin]:
    """Pin these positions, all or none; the answer is how they were pinned before.

    Refused: a position that the design has not, one named twice, a spot beside the picture.
    """
    named = [each.ref for each in pins]
    known = {
        position.ref: position
        for position in Position.objects.select_for_update().filter(design=design, ref__in=named)
    }
    for each in pins:
        if each.ref not in known:
            raise Refused(Code.UNKNOWN_POSITION, f"{design} has no position {each.ref}.", ref=each.ref)
        if named.count(each.ref) > 1:
            raise Refused(Code.REPEATED, f"{each.ref} is pinned twice.", ref=each.ref)
        for along in (each.x, each.y):
            if along is not None and not 0 <= along <= 1:
                raise Refused(Code.OUT_OF_RANGE, f"{each.ref} is pinned beside the picture.", ref=each.ref)
    before = []
    for each in pins:
        position = known[each.ref]
        before.append(Pin(each.ref, position.x, position.y, position.side))
        position.x, position.y, position.side = each.x, each.y, each.side
    Position.objects.bulk_update(known.values(), ["x", "y", "side"], batch_size=200)
    Design.objects.filter(pk=design.pk).update(version=F("version") + 1)
    return before


@transaction.atomic
def unpin(design: Design, refs: Sequence[str]) -> list[Pin]:
    """Take the pins of these positions off; the answer is how they were pinned before.  Refused as `pin`."""
    sides = dict(Position.objects.filter(design=design, ref__in=refs).values_list("ref", "side"))
    return pin(design, [Pin(ref, None, None, sides.get(ref, "")) for ref in refs])
