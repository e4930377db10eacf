"""The stock sheet: its columns, and what a row of it says.  Pure but for the words of the models."""

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from inventory.models import Lot
from inventory.refs import UnreadableRefs, parse_refs
from inventory.sheets import cells
from inventory.sheets.specs import SPEC_COLUMNS, SpecReader
from inventory.sheets.table import Column, Row, Table, plain
from inventory.spec import Spec, UnreadableValue, parse_value

LONGEST = {"name": 200, "marking": 200, "giver": 200, "note": 4000}

CONDITIONS = {plain(word): word for word in Lot.Condition.values} | {
    "ok": "good", "tested": "good", "testedgood": "good", "works": "good", "working": "good",
    "unknown": "untested", "nottested": "untested", "unproven": "untested",
    "doubtful": "suspect",
    "bad": "faulty", "dead": "faulty", "broken": "faulty", "failed": "faulty", "fault": "faulty",
}  # fmt: skip
SOURCES = {plain(word): word for word in Lot.Source.values} | {
    "purchased": "bought", "purchase": "bought", "shop": "bought", "new": "bought",
    "gift": "donated", "given": "donated", "donation": "donated",
    "salvaged": "board", "salvage": "board", "donor": "board", "donorboard": "board", "lifted": "board",
}  # fmt: skip

STOCK = Table(
    (
        Column(
            "lot", "Lot", "Lot id, Lot number, Lot no",
            "Number of a lot that is here already: the row changes it.  Blank: the row is a new lot, "
            "unless a lot here already says exactly the same.",
            figure=True, ours=True, width=8,
        ),
        Column(
            "name", "Name", "Part name, Part, Description, Item",
            "What the bench calls the part; blank: its reading.",
            width=18,
        ),
        replace(SPEC_COLUMNS[0], unless="lot"),
        *SPEC_COLUMNS[1:],
        Column(
            "measured", "Measured", "Measured value, Actual value, Meter reading",
            "What the meter said, as a value: 4.62k.",
            figure=True, width=10,
        ),
        Column(
            "quantity", "Quantity",
            "Qty, Count, Pieces, Pcs, In stock, On hand, How many, Number of pieces",
            "How many there are now.  For a lot that is here already, another number is a count.",
            needed=True, figure=True, width=9, example="50",
        ),
        Column(
            "place", "Place",
            "Location, Where, Drawer, Bin, Box, Shelf, Storage, Storage location, Stored in",
            "Drawer or tray, from the outside in with / between.  A place that is not there is made.  "
            "For a lot that is here already, another place is a move.",
            needed=True, unless="lot", width=30, example="Cabinet A / Row 2 / Drawer 7",
        ),
        Column(
            "condition", "Condition", "State, Status, Tested",
            "untested (also where blank), good, suspect or faulty.",
            choices=tuple(Lot.Condition.values), example="good",
        ),
        Column(
            "marking", "Marking", "Markings, Mark, Marked, Code, Printed, Top mark",
            "What stands on it, as text: 104K, 0805.",
            width=18, example="yellow violet red gold",
        ),
        Column(
            "source", "Source", "Origin, How it came",
            "Where it came from: board, bought, donated or unknown (also where blank).",
            choices=tuple(Lot.Source.values), width=9, example="bought",
        ),
        Column(
            "giver", "From", "Supplier, Seller, Vendor, Bought from, Came from, Donor, From board",
            "The shop or the giver; for the source board the name of the board.",
            width=24,
        ),
        Column(
            "from_ref", "From ref", "Ref, Reference, Donor ref, Origin ref, From position",
            "For the source board: the reference that it stood at.  Such a piece is a lot of one.",
            width=9,
        ),
        Column(
            "price", "Price", "Unit price, Price each, Cost, Unit cost, Price guess",
            "A guess, for one piece.  It belongs to the part: all its lots share it.",
            figure=True, width=8,
        ),
        Column(
            "pack_size", "Pack size", "Pack, Pack of, Pack quantity",
            "How many are sold together.  It belongs to the part.",
            figure=True, width=9,
        ),
        Column(
            "reorder_at", "Reorder at", "Reorder, Reorder level, Reorder point, Minimum, Min, Min stock",
            "Buy more when so few are left.  It belongs to the part.",
            figure=True, width=10,
        ),
        Column("note", "Note", "Notes, Comment, Comments, Remark, Remarks", "Anything else.", width=40),
        Column(
            "promised", "Promised", "Reserved",
            "How many are promised to jobs.  Written for you to read; what stands here on the way in is "
            "ignored.",
            figure=True, ours=True, width=9,
        ),
        Column(
            "written", "As written", "",
            "Leave this as it is: it says how things were when the sheet was written, so that an old "
            "sheet undoes nothing that was done since.",
            ours=True, width=14,
        ),
    )
)  # fmt: skip


@dataclass(slots=True)
class StockRow:
    """What a row says, as the models have it; `condition` and `source` are blank where the cell is."""

    row: Row
    spec: Spec | None
    name: str
    measured: int | None
    quantity: int | None
    condition: str
    marking: str
    source: str
    giver: str
    from_ref: str
    price: Decimal | None
    pack_size: int | None
    reorder_at: int | None
    note: str

    def of_part(self) -> dict[str, Any]:
        """What the row says of the part: columns of Part.  A blank cell says nothing."""
        columns = {name: getattr(self, name) for name in ("name", "price", "pack_size", "reorder_at")}
        return {name: value for name, value in columns.items() if value not in ("", None)}


def read_stock(row: Row, specs: SpecReader, base: Spec | None = None) -> StockRow:
    """Read a row, naming every bad cell in it.  `base` is what the row's lot is, if it is here already."""
    spec = specs.read(row, base)
    quantity = cells.whole(row, "quantity")
    if not row["quantity"]:
        row.bad("quantity", "want how many there are: a whole number")
    said = StockRow(
        row=row,
        spec=spec,
        name=cells.text(row, "name", LONGEST["name"]),
        measured=_measured(row, spec),
        quantity=quantity,
        condition=cells.word(row, "condition", CONDITIONS),
        marking=cells.text(row, "marking", LONGEST["marking"]),
        source=cells.word(row, "source", SOURCES),
        giver=cells.text(row, "giver", LONGEST["giver"]),
        from_ref=_one_ref(row),
        price=cells.money(row, "price"),
        pack_size=cells.whole(row, "pack_size", least=1),
        reorder_at=cells.whole(row, "reorder_at"),
        note=cells.text(row, "note", LONGEST["note"]),
    )
    if said.from_ref and base is None and said.source != Lot.Source.BOARD:
        row.bad(
            "from_ref", "only a piece from a board has a reference: want the source board, or nothing here"
        )
    if said.from_ref and quantity is not None and quantity > 1:
        row.bad("quantity", f"{said.from_ref} gave one piece: want 1, and a row for each reference")
    return said


def _measured(row: Row, spec: Spec | None) -> int | None:
    if not row["measured"] or spec is None:
        return None
    try:
        return parse_value(spec.kind, row["measured"])
    except UnreadableValue as refused:
        row.bad("measured", str(refused))
        return None


def _one_ref(row: Row) -> str:
    if not row["from_ref"]:
        return ""
    try:
        refs = parse_refs(row["from_ref"])
    except UnreadableRefs as refused:
        row.bad("from_ref", str(refused))
        return ""
    if len(refs) > 1:
        row.bad(
            "from_ref",
            "want one reference, such as R7: each such piece is a lot of one, with a row of its own",
        )
        return ""
    return refs[0]
