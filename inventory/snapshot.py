"""The database at one moment, and whether it is sound in itself."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from django.db import DatabaseError, connection, transaction

MAX_FINDINGS = 20
MAX_READINGS = 5

_Read = TypeVar("_Read")


@contextmanager
def one_moment() -> Iterator[None]:
    """Read everything as it is now, whatever others write meanwhile; nobody waits for it.

    Inside a transaction that is open already it is that transaction.
    """
    if connection.in_atomic_block:
        yield
        return
    sqlite: Any = connection if connection.vendor == "sqlite" else None
    usual = sqlite and sqlite.transaction_mode
    if sqlite:
        sqlite.ensure_connection()
        sqlite.transaction_mode = "DEFERRED"  # the usual one would hold the write lock
    try:
        with transaction.atomic():
            with connection.cursor() as cursor:
                if sqlite:  # the moment is that of the first read
                    cursor.execute("SELECT 1 FROM sqlite_master LIMIT 1")
                else:
                    cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield
    finally:
        if sqlite:
            sqlite.transaction_mode = usual


def undisturbed(read: Callable[[], _Read]) -> _Read:
    """What `read` finds by several queries, read again where another transaction came between them.

    For work inside a transaction: on PostgreSQL each query of it sees what others have committed by then; on
    SQLite nobody writes meanwhile.  After `MAX_READINGS` the last reading stands.
    """
    for _reading in range(MAX_READINGS - 1):
        before = _snapshot()
        found = read()
        if _snapshot() == before:
            return found
    return read()


def _snapshot() -> str:
    if connection.vendor != "postgresql":
        return ""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_current_snapshot()::text")
        return str(cursor.fetchone()[0])


def unsound() -> list[str]:
    """What the database finds wrong with itself: pages, indexes, references; empty where it is sound.

    SQLite: PRAGMA integrity_check and foreign_key_check.  PostgreSQL checks references as they are written;
    an index that was left invalid is named, and pages whose checksum did not agree.
    """
    findings = []
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            try:
                cursor.execute(f"PRAGMA integrity_check({MAX_FINDINGS})")
                findings = [f"the database file: {line}" for (line,) in cursor.fetchall() if line != "ok"]
                cursor.execute("PRAGMA foreign_key_check")
                for table, row, parent, _key in cursor.fetchmany(MAX_FINDINGS):
                    findings.append(f"{table} row {row} refers to a row of {parent} that is not there")
            except DatabaseError as error:
                findings.append(f"the database file: {error}")
            return findings
        cursor.execute("SELECT indexrelid::regclass::text FROM pg_index WHERE NOT indisvalid")
        findings += [f"the index {name} is invalid: REINDEX INDEX {name}" for (name,) in cursor.fetchall()]
        cursor.execute(
            "SELECT checksum_failures FROM pg_stat_database WHERE datname = current_database() "
            "AND checksum_failures > 0"
        )
        findings += [f"{count} pages failed their checksum" for (count,) in cursor.fetchall()]
    return findings
