"""The parts list: the positions of a design, one or several alike in a row."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from inventory.designs import SIDES, PositionDraft
from inventory.models import Position
from inventory.refs import UnreadableRefs, parse_refs
from inventory.sheets import cells
from inventory.sheets.grid import CellOut
from inventory.sheets.pairs import read_pairs, write_pairs
from inventory.sheets.specs import SPEC_COLUMNS, SpecReader
from inventory.sheets.table import Column, SheetRow, Table
from inventory.whole_numbers import whole_number

LONGEST_NOTE = 400

DESIGN = Column(
    "design", "Design", "Design name, Board, Board design, Drawing, Model",
    "Name of the drawing.  It is made where there is none.",
    needed=True, width=22, example="Plover tone generator",
)  # fmt: skip
REVISION = Column(
    "revision",
    "Revision",
    "Rev, Issue, Version",
    "Revision of the drawing, as text.",
    width=9,
    example="A",
)
NOTE = Column("note", "Note", "Notes, Comment, Comments, Remark, Remarks", "Anything else.", width=40)


@dataclass(frozen=True)
class PositionColumn(Column):
    """A column of a position beside its part, in the attribute named as its key.

    `read` takes the row and the key, and names a bad cell; `write` gives the cell of the attribute.  What is
    read, what stays where a sheet lacks the column, and what is written all go over these.
    """

    read: Callable[[SheetRow, str], Any] = field(kw_only=True)
    write: Callable[[Any], CellOut] = field(kw_only=True, default=lambda value: value)


def _empty_when(row: SheetRow, key: str) -> dict[str, Any]:
    """The condition in a row; what it names is judged with the rest of the drawing."""
    try:
        return read_when(row[key]) if row[key] else {}
    except ValueError as refused:
        row.bad(key, str(refused))
        return {}


def read_when(text: str) -> dict[str, Any]:
    """`ref=IC10; number=2716 | 2516` as a condition; `count` is a number where it is one."""
    return {
        name: whole_or_text(value) if name == "count" else value for name, value in read_pairs(text).items()
    }


def whole_or_text(text: Any) -> Any:
    """A whole number where it is one; what is none is judged with the rest of the drawing."""
    number = whole_number(text) if isinstance(text, str) else None
    return text if number is None else number


def _side(row: SheetRow, key: str) -> str:
    return cells.word(row, key, {word: word for word in SIDES[1:]})


POSITIONS = Table(
    (
        DESIGN,
        REVISION,
        Column(
            "ref", "Ref",
            "Refs, Reference, References, Reference designator, Designator, Ref des, Position, Positions",
            "Where the part goes: R7, or several alike: R1-R4, R7.",
            needed=True, width=16, example="R1-R4, R7",
        ),
        *SPEC_COLUMNS,
        Column(
            "quantity", "Quantity", "Qty, Count",
            "If it is there, it must be the number of references.",
            figure=True, width=9,
        ),
        PositionColumn(
            "socketed", "Socketed", "Socket, In socket",
            "Whether it sits in a socket: yes or no.",
            choices=("yes", "no"), width=9, example="no",
            read=lambda row, key: bool(cells.yes_or_no(row, key)),
            write=lambda value: "yes" if value else "no",
        ),
        PositionColumn(
            NOTE.key, NOTE.heading, NOTE.also, NOTE.about,
            width=NOTE.width,
            read=lambda row, key: cells.text(row, key, LONGEST_NOTE),
        ),
        PositionColumn(
            "x", "X", "X position, Pos X",
            "Across the picture of the board, from the left: 0 to 1.",
            figure=True, width=8,
            read=cells.coordinate,
        ),
        PositionColumn(
            "y", "Y", "Y position, Pos Y",
            "Down the picture of the board, from the top: 0 to 1.",
            figure=True, width=8,
            read=cells.coordinate,
        ),
        PositionColumn(
            "empty_when", "Empty when", "Leave empty when, Omit when",
            "What is fitted elsewhere when this stays empty: ref=IC10; number=6514.",
            width=24,
            read=_empty_when, write=lambda value: write_pairs(value) if value else "",
        ),
        PositionColumn(
            "side", "Side", "Layer", "Side of the board: top or bottom.",
            choices=SIDES[1:], width=8,
            read=_side,
        ),
    )
)  # fmt: skip

SPOT_FACTS = tuple(column for column in POSITIONS.columns if isinstance(column, PositionColumn))


def drawn_in(row: SheetRow, specs: SpecReader, known: Mapping[str, Position]) -> list[PositionDraft]:
    """The positions in a row; what the sheet has no column for stays as it is drawn now."""
    try:
        refs = parse_refs(row["ref"])
    except UnreadableRefs as refused:
        row.bad("ref", str(refused))
        refs = []
    facts = {fact.key: fact.read(row, fact.key) for fact in SPOT_FACTS}
    count = cells.whole(row, "quantity")
    if refs and count not in (None, len(refs)):
        row.bad("quantity", f"there are {len(refs)} references: {row['ref'][:80]}")
    if len(refs) > 1 and (shared := next((key for key in ("x", "y") if facts[key] is not None), "")):
        row.bad(shared, "several positions cannot be in one spot: give each a row")
    if not refs:
        specs.read(row)
    drawn = []
    for ref in refs:
        now = known.get(ref)
        spec = specs.read(row, now.spec.spec if now else None)
        if spec is None:
            return []
        kept = {} if now is None else {key: getattr(now, key) for key in facts if not row.has(key)}
        drawn.append(PositionDraft(ref=ref, spec=spec, **(facts | kept)))
    return drawn
