"""What stands in the file of a design: these dataclasses are the format, its reader and its JSON Schema.

Pure.  Everything goes by reference and name; nothing in it is the number of a row of somebody's bench.
"""

from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import Field, PlainSerializer, StringConstraints, TypeAdapter

from inventory.design_facts import read_conditions, read_design
from inventory.designs import PositionDraft, problems_with_refs
from inventory.refs import split_ref
from inventory.refusals import Code
from inventory.spec import FieldProblem, Spec
from inventory.spec.figures import plain
from repairs.friends import files
from repairs.friends.files import (
    STRICT,
    Day,
    Format,
    Line,
    Short,
    SpecIn,
    Text,
    bad,
    json_schema,
    read_as,
    read_spec,
    written,
)

FORMAT = Format("rehome-design", 1, "the file of a design")
MAX_POSITIONS = 5000
MAX_ENTRIES = 200
MAX_PICTURES = 40
MAX_RECORDS = 2000
MAX_FILES = 20
SECTIONS = (
    "design", "positions", "links", "rails", "banks", "hazards", "pictures", "files", "seen", "trials",
    "images",
)  # fmt: skip
"""What a credit may be of."""

Ref = Annotated[str, StringConstraints(min_length=1, max_length=32)]
Share = Annotated[Decimal, Field(ge=0, le=1, max_digits=9, decimal_places=6), PlainSerializer(plain, str)]
Sha256 = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Entry = dict[str, Any]


@dataclass(frozen=True)
class Credit:
    """Who made a section, under which licence, and where it is from."""

    __pydantic_config__ = STRICT

    of: Literal[SECTIONS]  # type: ignore[valid-type]
    author: Short = ""
    licence: Short = ""
    source: Line = ""


@dataclass(frozen=True)
class PositionEntry:
    """A reference, the Spec that it requires, and where it is on the picture of its side."""

    __pydantic_config__ = STRICT

    ref: Ref
    spec: SpecIn
    socketed: bool = False
    note: Line = ""
    side: Literal["", "top", "bottom"] = ""
    x: Share | None = None
    y: Share | None = None
    empty_when: Entry = field(default_factory=dict)


@dataclass(frozen=True)
class PictureEntry:
    """A picture in the folder `pictures`, by its name there and its SHA-256."""

    __pydantic_config__ = STRICT

    file: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{16}\.jpg$")]
    sha256: Sha256
    side: Literal["", "top", "bottom"] = ""
    ref: Annotated[str, StringConstraints(max_length=32)] = ""
    note: Line = ""


@dataclass(frozen=True)
class FileEntry:
    """A data sheet or another file: in the folder `files`, where its SHA-256 is its name."""

    __pydantic_config__ = STRICT

    sha256: Sha256
    name: Annotated[str, StringConstraints(min_length=1, max_length=120)]


@dataclass(frozen=True)
class Seen:
    """What was wrong with a board of this design, and what it was."""

    __pydantic_config__ = STRICT

    symptom: Text
    cause: Text
    on: Day = ""
    author: Short = ""
    licence: Short = ""
    source: Line = ""


@dataclass(frozen=True)
class TrialSeen:
    """A trial of a board of this design: what was read, and between which limits it had to be."""

    __pydantic_config__ = STRICT

    method: Annotated[str, StringConstraints(min_length=1, max_length=120)]
    verdict: Literal["good", "suspect", "faulty", "inconclusive"]
    ref: Annotated[str, StringConstraints(max_length=32)] = ""
    in_circuit: bool = False
    reading: Annotated[str, StringConstraints(max_length=200)] = ""
    windows: Annotated[list[Line], Field(max_length=20)] = field(default_factory=list)
    author: Short = ""
    licence: Short = ""
    source: Line = ""


@dataclass(frozen=True)
class ImageSeen:
    """What the image of a memory that works at this position comes to."""

    __pydantic_config__ = STRICT

    ref: Ref
    checksums: Annotated[str, StringConstraints(min_length=1, max_length=200)]
    name: Short = ""
    author: Short = ""
    licence: Short = ""
    source: Line = ""


Record = Seen | TrialSeen | ImageSeen


@dataclass(frozen=True)
class DesignDocument:
    """A design with everything that is known of it and its kind."""

    __pydantic_config__ = STRICT

    format: Literal["rehome-design"]
    version: Literal[1]
    name: Annotated[str, StringConstraints(min_length=1, max_length=120)]
    revision: Annotated[str, StringConstraints(max_length=32)] = ""
    note: Text = ""
    credits: Annotated[list[Credit], Field(max_length=MAX_ENTRIES)] = field(default_factory=list)
    hazards: Annotated[list[str], Field(max_length=MAX_ENTRIES)] = field(default_factory=list)
    links: Annotated[list[Entry], Field(max_length=MAX_ENTRIES)] = field(default_factory=list)
    rails: Annotated[list[Entry], Field(max_length=MAX_ENTRIES)] = field(default_factory=list)
    banks: Annotated[list[Entry], Field(max_length=MAX_ENTRIES)] = field(default_factory=list)
    positions: Annotated[list[PositionEntry], Field(max_length=MAX_POSITIONS)] = field(default_factory=list)
    pictures: Annotated[list[PictureEntry], Field(max_length=MAX_PICTURES)] = field(default_factory=list)
    files: Annotated[list[FileEntry], Field(max_length=MAX_FILES)] = field(default_factory=list)
    seen: Annotated[list[Seen], Field(max_length=MAX_RECORDS)] = field(default_factory=list)
    trials: Annotated[list[TrialSeen], Field(max_length=MAX_RECORDS)] = field(default_factory=list)
    images: Annotated[list[ImageSeen], Field(max_length=MAX_RECORDS)] = field(default_factory=list)

    @property
    def title(self) -> str:
        return f"{self.name} {self.revision}".strip()

    @property
    def drawn(self) -> list[PositionDraft]:
        """The positions as they are drawn; of a document that was read, which has only good ones."""
        return [
            PositionDraft(
                each.ref, Spec.from_dict(each.spec), each.socketed, each.note, each.x, each.y, each.side,
                each.empty_when,
            )
            for each in self.positions
        ]  # fmt: skip

    @property
    def records(self) -> list[Record]:
        return [*self.seen, *self.trials, *self.images]


@cache
def adapter(kind: Any = DesignDocument) -> "TypeAdapter[Any]":
    return TypeAdapter(kind)


def schema() -> dict[str, Any]:
    """The format as JSON Schema (2020-12)."""
    return json_schema(
        adapter(), "Rehome design file, version 1: design.json in a zip beside the folders pictures and files"
    )


def read_document(data: bytes) -> DesignDocument:
    """The `design.json` of a file, held to all that a design must be.  BadFile with everything amiss."""
    document: DesignDocument = read_as(adapter(), FORMAT, data)
    problems = problems_with(document)
    if problems:
        raise bad(FORMAT, problems)
    return document


def problems_with(document: DesignDocument) -> list[FieldProblem]:
    """What the rules of a design have against it, with pointers into the file."""
    refs = [each.ref for each in document.positions]
    problems = [each._replace(pointer=f"/positions{each.pointer}") for each in problems_with_refs(refs)]
    named = [each.sha256 for each in document.files]
    problems += [
        FieldProblem(f"/files/{at}", Code.REPEATED, "the same file is named twice")
        for at, each in enumerate(named)
        if each in named[:at]
    ]
    for index, position in enumerate(document.positions):
        read_spec(position.spec, f"/positions/{index}/spec", problems)
    facts = {name: getattr(document, name) for name in ("hazards", "links", "rails", "banks")}
    problems += read_design(facts, set(refs)).problems
    conditions = [(each.ref, each.empty_when) for each in document.positions]
    problems += [
        each._replace(pointer=f"/positions{each.pointer}")
        for each in read_conditions(conditions, document.banks, set(refs))[1]
    ]
    return problems


def as_text(document: DesignDocument) -> bytes:
    """JSON to be read by eye; the same design is the same text, in whatever order its rows were written."""
    return files.as_text(adapter(), in_order(document))


def in_order(document: DesignDocument) -> DesignDocument:
    def text(row: Any) -> str:
        return repr(row)

    return replace(
        document,
        credits=sorted(document.credits, key=lambda each: (SECTIONS.index(each.of), text(each))),
        hazards=sorted(document.hazards),
        links=_by_name(document.links),
        rails=_by_name(document.rails),
        banks=_by_name(document.banks),
        positions=[
            replace(each, empty_when=_by_name(each.empty_when))
            for each in sorted(document.positions, key=lambda each: split_ref(each.ref))
        ],
        pictures=sorted(document.pictures, key=lambda each: (each.side, each.ref, each.sha256, each.note)),
        files=sorted(document.files, key=text),
        seen=sorted(document.seen, key=text),
        trials=sorted(document.trials, key=text),
        images=sorted(document.images, key=text),
    )


def _by_name(value: Any) -> Any:
    """With the members of each object by name: PostgreSQL keeps no order of them, SQLite that of the day."""
    if isinstance(value, dict):
        return {name: _by_name(value[name]) for name in sorted(value)}
    return [_by_name(each) for each in value] if isinstance(value, list) else value


def position_entry(drawn: PositionDraft) -> PositionEntry:
    """A drawn position as it stands in a file."""
    side: Any = drawn.side
    return PositionEntry(
        drawn.ref, written(drawn.spec), drawn.socketed, drawn.note, side, drawn.x, drawn.y,
        dict(drawn.empty_when),
    )  # fmt: skip
