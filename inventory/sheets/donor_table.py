"""The donor survey: what is on a board that came in, what was lifted from it, what is gone."""

from dataclasses import dataclass, replace

from inventory.models import Board, Lot
from inventory.refs import UnreadableRefs, parse_refs
from inventory.sheets import cells
from inventory.sheets.specs import SPEC_COLUMNS
from inventory.sheets.stock_table import CONDITIONS, LONGEST
from inventory.sheets.table import Column, SheetRow, Table, plain

LONGEST_BOARD = 120
_MAKE = next(at for at, column in enumerate(SPEC_COLUMNS) if column.key == "make")

THERE, LIFTED, GONE = STATES = ("there", "lifted", "gone")
EVERY = "all"

_STATE_WORDS = {word: word for word in STATES} | {
    "yes": THERE, "present": THERE, "onboard": THERE, "still": THERE, "in": THERE, "fitted": THERE,
    "off": LIFTED, "removed": LIFTED, "out": LIFTED, "stripped": LIFTED, "salvaged": LIFTED, "taken": LIFTED,
    "no": GONE, "missing": GONE, "absent": GONE, "empty": GONE, "lost": GONE,
}  # fmt: skip
_PURPOSES = {plain(word): word for word in Board.Purpose.values} | {
    "repair": "under_repair", "fixing": "under_repair", "scrap": "scrapped", "works": "working",
    "parts": "donor",
}  # fmt: skip

DONOR = Table(
    (
        Column(
            "board", "Board", "Board name, Donor, Unit",
            "Name of this very board.  It is made where there is none.",
            needed=True, width=22, example="Plover donor 1",
        ),
        Column(
            "design", "Design", "Board design, Drawing, Model, Made to",
            "The drawing that it was made to, which must be here already; blank where none is known.",
            width=22,
        ),
        Column("revision", "Revision", "Rev, Issue, Version", "Revision of the drawing.", width=9),
        Column(
            "purpose", "Purpose", "Use",
            "donor (also where blank), working, under_repair or scrapped.",
            choices=tuple(Board.Purpose.values), width=12, example="donor",
        ),
        Column(
            "ref", "Ref",
            "Refs, Reference, References, Reference designator, Designator, Ref des, Position, Positions",
            "Which positions the row is about: R1-R4, R7; or all, which is every position of the design.",
            width=20, example="all",
        ),
        Column(
            "state", "State", "Status, Still there, Presence",
            "there (also where blank), lifted (it is at the place in To), or gone (no piece left).",
            choices=STATES, width=8, example="there",
        ),
        Column(
            "condition", "Condition", "Tested",
            "untested (also where blank), good, suspect or faulty.",
            choices=tuple(Lot.Condition.values), width=10,
        ),
        Column(
            "marking", "Marking", "Markings, Mark, Marked, Code, Top mark",
            "What is printed on it, as text.",
            width=18,
        ),
        SPEC_COLUMNS[_MAKE],
        Column(
            "to", "To", "Moved to, Now in, Lifted to, Place, Location, Drawer",
            "Where a lifted piece is: Cabinet A / Drawer 7.",
            width=26,
        ),
        Column("note", "Note", "Notes, Comment, Comments, Remark, Remarks", "Anything else.", width=40),
        *(replace(column, needed=False, rare=True) for column in SPEC_COLUMNS if column.key != "make"),
    )
)  # fmt: skip


@dataclass(frozen=True)
class DonorRow:
    """What a row says of its positions; blank is not said."""

    row: SheetRow
    refs: list[str]
    every: bool
    purpose: str
    state: str
    condition: str
    marking: str
    note: str

    @property
    def says_what(self) -> bool:
        """Whether the row itself says something of what the pieces are."""
        return any(self.row[column.key] for column in SPEC_COLUMNS)


def read_donor(row: SheetRow) -> DonorRow:
    """Read a row, naming every bad cell but those of the Spec."""
    every = plain(row["ref"]) == EVERY
    refs: list[str] = []
    if row["ref"] and not every:
        try:
            refs = parse_refs(row["ref"])
        except UnreadableRefs as refused:
            row.bad("ref", str(refused))
    entry = DonorRow(
        row=row,
        refs=refs,
        every=every,
        purpose=cells.word(row, "purpose", _PURPOSES),
        state=cells.word(row, "state", _STATE_WORDS, blank=THERE),
        condition=cells.word(row, "condition", CONDITIONS),
        marking=cells.text(row, "marking", LONGEST["marking"]),
        note=cells.text(row, "note", LONGEST["note"]),
    )
    if not row["board"]:
        row.bad("board", "expected the name of the board in every row")
    elif len(row["board"]) > LONGEST_BOARD:
        row.bad("board", f"at most {LONGEST_BOARD} characters")
    if not row["ref"] and any(row[key] for key in ("state", "condition", "marking", "make", "to")):
        row.bad("ref", "expected the positions that this row is about, such as R1-R4, or all")
    return entry
