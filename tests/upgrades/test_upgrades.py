"""A workshop of each earlier state of Rehome, brought to this one with everything that is in it.

The databases beside this file are the demo as the commit of their name made it, packed with xz.
SQLite's and PostgreSQL's own counting is the referee.
"""

import lzma
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg
import pytest

from tests.installed import Installation
from tests.postgres import NoServer, throwaway

pytestmark = pytest.mark.xdist_group("upgrades")  # one PostgreSQL for all of them

STATES = sorted(Path(__file__).parent.glob("*.sqlite3.xz"))
SUMS = (
    "SELECT count(*), sum(quantity), sum(promised) FROM inventory_holding",
    "SELECT count(*), sum(quantity) FROM inventory_movement",
    "SELECT count(*), sum(quantity), sum(fitted) FROM repairs_need",
    "SELECT count(*) FROM inventory_position",
    "SELECT count(*) FROM inventory_lot WHERE marking <> ''",
    "SELECT count(*) FROM repairs_trial",
    "SELECT count(*) FROM inventory_photo",
    "SELECT count(*) FROM auth_user",
)
"""What no upgrade may change."""


@pytest.fixture(params=STATES, ids=[path.name.partition(".")[0] for path in STATES])
def old(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """The database as it was left then."""
    path = tmp_path / "old.sqlite3"
    path.write_bytes(lzma.decompress(request.param.read_bytes()))
    return path


def sums_of(execute: Any) -> list[tuple[Any, ...]]:
    return [tuple(int(each or 0) for each in execute(query).fetchone()) for query in SUMS]


def test_a_workshop_on_sqlite_comes_along(old: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(old)) as before:
        expected = sums_of(before.execute)
    assert expected[0][1] > 1000
    workshop = Installation(tmp_path / "workshop")
    workshop.home.mkdir(mode=0o700)
    old.rename(workshop.database)

    in_turn(workshop, ["migrate", "-v0"], ["audit"], ["shortages"])

    with closing(sqlite3.connect(workshop.database)) as after:
        assert sums_of(after.execute) == expected
        old_words = "SELECT count(*) FROM inventory_storedspec WHERE text LIKE '%, DIP, dip%'"
        assert after.execute(old_words).fetchone() == (0,)
    assert len(list((workshop.home / "backups").glob("before-migration-*"))) == 1


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    try:
        with throwaway() as url:
            yield url
    except NoServer as missing:
        pytest.skip(str(missing))


def test_a_workshop_on_postgresql_comes_along(old: Path, tmp_path: Path, server: str) -> None:
    with closing(sqlite3.connect(old)) as before:
        reached = _reached(before)
        name = f"workshop_{dict(reached)['inventory']}"
        with psycopg.connect(server, autocommit=True) as first:
            first.execute(f'CREATE DATABASE "{name}"')
        url = f"{server.rpartition('/')[0]}/{name}"
        workshop = Installation(tmp_path / "workshop", url)
        in_turn(workshop, *(["migrate", app, migration, "-v0", "--no-backup"] for app, migration in reached))
        _copy(before, url)
        expected = sums_of(before.execute)

    in_turn(workshop, ["migrate", "-v0"], ["audit"], ["shortages"])

    with psycopg.connect(url) as after:
        assert sums_of(after.execute) == expected


def in_turn(workshop: Installation, *commands: Sequence[str]) -> None:
    """Run commands of manage.py; each must end well."""
    for command in commands:
        workshop.done(*command)


def _reached(before: sqlite3.Connection) -> list[tuple[str, str]]:
    """The last migration then of each app that is still one."""
    return before.execute(
        "SELECT app, max(name) FROM django_migrations WHERE app <> 'authtoken' GROUP BY app ORDER BY app"
    ).fetchall()


def _copy(before: sqlite3.Connection, url: str) -> None:
    """Every row as text, which PostgreSQL reads by the type of its column, without minding references."""
    with psycopg.connect(url, cursor_factory=psycopg.ClientCursor) as after:
        after.execute("SET session_replication_role = replica")
        after.execute("CREATE TABLE authtoken_token (key varchar(40), created timestamptz, user_id int)")
        tables = [
            row[0] for row in after.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")
        ]
        after.execute(f"TRUNCATE {', '.join(tables)}")
        for table in tables:
            if not before.execute("SELECT 1 FROM sqlite_master WHERE name = ?", [table]).fetchone():
                continue
            read = before.execute(f'SELECT * FROM "{table}"')
            columns = [column[0] for column in read.description]
            into = f'INSERT INTO "{table}" ({", ".join(columns)}) VALUES ({", ".join(["%s"] * len(columns))})'
            with after.cursor() as cursor:
                cursor.executemany(into, [[_text(cell) for cell in row] for row in read])
            if "id" in columns:
                last = f'SELECT max(id) FROM "{table}"'
                after.execute(f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), ({last}))")


def _text(cell: Any) -> Any:
    return cell if cell is None else str(cell)
