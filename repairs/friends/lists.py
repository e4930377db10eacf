"""The file of what a workshop can spare and what it lacks: these dataclasses are the format.

Pure.  No names of people, no prices and no places are in it: the member of a piece's origin is the design of
the board that it came off and its position there.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import Field, StringConstraints, TypeAdapter

from inventory.refusals import Code
from inventory.spec import FieldProblem
from inventory.whole_numbers import MAX_PIECES
from repairs.friends import files
from repairs.friends.files import (
    STRICT,
    DayMade,
    Format,
    Line,
    SpecIn,
    bad,
    json_schema,
    read_as,
    read_spec,
)
from repairs.friends.signing import Signature

FORMAT = Format("rehome-spare", 1, "a list of spare parts")
MAX_LINES = 5000

Count = Annotated[int, Field(ge=1, le=MAX_PIECES)]
Name = Annotated[str, StringConstraints(min_length=1, max_length=40, pattern=r"^[A-Za-z0-9-]+$")]


@dataclass(frozen=True)
class SpareEntry:
    """Alike pieces that can be spared.  `line` names them when they are asked for.

    What is faulty, suspect or borrowed is never on such a list; what is untested is called so.
    """

    __pydantic_config__ = STRICT

    line: Name
    spec: SpecIn
    quantity: Count
    condition: Literal["good", "untested"] = "untested"
    marking: Annotated[str, StringConstraints(max_length=200)] = ""
    came_off: Annotated[str, StringConstraints(max_length=160)] = ""
    came_off_ref: Annotated[str, StringConstraints(max_length=32)] = ""
    caution: Line = ""


@dataclass(frozen=True)
class LackEntry:
    """Pieces that are short, and the worst grade of fit that is taken without a question."""

    __pydantic_config__ = STRICT

    spec: SpecIn
    quantity: Count
    accepts: Literal["same", "drop_in", "with_note"] = "with_note"


@dataclass(frozen=True)
class SpareDocument:
    """What can be spared and what is lacking, as of a day."""

    __pydantic_config__ = STRICT

    format: Literal["rehome-spare"]
    version: Literal[1]
    made: DayMade
    spare: Annotated[list[SpareEntry], Field(max_length=MAX_LINES)] = field(default_factory=list)
    lacking: Annotated[list[LackEntry], Field(max_length=MAX_LINES)] = field(default_factory=list)
    signature: Signature | None = None


@cache
def _adapter() -> "TypeAdapter[SpareDocument]":
    return TypeAdapter(SpareDocument)


def schema() -> dict[str, Any]:
    """The format as JSON Schema (2020-12)."""
    return json_schema(_adapter(), "Rehome spare list, version 1")


def as_text(document: SpareDocument, seal: Callable[[bytes], Signature] | None = None) -> bytes:
    """The file; `seal` signs it."""
    return files.as_text(_adapter(), document, seal)


def read_list(data: bytes) -> SpareDocument:
    """A list as `as_text` writes it.  BadFile with everything amiss."""
    document = read_as(_adapter(), FORMAT, data)
    problems: list[FieldProblem] = []
    sides: dict[str, Sequence[SpareEntry | LackEntry]] = {
        "spare": document.spare,
        "lacking": document.lacking,
    }
    for name, entries in sides.items():
        for index, entry in enumerate(entries):
            read_spec(entry.spec, f"/{name}/{index}/spec", problems)
    seen: set[str] = set()
    for index, entry in enumerate(document.spare):
        if entry.line in seen:
            problems.append(
                FieldProblem(f"/spare/{index}/line", Code.REPEATED, f"{entry.line} exists already")
            )
        seen.add(entry.line)
    if problems:
        raise bad(FORMAT, problems)
    return document
