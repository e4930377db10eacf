"""Spreadsheets out: what there is by name, written as xlsx or csv in pieces, in the memory of a few rows.

Other apps add theirs: `EXPORTS["shortages"] = Export(sheets_of_shortages, about="…")`.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from django.utils.timezone import localtime

from inventory.designs import named
from inventory.models import Design, Holding, Movement, StoredSpec
from inventory.places import paths
from inventory.refs import split_ref
from inventory.sheets import csvtext, xlsx_out
from inventory.sheets.drawing_sheets import DRAWINGS, HAZARD, KINDS, rows_of
from inventory.sheets.grid import LIMITS, CellOut, ColumnOut, SheetOut
from inventory.sheets.lot_changes import as_written
from inventory.sheets.names import KEPT_IN
from inventory.sheets.positions_sheet import POSITIONS, SPOT_FACTS
from inventory.sheets.report import BadOption
from inventory.sheets.specs import SPEC_COLUMNS, as_text, spec_values
from inventory.sheets.stock_table import LOT_FACTS, PART_FACTS, STOCK
from inventory.sheets.table import Column, Table

FORMS = {"xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "csv": "text/csv"}
"""Form -> media type."""

Options = Mapping[str, Sequence[str]]
_AT_ONCE = 2_000  # rows that are read from the database, and Specs that are remembered


@dataclass(frozen=True)
class Option:
    """What may be asked of an export; `needed` must be given, `many` may be given several times.

    `offers` are the answers there are to choose from, as (answer, words), where that is known.
    """

    about: str
    needed: bool = False
    many: bool = False
    offers: Callable[[], Iterable[tuple[str, str]]] = tuple


@dataclass(frozen=True)
class Export:
    """What can be exported: the sheets of a workbook, of which csv takes the first.

    Options come by name, each as a list of texts.  `title` is what a person calls it.
    """

    sheets: Callable[[Options], Sequence[SheetOut]]
    about: str
    options: Mapping[str, Option] = field(default_factory=dict)
    title: str = ""


def export(name: str, form: str, options: Options | None = None) -> Iterator[bytes]:
    """The pieces of a file.  BadOption comes at once, before the first of them."""
    return written(EXPORTS[name].sheets(options or {}), form)


def written(sheets: Sequence[SheetOut], form: str) -> Iterator[bytes]:
    """Sheets as the pieces of a file of this form."""
    if form == "xlsx":
        return xlsx_out.write(sheets, LIMITS)
    return (piece.encode() for piece in csvtext.write(_texts(sheets[0])))


def _texts(sheet: SheetOut) -> Iterator[list[str]]:
    yield [column.heading for column in sheet.columns]
    for row in sheet.rows:
        yield [as_text(value) for value in row]


def column_out(column: Column, *, hint: bool = False) -> ColumnOut:
    return ColumnOut(
        heading=column.heading,
        width=max(column.width, len(column.heading) + 2),
        text=not column.figure or column.key in ("value", "measured"),
        choices=column.choices,
        others=column.others,
        hint=column.about if hint else "",
    )


def sheet_out(table: Table, name: str, rows: Iterator[Mapping[str, CellOut]]) -> SheetOut:
    """A sheet of a table, from column key -> cell for each row."""
    shown = [column for column in table.columns if not column.rare]
    return SheetOut(
        name=name,
        columns=[column_out(column) for column in shown],
        rows=([row.get(column.key) for column in shown] for row in rows),
        on_paper=next((at for at, column in enumerate(shown, 1) if column.key == table.on_paper), 0),
    )


class _SpecCells:
    """The cells of stored Specs by their id; the last few thousand are remembered."""

    def __init__(self) -> None:
        self._known: dict[int, dict[str, CellOut]] = {}

    def of(self, stored: StoredSpec) -> Mapping[str, CellOut]:
        cells = self._known.get(stored.pk)
        if cells is None:
            if len(self._known) >= _AT_ONCE:
                self._known.clear()
            keys = (column.key for column in SPEC_COLUMNS)
            cells = self._known[stored.pk] = dict(zip(keys, spec_values(stored.spec), strict=True))
        return cells


# --- stock


def _stock(options: Options) -> Sequence[SheetOut]:
    return [sheet_out(STOCK, "Stock", _stock_rows())]


def _stock_rows() -> Iterator[Mapping[str, CellOut]]:
    """What is in drawers and trays, a row for each lot and place."""
    path_of, specs = paths(), _SpecCells()
    held = (
        Holding.objects.filter(quantity__gt=0, place__type__in=KEPT_IN)
        .select_related("lot__part__spec", "lot__origin_board")
        .order_by(
            "lot__part__spec__kind", "lot__part__spec__value", "lot__part__spec__number", "lot_id", "id"
        )
    )
    for holding in held.iterator(chunk_size=_AT_ONCE):
        lot, part, path = holding.lot, holding.lot.part, path_of[holding.place_id]
        yield {
            **specs.of(part.spec),
            **{fact.key: fact.write(part) for fact in PART_FACTS},
            **{fact.key: fact.write(lot) for fact in LOT_FACTS},
            "lot": lot.pk,
            "quantity": holding.quantity,
            "place": path,
            "source": lot.origin_source,
            "giver": lot.origin_board.name if lot.origin_board else lot.origin_from,
            "from_ref": lot.origin_ref,
            "promised": holding.promised or None,
            "written": as_written(lot.version, holding.quantity, path),
        }


# --- a design


def _design(options: Options) -> Sequence[SheetOut]:
    wanted = options.get("design", ())
    if len(wanted) != 1:
        raise BadOption("design", "expected one design, by its id or by its name and revision")
    text = wanted[0]
    design = named(text)
    if design is None:
        raise BadOption("design", f"there is no design {text[:80]!r}")
    return sheets_of(design)


def _designs() -> Iterator[tuple[str, str]]:
    for design in Design.objects.order_by("name", "revision"):
        yield str(design.pk), str(design)


def sheets_of(design: Design) -> Sequence[SheetOut]:
    """The parts list of a design, then what else is drawn of it."""
    named = {"design": design.name, "revision": design.revision}
    further = [(kind.table, rows_of(kind, getattr(design, kind.name))) for kind in KINDS]
    further += [
        (HAZARD, ({"name": hazard} for hazard in design.hazards)),
        (DRAWINGS, iter([{"note": design.note}])),
    ]
    return [
        sheet_out(POSITIONS, "Parts", ({**named, **row} for row in _position_rows(design))),
        *(sheet_out(table, table.sheet, ({**named, **row} for row in rows)) for table, rows in further),
    ]


def _position_rows(design: Design) -> Iterator[Mapping[str, CellOut]]:
    specs = _SpecCells()
    for position in sorted(design.positions.select_related("spec"), key=lambda each: split_ref(each.ref)):
        yield {
            **specs.of(position.spec),
            "ref": position.ref,
            **{fact.key: fact.write(getattr(position, fact.key)) for fact in SPOT_FACTS},
        }


# --- the ledger

_LEDGER = (
    ColumnOut("Movement", 10, text=False), ColumnOut("At", 17), ColumnOut("Kind", 9),
    ColumnOut("Lot", 8, text=False), ColumnOut("To lot", 8, text=False), ColumnOut("Part", 44),
    ColumnOut("Quantity", 9, text=False), ColumnOut("From", 30), ColumnOut("From ref", 9),
    ColumnOut("To", 26), ColumnOut("To ref", 9), ColumnOut("By", 12), ColumnOut("Note", 34),
    ColumnOut("Borrowed", 9), ColumnOut("Settles", 9, text=False), ColumnOut("Reverses", 9, text=False),
)  # fmt: skip


def _ledger(options: Options) -> Sequence[SheetOut]:
    return [SheetOut("Ledger", _LEDGER, _ledger_rows())]


def _ledger_rows() -> Iterator[Sequence[CellOut]]:
    """Every movement, oldest first."""
    path_of = paths()
    lines = Movement.objects.order_by("id").values_list(
        "id", "at", "kind", "lot_id", "to_lot_id", "lot__part__name", "quantity", "from_place_id", "from_ref",
        "to_place_id", "to_ref", "by__username", "note", "borrow", "settles_id", "reverses_id",
    )  # fmt: skip
    for (
        pk,
        at,
        kind,
        lot,
        to_lot,
        part,
        count,
        source,
        ref,
        target,
        to_ref,
        by,
        note,
        borrow,
        settles,
        reverses,
    ) in lines.iterator(chunk_size=_AT_ONCE):
        yield (
            pk, f"{localtime(at):%Y-%m-%d %H:%M}", kind, lot, to_lot, part, count,
            path_of.get(source, ""), ref, path_of.get(target, ""), to_ref,
            by, note, "yes" if borrow else "", settles, reverses,
        )  # fmt: skip


EXPORTS: dict[str, Export] = {
    "stock": Export(
        _stock, "What is in drawers and trays; goes back in as `stock`.", title="What is in the drawers"
    ),
    "design": Export(
        _design,
        "The parts list of a design; goes back in as `design`.",
        {"design": Option("Which: its id, or its name and revision.", needed=True, offers=_designs)},
        title="The parts of a design",
    ),
    "ledger": Export(_ledger, "Every movement, oldest first.", title="The ledger"),
}
