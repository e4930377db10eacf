"""Why a free piece was not planned, which refusals are nearest to a yes, and what would settle them."""

from dataclasses import dataclass
from typing import Any, Protocol

from inventory.spec import GRADES, Fit, Reason
from inventory.spec.judging import ANOTHER_SORT, TEST, worst_first

SUSPECT = Reason(
    "condition", "good or untested", "suspect", "a suspect piece is tested before it is used", "ask", TEST
)
BLOCKED = Reason(
    "hazards", "a board that may be worked on", "one that is not worked on here",
    "what the board or the part is made of can hurt: leave it alone", "no",
)  # fmt: skip
ANOTHERS = Reason(
    "owner", "everybody's, or the job's owner's", "somebody else's", "what is somebody else's is asked for",
    "ask",
)  # fmt: skip
BORROWED = Reason("tier", "a free piece", "in a working board", "borrowing is planned only when asked", "ask")


@dataclass(frozen=True, slots=True)
class RefusedSupply:
    """A free supply that was not planned for a short demand, and why not."""

    supply: Any
    tier: int
    fit: Fit

    @property
    def settled_by(self) -> str:
        return self.fit.settled_by


def is_near(fit: Fit) -> bool:
    """Whether a refusal is worth telling: another sort of part altogether is no near miss."""
    return not any(reason.rule == ANOTHER_SORT for reason in fit.reasons)


class TestedPiece(Protocol):
    """A piece whose condition and reading are known."""

    @property
    def condition(self) -> str: ...

    @property
    def measured(self) -> int | None: ...


def is_doubtful(piece: TestedPiece) -> bool:
    """A suspect piece is, until it was measured: then its reading says what it may serve."""
    return piece.condition == "suspect" and piece.measured is None


def lowered(fit: Fit, doubt: Reason | None) -> Fit:
    """The fit of the part, lowered by what is doubtful of the piece; reasons worst first."""
    if doubt is None:
        return fit
    reasons = worst_first((doubt, *fit.reasons))
    return Fit(reasons[0].grade, reasons, fit.closeness)


def in_the_way(fit: Fit) -> tuple[int, bool, int, int]:
    """Sorts refusals, the nearest to a yes first: better grade, then what can be settled, fewer reasons for
    it, closer rating."""
    return (
        GRADES.index(fit.grade),
        not fit.settled_by,
        sum(reason.grade == fit.grade for reason in fit.reasons),
        fit.closeness,
    )
