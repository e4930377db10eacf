"""One check of a board: what it found, and the exception by which a person accepts that."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Annotated

from pydantic import Field

from repairs.proving.board import Accepted, BoardFacts
from repairs.proving.rails import OPEN, PASS, STOP

CHECKS = (
    "design", "hazards", "position", "fit", "condition", "bank", "trial", "inspection", "supply", "ohms",
    "orientation", "link", "heatsink", "first_power", "rail", "ohms_in", "pins",
)  # fmt: skip
"""In the order of bringing up."""
STATES = (PASS, OPEN, STOP)
PERSONAL = ("inspection", "supply", "heatsink", "first_power")
"""Checks of the whole board that a person simply confirms."""
MAY_BE_ACCEPTED = ("fit", "bank")
"""Checks of which even a stop may be accepted: a substitute, makes mixed on purpose.  Never a safety part."""
NEVER_ACCEPTED = ("design", "hazards")
OF_THE_PIECE = ("fit", "condition", "bank")
"""Checks of what a piece is: the same one taken out and put back is still what was accepted."""
MEASURED = ("ohms", "first_power", "rail", "ohms_in", "pins")
"""Checks that a measurement answers, and no exception."""


@dataclass(frozen=True)
class Item:
    """One check: what it is about, its state, why, where, what to mind, and who accepted it.

    `basis` is what an exception accepts: while it stays the same, so does the finding.  `final`: nobody may
    accept it.  Neither is part of an answer.
    """

    check: Annotated[str, Field(json_schema_extra={"enum": list(CHECKS)})]
    subject: Annotated[
        str, Field(description="The link, rail, bank or reference; blank for several, or none.")
    ]
    state: Annotated[str, Field(json_schema_extra={"enum": list(STATES)})]
    reason: str
    refs: tuple[str, ...] = ()
    caution: Annotated[str, Field(description="What to mind at this step.")] = ""
    evidence: tuple[str, ...] = ()
    accepted_by: Annotated[str, Field(description="Who accepted it as an exception; else blank.")] = ""
    why: Annotated[str, Field(description="Why it was accepted.")] = ""
    final: Annotated[bool, Field(exclude=True)] = field(default=False, repr=False)
    basis: Annotated[str, Field(exclude=True)] = field(default="", repr=False)


def with_exceptions(facts: BoardFacts, items: Iterable[Item]) -> list[Item]:
    """The items; one that a person accepted, and that did not change since, passes."""
    latest = {(each.check, each.subject): each for each in facts.exceptions}
    return [_excepted(facts, item, latest.get((item.check, item.subject))) for item in items]


def may_be_accepted(item: Item) -> bool:
    """Whether a person may accept this item as it is."""
    if item.final or item.check in (*NEVER_ACCEPTED, *MEASURED):
        return False
    return item.state == OPEN or item.check in MAY_BE_ACCEPTED


def _excepted(facts: BoardFacts, item: Item, accepted: Accepted | None) -> Item:
    if accepted is None or item.state == PASS or not may_be_accepted(item):
        return item
    lapsed = f"the exception of {accepted.by} lapsed"
    moved = facts.changed if item.check in OF_THE_PIECE else facts.moved
    if any(moved.get(ref, 0) > accepted.stamp for ref in _held_by(facts, item)):
        return replace(item, reason=f"{item.reason}; {lapsed}: a part was changed since")
    if accepted.basis != basis_of_exception(item):
        was = f": it accepted {accepted.finding!r}" if accepted.finding else ""
        return replace(item, reason=f"{item.reason}; {lapsed}{was}")
    reason = f"accepted by {accepted.by}: {accepted.why} ({item.reason})"
    return replace(item, state=PASS, reason=reason, accepted_by=accepted.by, why=accepted.why)


def basis_of_exception(item: Item) -> str:
    """The finding that an exception to this item accepts."""
    return f"{item.state}: {item.basis}"


def _held_by(facts: BoardFacts, item: Item) -> Iterable[str]:
    """The references whose movement ends an exception.  A failed trial stays explained."""
    if item.check == "trial":
        return ()
    return facts.moved_for_good if item.check == "inspection" else item.refs
