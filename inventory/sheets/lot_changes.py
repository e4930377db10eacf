"""Stock rows that carry a lot number: counts, moves and what is said of the lot."""

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from inventory import ledger, lots
from inventory.chunks import chunks
from inventory.ledger import Actor, Refused, Spot
from inventory.models import Holding, Lot
from inventory.sheets.names import KEPT_IN, PlaceNames
from inventory.sheets.parts import Parts
from inventory.sheets.report import Report
from inventory.sheets.specs import differing
from inventory.sheets.stock_table import LOT_FACTS, StockRow
from inventory.sheets.table import Progress

NOTE = "from a spreadsheet"
_DESCRIBED = tuple(fact.key for fact in LOT_FACTS)
_WRITTEN = re.compile(r"v([0-9]{1,9}), ([0-9]{1,9}) in (.+)", re.DOTALL)
_OLD = "write a new sheet and change that"

Held = Mapping[int, int]
"""Place -> pieces of one lot in drawers and trays."""


def as_written(version: int, quantity: int, path: str) -> str:
    """The cell "As written" of an exported row: `v3, 10 in Cabinet A / Drawer 7`."""
    return f"v{version}, {quantity} in {path}"


@dataclass(frozen=True)
class _Written:
    """How things were when the sheet was written: version of the lot, pieces at a place."""

    version: int
    quantity: int
    path: str


@dataclass(slots=True)
class _Change:
    """A row of one lot: so many are to be at `target`, out of those that are at `source`."""

    entry: StockRow
    written: _Written | None
    target: int | None = None
    source: int | None = None
    made: bool = False

    @property
    def untouched(self) -> bool:
        written, row = self.written, self.entry.row
        return written is not None and (self.entry.quantity, row["place"]) == (written.quantity, written.path)


class LotChanges:
    """What the rows of a sheet change in lots that are here."""

    def __init__(self, parts: Parts, places: PlaceNames) -> None:
        self.parts, self.places = parts, places

    def make(
        self, rows: Sequence[tuple[Lot, StockRow]], by: Actor, report: Report, progress: Progress
    ) -> None:
        here = {lot.pk: lot for lot, _entry in rows}
        changes: dict[int, list[_Change]] = defaultdict(list)
        for lot, entry in rows:
            _refuse_another_piece(lot, entry)
            changes[lot.pk].append(_Change(entry, _written_in(entry)))
        held = _held(here)
        described = [lot for pk, lot in here.items() if _describe(lot, changes[pk])]
        for done, (pk, lot) in enumerate(here.items()):
            self._shift(lot, held[pk], changes[pk], by)
            if done % 100 == 0:
                progress("counting", done)
        for lot in described:
            lot.version += 1
        Lot.objects.bulk_update(described, [*_DESCRIBED, "version"], batch_size=200)
        for change in (change for each in changes.values() for change in each):
            spec = change.entry.spec
            of_part = spec is not None and self.parts.changed_by(spec, change.entry.part)
            report.count(changed=change.made or of_part)

    # --- pieces

    def _shift(self, lot: Lot, held: Held, changes: Sequence[_Change], by: Actor) -> None:
        groups: dict[int, list[_Change]] = defaultdict(list)
        targets: dict[int, _Change] = {}
        for change in changes:
            self._place(lot, held, change, changes)
            if change.target is None:
                continue
            first = targets.setdefault(change.target, change)
            if first is not change:
                at = self.places.paths[change.target]
                change.entry.row.bad(
                    "place", f"row {first.entry.row.number} says how many of lot {lot.pk} are in {at}"
                )
            if change.source is not None and not change.untouched:
                groups[change.source].append(change)
        if all(change.entry.row.sound for change in changes):
            for source, group in groups.items():
                self._carry_out(lot, held, source, group, by)

    def _place(self, lot: Lot, held: Held, change: _Change, changes: Sequence[_Change]) -> None:
        """Find where the pieces of a row are to be, and where they are."""
        row, written = change.entry.row, change.written
        now = (
            " and ".join(f"{count} in {self.places.paths[place]}" for place, count in held.items())
            or "none in a drawer"
        )
        if row["place"]:
            known = [place for place in self.places.written_as(row["place"]) if place in held]
            place = None if known or change.untouched else self.places.keeping(row, "place")
            change.target = known[0] if known else place.pk if place else None
        elif len(held) == 1:
            change.target = next(iter(held))
        else:
            row.bad("place", f"of lot {lot.pk} there are {now}: say which place is meant")
        if written is not None:
            change.source = next((place for place in held if self.places.paths[place] == written.path), None)
            gone = change.source is None and not change.untouched
            if gone and held.get(change.target or 0, 0) != change.entry.quantity:
                row.bad(
                    "quantity", f"since the sheet was written the pieces were moved; there are {now}: {_OLD}"
                )
        elif change.target in held or not held:
            change.source = change.target
        elif len(held) == 1 and len(changes) == 1:
            change.source = next(iter(held))
        elif change.target is not None:
            row.bad(
                "place",
                f"of lot {lot.pk} there are {now}: move them by a movement, or in a sheet written here",
            )

    def _carry_out(self, lot: Lot, held: Held, source: int, group: Sequence[_Change], by: Actor) -> None:
        """Count the pieces where they are, then move those that are to be elsewhere."""
        wanted = {change.target: change.entry.quantity or 0 for change in group}
        stays = source in wanted
        if all(held.get(target or 0, 0) == count for target, count in wanted.items()) and (
            stays or not held.get(source)
        ):
            return  # done before
        first, now, total = group[0], held.get(source, 0), sum(wanted.values())
        if first.written is not None and first.written.quantity != now:
            first.entry.row.bad(
                "quantity",
                f"{first.written.quantity} were there when the sheet was written, {now} are now: {_OLD}",
            )
            return
        for change in group:
            if change.target != source and (there := held.get(change.target or 0)):
                change.entry.row.bad(
                    "place", f"{there} of lot {lot.pk} are there already: count both places instead"
                )
                return
        try:
            with transaction.atomic():
                if total != now:
                    ledger.count(lot, Spot(source), total, by=by, note=NOTE)
                for target, count in wanted.items():
                    if target is not None and target != source and count:
                        ledger.move(lot, Spot(source), Spot(target), count, by=by, note=NOTE)
        except Refused as refused:
            first.entry.row.bad("quantity" if total != now else "place", refused.detail)
        for change in group:
            change.made = change.made or total != now or change.target != source


def _held(lots: Mapping[int, Lot]) -> dict[int, dict[int, int]]:
    """Lot -> place -> pieces, in drawers and trays."""
    held: dict[int, dict[int, int]] = {pk: {} for pk in lots}
    for chunk in chunks(lots):
        there = Holding.objects.filter(lot__in=chunk, quantity__gt=0, place__type__in=KEPT_IN).order_by("id")
        for lot, place, quantity in there.values_list("lot_id", "place_id", "quantity"):
            held[lot][place] = quantity
    return held


def _written_in(entry: StockRow) -> _Written | None:
    text = entry.row["written"]
    found = _WRITTEN.fullmatch(text)
    if text and not found:
        entry.row.bad("written", "leave this cell as it was written, or blank")
    return _Written(int(found[1]), int(found[2]), found[3]) if found else None


# --- what is said of the lot


def _refuse_another_piece(lot: Lot, entry: StockRow) -> None:
    """What a lot is and where it came from stay as they are."""
    row = entry.row
    if entry.spec is not None and entry.spec != lot.part.spec.spec:
        for key in differing(lot.part.spec.spec, entry.spec):
            row.bad(key, f"lot {lot.pk} is {lot.part.spec.text}: what a lot is cannot be changed by a sheet")
    came_from = {
        "source": lot.origin_source,
        "giver": lot.origin_board.name if lot.origin_board else lot.origin_from.strip(),
        "from_ref": lot.origin_ref,
    }
    for key, now in came_from.items():
        if row[key] and row.sound and getattr(entry, key) != now:
            row.bad(key, f"lot {lot.pk} has {now or 'nothing'} here: where a lot came from stays as it is")


def _describe(lot: Lot, changes: Sequence[_Change]) -> bool:
    """Set on the lot what the rows say of it; whether that is anything new."""
    given: dict[str, tuple[Any, int]] = {}
    before = {name: getattr(lot, name) for name in _DESCRIBED}
    for change in changes:
        row, written = change.entry.row, change.written
        for name, now in before.items():
            new = change.entry.lot[name]
            if not row.has(name) or (name == "condition" and not new) or not row.sound:
                continue
            first, number = given.setdefault(name, (new, row.number))
            differs = new != (now.strip() if isinstance(now, str) else now)
            if new != first:
                row.bad(
                    name,
                    f"row {number} says {first or 'nothing'} for the same lot: expected one or the other",
                )
            elif differs and written is not None and written.version != lot.version:
                row.bad(name, f"lot {lot.pk} was changed since the sheet was written: {_OLD}")
            elif differs:
                try:
                    lots.refuse_change(lot, **{name: new})
                except Refused as refused:
                    row.bad(name, refused.detail)
                setattr(lot, name, new)
                change.made = True
    if lot.measured != before["measured"] and "measured_tolerance" not in given:
        lot.measured_tolerance = None  # what the meter of an earlier reading was off says nothing of this one
    return any(getattr(lot, name) != was for name, was in before.items())
