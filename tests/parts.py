"""Parts that many tests use, and how they come to a price or onto a board."""

from decimal import Decimal
from typing import Any

from inventory.models import Board, Holding, Part
from inventory.spec import Spec
from tests.factories import PartFactory, spec, stock

RESISTOR = spec("resistor", "4k7", tolerance_percent=Decimal(5), watts=Decimal("0.25"))
FILM = spec("capacitor", "100n", volts=Decimal(63), dielectric="film")
CAN = spec("capacitor", "100u", volts=Decimal(50), dielectric="aluminium", polarised=True)
CAN_16 = spec("capacitor", "100u", volts=Decimal(16), dielectric="aluminium", polarised=True)
CHIP = Spec("ic", number="74LS04", lead_style="dip")


def priced(of: Spec, price: str, pack_size: int = 1) -> Part:
    part = PartFactory(of=of)
    Part.objects.filter(pk=part.pk).update(price=Decimal(price), pack_size=pack_size)
    part.refresh_from_db()
    return part  # type: ignore[no-any-return]


def on_board(board: Board, ref: str = "R1", of: Spec = RESISTOR, **more: Any) -> Holding:
    """A piece of the part, soldered where its board had it from the start."""
    return stock(place=board.place, ref=ref, part=PartFactory(of=of), source="board", board=board, **more)
