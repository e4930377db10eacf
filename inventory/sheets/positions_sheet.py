"""The parts list: the positions of a design, one or several alike in a row."""

from collections.abc import Mapping
from typing import Any

from inventory.designs import SIDES, Drawn
from inventory.models import Position
from inventory.refs import UnreadableRefs, parse_refs
from inventory.sheets import cells
from inventory.sheets.pairs import read_pairs
from inventory.sheets.specs import SPEC_COLUMNS, SpecReader
from inventory.sheets.table import Column, Row, Table

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
        Column(
            "socketed", "Socketed", "Socket, In socket",
            "Whether it sits in a socket: yes or no.",
            choices=("yes", "no"), width=9, example="no",
        ),
        NOTE,
        Column(
            "x", "X", "X position, Pos X",
            "Across the picture of the board, from the left: 0 to 1.",
            figure=True, width=8,
        ),
        Column(
            "y", "Y", "Y position, Pos Y",
            "Down the picture of the board, from the top: 0 to 1.",
            figure=True, width=8,
        ),
        Column(
            "empty_when", "Empty when", "Leave empty when, Omit when",
            "What is fitted elsewhere when this stays empty: ref=IC10; number=6514.",
            width=24,
        ),
        Column("side", "Side", "Layer", "Side of the board: top or bottom.", choices=SIDES[1:], width=8),
    )
)  # fmt: skip


def drawn_in(row: Row, specs: SpecReader, known: Mapping[str, Position]) -> list[Drawn]:
    """The positions in a row; what the sheet has no column for stays as it is drawn now."""
    try:
        refs = parse_refs(row["ref"])
    except UnreadableRefs as refused:
        row.bad("ref", str(refused))
        refs = []
    socketed, side = (
        cells.yes_or_no(row, "socketed"),
        cells.word(row, "side", {word: word for word in SIDES[1:]}),
    )
    note = cells.text(row, "note", LONGEST_NOTE)
    x, y = cells.coordinate(row, "x"), cells.coordinate(row, "y")
    count = cells.whole(row, "quantity")
    when = _empty_when(row)
    if refs and count not in (None, len(refs)):
        row.bad("quantity", f"there are {len(refs)} references: {row['ref'][:80]}")
    if len(refs) > 1 and (x is not None or y is not None):
        row.bad("x" if x is not None else "y", "several positions cannot be in one spot: give each a row")
    if not refs:
        specs.read(row)
    drawn = []
    for ref in refs:
        now = known.get(ref)
        spec = specs.read(row, now.spec.spec if now else None)
        if spec is None:
            return []
        drawn.append(
            Drawn(
                ref=ref,
                spec=spec,
                socketed=now.socketed if now and not row.has("socketed") else bool(socketed),
                note=now.note if now and not row.has("note") else note,
                x=now.x if now and not row.has("x") else x,
                y=now.y if now and not row.has("y") else y,
                side=now.side if now and not row.has("side") else side,
                empty_when=now.empty_when if now and not row.has("empty_when") else when,
            )
        )
    return drawn


def _empty_when(row: Row) -> dict[str, Any]:
    """The condition in a row; what it names is judged with the rest of the drawing."""
    try:
        return read_when(row["empty_when"]) if row["empty_when"] else {}
    except ValueError as refused:
        row.bad("empty_when", str(refused))
        return {}


def read_when(text: str) -> dict[str, Any]:
    """`ref=IC10; number=2716 | 2516` as a condition; `count` is a number where it is one."""
    return {
        name: whole_or_text(value) if name == "count" else value for name, value in read_pairs(text).items()
    }


def whole_or_text(text: Any) -> Any:
    """A whole number where it is one; what is none is judged with the rest of the drawing."""
    whole = isinstance(text, str) and text.isascii() and text.isdigit() and len(text) < 10
    return int(text) if whole else text
