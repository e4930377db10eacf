"""Everything that is known of one board, as the checks before power take it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from inventory.spec import Recorded, Spec, Substitution
from inventory.spec.recorded import AS_DRAWN
from repairs.proving.drawing import Drawing
from repairs.proving.fitted import Piece
from repairs.proving.rails import RailReading


@dataclass(frozen=True)
class Position:
    """A drawn position and what is in it.

    `touches` counts all movements to and from it, `departures` those from it: confirmations are stamped with
    them. `lent` says where its own piece is, if it is out on loan.
    """

    ref: str
    required: Spec
    piece: Piece | None = None
    socketed: bool = False
    note: str = ""
    touches: int = 0
    departures: int = 0
    measured: int | None = None
    lent: str = ""
    empty_when: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Confirmation:
    """What a person saw: of a position (its orientation) or of the whole board (ref "")."""

    check: str
    ref: str
    right: bool
    stamp: int
    lot: int | None = None
    way: str = AS_DRAWN
    by: str = ""
    note: str = ""


@dataclass(frozen=True)
class LinkSetting:
    """How a link stands, and how often the positions that decide it had been touched then."""

    link: str
    setting: str
    stamp: int


@dataclass(frozen=True)
class Accepted:
    """An exception: who accepts which open item, and why."""

    check: str
    subject: str
    stamp: int
    by: str
    why: str


@dataclass(frozen=True)
class BoardFacts:
    """Everything that is known of one board; lists are oldest first.

    `loose` counts movements on the board at no drawn position.  `works`: it is kept as a working board;
    `runs`: and nothing of it is out, so that it works as it is, with its chips in.
    """

    drawing: Drawing | None
    positions: tuple[Position, ...] = ()
    settings: tuple[LinkSetting, ...] = ()
    confirmations: tuple[Confirmation, ...] = ()
    readings: tuple[RailReading, ...] = ()
    exceptions: tuple[Accepted, ...] = ()
    loose: int = 0
    works: bool = False
    runs: bool = False
    undrawn: tuple[str, ...] = ()
    design: int | None = None
    recorded: Recorded = field(default_factory=Recorded)

    def recorded_of(self, position: Position, piece: Piece) -> Substitution | None:
        """What was recorded of this piece in this position."""
        return self.recorded.find(position.required, piece.spec, (self.design, position.ref))

    def touches(self, refs: Iterable[str]) -> int:
        wanted = set(refs)
        return sum(position.touches for position in self.positions if position.ref in wanted)

    @property
    def all_touches(self) -> int:
        return self.loose + sum(position.touches for position in self.positions)

    @property
    def protected(self) -> frozenset[str]:
        return frozenset(
            ref for rail in (self.drawing.rails if self.drawing else ()) for ref in rail.protects
        )

    @property
    def supply_touches(self) -> int:
        """Movements at the positions that no rail protects: what puts rail readings out of date."""
        return self.all_touches - self.touches(self.protected)

    @property
    def fitted(self) -> Mapping[str, Piece]:
        return {position.ref: position.piece for position in self.positions if position.piece is not None}

    def with_piece(self, piece: Piece) -> "BoardFacts":
        """The same board with another piece in a position, for the length of a trial."""
        return replace(
            self,
            positions=tuple(
                replace(position, piece=piece) if position.ref == piece.ref else position
                for position in self.positions
            ),
        )
