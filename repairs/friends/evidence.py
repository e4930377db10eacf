"""The file of what a workshop found out: these dataclasses are the format.

Pure.  No names of people, no prices and no places are in it; a design is meant by its name and revision.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import Field, StringConstraints, TypeAdapter

from inventory.refusals import Code
from inventory.spec import FieldProblem
from inventory.spec.recorded import AS_DRAWN, EVIDENCE, LEGS_CROSSED, WAYS
from repairs.friends import files
from repairs.friends.files import (
    STRICT,
    Day,
    DayMade,
    Format,
    Line,
    Short,
    SpecIn,
    bad,
    json_schema,
    read_as,
    read_spec,
)
from repairs.friends.signing import Signature

FORMAT = Format("rehome-evidence", 1, "a file of evidence")
MAX_ENTRIES = 5000
MAX_LIMITS = 20

Ref = Annotated[str, StringConstraints(max_length=32)]
Reading = Annotated[str, StringConstraints(min_length=1, max_length=200)]


@dataclass(frozen=True)
class SubstitutionEntry:
    """That one part does, or does not, serve for another: anywhere, on a design, or at a position of it.

    `pin_map` says which leg of the offered part goes where: `E=C, B=B, C=E`.
    """

    __pydantic_config__ = STRICT

    required: SpecIn
    offered: SpecIn
    evidence: Literal[EVIDENCE]  # type: ignore[valid-type]
    design: Short = ""
    revision: Ref = ""
    ref: Ref = ""
    way: Literal[WAYS] = AS_DRAWN  # type: ignore[valid-type]
    pin_map: Annotated[str, StringConstraints(max_length=200)] = ""
    note: Line = ""
    day: Day = ""
    author: Short = ""
    licence: Short = ""
    source: Line = ""


@dataclass(frozen=True)
class ReadingEntry:
    """What a marking turned out to mean on a part that was measured, or tried and found good."""

    __pydantic_config__ = STRICT

    marking: Reading
    spec: SpecIn
    measured: Reading
    author: Short = ""
    licence: Short = ""
    source: Line = ""


@dataclass(frozen=True)
class WindowEntry:
    """A trial of such a part: what was read, between which limits it had to be, and the verdict."""

    __pydantic_config__ = STRICT

    spec: SpecIn
    method: Annotated[str, StringConstraints(min_length=1, max_length=120)]
    verdict: Literal["good", "suspect", "faulty", "inconclusive"]
    in_circuit: bool = False
    reading: Annotated[str, StringConstraints(max_length=200)] = ""
    limits: Annotated[list[Line], Field(max_length=MAX_LIMITS)] = field(default_factory=list)
    author: Short = ""
    licence: Short = ""
    source: Line = ""


Entry = SubstitutionEntry | ReadingEntry | WindowEntry


@dataclass(frozen=True)
class EvidenceDocument:
    """What was found out at a workshop, as of a day.  `author` is whoever gives it, in their own words."""

    __pydantic_config__ = STRICT

    format: Literal["rehome-evidence"]
    version: Literal[1]
    made: DayMade
    author: Short = ""
    licence: Short = ""
    source: Line = ""
    substitutions: Annotated[list[SubstitutionEntry], Field(max_length=MAX_ENTRIES)] = field(
        default_factory=list
    )
    readings: Annotated[list[ReadingEntry], Field(max_length=MAX_ENTRIES)] = field(default_factory=list)
    windows: Annotated[list[WindowEntry], Field(max_length=MAX_ENTRIES)] = field(default_factory=list)
    signature: Signature | None = None


@cache
def _adapter() -> "TypeAdapter[EvidenceDocument]":
    return TypeAdapter(EvidenceDocument)


def schema() -> dict[str, Any]:
    """The format as JSON Schema (2020-12)."""
    return json_schema(_adapter(), "Rehome evidence file, version 1")


def as_text(document: EvidenceDocument, seal: Callable[[bytes], Signature] | None = None) -> bytes:
    """The file; `seal` signs it."""
    return files.as_text(_adapter(), document, seal)


def read_evidence(data: bytes) -> EvidenceDocument:
    """A file as `as_text` writes it.  BadFile with everything amiss."""
    document = read_as(_adapter(), FORMAT, data)
    problems: list[FieldProblem] = []
    for index, entry in enumerate(document.substitutions):
        at = f"/substitutions/{index}"
        required = read_spec(entry.required, f"{at}/required", problems)
        offered = read_spec(entry.offered, f"{at}/offered", problems)
        problems += _against(entry, at)
        if required is not None and offered is not None and required.kind != offered.kind:
            detail = f"a {offered.kind} serves for no {required.kind}"
            problems.append(FieldProblem(f"{at}/offered", Code.CONTRADICTION, detail))
    for index, reading in enumerate(document.readings):
        read_spec(reading.spec, f"/readings/{index}/spec", problems)
    for index, window in enumerate(document.windows):
        read_spec(window.spec, f"/windows/{index}/spec", problems)
    if problems:
        raise bad(FORMAT, problems)
    return document


def _against(entry: SubstitutionEntry, at: str) -> list[FieldProblem]:
    problems = []
    if (entry.ref or entry.revision) and not entry.design:
        problems.append(FieldProblem(f"{at}/design", Code.REQUIRED, "say the design that it was said of"))
    if entry.way == LEGS_CROSSED and not entry.pin_map:
        detail = "crossed legs: say which goes where, such as E=C, B=B, C=E"
        problems.append(FieldProblem(f"{at}/pin_map", Code.REQUIRED, detail))
    return problems
