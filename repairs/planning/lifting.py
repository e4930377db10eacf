"""In which order pieces come off a board, and whether they are worth the heat.

Practice of the trade: sockets are emptied before the iron is hot; what is large and tall comes off first,
because it stands in the way; small parts next; soldered chips last. One warms the whole part, lifts and
lets it cool, and tags each piece with board and reference as it leaves.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import IntEnum
from typing import Any

from inventory.refs import split_ref
from inventory.spec import Spec


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece where it sits on a board; `supply` is what it was planned as."""

    id: Any
    supply: Any
    board: Any
    ref: str
    spec: Spec
    condition: str = "untested"
    measured: int | None = None
    measured_tolerance: Decimal | None = None
    socketed: bool = False
    x: Decimal | None = None
    y: Decimal | None = None


class LiftStage(IntEnum):
    """When in the work a piece comes off."""

    PULL = 0
    LARGE = 1
    SMALL = 2
    CHIP = 3


_LARGE_KINDS = ("transformer", "connector", "socket", "switch", "inductor", "lamp", "regulator")
_LARGE_MICROFARADS = 47
_POWER_WATTS = Decimal(1)
_TALL_PACKAGES = ("TO-3", "TO-66", "TO-218", "TO-220", "TO-247")


def stage_of(piece: Piece) -> LiftStage:
    """Common practice, no source; sizes are guessed from kind, package and rating."""
    spec = piece.spec
    if piece.socketed:
        return LiftStage.PULL
    if spec.kind == "ic":
        return LiftStage.CHIP
    large = (
        spec.kind in _LARGE_KINDS
        or spec.package.upper() in _TALL_PACKAGES
        or (spec.kind == "resistor" and is_power_resistor(spec))
        or (spec.kind == "capacitor" and (spec.value or 0) >= _LARGE_MICROFARADS * 10**9)
    )
    return LiftStage.LARGE if large else LiftStage.SMALL


def is_power_resistor(spec: Spec) -> bool:
    return spec.watts is not None and spec.watts >= _POWER_WATTS


def lifting_order(piece: Piece) -> tuple[Any, ...]:
    """Sorts the pieces of one board: by stage, then down and across the board, then by reference.

    A piece of unknown position comes after those of its stage that have one.
    """
    placed = piece.x is not None and piece.y is not None
    return (
        stage_of(piece),
        not placed,
        piece.y if placed else 0,
        piece.x if placed else 0,
        split_ref(piece.ref),
    )


@dataclass(frozen=True, slots=True)
class Worth:
    """Whether a piece repays the trouble: worth, usual, contested or no, and why."""

    verdict: str
    why: str


_WORTH_KINDS = {
    "inductor": "coils are seldom sold again",
    "transformer": "transformers are seldom sold again",
    "connector": "connectors of old equipment are seldom sold again",
    "crystal": "crystals of odd frequencies are made to order",
}
_MEMORIES = ("dram", "sram", "rom", "prom", "eprom", "eeprom", "ram")
_CERAMIC = ("class1", "class2", "class3", "ceramic", "c0g")


def worth_of(piece: Piece) -> Worth:
    """What the trade says of salvaging such a piece (common practice, no source)."""
    spec = piece.spec
    if piece.condition in ("suspect", "faulty"):
        return Worth("no", f"{piece.condition}: not worth the heat")
    if spec.kind in _WORTH_KINDS:
        return Worth("worth", _WORTH_KINDS[spec.kind])
    if spec.kind == "ic":
        memory = spec.known.get("function") in _MEMORIES
        return Worth("worth", "memories outlive their makers" if memory else "old chips are not made again")
    if spec.kind == "transistor":
        return Worth("worth", "awkward transistors are hard to match")
    if spec.kind == "resistor":
        if is_power_resistor(spec):
            return Worth("worth", "power resistors are dear")
        return Worth("contested", "a small resistor costs less than the time")
    if spec.kind == "capacitor" and spec.dielectric in _CERAMIC:
        return Worth("contested", "a small ceramic costs less than the time")
    if spec.kind == "capacitor" and spec.dielectric.startswith("aluminium"):
        return Worth("usual", "not if it leaks or bulges; reform and test it before use")
    return Worth("usual", "")
