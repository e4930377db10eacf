"""What changed since a cursor: one rule for every list, of which a program can keep a mirror.

The database itself writes a line into `ChangeEntry` for each row that is made, changed or removed, by
triggers: no writer can forget it, whichever code, command or import it is.  A row of a list also counts as
changed when what it consists of did (`FOLLOWED`): the holdings of a lot, the positions of a design.

A cursor is a point in that log before which everything is decided.  SQLite lets one writer in at a time, so
that ids follow the order in which transactions commit.  PostgreSQL numbers rows before they are committed: so
lines go by transaction and then by id, and only those of transactions below `pg_snapshot_xmin` are shown,
below which none is still going on (PostgreSQL manual, "Transaction ID and Snapshot Information Functions").
A transaction that takes long holds later lines back for as long, and nothing is ever missed.
"""

import hashlib
import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from secrets import token_hex
from typing import Any, Final

from django.db import connection, transaction
from django.db.models import Exists, Max, OuterRef, Q, QuerySet

from inventory.models import ChangeEntry, ChangeEpoch
from inventory.refusals import Code, Refused

START: Final = "start"
EVENTS: Final = ("INSERT", "UPDATE", "DELETE")
OWN: Final = "SELECT {row}.id"
_PREFIX: Final = "noted_"
_INTO: Final = 'INSERT INTO inventory_changeentry ("table", "row", tx)'


@dataclass(frozen=True)
class Followed:
    """Rows of `table` count as changed with one of `source`; `ids` selects them by `{row}`, that row."""

    source: str
    table: str
    ids: str
    on: tuple[str, ...] = EVENTS


PARTS_HELD_AT: Final = (
    "SELECT l.part_id FROM inventory_holding h JOIN inventory_lot l ON l.id = h.lot_id WHERE h.place_id = "
)

FOLLOWED: list[Followed] = [
    Followed("inventory_holding", "inventory_lot", "SELECT {row}.lot_id"),
    Followed(
        "inventory_holding", "inventory_part", "SELECT part_id FROM inventory_lot WHERE id = {row}.lot_id"
    ),
    Followed("inventory_lot", "inventory_part", "SELECT {row}.part_id", on=("UPDATE",)),
    # How a piece came off a board says whether it is free, in `stock.failed_lots`.
    Followed(
        "inventory_movement",
        "inventory_part",
        "SELECT part_id FROM inventory_lot WHERE id IN ({row}.lot_id, {row}.to_lot_id) "
        "AND ({row}.condition_after <> '' OR {row}.reverses_id IS NOT NULL)",
        on=("INSERT",),
    ),
    Followed("inventory_movement", "inventory_movement", "SELECT {row}.reverses_id", on=("INSERT",)),
    Followed("inventory_board", "inventory_part", f"{PARTS_HELD_AT}{{row}}.place_id", on=("UPDATE",)),
    Followed("inventory_place", "inventory_part", f"{PARTS_HELD_AT}{{row}}.id", on=("UPDATE",)),
    Followed("inventory_position", "inventory_design", "SELECT {row}.design_id"),
    Followed("inventory_accesskey", "auth_user", "SELECT {row}.person_id"),
    Followed("auth_user_groups", "auth_user", "SELECT {row}.user_id"),
]
"""What a row consists of, beside its own columns; other apps add theirs."""

LISTED: set[str] = {
    f"inventory_{name}"
    for name in (
        "part", "place", "lot", "movement", "design", "board", "photo", "attachment", "accesschange",
        "accesskey",
    )
} | {"auth_user"}  # fmt: skip
"""Tables whose rows are lists of the API; other apps add theirs."""


class Expired(Refused):
    """The cursor is of another database: a backup was put back, or this one was brought up to date."""

    status = 410

    def __init__(self) -> None:
        super().__init__(
            Code.CURSOR_EXPIRED,
            f"this bench was restored or updated since: read everything once more, changed_since={START}",
        )


@dataclass(frozen=True)
class Cursor:
    """A point in the log, by transaction (0 on SQLite) and id; `row` while the rows from before are read."""

    epoch: str
    tx: int
    id: int
    row: int | None = None

    def __str__(self) -> str:
        at = f"{self.epoch}.{self.tx}.{self.id}"
        return at if self.row is None else f"{at}.{self.row}"

    @classmethod
    def read(cls, text: str) -> "Cursor":
        """The cursor of an earlier answer, or `start`.  ValueError for anything else; Expired."""
        if text == START:
            here = latest()
            return cls(here.epoch, here.tx, here.id, 0)
        if not re.fullmatch(r"[0-9a-f]{12}(\.[0-9]{1,18}){2,3}", text):
            raise ValueError(f"expected {START}, or the cursor of an earlier answer")
        epoch, *numbers = text.split(".")
        if epoch != current_epoch():
            raise Expired
        tx, at, *row = map(int, numbers)
        return cls(epoch, tx, at, row[0] if row else None)


@dataclass(frozen=True)
class Changed:
    """Ids of rows that changed, in no order; where to go on, and whether there is more by now."""

    ids: list[int]
    cursor: Cursor
    more: bool


def current_epoch() -> str:
    """What tells cursors of this database from those of another; made where there is none."""
    row, _made = ChangeEpoch.objects.get_or_create(pk=1, defaults={"text": token_hex(6)})
    return row.text


def latest() -> Cursor:
    """The point before which everything is decided by now."""
    if connection.vendor == "postgresql":
        return Cursor(current_epoch(), _horizon(), 0)
    return Cursor(current_epoch(), 0, ChangeEntry.objects.aggregate(last=Max("id"))["last"] or 0)


def since(cursor: Cursor, table: str, rows: QuerySet[Any], most: int) -> Changed:
    """The next changes of this table after the cursor, at most so many.

    At first, from `start`, the rows of the list by id; then what changed since the start was taken.
    """
    if cursor.row is not None:
        ids = list(rows.filter(pk__gt=cursor.row).order_by("pk").values_list("pk", flat=True)[:most])
        whole = len(ids) < most
        then = Cursor(cursor.epoch, cursor.tx, cursor.id, None if whole else ids[-1])
        return Changed(ids, then, not whole)
    found = noted(cursor, [table], most)
    return Changed([row for _table, row in found.rows], found.cursor, found.more)


@dataclass(frozen=True)
class Noted:
    """Rows that changed, each once, by table and id; where to go on, and whether there is more by now."""

    rows: list[tuple[str, int]]
    cursor: Cursor
    more: bool


def noted(cursor: Cursor, tables: Collection[str], most: int) -> Noted:
    """The next lines of the log after the cursor that are of these tables, at most so many."""
    here = latest()
    later = Q(tx=cursor.tx, id__gt=cursor.id) | Q(tx__gt=cursor.tx)
    entries = ChangeEntry.objects.filter(later, tx__gte=cursor.tx, table__in=tables).order_by("tx", "id")
    if connection.vendor == "postgresql":
        entries = entries.filter(tx__lt=here.tx)
    found = list(entries.values_list("tx", "id", "table", "row")[:most])
    at = max(found[-1][:2] if found else (cursor.tx, cursor.id), (cursor.tx, cursor.id))
    whole = len(found) < most
    if whole:  # nothing of these tables is left before here: the next question need not pass it again
        at = max(at, (here.tx, here.id))
    return Noted(list({each[2:]: None for each in found}), Cursor(cursor.epoch, *at), not whole)


def forget_superseded() -> int:
    """Remove lines of rows that changed again later, which no cursor misses; how many."""
    again = ChangeEntry.objects.filter(
        Q(tx=OuterRef("tx"), id__gt=OuterRef("id")) | Q(tx__gt=OuterRef("tx")),
        table=OuterRef("table"),
        row=OuterRef("row"),
    )
    removed, _by_table = ChangeEntry.objects.filter(Exists(again)).delete()
    return removed


def _horizon() -> int:
    """The lowest transaction of PostgreSQL that may still be going on."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_snapshot_xmin(pg_current_snapshot())::text::bigint")
        return int(cursor.fetchone()[0])


# --- the triggers


def is_watched() -> bool:
    """Whether the database has the very triggers of this Rehome."""
    return set(_there()) == {name for name, _table, _statements in _wanted()}


def watch() -> None:
    """Let the database note changes from now on; where it did not do just that, a new epoch begins."""
    if is_watched():
        return
    with transaction.atomic(), connection.cursor() as cursor:
        _drop(cursor)
        for _name, _table, statements in _wanted():
            for statement in statements:
                cursor.execute(statement)
        ChangeEntry.objects.all().delete()
        ChangeEpoch.objects.all().delete()


def stop_watching() -> None:
    """Take the triggers away, as before tables are altered: SQLite alters none that a trigger names."""
    with transaction.atomic(), connection.cursor() as cursor:
        _drop(cursor)


def _drop(cursor: Any) -> None:
    for name, table in _there().items():
        on = f" ON {connection.ops.quote_name(table)}" if connection.vendor == "postgresql" else ""
        cursor.execute(f"DROP TRIGGER {connection.ops.quote_name(name)}{on}")


def _there() -> dict[str, str]:
    """Our triggers, each with its table."""
    sql = (
        "SELECT t.tgname, c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
        "JOIN pg_namespace n ON n.oid = c.relnamespace "
        "WHERE n.nspname = current_schema() AND t.tgname LIKE %s"
        if connection.vendor == "postgresql"
        else "SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger' AND name LIKE %s"
    )
    with connection.cursor() as cursor:
        cursor.execute(sql, [f"{_PREFIX}%"])
        return dict(cursor.fetchall())


def _wanted() -> Iterator[tuple[str, str, list[str]]]:
    """Each trigger: a name that tells it from an earlier form of it, its table, and what makes it."""
    postgres = connection.vendor == "postgresql"
    sources = sorted(LISTED | {each.source for each in FOLLOWED})
    for source in sources:
        for event in EVENTS:
            noted = [each for each in FOLLOWED if each.source == source and event in each.on]
            if source in LISTED:
                noted.insert(0, Followed(source, source, OWN))
            if not noted:
                continue
            tx = "pg_current_xact_id()::text::bigint" if postgres else "0"
            body = " ".join(_note(each, event, tx) for each in noted)
            name = f"{_PREFIX}{source}_{event.lower()}_{hashlib.sha256(body.encode()).hexdigest()[:8]}"
            if postgres:
                yield (
                    name,
                    source,
                    [
                        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS "
                        f"$$ BEGIN {body} RETURN NULL; END $$",
                        f"CREATE TRIGGER {name} AFTER {event} ON {source} "
                        f"FOR EACH ROW EXECUTE FUNCTION {name}()",
                    ],
                )
            else:
                yield name, source, [f"CREATE TRIGGER {name} AFTER {event} ON {source} BEGIN {body} END"]


def _note(each: Followed, event: str, tx: str) -> str:
    rows = {"INSERT": ["NEW"], "UPDATE": ["NEW", "OLD"], "DELETE": ["OLD"]}[event]
    if each.ids == OWN:
        rows = rows[:1]  # an id is never changed
    column = each.ids.removeprefix("SELECT ")
    if len(rows) == 1 and " " not in column:  # most by far: without a subquery
        found = column.format(row=rows[0])
        return f"{_INTO} SELECT '{each.table}', {found}, {tx} WHERE {found} IS NOT NULL;"
    ids = " UNION ".join(each.ids.format(row=row) for row in rows)
    first, space, rest = ids.removeprefix("SELECT ").partition(" ")
    return (
        f"{_INTO} SELECT '{each.table}', q.changed, {tx} "
        f"FROM (SELECT {first} AS changed{space}{rest}) q WHERE q.changed IS NOT NULL;"
    )
