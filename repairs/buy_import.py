"""Rows of a buy sheet into orders, and into lots of what came.

Which purchase a row means:

- With a number in Purchase it is that one: pieces, price and seller may change while it is on order, and
  received turns it into a lot.
- Without a number it is a line to order.  "As written" names the line; a row that has nothing there is
  named by its part and seller.  What a line ordered is known by that name, so that the row orders once,
  however often its sheet comes in; marked received later, it receives what it ordered.
- A row that is neither ordered nor received asks for nothing.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import F

from inventory import ledger
from inventory.chunks import chunks
from inventory.ledger import Actor, Refused
from inventory.models import Part, StoredSpec
from inventory.sheets import Report, cells
from inventory.sheets.names import PlaceNames
from inventory.sheets.parts import parts_of
from inventory.sheets.specs import SpecReader, differing
from inventory.sheets.table import Progress, SheetRow
from inventory.spec import Spec
from inventory.whole_numbers import whole_numbers
from repairs import purchases
from repairs.answers.buy import MAX_LINES, OrderLine, lock_buy_list, order
from repairs.buy_table import LONGEST_FROM, ORDERED, RECEIVED, STATES, Written
from repairs.models import Purchase

State = Purchase.State
_LONGEST_NAME = 80
_MAX_ID = 2**62
_NEW_SHEET = "write a new sheet and change that"
_NOT_WANTED = "it is not, or no longer, on the buy list; to buy it all the same, make a purchase"


@dataclass(slots=True)
class _BuyRow:
    """What a row says; `state` is blank where nothing is asked, `line` names a row without a purchase."""

    row: SheetRow
    purchase: Purchase | None
    part: Part | None
    spec: Spec | None
    state: str
    pieces: int
    price: Decimal | None
    giver: str
    line: str = ""

    def old(self, key: str, now: str) -> None:
        """Name a cell that things have moved on from."""
        self.row.bad(key, f"{now}: {_NEW_SHEET}")


def import_rows(rows: Sequence[SheetRow], *, by: Actor, report: Report, progress: Progress) -> None:
    """Do what the rows say.  Bad cells are named on the rows; whoever called takes everything back then."""
    progress("checking", 0)
    lock_buy_list()  # before any purchase, as whoever orders does
    read = _BuyRowReader(rows).read()
    _BuyImport(by, report).import_rows(read)


# --- reading


class _BuyRowReader:
    """Rows to what they say, each bad cell named."""

    def __init__(self, rows: Sequence[SheetRow]) -> None:
        self.rows, self.specs = rows, SpecReader()
        self.purchases = _purchases("pk", self._numbers("purchase"))
        self.parts = Part.objects.select_related("spec").in_bulk(self._numbers("part"))
        self.first: dict[int, int] = {}
        self.named: Counter[str] = Counter()

    def _numbers(self, key: str) -> list[int]:
        texts = {row[key] for row in self.rows}
        return sorted(whole_numbers(texts))

    def read(self) -> list[_BuyRow]:
        return [entry for row in self.rows if (entry := self._read(row)) is not None]

    def _read(self, row: SheetRow) -> _BuyRow | None:
        purchase = self._known(row, "purchase", self.purchases, "no purchase has this number; it may have "
                               "been cancelled")  # fmt: skip
        part = self._known(row, "part", self.parts, "no part has this number: blank, and say what it is")
        if purchase is not None and part is not None and part.pk != purchase.part_id:
            row.bad("part", f"purchase {purchase.pk} is of part {purchase.part_id}")
        part = purchase.part if purchase is not None else part
        spec = self._spec(row, part)
        entry = _BuyRow(
            row=row,
            purchase=purchase,
            part=part,
            spec=spec,
            state=cells.word(row, "state", STATES),
            pieces=cells.whole(row, "pieces", least=1) or 0,
            price=cells.money(row, "price"),
            giver=cells.text(row, "bought_from", LONGEST_FROM),
        )
        if entry.state and not row["pieces"]:
            row.bad("pieces", "expected how many pieces: a whole number")
        if entry.state == RECEIVED and not row["place"]:
            row.bad("place", "expected the drawer or tray that what came is put in")
        if entry.state == ORDERED and row["place"]:
            row.bad(
                "place", "only what was received is put anywhere: set State to received, or leave this empty"
            )
        if purchase is not None:
            self._once(row, purchase)
        elif spec is not None and row.sound and entry.state:
            entry.line = self._line(row, spec, entry.giver)
        return entry if row.sound else None

    def _known(self, row: SheetRow, key: str, rows: Mapping[int, Any], unknown: str) -> Any:
        number = cells.whole(row, key, least=1, most=_MAX_ID)
        found = rows.get(number) if number is not None else None
        if number is not None and found is None:
            row.bad(key, unknown)
        return found

    def _spec(self, row: SheetRow, part: Part | None) -> Spec | None:
        base = None if part is None else part.spec.spec
        spec = self.specs.read(row, base, blank_is_base=True)
        if base is not None and spec is not None and spec != base:
            for key in differing(base, spec):
                row.bad(key, f"part {row['part'] or part} is {base}: for another part leave Part blank")
        return spec

    def _once(self, row: SheetRow, purchase: Purchase) -> None:
        first = self.first.setdefault(purchase.pk, row.number)
        if first != row.number:
            row.bad("purchase", f"row {first} is of this purchase too: expected one row of each")

    def _line(self, row: SheetRow, spec: Spec, giver: str) -> str:
        """The name of the line; of several rows with one name the later ones are numbered."""
        name = cells.text(row, "written", _LONGEST_NAME)
        name = name or f"part {StoredSpec.hash_of(spec)[:16]} from {' '.join(giver.casefold().split())[:40]}"
        self.named[name] += 1
        return name if self.named[name] == 1 else f"{name} #{self.named[name]}"


# --- importing


class _BuyImport:
    """Orders, changes and receives, and counts what came of each row."""

    def __init__(self, by: Actor, report: Report) -> None:
        self.by, self.report, self.places = by, report, PlaceNames()
        self.idle = self.again = 0

    def import_rows(self, read: Sequence[_BuyRow]) -> None:
        ordered = _ordered_by(entry.line for entry in read if entry.line)
        new: list[_BuyRow] = []
        for entry in read:
            if entry.purchase is not None:
                self._change(entry, entry.purchase)
            elif not entry.state:
                self.idle += 1
                self.report.count(changed=False)
            elif there := ordered.get(entry.line):
                self._once_more(entry, there)
            else:
                new.append(entry)
        if new:
            self._order(new)
        self._add_notes()

    def _add_notes(self) -> None:
        notes = self.report.notes
        if self.idle:
            are = _lines(self.idle, "is", "are")
            notes.append(f"{are} marked neither ordered nor received: nothing is done there.")
        if self.again:
            notes.append(
                f"{_lines(self.again)} came in before: not done again.  To order the same once more, write a "
                "name of your own in As written."
            )
        self.places.note_made(self.report)

    def _order(self, new: Sequence[_BuyRow]) -> None:
        """Put the lines on order, all of them or none; then receive those that came at once."""
        for entry in new[MAX_LINES:]:
            entry.row.bad("state", f"at most {MAX_LINES} lines are ordered at once: split the sheet")
        if len(new) > MAX_LINES:
            return
        unknown: dict[Spec, dict[str, Any]] = {
            entry.spec: {} for entry in new if entry.part is None and entry.spec
        }
        parts = parts_of(unknown).of
        lines: list[OrderLine] = []
        for entry in new:
            part = entry.part if entry.part is not None else parts[entry.spec]  # type: ignore[index]
            lines.append(OrderLine(part, entry.pieces, entry.price, entry.giver, entry.line))
        try:
            order(lines)
        except Refused as refused:
            gone = set(refused.facts.get("parts", ()))
            for entry, line in zip(new, lines, strict=True):
                if line.part.pk in gone:
                    entry.row.bad("state", _NOT_WANTED)
            return
        came = _ordered_by(entry.line for entry in new if entry.state == RECEIVED)
        for entry in new:
            self.report.created += 1
            if entry.state == RECEIVED:
                self._receive(entry, came[entry.line])

    def _once_more(self, entry: _BuyRow, there: Sequence[Purchase]) -> None:
        """A line that ordered before: nothing, or now what it ordered has come."""
        came = [each for each in there if each.state == State.RECEIVED]
        waiting = [each for each in there if each.state == State.ORDERED]
        arrived, numbers = sum(each.quantity for each in came), ", ".join(str(each.pk) for each in there)
        for each in there:
            if entry.price is not None and each.price != entry.price:
                entry.old("price", f"purchase {each.pk} of this line says {each.price or 'nothing'}")
            if entry.giver and each.bought_from.strip() != entry.giver:
                entry.old(
                    "bought_from", f"purchase {each.pk} of this line says {each.bought_from or 'nothing'}"
                )
        if len(came) + len(waiting) < len(there):
            entry.old("state", f"purchase {numbers} of this line is only wanted again")
        elif entry.state == ORDERED and not came and entry.pieces != sum(each.quantity for each in waiting):
            entry.old(
                "pieces", f"this line ordered {sum(each.quantity for each in waiting)}, purchase {numbers}"
            )
        elif entry.state == RECEIVED and came and entry.pieces != arrived:
            entry.old("pieces", f"of this line {arrived} came before, purchase {numbers}")
        elif entry.state == RECEIVED and came:
            self._same_place(entry, came)
        if not entry.row.sound:
            return
        if entry.state == RECEIVED and not came:
            self._receive(entry, waiting)
            self.report.updated += 1
        else:
            self.again += 1
            self.report.count(changed=False)

    def _change(self, entry: _BuyRow, purchase: Purchase) -> None:
        """A row of what is on order: the changes, then perhaps its arrival."""
        row, written = entry.row, self._written(entry)
        if not entry.state:
            row.bad(
                "state", f"purchase {purchase.pk} is {purchase.state}: expected ordered, or received; what "
                "does not come is cancelled on the buy list"
            )  # fmt: skip
            return
        changes: dict[str, Any] = {}
        if entry.price is not None and entry.price != purchase.price:
            changes["price"] = entry.price
        if entry.giver and entry.giver != purchase.bought_from.strip():
            changes["bought_from"] = entry.giver
        if purchase.state == State.RECEIVED:
            self._came_before(entry, purchase, changes, written)
            return
        if entry.state == ORDERED and entry.pieces != purchase.quantity:
            changes["quantity"] = entry.pieces
        if changes and written is not None and written.version != purchase.version:
            if _untouched(entry, written):
                self.report.count(changed=False)
            else:
                column = {"quantity": "pieces"}.get(next(iter(changes)), next(iter(changes)))
                entry.old(column, f"purchase {purchase.pk} was changed since the sheet was written")
            return
        if purchase.state == State.WANTED and entry.state == ORDERED:
            changes["state"] = State.ORDERED
        try:
            purchases.refuse_change(purchase, by=self.by, **changes)
        except Refused as refused:
            column = [*changes][-1]  # after what may be refused less often
            row.bad({"quantity": "pieces"}.get(column, column), str(refused))
            return
        if changes:
            Purchase.objects.filter(pk=purchase.pk).update(version=F("version") + 1, **changes)
            purchase.refresh_from_db(fields=[*changes, "version"])
        if entry.state == RECEIVED:
            self._receive(entry, [purchase])
        self.report.count(changed=bool(changes) or entry.state == RECEIVED)

    def _came_before(
        self, entry: _BuyRow, purchase: Purchase, changes: Mapping[str, Any], written: Written | None
    ) -> None:
        same = entry.state == RECEIVED and entry.pieces == purchase.quantity and not changes
        if same:
            self._same_place(entry, [purchase])
        elif not (written is not None and _untouched(entry, written)):
            entry.old("state", f"{purchase.quantity} came before, as lot {purchase.lot_id}")
        if entry.row.sound:
            self.again += same
            self.report.count(changed=False)

    def _written(self, entry: _BuyRow) -> Written | None:
        text = entry.row["written"]
        found = Written.read(text) if text else None
        if text and found is None:
            entry.row.bad("written", "leave this cell as it was written, or blank")
        return found

    def _receive(self, entry: _BuyRow, waiting: Sequence[Purchase]) -> None:
        """Put what came in its place: the oldest purchases first, what is beyond them with the last."""
        place = self.places.keeping(entry.row, "place")
        left = entry.pieces
        for number, purchase in enumerate(waiting):
            share = left if number == len(waiting) - 1 else min(left, purchase.quantity)
            if place is not None and share:
                purchases.receive(purchase, ledger.spot_of(place), by=self.by, quantity=share)
            left -= share

    def _same_place(self, entry: _BuyRow, came: Iterable[Purchase]) -> None:
        named = self.places.written_as(entry.row["place"])
        for purchase in came:
            if purchase.place_id not in named:
                where = self.places.paths.get(purchase.place_id or 0, "")
                entry.row.bad("place", f"what came was put in {where}: move it from there")


def _untouched(entry: _BuyRow, written: Written) -> bool:
    """Whether the row still says what was written."""
    now = Written(written.version, entry.pieces, entry.price, entry.giver)
    return entry.state == ORDERED and str(now) == str(written)


def _ordered_by(names: Iterable[str]) -> dict[str, list[Purchase]]:
    """The purchases that lines of these names made, oldest first."""
    found: defaultdict[str, list[Purchase]] = defaultdict(list)
    for row in _purchases("sheet_line", sorted(set(names))).values():
        found[row.sheet_line].append(row)
    return dict(found)


def _purchases(column: str, wanted: Sequence[Any]) -> dict[int, Purchase]:
    """The purchases that have one of these in a column, by number, locked."""
    rows = (
        Purchase.objects.select_for_update(of=("self",)).select_related("part__spec", "owner").order_by("id")
    )
    return {row.pk: row for chunk in chunks(wanted) for row in rows.filter(**{f"{column}__in": chunk})}


def _lines(count: int, one: str = "", more: str = "") -> str:
    return f"1 line {one}".rstrip() if count == 1 else f"{count} lines {more}".rstrip()
