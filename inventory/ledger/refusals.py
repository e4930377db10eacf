"""What the ledger will not do, with a stable code and the facts."""

from typing import Any


class Refused(Exception):
    """The ledger will not do it.  `code` is stable, `facts` says what is available and why."""

    def __init__(self, code: str, detail: str, **facts: Any) -> None:
        self.code, self.detail, self.facts = code, detail, facts
        super().__init__(detail)


class NotEnough(Refused):
    """More was asked for than is held or free there."""


class PositionTaken(Refused):
    """The position on the board holds a piece already."""


class KnownPiece(Refused):
    """The piece from that board position is on record already: it is one piece, and one lot, for life."""


class Gone(Refused):
    """The piece was taken off that board before."""
