"""Tables as lines of text, the same from either database, and back.

What a row is follows from the migrations that were applied, not from the code of today: so that the database
of an older Rehome can be copied before it is changed, and a copy of one can be read.
"""

import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from decimal import Decimal
from hashlib import sha256
from itertools import islice
from typing import IO, Any

from django.core.management.color import no_style
from django.db import connection, models
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader

from inventory.installation import applied_migrations

Table = type[models.Model]
PASSING = ("django_session", "inventory_changeentry", "inventory_changeepoch")
"""Tables that are no part of a workshop: whoever signed out since a backup stays signed out, and what changed
since a cursor is not known of another database."""
AT_ONCE = 2_000


class Digest:
    """What the rows of a table are, whichever database they are in; members of objects have no order."""

    def __init__(self, table: Table) -> None:
        self._digest, self.rows = sha256(), 0
        self._has_objects = any(isinstance(field, models.JSONField) for field in fields_of(table))

    def add(self, row: Any, line: str) -> None:
        self.rows += 1
        self._digest.update((_line(row, sort_keys=True) if self._has_objects else line).encode())

    def summary(self) -> dict[str, Any]:
        return {"rows": self.rows, "digest": self._digest.hexdigest()}


def present() -> list[Table]:
    """The tables of the database as it is, by name."""
    return _tables(applied_migrations())


def built(migrations: Iterable[tuple[str, str]]) -> list[Table]:
    """Build in an empty database what these migrations make, and answer its tables, emptied."""
    executor = MigrationExecutor(connection)
    executor.migrate(_last_of(executor.loader, migrations))
    tables = _tables(migrations)
    with connection.cursor() as cursor:
        for table in tables:  # migrations put rows there, which are in the backup too
            cursor.execute(f"DELETE FROM {_name(table)}")
    return tables


def unknown(migrations: Iterable[tuple[str, str]]) -> list[str]:
    """Those migrations that this code does not have."""
    loader = MigrationLoader(None)
    known = set(loader.disk_migrations)
    known |= {each for migration in loader.disk_migrations.values() for each in migration.replaces}
    return [f"{app}.{name}" for app, name in migrations if (app, name) not in known]


def fields_of(table: Table) -> list[Any]:
    return list(table._meta.local_concrete_fields)


def lines_of(table: Table) -> Iterator[tuple[Any, str]]:
    """Each row by its key, as values and as a line."""
    names = [field.attname for field in fields_of(table)]
    rows = table._base_manager.order_by("pk").values_list(*names)
    for row in rows.iterator(chunk_size=AT_ONCE):
        yield row, _line(row)


def write_table(table: Table, out: IO[bytes]) -> dict[str, Any]:
    """Write a table; how many rows it has, and their digest."""
    out.write(_line([field.attname for field in fields_of(table)]).encode())
    digest = Digest(table)
    for row, line in lines_of(table):
        out.write(line.encode())
        digest.add(row, line)
    return digest.summary()


def read_table(table: Table, lines: Iterable[bytes]) -> None:
    """Put rows into an empty table.  ValueError where the columns are others than it has."""
    source = iter(lines)
    fields = fields_of(table)
    if json.loads(next(source, b"null")) != [field.attname for field in fields]:
        raise ValueError(f"{table._meta.db_table} has other columns than the backup")
    columns = ", ".join(connection.ops.quote_name(field.column) for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    insert = f"INSERT INTO {_name(table)} ({columns}) VALUES ({marks})"
    typed = [
        (at, field)
        for at, field in enumerate(fields)
        if isinstance(field, models.DecimalField | models.DateField | models.JSONField)
    ]
    with connection.cursor() as cursor:
        while batch := [_typed(json.loads(line), typed) for line in islice(source, AT_ONCE)]:
            cursor.executemany(insert, batch)


def summary_of(table: Table) -> dict[str, Any]:
    """What `write_table` answers, of a table as it is now."""
    digest = Digest(table)
    for row, line in lines_of(table):
        digest.add(row, line)
    return digest.summary()


def last_ids(tables: Iterable[Table]) -> dict[str, int]:
    """The last id that each table gave, be its row still there or not: an id is never given again."""
    given = {}
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name, seq FROM sqlite_sequence")
            named = dict(cursor.fetchall())
            return {name: named[name] for table in tables if (name := table._meta.db_table) in named}
        for table, sequence in _sequences(tables):
            cursor.execute(f"SELECT last_value FROM {sequence} WHERE is_called")
            if row := cursor.fetchone():
                given[table._meta.db_table] = row[0]
    return given


def set_last_ids(tables: Iterable[Table], given: dict[str, int]) -> None:
    tables = list(tables)
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("DELETE FROM sqlite_sequence WHERE name <> 'django_migrations'")
            cursor.executemany("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, %s)", list(given.items()))
            return
        for statement in connection.ops.sequence_reset_sql(no_style(), tables):
            cursor.execute(statement)
        for table, sequence in _sequences(tables):
            if last := given.get(table._meta.db_table):
                cursor.execute("SELECT setval(%s, %s)", [sequence, last])


@contextmanager
def in_any_order() -> Iterator[None]:
    """Rows may be put in before those that they refer to; afterwards all must be there."""
    off = connection.disable_constraint_checking()
    if connection.vendor == "postgresql":  # some migrations leave them immediate in their transaction
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")
    try:
        yield
        connection.check_constraints()
    finally:
        if off:
            connection.enable_constraint_checking()


def _tables(migrations: Iterable[tuple[str, str]]) -> list[Table]:
    loader = MigrationLoader(connection)
    state = loader.project_state(_last_of(loader, migrations))
    tables = state.apps.get_models(include_auto_created=True)
    return sorted(
        (t for t in tables if t._meta.managed and not t._meta.proxy and t._meta.db_table not in PASSING),
        key=lambda table: table._meta.db_table,
    )


def _last_of(loader: MigrationLoader, migrations: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Those of the migrations that no other of them builds on."""
    nodes = {each for each in migrations if each in loader.graph.nodes}
    return sorted(
        each
        for each in nodes
        if not any(child.key in nodes for child in loader.graph.node_map[each].children)
    )


def _sequences(tables: Iterable[Table]) -> Iterator[tuple[Table, str]]:
    with connection.cursor() as cursor:
        for table in tables:
            pk = table._meta.pk
            cursor.execute("SELECT pg_get_serial_sequence(%s, %s)", [_name(table), pk.column if pk else "id"])
            if sequence := cursor.fetchone()[0]:
                yield table, sequence


def _name(table: Table) -> str:
    return connection.ops.quote_name(table._meta.db_table)


def _typed(row: list[Any], typed: list[tuple[int, Any]]) -> list[Any]:
    for at, field in typed:
        if row[at] is not None or isinstance(field, models.JSONField):
            row[at] = field.get_db_prep_save(field.to_python(row[at]), connection)
    return row


def _line(row: Any, sort_keys: bool = False) -> str:
    text = json.dumps(row, default=_plain, separators=(",", ":"), ensure_ascii=False, sort_keys=sort_keys)
    return f"{text}\n"


def _plain(value: object) -> str:
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    raise TypeError(f"{type(value).__name__} has no form in a backup")
