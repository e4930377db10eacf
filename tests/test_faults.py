"""What is wrong with the machine is said by its name: to programs, on pages, by commands; and is no 500."""

import errno
import sqlite3
import time
from pathlib import Path
from typing import Any

import pytest
from django.db import DatabaseError, OperationalError, connection
from django.test import Client

from inventory.api.problems import describe
from inventory.faults import DAMAGED, TAKES_NO_MORE, fault_of
from tests.installed import Installation

NEW = {"name": "Tray 90", "type": "tray"}


def test_a_full_disk_is_507_and_nothing_is_changed(bench: Any) -> None:
    """SQLite's own limit on the pages of a file is what a full disk is to it (sqlite.org/pragma.html)."""
    if connection.vendor != "sqlite":
        pytest.skip("SQLite's own limit")
    with connection.cursor() as cursor:
        usual = cursor.execute("PRAGMA max_page_count").fetchone()[0]
        cursor.execute("PRAGMA max_page_count = 1")
        try:
            answers = [
                bench.post("/api/v1/places/", {"name": f"Tray {n}", "note": "x" * 390, "type": "tray"})
                for n in range(40)
            ]
        finally:
            cursor.execute(f"PRAGMA max_page_count = {usual}")
    full = next(answer for answer in answers if answer.status_code != 201)
    assert (full.status_code, full.json()["code"]) == (507, "disk_full")
    assert full["Content-Type"] == "application/problem+json"


def test_a_database_that_may_only_be_read_is_503(bench: Any) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("SQLite's own pragma")
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA query_only = ON")
        try:
            answer = bench.post("/api/v1/places/", NEW)
        finally:
            cursor.execute("PRAGMA query_only = OFF")
    assert (answer.status_code, answer.json()["code"]) == (503, "read_only")


@pytest.mark.parametrize(
    ("error", "code", "status"),
    [
        (OperationalError("database is locked"), "busy", 503),
        (OperationalError("database or disk is full"), "disk_full", 507),
        (DatabaseError("database disk image is malformed"), "database_damaged", 503),
        (DatabaseError("file is not a database"), "database_damaged", 503),
        (OperationalError("unable to open database file"), "database_away", 503),
        (OperationalError("no such table: inventory_lot"), "database_not_ready", 503),
        (OSError(errno.ENOSPC, "No space left on device"), "disk_full", 507),
        (OSError(errno.EROFS, "Read-only file system"), "read_only", 503),
    ],
)  # fmt: skip
def test_each_fault_has_its_name(error: Exception, code: str, status: int) -> None:
    problem = describe(error)
    assert problem is not None
    assert (problem.code, problem.status) == (code, status)


@pytest.mark.parametrize(
    ("name", "code", "status"),
    [
        ("SQLITE_IOERR_WRITE", "disk_full", 507),
        ("SQLITE_IOERR_FSYNC", "disk_full", 507),  # a volume that is full on another machine says so here
        ("SQLITE_IOERR_LOCK", "busy", 503),
        ("SQLITE_IOERR_NOMEM", "database_away", 503),
        ("SQLITE_IOERR_READ", "database_damaged", 503),
    ],
)
def test_a_write_that_the_system_refuses_is_no_damage(name: str, code: str, status: int) -> None:
    """A limit on the size of files, or a quota: no reason to put back a backup (sqlite.org/rescode.html)."""
    cause = sqlite3.OperationalError("disk I/O error")
    assert fault_of(cause) == DAMAGED
    cause.sqlite_errorname = name
    error = OperationalError("disk I/O error")
    error.__cause__ = cause
    problem = describe(error)
    assert problem is not None
    assert (problem.code, problem.status) == (code, status)


def test_a_disk_that_fails_is_not_called_full() -> None:
    """PostgreSQL's io_error is of the system, such as EIO (PostgreSQL 17, appendix A: class 58)."""
    cause = type("Failing", (Exception,), {"sqlstate": "58030"})()
    error = OperationalError("could not write block")
    error.__cause__ = cause
    assert fault_of(error) == fault_of(OSError(errno.EIO, "Input/output error")) == TAKES_NO_MORE


@pytest.mark.parametrize("error", [KeyError("x"), OSError(errno.ENOENT, "x"), OperationalError("near SELEC")])
def test_a_bug_is_no_fault_of_the_machine(error: Exception) -> None:
    assert fault_of(error) is None


def test_a_page_says_it_too(client: Client, owner: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    client.force_login(owner.person)
    client.raise_request_exception = False

    def full(*_asked: object) -> None:
        raise OperationalError("database or disk is full")

    monkeypatch.setattr("inventory.pages.workshop.settings_of_bench", full)
    page = client.get("/settings/")
    assert page.status_code == 507
    assert "The disk is full" in page.content.decode()


@pytest.mark.parametrize("harm", ["emptied", "gone", "no database"])
def test_a_server_whose_database_goes_says_so_and_comes_back(tmp_path: Path, harm: str) -> None:
    bench = Installation(tmp_path / "workshop")
    bench.begin()
    key = bench.done("token", "wren").strip()
    bench.done("backup", str(tmp_path / "a.backup"))
    with bench.serving() as server:
        server.key = key
        assert server.ask("/api/v1/parts/")[0] == 200
        whole = bench.database.read_bytes()
        aside = bench.home / "aside.sqlite3"
        if harm == "gone":
            bench.database.rename(aside)
        else:
            bench.database.write_bytes(b"" if harm == "emptied" else b"no database at all" * 1000)
        for path in ("/healthz", "/api/v1/parts/", "/api/v1/places/"):
            start = time.monotonic()
            status, problem, headers = server.ask(path, NEW if "places" in path else None)
            # Of an emptied file SQLite believes for 20 s that somebody writes it.
            assert time.monotonic() - start < 10, path
            assert status == 503, (path, problem)
            assert headers["Content-Type"].startswith("application/problem+json")
            assert problem["code"].startswith(("database", "no_database", "busy"))
        assert server.ask("/sign-in/")[0] in (200, 503)
        assert bench.database.exists() is (harm != "gone"), "nobody made an empty one"
        assert server.log.count("Traceback") == 0
        if harm == "gone":
            aside.rename(bench.database)
        else:
            bench.database.write_bytes(whole)
        assert server.ask("/healthz")[0] == 200
    assert "Traceback" not in server.log
