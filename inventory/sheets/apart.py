"""Work on a copy of the database, so that nobody who writes meanwhile waits for it; and bringing it over.

SQLite lets one writer in at a time, for as long as a transaction takes; a copy is read without a lock.
PostgreSQL keeps writers apart by rows, so that there the database itself is used.
"""

import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.conf import settings
from django.core.files import locks
from django.db import DEFAULT_DB_ALIAS, IntegrityError, connection, connections, models, transaction

from inventory.own_models import own_models

LEFT_BEHIND = 24 * 3600
"""Seconds after which a copy belongs to nobody: who made it was killed."""


class ChangedMeanwhile(Exception):
    """Somebody else changed one of the very rows that were worked on."""


def can_be_apart() -> bool:
    """Whether a copy is of use: inside a transaction that has begun it would lack what was done there."""
    return connection.vendor == "sqlite" and not connection.in_atomic_block


@contextmanager
def apart_from_writers() -> Iterator[None]:
    """What this thread does to the database inside goes to a copy that is thrown away after, where it can."""
    if not can_be_apart():
        yield
        return
    with _folder() as folder, _working_on(_copied(folder)):
        yield


@contextmanager
def _folder() -> Iterator[Path]:
    for left in Path(settings.HOME).glob("preview-*"):
        if time.time() - left.stat().st_mtime > LEFT_BEHIND:
            shutil.rmtree(left, ignore_errors=True)
    with TemporaryDirectory(dir=settings.HOME, prefix="preview-") as folder:
        yield Path(folder)


def _copied(folder: Path) -> Path:
    path = folder / "copy.sqlite3"
    connection.ensure_connection()
    copy = sqlite3.connect(path)
    try:
        connection.connection.backup(copy)
    finally:
        copy.close()
    return path


@contextmanager
def _working_on(path: Path) -> Iterator[None]:
    source = connections[DEFAULT_DB_ALIAS]
    # It need not outlive a power cut.
    fast = {"init_command": "PRAGMA journal_mode=MEMORY; PRAGMA synchronous=OFF; PRAGMA cache_size=-65536;"}
    options = {**source.settings_dict["OPTIONS"], **fast}
    apart = type(source)(
        {**source.settings_dict, "NAME": str(path), "OPTIONS": options}, DEFAULT_DB_ALIAS
    )  # fmt: skip
    connections[DEFAULT_DB_ALIAS] = apart
    try:
        yield
    finally:
        connections[DEFAULT_DB_ALIAS] = source
        apart.close()


# --- brought over


@contextmanager
def one_at_a_time() -> Iterator[None]:
    """Wait for whoever else is in here, in whatever process of this workshop."""
    with (Path(settings.HOME) / "import.lock").open("w") as file:
        locks.lock(file, locks.LOCK_EX)
        try:
            yield
        finally:
            locks.unlock(file)


class Apart:
    """A copy to work on, and then to bring over: within `with working_apart()`, outside of a transaction."""

    def __init__(self, path: Path) -> None:
        self._path = path
        with sqlite3.connect(path) as copy:
            copy.executescript(";".join(_notes_what_is_touched()))
            self._last = dict(copy.execute("SELECT name, seq FROM first"))
        copy.close()

    def working(self) -> Any:
        return _working_on(self._path)

    @contextmanager
    def attached(self) -> Iterator[None]:
        with connection.cursor() as cursor:
            cursor.execute("ATTACH %s AS made", [str(self._path)])
        try:
            yield
        finally:
            with connection.cursor() as cursor:
                cursor.execute("DETACH made")

    def bring_over(self, *, renumber: bool = True) -> None:
        """Do to the database, in the transaction that has begun, what was done to the copy.

        Rows that are new there get the next free numbers here.  ChangedMeanwhile, and nothing is done, where
        a row that was changed there is not as it was here, or a new one does not go in beside what is here;
        without `renumber` also where its number is taken, for what was kept by number in no key of a table.
        """
        try:
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute("SELECT name, seq FROM main.sqlite_sequence")
                now = dict(cursor.fetchall())
                tables = [
                    _Table(model, partial(self._moved, now), self._last.get(model._meta.db_table, 0))
                    for model in own_models()
                ]
                if not renumber and any(table.would_move(cursor) for table in tables):
                    raise ChangedMeanwhile
                for step in (_Table.refuse_changed, _Table.update, _Table.insert, _Table.refuse_lost):
                    for table in tables:
                        step(table, cursor)
        except IntegrityError as clash:
            raise ChangedMeanwhile from clash

    def _moved(self, now: dict[str, int], table: str) -> tuple[int, int]:
        """The last number when the copy was made, and how much higher new ones are here."""
        last = self._last.get(table, 0)
        return last, now.get(table, 0) - last


@contextmanager
def working_apart() -> Iterator[Apart]:
    """A copy to work on.  Only where `can_be_apart`; one at a time."""
    with one_at_a_time(), _folder() as folder:
        yield Apart(_copied(folder))


@dataclass(frozen=True)
class _Table:
    """One table of the copy, seen from the database to which the copy is attached as `made`."""

    model: type[models.Model]
    moved: Any
    last: int

    @property
    def name(self) -> str:
        return self.model._meta.db_table

    def _values(self) -> str:
        """The columns of a row of the copy as they are to be here: numbers of new rows moved up."""
        return ", ".join(self._value(field) for field in self.model._meta.concrete_fields)

    def _value(self, field: Any) -> str:
        column = f'm."{field.column}"'
        target = field.related_model if field.is_relation else self.model if field.primary_key else None
        if target not in own_models():
            return column
        last, up = self.moved(target._meta.db_table)
        return f"iif({column} > {last}, {column} + {up}, {column})" if up else column

    @property
    def _touched(self) -> str:
        return f"SELECT id FROM made.touched WHERE tbl = '{self.name}'"

    def would_move(self, cursor: Any) -> bool:
        """Whether it has new rows whose numbers others have here."""
        if not self.moved(self.name)[1]:
            return False
        cursor.execute(f'SELECT EXISTS (SELECT 1 FROM made."{self.name}" WHERE id > {self.last})')
        return bool(cursor.fetchone()[0])

    def refuse_changed(self, cursor: Any) -> None:
        """Of what was touched everything must be here as it was, and there still: nothing is deleted here."""
        cursor.execute(
            f'SELECT 1 FROM made.touched t LEFT JOIN main."{self.name}" n ON n.id = t.id '
            f"LEFT JOIN made.\"{self.name}\" m ON m.id = t.id WHERE t.tbl = '{self.name}' "
            f"AND (n.id IS NULL OR m.id IS NULL OR {_as_text(self.model, 'n')} <> t.was) LIMIT 1"
        )
        if cursor.fetchone():
            raise ChangedMeanwhile

    def update(self, cursor: Any) -> None:
        cursor.execute(
            f'UPDATE main."{self.name}" SET ({_columns(self.model)}) = '
            f'(SELECT {self._values()} FROM made."{self.name}" m WHERE m.id = "{self.name}".id) '
            f"WHERE id IN ({self._touched})"
        )

    def insert(self, cursor: Any) -> None:
        cursor.execute(
            f'INSERT INTO main."{self.name}" ({_columns(self.model)}) '
            f'SELECT {self._values()} FROM made."{self.name}" m WHERE m.id > {self.last}'
        )

    def refuse_lost(self, cursor: Any) -> None:
        """What these rows refer to may have gone: SQLite would say so only at the end."""
        for field in self.model._meta.concrete_fields:
            target = field.related_model if field.is_relation else None
            if target not in own_models():
                continue
            table, column = target._meta.db_table, f'm."{field.column}"'
            cursor.execute(
                f'SELECT 1 FROM made."{self.name}" m WHERE (m.id > {self.last} OR m.id IN ({self._touched})) '
                f"AND {column} <= {self.moved(table)[0]} "
                f'AND NOT EXISTS (SELECT 1 FROM main."{table}" n WHERE n.id = {column}) LIMIT 1'
            )
            if cursor.fetchone():
                raise ChangedMeanwhile


def _columns(model: type[models.Model]) -> str:
    return ", ".join(f'"{field.column}"' for field in model._meta.concrete_fields)


def _as_text(model: type[models.Model], row: str) -> str:
    """A whole row, to be compared."""
    columns = ", ".join(f'{row}."{field.column}"' for field in model._meta.concrete_fields)
    return f"json_array({columns})"


def _notes_what_is_touched() -> Iterator[str]:
    """Statements that keep each row of a copy that was there at first as it was when it is first touched."""
    yield "CREATE TABLE touched (tbl, id, was, PRIMARY KEY (tbl, id))"
    yield "CREATE TABLE first AS SELECT name, seq FROM sqlite_sequence"
    for model in own_models():
        table = model._meta.db_table
        for done in ("UPDATE", "DELETE"):
            yield (
                f'CREATE TRIGGER "{table} {done}" BEFORE {done} ON "{table}" '
                f"WHEN old.id <= (SELECT seq FROM first WHERE name = '{table}') "
                f"AND NOT EXISTS (SELECT 1 FROM touched WHERE tbl = '{table}' AND id = old.id) "
                f"BEGIN INSERT INTO touched VALUES ('{table}', old.id, {_as_text(model, 'old')}); END"
            )
