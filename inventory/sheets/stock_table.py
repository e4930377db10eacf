"""The stock sheet: its columns, and what a row of it says.  Pure but for the words of the models."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from inventory.models import MAX_METER_ERROR, Lot, Part
from inventory.refs import UnreadableRefs, parse_refs
from inventory.sheets import cells
from inventory.sheets.grid import CellOut
from inventory.sheets.specs import SPEC_COLUMNS, SpecReader
from inventory.sheets.table import Column, SheetRow, Table, plain
from inventory.spec import Spec, UnreadableValue, parse_value, print_value
from inventory.spec.figures import plain as figure

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


@dataclass(frozen=True)
class StockColumn(Column):
    """A column of the model `of`, in the attribute named as its key.

    `read` takes the row, the key and the Spec, and names a bad cell; `write` gives the cell of a model.  A
    blank cell says nothing of a part; of a lot it says `blank`, once the sheet has the column.  The import of
    new and of known rows and the export all go over these, so that a column is in all of them or in none.
    """

    of: type[Part] | type[Lot] = Lot
    read: Callable[[SheetRow, str, Spec | None], Any] = field(kw_only=True)
    write: Callable[[Any], CellOut] = field(kw_only=True)


def _text(row: SheetRow, key: str, _spec: Spec | None) -> str:
    return cells.text(row, key, LONGEST[key])


def _measured(row: SheetRow, key: str, spec: Spec | None) -> int | None:
    if not row[key] or spec is None:
        return None
    try:
        return parse_value(spec.kind, row[key])
    except UnreadableValue as refused:
        row.bad(key, str(refused))
        return None


def _meter_error(row: SheetRow, key: str, _spec: Spec | None) -> Decimal | None:
    percent = cells.figure(row, key, digits=2, places=4, like="0.5") if row[key] else None
    if percent is not None and percent > MAX_METER_ERROR:
        row.bad(key, f"a meter is not off by more than {MAX_METER_ERROR} %")
        return None
    return percent


def _written_name(part: Part) -> str:
    return "" if part.name == part.spec.text[:200] else part.name


def _written_measured(lot: Lot) -> str:
    return "" if lot.measured is None else print_value(lot.part.spec.kind, lot.measured)


STOCK = Table(
    (
        Column(
            "lot", "Lot", "Lot id, Lot number, Lot no",
            "Number of a lot that is here already: the row changes it.  Blank: the row is a new lot, "
            "unless a lot here already says exactly the same.",
            figure=True, ours=True, width=8,
        ),
        StockColumn(
            "name", "Name", "Part name, Part, Description, Item",
            "What the bench calls the part; blank: its reading.",
            width=18,
            of=Part, read=_text,
            write=_written_name,
        ),
        replace(SPEC_COLUMNS[0], unless="lot"),
        *SPEC_COLUMNS[1:],
        StockColumn(
            "measured", "Measured", "Measured value, Actual value, Meter reading",
            "What the meter said, as a value: 4.62k.",
            figure=True, width=10,
            of=Lot, read=_measured,
            write=_written_measured,
        ),
        StockColumn(
            "measured_tolerance", "Meter error %", "Meter error, Measured tolerance, Meter accuracy",
            "What the meter may be off, in per cent; blank: as bench meters are.",
            figure=True, width=8,
            of=Lot, read=_meter_error,
            write=lambda lot: "" if lot.measured_tolerance is None else figure(lot.measured_tolerance),
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
        StockColumn(
            "condition", "Condition", "State, Status, Tested",
            "untested (also where blank), good, suspect or faulty.",
            choices=tuple(Lot.Condition.values), example="good",
            of=Lot, read=lambda row, key, _spec: cells.word(row, key, CONDITIONS),
            write=lambda lot: lot.condition,
        ),
        StockColumn(
            "marking", "Marking", "Markings, Mark, Marked, Code, Printed, Top mark",
            "What is printed on it, as text: 104K, 0805.",
            width=18, example="yellow violet red gold",
            of=Lot, read=_text,
            write=lambda lot: lot.marking,
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
        StockColumn(
            "price", "Price", "Unit price, Price each, Cost, Unit cost, Price guess",
            "A guess, for one piece.  It belongs to the part: all its lots share it.",
            figure=True, width=8,
            of=Part, read=lambda row, key, _spec: cells.money(row, key),
            write=lambda part: part.price,
        ),
        StockColumn(
            "pack_size", "Pack size", "Pack, Pack of, Pack quantity",
            "How many are sold together.  It belongs to the part.",
            figure=True, width=9,
            of=Part, read=lambda row, key, _spec: cells.whole(row, key, least=1),
            write=lambda part: part.pack_size if part.pack_size > 1 else None,
        ),
        StockColumn(
            "reorder_at", "Reorder at", "Reorder, Reorder level, Reorder point, Minimum, Min, Min stock",
            "Buy more when so few are left.  It belongs to the part.",
            figure=True, width=10,
            of=Part, read=lambda row, key, _spec: cells.whole(row, key),
            write=lambda part: part.reorder_at,
        ),
        StockColumn(
            "note", "Note", "Notes, Comment, Comments, Remark, Remarks", "Anything else.",
            width=40,
            of=Lot, read=_text, write=lambda lot: lot.note,
        ),
        Column(
            "promised", "Promised", "Reserved",
            "How many are reserved for jobs.  Written for you to read; what stands here on the way in is "
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


PART_FACTS = tuple(
    column for column in STOCK.columns if isinstance(column, StockColumn) and column.of is Part
)
LOT_FACTS = tuple(column for column in STOCK.columns if isinstance(column, StockColumn) and column.of is Lot)


@dataclass(slots=True)
class StockRow:
    """What a row says, as the models have it: `part` and `lot` by the names of their columns.

    `source` and the condition in `lot` are blank where the cell is; of the part only what is said is there.
    """

    row: SheetRow
    spec: Spec | None
    quantity: int | None
    source: str
    giver: str
    from_ref: str
    part: dict[str, Any]
    lot: dict[str, Any]


def read_stock(row: SheetRow, specs: SpecReader, base: Spec | None = None) -> StockRow:
    """Read a row, naming every bad cell in it.  `base` is what the row's lot is, if it is here already."""
    spec = specs.read(row, base)
    quantity = cells.whole(row, "quantity")
    if not row["quantity"]:
        row.bad("quantity", "expected how many there are: a whole number")
    stated = StockRow(
        row=row,
        spec=spec,
        quantity=quantity,
        source=cells.word(row, "source", SOURCES),
        giver=cells.text(row, "giver", LONGEST["giver"]),
        from_ref=_one_ref(row),
        part={
            fact.key: value
            for fact in PART_FACTS
            if (value := fact.read(row, fact.key, spec)) not in ("", None)
        },
        lot={fact.key: fact.read(row, fact.key, spec) for fact in LOT_FACTS},
    )
    if stated.from_ref and base is None and stated.source != Lot.Source.BOARD:
        row.bad(
            "from_ref",
            "only a piece from a board has a reference: give the source board, or leave this empty",
        )
    if stated.from_ref and quantity is not None and quantity > 1:
        row.bad("quantity", f"{stated.from_ref} gave one piece: expected 1, and a row for each reference")
    return stated


def _one_ref(row: SheetRow) -> str:
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
            "expected one reference, such as R7: each such piece is a lot of one, with a row of its own",
        )
        return ""
    return refs[0]
