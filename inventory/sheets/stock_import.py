"""Stock rows into lots: new ones come in, those that are here already are counted, moved and described.

Which lot a row means:

- With a number in Lot it is that lot, and only what differs is changed: another quantity is a count,
  another place a move.  What the lot is and where it came from stay: such a change is refused.
- Without a number it is a lot that comes in, unless pieces here already say exactly the same (part, place,
  quantity, condition, marking, measured, note, origin); each of these answers one row at most.
- "As written" tells a cell that was changed from a sheet that grew old.  A row that still says what was
  written asks for nothing; a changed row is refused where things have moved on since.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from inventory import ledger
from inventory.chunks import chunks
from inventory.ledger import Actor, Arrival, Origin, Spot
from inventory.models import Holding, Lot
from inventory.sheets import cells
from inventory.sheets.lot_changes import LotChanges
from inventory.sheets.names import KEPT_IN, BoardNames, PlaceNames
from inventory.sheets.parts import Parts, parts_of
from inventory.sheets.report import Report
from inventory.sheets.specs import SpecReader
from inventory.sheets.stock_table import LOT_FACTS, StockRow, read_stock
from inventory.sheets.table import Progress, SheetRow
from inventory.spec import Spec
from inventory.whole_numbers import whole_numbers

_AT_ONCE = 1_000  # lots brought in by one call of the ledger; whoever stops an import waits for no more


def import_rows(rows: Sequence[SheetRow], *, by: Actor, report: Report, progress: Progress) -> None:
    """Do what the rows say.  Bad cells are named on the rows; whoever called takes everything back then."""
    specs, places, boards = SpecReader(), PlaceNames(), BoardNames()
    here = _lots_named_in(rows)
    new: list[StockRow] = []
    old: list[tuple[Lot, StockRow]] = []
    for done, row in enumerate(rows):
        number = cells.whole(row, "lot", least=1, most=2**62)
        if number is None:
            new.append(read_stock(row, specs))
        elif lot := here.get(number):
            old.append((lot, read_stock(row, specs, lot.part.spec.spec)))
        else:
            row.bad("lot", "no lot has this number: leave the cell blank for a new lot")
        if done % 500 == 0:
            progress("checking", done)
    parts = parts_of(_facts_of_parts([*new, *(entry for _lot, entry in old)]))
    incoming = _Incoming(parts, places, boards, apart_from=set(here))
    incoming.bring_in(new, by, report, progress)
    LotChanges(parts, places).make(old, by, report, progress)
    places.note_made(report)


def _lots_named_in(rows: Sequence[SheetRow]) -> dict[int, Lot]:
    """The lots whose numbers stand in the sheet, locked."""
    written = {row["lot"] for row in rows}
    numbers = sorted(whole_numbers(written))
    lots = (
        Lot.objects.select_for_update(of=("self",))
        .select_related("part__spec", "origin_board")
        .order_by("id")
    )
    return {lot.pk: lot for chunk in chunks(numbers) for lot in lots.filter(pk__in=chunk)}


def _facts_of_parts(rows: Sequence[StockRow]) -> Mapping[Spec, Mapping[str, Any]]:
    """What the rows say of each part.  Rows that say two things of one part are named."""
    facts: dict[Spec, dict[str, Any]] = {}
    first: dict[tuple[Spec, str], int] = {}
    for entry in rows:
        if entry.spec is None:
            continue
        columns = facts.setdefault(entry.spec, {})
        for name, value in entry.part.items():
            before = first.setdefault((entry.spec, name), entry.row.number)
            if columns.setdefault(name, value) != value:
                entry.row.bad(
                    name, f"row {before} says {columns[name]} for the same part: expected one or the other"
                )
    return facts


class _Incoming:
    """Rows without a lot number: pieces that come in, unless they are here already."""

    def __init__(self, parts: Parts, places: PlaceNames, boards: BoardNames, *, apart_from: set[int]) -> None:
        self.parts, self.places, self.boards, self.apart_from = parts, places, boards, apart_from

    def bring_in(self, rows: Sequence[StockRow], by: Actor, report: Report, progress: Progress) -> None:
        here, pieces = self._here_already(rows), self._pieces_known(rows)
        self.places.make_all(entry.row["place"] for entry in rows if entry.quantity != 0)
        waiting: list[Arrival] = []
        for done, entry in enumerate(rows):
            arrival = self._arrival(entry)
            if arrival is None or entry.spec is None:
                continue
            like = _likeness(arrival)
            if arrival.quantity == 0 and entry.spec in self.parts.made:
                report.created += 1  # a part to remember, of which there is none
            elif arrival.quantity == 0 or here[like]:
                here[like] -= 1  # so that the next row that says the same is another lot
                report.count(changed=self.parts.changed_by(entry.spec, entry.part))
            elif not _is_known(entry, arrival, pieces):
                waiting.append(arrival)
                report.created += 1
            if len(waiting) == _AT_ONCE:
                ledger.receive_all(waiting, by=by)
                waiting.clear()
                progress("writing", done)
        ledger.receive_all(waiting, by=by)

    def _arrival(self, entry: StockRow) -> Arrival | None:
        """What comes in; None where the row has a bad cell."""
        row = entry.row
        place = self.places.keeping(row, "place") if entry.quantity != 0 else None
        origin = Origin(source=entry.source or Lot.Source.UNKNOWN, giver=entry.giver)
        if entry.source == Lot.Source.BOARD:
            origin = Origin(source=entry.source, board=self.boards.named(row, "giver"), ref=entry.from_ref)
        if not row.sound or entry.spec is None or entry.quantity is None:
            return None
        return Arrival(
            part=self.parts.of[entry.spec],
            quantity=entry.quantity,
            to=Spot(place.pk if place else 0),
            origin=origin,
            **(entry.lot | {"condition": entry.lot["condition"] or Lot.Condition.UNTESTED}),
        )

    def _here_already(self, rows: Sequence[StockRow]) -> Counter[tuple[Any, ...]]:
        """How many holdings there are of each kind of arrival, apart from the lots that the sheet names."""
        specs = {entry.spec for entry in rows if entry.spec is not None} - self.parts.made
        wanted = {self.parts.of[spec].pk for spec in specs}
        held = Holding.objects.filter(quantity__gt=0, place__type__in=KEPT_IN)
        if len(wanted) <= 500:
            held = held.filter(lot__part__in=wanted)
        columns = held.values_list(
            "lot_id", "lot__part_id", "place_id", "quantity",
            "lot__origin_source", "lot__origin_board_id", "lot__origin_ref", "lot__origin_from",
            *(f"lot__{fact.key}" for fact in LOT_FACTS),
        )  # fmt: skip
        return Counter(
            tuple(map(_as_cell, holding[1:]))
            for holding in columns.iterator(chunk_size=5000)
            if holding[1] in wanted and holding[0] not in self.apart_from
        )

    def _pieces_known(self, rows: Sequence[StockRow]) -> dict[tuple[int, str], str]:
        """The pieces on record from board positions that the rows name, by board and reference."""
        boards = {
            board.pk
            for entry in rows
            if entry.from_ref and (board := self.boards.get(entry.giver)) is not None
        }
        known = Lot.objects.filter(origin_board__in=boards, split_from=None).exclude(origin_ref="")
        return {
            (board, ref): f"lot {pk}: give its number in Lot to change it"
            for pk, board, ref in known.values_list("id", "origin_board_id", "origin_ref")
        }


def _as_cell(value: Any) -> Any:
    """Cells are read without spaces at their ends."""
    return value.strip() if isinstance(value, str) else value


def _likeness(arrival: Arrival) -> tuple[Any, ...]:
    """What `_here_already` counts holdings by, of an arrival."""
    origin = arrival.origin
    return (
        arrival.part.pk, arrival.to.place_id, arrival.quantity,
        origin.source, origin.board.pk if origin.board else None, origin.ref, origin.giver,
        *(getattr(arrival, fact.key) for fact in LOT_FACTS),
    )  # fmt: skip


def _is_known(entry: StockRow, arrival: Arrival, pieces: dict[tuple[int, str], str]) -> bool:
    """Whether a piece from a board position is on record or came earlier in the sheet: a bad cell."""
    origin = arrival.origin
    if origin.board is None or not origin.ref:
        return False
    known = pieces.get((origin.board.pk, origin.ref))
    if known is None:
        pieces[origin.board.pk, origin.ref] = f"row {entry.row.number} of {entry.row.layout.sheet}"
        return False
    entry.row.bad("from_ref", f"that piece is on record already, as {known}")
    return True
