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
from inventory.ledger import Arrival, By, Origin, Spot
from inventory.models import Holding, Lot
from inventory.sheets import cells
from inventory.sheets.lot_changes import LotChanges
from inventory.sheets.names import KEPT_IN, BoardNames, PlaceNames
from inventory.sheets.parts import Parts, parts_of
from inventory.sheets.report import Report
from inventory.sheets.specs import SpecReader
from inventory.sheets.stock_table import StockRow, read_stock
from inventory.sheets.table import Progress, Row
from inventory.spec import Spec

_AT_ONCE = 5_000  # lots brought in by one call of the ledger: the memory of so many rows


def land(rows: Sequence[Row], *, by: By, report: Report, progress: Progress) -> None:
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
    parts = parts_of(_said_of_parts([*new, *(said for _lot, said in old)]))
    incoming = _Incoming(parts, places, boards, apart_from=set(here))
    incoming.bring_in(new, by, report, progress)
    LotChanges(parts, places).make(old, by, report, progress)
    places.tell(report)


def _lots_named_in(rows: Sequence[Row]) -> dict[int, Lot]:
    """The lots whose numbers stand in the sheet, locked."""
    written = {row["lot"] for row in rows}
    numbers = sorted(int(text) for text in written if text.isascii() and text.isdigit() and len(text) < 19)
    lots = (
        Lot.objects.select_for_update(of=("self",))
        .select_related("part__spec", "origin_board")
        .order_by("id")
    )
    return {
        lot.pk: lot
        for start in range(0, len(numbers), 500)
        for lot in lots.filter(pk__in=numbers[start : start + 500])
    }


def _said_of_parts(rows: Sequence[StockRow]) -> Mapping[Spec, Mapping[str, Any]]:
    """What the rows say of each part.  Rows that say two things of one part are named."""
    says: dict[Spec, dict[str, Any]] = {}
    first: dict[tuple[Spec, str], int] = {}
    for said in rows:
        if said.spec is None:
            continue
        columns = says.setdefault(said.spec, {})
        for name, value in said.of_part().items():
            before = first.setdefault((said.spec, name), said.row.number)
            if columns.setdefault(name, value) != value:
                said.row.bad(
                    name, f"row {before} says {columns[name]} for the same part: want one or the other"
                )
    return says


class _Incoming:
    """Rows without a lot number: pieces that come in, unless they are here already."""

    def __init__(self, parts: Parts, places: PlaceNames, boards: BoardNames, *, apart_from: set[int]) -> None:
        self.parts, self.places, self.boards, self.apart_from = parts, places, boards, apart_from

    def bring_in(self, rows: Sequence[StockRow], by: By, report: Report, progress: Progress) -> None:
        here, pieces = self._here_already(rows), self._pieces_known(rows)
        waiting: list[Arrival] = []
        for done, said in enumerate(rows):
            arrival = self._arrival(said)
            if arrival is None or said.spec is None:
                continue
            told = _told(arrival)
            if arrival.quantity == 0 and said.spec in self.parts.made:
                report.created += 1  # a part to remember, of which there is none
            elif arrival.quantity == 0 or here[told]:
                here[told] -= 1  # so that the next row that says the same is another lot
                report.count(changed=self.parts.changed_by(said.spec, said.of_part()))
            elif not _is_known(said, arrival, pieces):
                waiting.append(arrival)
                report.created += 1
            if len(waiting) == _AT_ONCE:
                ledger.receive_all(waiting, by=by)
                waiting.clear()
                progress("writing", done)
        ledger.receive_all(waiting, by=by)

    def _arrival(self, said: StockRow) -> Arrival | None:
        """What comes in; None where the row has a bad cell."""
        row = said.row
        place = self.places.keeping(row, "place") if said.quantity != 0 else None
        origin = Origin(source=said.source or Lot.Source.UNKNOWN, giver=said.giver)
        if said.source == Lot.Source.BOARD:
            origin = Origin(source=said.source, board=self.boards.named(row, "giver"), ref=said.from_ref)
        if not row.sound or said.spec is None or said.quantity is None:
            return None
        return Arrival(
            part=self.parts.of[said.spec],
            quantity=said.quantity,
            to=Spot(place.pk if place else 0),
            origin=origin,
            condition=said.condition or Lot.Condition.UNTESTED,
            marking=said.marking,
            note=said.note,
            measured=said.measured,
        )

    def _here_already(self, rows: Sequence[StockRow]) -> Counter[tuple[Any, ...]]:
        """How many holdings there are of each kind of arrival, apart from the lots that the sheet names."""
        specs = {said.spec for said in rows if said.spec is not None} - self.parts.made
        wanted = {self.parts.of[spec].pk for spec in specs}
        held = Holding.objects.filter(quantity__gt=0, place__type__in=KEPT_IN)
        if len(wanted) <= 500:
            held = held.filter(lot__part__in=wanted)
        columns = held.values_list(
            "lot_id", "lot__part_id", "place_id", "quantity", "lot__condition", "lot__measured",
            "lot__origin_source", "lot__origin_board_id", "lot__origin_ref",
            "lot__origin_from", "lot__marking", "lot__note",
        )  # fmt: skip
        return Counter(
            (*told[1:-3], *map(str.strip, told[-3:]))  # cells are read without spaces at their ends
            for told in columns.iterator(chunk_size=5000)
            if told[1] in wanted and told[0] not in self.apart_from
        )

    def _pieces_known(self, rows: Sequence[StockRow]) -> dict[tuple[int, str], str]:
        """The pieces on record from board positions that the rows name, by board and reference."""
        boards = {
            board.pk for said in rows if said.from_ref and (board := self.boards.get(said.giver)) is not None
        }
        known = Lot.objects.filter(origin_board__in=boards, split_from=None).exclude(origin_ref="")
        return {
            (board, ref): f"lot {pk}: give its number in Lot to change it"
            for pk, board, ref in known.values_list("id", "origin_board_id", "origin_ref")
        }


def _told(arrival: Arrival) -> tuple[Any, ...]:
    """An arrival as `_here_already` tells a holding."""
    origin = arrival.origin
    return (
        arrival.part.pk, arrival.to.place_id, arrival.quantity, arrival.condition, arrival.measured,
        origin.source, origin.board.pk if origin.board else None, origin.ref,
        origin.giver, arrival.marking, arrival.note,
    )  # fmt: skip


def _is_known(said: StockRow, arrival: Arrival, pieces: dict[tuple[int, str], str]) -> bool:
    """Whether a piece from a board position is on record or came earlier in the sheet: a bad cell."""
    origin = arrival.origin
    if origin.board is None or not origin.ref:
        return False
    known = pieces.get((origin.board.pk, origin.ref))
    if known is None:
        pieces[origin.board.pk, origin.ref] = f"row {said.row.number} of {said.row.layout.sheet}"
        return False
    said.row.bad("from_ref", f"that piece is on record already, as {known}")
    return True
