"""Everything that is known of one board, as the checks before power take it.

What a person saw or measured is stamped with the latest movement on the board then, and says what it was
seen against (its `basis`): it holds while nothing that it is about was moved since, and while the design asks
the same of it.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from inventory.design_facts import DesignFacts, LinkRule
from inventory.spec import Recorded, Spec, SubstitutionRecord
from inventory.spec.recorded import AS_DRAWN
from repairs.proving.fitted import FittedPiece
from repairs.proving.rails import BoardRailReading


@dataclass(frozen=True)
class BoardPosition:
    """A position of the design and what is in it, or a piece fitted where the design has none.

    `touches` counts the movements to and from it.  `at_home`: the piece came off this very position of a
    board of the same design.  `lent` says where its own piece is, if it is out on loan.
    """

    ref: str
    required: Spec
    piece: FittedPiece | None = None
    socketed: bool = False
    note: str = ""
    touches: int = 0
    measured: int | None = None
    measured_tolerance: Decimal | None = None
    at_home: bool = False
    lent: str = ""
    empty_when: LinkRule | None = None


@dataclass(frozen=True)
class BoardConfirmation:
    """What a person saw: of a position (its orientation) or of the whole board (ref "")."""

    check: str
    ref: str
    right: bool
    stamp: int
    way: str = AS_DRAWN
    by: str = ""
    note: str = ""
    basis: str = ""


@dataclass(frozen=True)
class BoardLinkSetting:
    """How a link was seen to stand."""

    link: str
    setting: str
    stamp: int
    basis: str = ""


@dataclass(frozen=True)
class Accepted:
    """An exception: who accepts which open item, why, and the finding that they accepted."""

    check: str
    subject: str
    stamp: int
    by: str
    why: str
    basis: str = ""
    finding: str = ""


@dataclass(frozen=True)
class BoardTrial:
    """A trial of the board (ref ""), or of a position with the piece in it: passed or failed."""

    id: int
    ref: str
    passed: bool
    text: str
    stamp: int = 0


@dataclass(frozen=True)
class BoardFacts:
    """Everything that is known of one board; lists are oldest first.

    `moved` holds the latest movement at each reference of the board, whether the design has it or not;
    `changed` the latest by which another piece came there or none: what was reversed changed nothing, such as
    a chip that was out while the rails were measured.
    `works`: it is kept as a working board; `runs`: and nothing of it is out, so that it works as it is, with
    its chips in.
    """

    design: DesignFacts | None
    positions: tuple[BoardPosition, ...] = ()
    settings: tuple[BoardLinkSetting, ...] = ()
    confirmations: tuple[BoardConfirmation, ...] = ()
    readings: tuple[BoardRailReading, ...] = ()
    exceptions: tuple[Accepted, ...] = ()
    trials: tuple[BoardTrial, ...] = ()
    moved: Mapping[str, int] = field(default_factory=dict)
    changed: Mapping[str, int] = field(default_factory=dict)
    works: bool = False
    runs: bool = False
    scrapped: bool = False
    undrawn: tuple[BoardPosition, ...] = ()
    design_id: int | None = None
    recorded: Recorded = field(default_factory=Recorded)

    def recorded_of(self, position: BoardPosition, piece: FittedPiece) -> SubstitutionRecord | None:
        """What was recorded of this piece in this position."""
        return self.recorded.find(position.required, piece.spec, (self.design_id, position.ref))

    def moved_since(self, stamp: int, refs: Iterable[str]) -> bool:
        """Whether anything was moved at these references after the movement `stamp`."""
        return any(self.moved.get(ref, 0) > stamp for ref in refs)

    @property
    def stamp(self) -> int:
        """The latest movement on the board."""
        return max(self.moved.values(), default=0)

    @property
    def moved_for_good(self) -> Collection[str]:
        """References where something was moved, but for sockets that rails protect: their chips come out to
        measure and go in again, and which way round each is has a check of its own.
        """
        sockets = {position.ref for position in self.positions if position.socketed}
        return self.moved.keys() - (self.protected & sockets)

    @property
    def protected(self) -> frozenset[str]:
        """Positions that stay empty until some rail is proven."""
        return frozenset(ref for rail in (self.design.rails if self.design else ()) for ref in rail.protects)

    @property
    def fitted(self) -> Mapping[str, FittedPiece]:
        return {position.ref: position.piece for position in self.positions if position.piece is not None}

    @property
    def soldered(self) -> frozenset[str]:
        """Positions whose part cannot be pulled for a measurement."""
        return frozenset(
            position.ref
            for position in self.positions
            if position.piece is not None and not position.socketed
        )

    def with_piece(self, piece: FittedPiece) -> "BoardFacts":
        """The same board with another piece in a position, for the length of a trial."""
        return replace(
            self,
            positions=tuple(
                replace(position, piece=piece) if position.ref == piece.ref else position
                for position in self.positions
            ),
        )
