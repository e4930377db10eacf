"""A backup holds everything, and comes back exactly: judged by SQLite's own dump, byte flips and kills."""

import json
import os
import shutil
import signal
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing, suppress
from hashlib import sha256
from pathlib import Path
from zipfile import ZipFile

import pytest

from inventory.backups import BadBackup, opened
from tests.installed import Installation
from tests.postgres import NoServer, throwaway

pytestmark = pytest.mark.xdist_group("installed")  # the workshops that they copy are made once

PASSING = (
    "django_session", "django_migrations", "sqlite_sequence", "inventory_changeentry",
    "inventory_changeepoch",
)  # fmt: skip
SHEET = b"%PDF-1.4\n\xe2\xe3\xcf\xd3\n%%EOF\n"
Rows = dict[str, list[tuple[object, ...]]]


def rows_of(database: Path) -> Rows:
    """Every row of every table, as SQLite itself stores it; the members of objects by their names."""
    with closing(sqlite3.connect(database)) as raw:
        tables = [name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return {
            table: sorted(
                (tuple(map(_sorted, row)) for row in raw.execute(f'SELECT * FROM "{table}"')), key=repr
            )
            for table in tables
            if table not in PASSING
        }


def _sorted(cell: object) -> object:
    if isinstance(cell, str) and cell[:1] in ("{", "["):
        return json.dumps(json.loads(cell), sort_keys=True)
    return cell


def pictures_of(home: Path) -> dict[str, bytes]:
    """Pictures, and the files with parts and designs."""
    kept = (*(home / "pictures").rglob("*.jpg"), *(home / "attachments").glob("*/*"))
    return {path.name: path.read_bytes() for path in kept}


A_CLUB = """
from django.contrib.auth.models import User
from inventory import ownership
from inventory.models import Lot
from repairs import asks
from repairs.models import Purchase
from repairs.wanted import wanted

wren = User.objects.get(username="wren")
lot, need = next((lot, found.need) for lot in Lot.objects.order_by("id") for found in wanted(lot))
ownership.give_lots([lot.pk], wren, by=wren)
asks.ask(need, lot, 1, by=None, note="before Friday")
Purchase.objects.update(owner=wren)
"""
"""A lot is somebody's and asked for, and what is on order will be theirs."""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Installation:
    """The demo workshop with two people and their keys; tests only read it."""
    installation = Installation(tmp_path_factory.mktemp("demo") / "workshop")
    installation.begin(demo=True)
    installation.done("token", "wren", "--role", "bench")
    sheet = installation.home.parent / "sheet.pdf"
    sheet.write_bytes(SHEET)
    installation.done("attachments", "add", str(sheet), "--part", "1")
    installation.python(
        "from inventory.models import Place;"
        "Place.objects.create(name='Drawer µ', type='drawer', note='Ω \\u2028');"
        "Place.objects.create(name='gone', type='tray').delete()"
    )
    installation.python(A_CLUB)
    return installation


@pytest.fixture(scope="module")
def backup(demo: Installation) -> Path:
    path = demo.home.parent / "demo.backup"
    demo.done("backup", str(path))
    return path


@pytest.fixture
def elsewhere(tmp_path: Path) -> Installation:
    return Installation(tmp_path / "elsewhere")


@pytest.fixture
def postgres() -> Iterator[str]:
    try:
        with throwaway() as url:
            yield url
    except NoServer as missing:
        pytest.skip(f"NOT RUN ON POSTGRESQL: {missing}")


def test_it_comes_back_exactly_on_another_machine(
    demo: Installation, backup: Path, elsewhere: Installation
) -> None:
    elsewhere.done("restore", str(backup))
    assert rows_of(elsewhere.database) == rows_of(demo.database)
    assert rows_of(elsewhere.database)["repairs_pieceask"], "what is asked of others comes too"
    assert pictures_of(elsewhere.home) == pictures_of(demo.home) != {}
    assert SHEET in pictures_of(elsewhere.home).values()
    assert elsewhere.done("token", "wren") == demo.done("token", "wren")
    assert "everything agrees" in elsewhere.done("audit")
    ids = "from inventory.models import Place; print(Place.objects.create(name='next', type='tray').pk)"
    with closing(sqlite3.connect(demo.database)) as raw:
        (last,) = raw.execute("SELECT seq FROM sqlite_sequence WHERE name = 'inventory_place'").fetchone()
    assert int(elsewhere.python(ids)) == last + 1, "an id that was given is never given again"


def test_a_new_folder_has_the_key_of_the_backup_from_the_first(
    demo: Installation, backup: Path, elsewhere: Installation
) -> None:
    """A server that starts while a backup is restored must not go by another."""
    seen, done = set(), threading.Event()

    def look() -> None:
        while not done.is_set():
            with suppress(OSError):
                seen.add((elsewhere.home / "secret-key").read_text().strip())

    looking = threading.Thread(target=look)
    looking.start()
    elsewhere.done("restore", str(backup))
    done.set()
    looking.join()
    assert seen - {""} == {(demo.home / "secret-key").read_text().strip()}


def test_it_moves_to_postgresql_and_back(
    demo: Installation, backup: Path, elsewhere: Installation, tmp_path: Path, postgres: str
) -> None:
    club = Installation(tmp_path / "club", postgres)
    club.done("restore", str(backup))
    counted = (  # PostgreSQL manual, "pg_class": -1 where a table was never counted
        "from django.db import connection as c; k = c.cursor(); "
        "k.execute(\"SELECT reltuples FROM pg_class WHERE relname = 'inventory_movement'\"); "
        "print(k.fetchone()[0])"
    )
    assert float(club.python(counted)) > 0, "no plan of the database depends on when its daemon comes round"
    assert "everything agrees" in club.done("audit")
    assert club.done("token", "wren") == demo.done("token", "wren")
    club.done("backup", str(tmp_path / "club.backup"))
    elsewhere.done("restore", str(tmp_path / "club.backup"))
    assert rows_of(elsewhere.database) == rows_of(demo.database)
    assert pictures_of(elsewhere.home) == pictures_of(demo.home)
    # In place, over what is there, which is kept as a backup of its own.
    club.python("from inventory.models import Place; Place.objects.create(name='mine', type='tray')")
    club.done("restore", str(backup), "--yes")
    count = "from inventory.models import Place; print(Place.objects.filter(name='mine').count())"
    assert club.python(count).strip() == "0"
    (kept,) = (club.home / "backups").glob("before-restore-*.backup")
    club.done("restore", str(kept), "--yes")
    assert club.python(count).strip() == "1"
    assert "everything agrees" in club.done("audit")


def test_a_name_that_is_taken_in_the_database_is_told_in_a_sentence(
    backup: Path, tmp_path: Path, postgres: str
) -> None:
    club = Installation(tmp_path / "club", postgres)
    club.done("migrate")
    index = club.python(
        "from django.db import connection as c; k = c.cursor(); "
        "k.execute(\"SELECT indexname FROM pg_indexes WHERE tablename = 'repairs_need' "
        "AND indexname NOT LIKE '%pkey' ORDER BY 1 LIMIT 1\"); print(k.fetchone()[0])"
    ).strip()
    club.python(
        "from django.db import connection as c; k = c.cursor(); "
        "k.execute('DROP SCHEMA public CASCADE'); k.execute('CREATE SCHEMA public'); "
        f"k.execute('CREATE TABLE \"{index}\" (theirs int)'); "
        f"k.execute('INSERT INTO \"{index}\" VALUES (7)')"
    )
    said = club.refused("restore", str(backup), "--yes")
    assert index in said
    assert "a database of its own" in said
    left = (
        "from django.db import connection as c; k = c.cursor(); "
        f"k.execute('SELECT theirs FROM \"{index}\"'); "
        "print(k.fetchall(), len(c.introspection.table_names()))"
    )
    assert club.python(left).strip() == "[(7,)] 1"


def test_it_is_taken_while_people_work(demo: Installation, elsewhere: Installation, tmp_path: Path) -> None:
    busy = Installation(tmp_path / "busy")
    shutil.copytree(demo.home, busy.home)
    stop, statuses = threading.Event(), []
    with busy.serving() as server:
        server.key = busy.done("token", "robin").strip()
        tray = server.ask("/api/v1/places/", {"name": "Tray 90", "type": "tray"})[1]["id"]

        def work() -> None:
            while not stop.is_set():
                lot = {"part": {"kind": "resistor", "value": "4k7"}, "place": tray, "quantity": 3}
                statuses.append(server.ask("/api/v1/lots/", lot)[0])

        worker = threading.Thread(target=work)
        worker.start()
        try:
            busy.done("backup", str(tmp_path / "busy.backup"))
        finally:
            stop.set()
            worker.join()
    assert set(statuses) == {201}
    elsewhere.done("restore", str(tmp_path / "busy.backup"))
    assert "everything agrees" in elsewhere.done("audit")


@pytest.mark.parametrize("seed", range(2))
def test_a_write_ahead_file_that_was_left_behind_touches_nothing(
    demo: Installation, backup: Path, tmp_path: Path, seed: int
) -> None:
    killed = Installation(tmp_path / "killed")
    shutil.copytree(demo.home, killed.home)
    with killed.serving() as server:
        server.key = killed.done("token", "robin").strip()
        for number in range(40 + 40 * seed):
            server.ask("/api/v1/places/", {"name": f"Tray 9{number}", "type": "tray"})
        server.end(signal.SIGKILL)
    assert Path(f"{killed.database}-wal").stat().st_size
    killed.done("restore", str(backup), "--yes")
    assert rows_of(killed.database) == rows_of(demo.database)
    assert "everything agrees" in killed.done("audit")
    wal = Path(f"{killed.database}-wal")
    assert not wal.exists() or not wal.stat().st_size


def test_a_server_that_runs_goes_on_with_what_was_restored(
    demo: Installation, backup: Path, tmp_path: Path
) -> None:
    running = Installation(tmp_path / "running")
    shutil.copytree(demo.home, running.home)
    with running.serving() as server:
        server.key = running.done("token", "robin").strip()
        assert server.ask("/api/v1/places/", {"name": "Tray 90", "type": "tray"})[0] == 201
        assert server.ask("/api/v1/shortages/")[0] == 200
        running.done("restore", str(backup), "--yes")
        assert server.ask("/api/v1/places/?q=Tray%2090")[1]["count"] == 0
        assert server.ask("/api/v1/shortages/")[0] == 200
        assert server.ask("/api/v1/places/", {"name": "Tray 91", "type": "tray"})[0] == 201
    assert "everything agrees" in running.done("audit")


def _flipped(data: bytes, at: int) -> bytes:
    return data[:at] + bytes([data[at] ^ 0x20]) + data[at + 1 :]


def test_a_damaged_backup_is_refused_and_changes_nothing(
    demo: Installation, backup: Path, tmp_path: Path
) -> None:
    there = Installation(tmp_path / "there")
    shutil.copytree(demo.home, there.home)
    before = {path: path.read_bytes() for path in there.home.rglob("*") if path.is_file()}
    whole = backup.read_bytes()
    bad = tmp_path / "bad.backup"
    cases = [b"", whole[:20], whole[: len(whole) // 2], whole[:-1], whole + b"x", b"PK" * 4000]
    cases += [_flipped(whole, len(whole) * part // 16) for part in (0, 5, 11)] + [
        _flipped(whole, -1 % len(whole))
    ]
    for case in cases:
        bad.write_bytes(case)
        with pytest.raises(BadBackup, match="not a backup of a workshop"), opened(bad):
            pass
    bad.write_bytes(cases[2])
    assert "not a backup of a workshop" in there.refused("restore", str(bad), "--yes")
    assert {path: path.read_bytes() for path in there.home.rglob("*") if path.is_file()} == before
    assert "No such file" in there.refused("restore", str(tmp_path / "nowhere"), "--yes")


def test_every_changed_byte_is_noticed(backup: Path, tmp_path: Path) -> None:
    whole, bad = backup.read_bytes(), tmp_path / "bad.backup"
    with ZipFile(backup) as archive:
        manifest = archive.getinfo("manifest.json").header_offset
    places = {*range(0, len(whole), max(1, len(whole) // 100)), *range(manifest, manifest + 400, 2)}
    for at in sorted(places):
        bad.write_bytes(_flipped(whole, at))
        with pytest.raises(BadBackup), opened(bad):
            pass


def with_digest(data: bytes) -> bytes:
    return data + sha256(data).hexdigest().encode()


def rewritten(backup: Path, target: Path, **changes: object) -> Path:
    """The backup as another program would write it, with another manifest and its own digest."""
    with ZipFile(backup) as old, ZipFile(target, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "manifest.json":
                data = json.dumps({**json.loads(data), **changes}).encode()
            new.writestr(name, data)
        new.comment = b"0" * 64
    target.write_bytes(with_digest(target.read_bytes()[:-64]))
    return target


def test_what_another_program_packed_is_refused_in_words(backup: Path, tmp_path: Path) -> None:
    """RFC 1951 blocks that end early or point before the data, methods that no one unpacks, other JSON."""
    bad = tmp_path / "bad.backup"
    whole = backup.read_bytes()[:-64]
    with ZipFile(backup) as archive:
        manifest = archive.getinfo("manifest.json").header_offset
    for at in range(manifest, manifest + 300, 3):
        bad.write_bytes(with_digest(_flipped(whole, at)))
        with suppress(BadBackup), opened(bad):  # a date, say: what it holds is as it was
            pass
    for manifest_text in ("[]", "null", "7", '{"format": [], "rehome": ""}', '{"format": "x", "rehome": ""}'):
        with ZipFile(bad, "w") as archive:
            archive.writestr("manifest.json", manifest_text)
            archive.comment = b"0" * 64
        bad.write_bytes(with_digest(bad.read_bytes()[:-64]))
        with pytest.raises(BadBackup), opened(bad):
            pass


def test_a_backup_of_a_newer_rehome_is_refused(backup: Path, elsewhere: Installation, tmp_path: Path) -> None:
    later = rewritten(backup, tmp_path / "a.backup", migrations=[["inventory", "9999_later"]])
    assert "made by a newer Rehome" in elsewhere.refused("restore", str(later))
    later = rewritten(backup, tmp_path / "b.backup", format=2)
    assert "made by a newer Rehome" in elsewhere.refused("restore", str(later))
    assert not elsewhere.home.exists()


@pytest.mark.parametrize("there", [False, True])
def test_a_restore_that_fails_leaves_nothing_where_nothing_was(
    backup: Path, elsewhere: Installation, tmp_path: Path, there: bool
) -> None:
    with ZipFile(backup) as archive:
        tables = json.loads(archive.read("manifest.json"))["tables"]
    tables["inventory_lot"]["digest"] = "0" * 64
    elsewhere = Installation(elsewhere.home / "in" / "there") if not there else elsewhere
    if there:
        elsewhere.home.mkdir()
        (elsewhere.home / "notes.txt").write_text("mine")
    wrong = rewritten(backup, tmp_path / "wrong.backup", tables=tables)
    assert "came out otherwise" in elsewhere.refused("restore", str(wrong))
    if there:
        assert [path.name for path in elsewhere.home.iterdir()] == ["notes.txt"]
    else:
        assert not elsewhere.home.parent.parent.exists()
    elsewhere.done("restore", str(backup))


def test_a_restore_that_fails_keeps_what_it_set_aside(
    backup: Path, elsewhere: Installation, tmp_path: Path
) -> None:
    """The database and the key were lost; its write-ahead file and the pictures are there still."""
    with ZipFile(backup) as archive:
        tables = json.loads(archive.read("manifest.json"))["tables"]
    tables["inventory_lot"]["digest"] = "0" * 64
    (elsewhere.home / "pictures" / "ab").mkdir(parents=True)
    (elsewhere.home / "pictures" / "ab" / "abc.jpg").write_bytes(b"mine")
    Path(f"{elsewhere.database}-wal").write_bytes(b"pages")
    wrong = rewritten(backup, tmp_path / "wrong.backup", tables=tables)
    assert "came out otherwise" in elsewhere.refused("restore", str(wrong))
    assert [path.read_bytes() for path in elsewhere.home.rglob("abc.jpg")] == [b"mine"]
    assert len(list(elsewhere.home.rglob("rehome.sqlite3-wal"))) == 1


def test_a_restore_that_fails_leaves_a_database_that_cannot_be_read_where_it_is(
    demo: Installation, backup: Path, tmp_path: Path
) -> None:
    there = Installation(tmp_path / "there")
    shutil.copytree(demo.home, there.home)
    there.database.write_bytes(b"this is no database" * 400)
    before = {path: path.read_bytes() for path in there.home.rglob("*") if path.is_file()}
    with ZipFile(backup) as archive:
        tables = json.loads(archive.read("manifest.json"))["tables"]
    tables["inventory_lot"]["digest"] = "0" * 64
    wrong = rewritten(backup, tmp_path / "wrong.backup", tables=tables)
    assert "nothing was changed" in there.refused("restore", str(wrong), "--yes")
    assert {path: path.read_bytes() for path in there.home.rglob("*") if path.is_file()} == before


def test_a_backup_whose_key_is_no_text_is_refused(
    backup: Path, elsewhere: Installation, tmp_path: Path
) -> None:
    bad = tmp_path / "bad.backup"
    with ZipFile(backup) as old, ZipFile(bad, "w") as new:
        for name in old.namelist():
            new.writestr(name, b"\xff" * 50 if name == "secret-key" else old.read(name))
        new.comment = b"0" * 64
    bad.write_bytes(with_digest(bad.read_bytes()[:-64]))
    assert "a secret key that is no text" in elsewhere.refused("restore", str(bad))
    assert not elsewhere.home.exists()


def test_rows_that_come_out_otherwise_are_refused(demo: Installation, backup: Path, tmp_path: Path) -> None:
    there = Installation(tmp_path / "there")
    shutil.copytree(demo.home, there.home)
    with ZipFile(backup) as archive:
        tables = json.loads(archive.read("manifest.json"))["tables"]
    tables["inventory_lot"]["digest"] = "0" * 64
    wrong = rewritten(backup, tmp_path / "wrong.backup", tables=tables)
    assert "inventory_lot came out otherwise" in there.refused("restore", str(wrong), "--yes")
    assert rows_of(there.database) == rows_of(demo.database)


def test_what_was_there_is_kept_and_can_be_had_back(demo: Installation, backup: Path, tmp_path: Path) -> None:
    there = Installation(tmp_path / "there")
    there.begin()
    there.python("from inventory.models import Place; Place.objects.create(name='mine', type='tray')")
    mine = rows_of(there.database)
    refused = there.run("restore", str(backup), answer="no\n")
    assert refused.returncode == 1
    assert rows_of(there.database) == mine
    assert there.run("restore", str(backup), answer="yes\n").returncode == 0
    assert rows_of(there.database) == rows_of(demo.database)
    (kept,) = (there.home / "backups").iterdir()
    there.done("restore", str(kept), "--yes")
    assert rows_of(there.database) == mine
    assert not pictures_of(there.home)


@pytest.mark.parametrize("harm", ["zeros", "text", "half"])
def test_a_damaged_database_is_set_aside_as_it_lies(
    demo: Installation, backup: Path, tmp_path: Path, harm: str
) -> None:
    there = Installation(tmp_path / "there")
    shutil.copytree(demo.home, there.home)
    data = there.database.read_bytes()
    harmed = {
        "zeros": data[:8192] + bytes(len(data) - 16384) + data[-8192:],
        "text": b"this is no database" * 400,
        "half": data[: len(data) // 2],
    }[harm]
    there.database.write_bytes(harmed)
    assert "kept in" in there.done("restore", str(backup), "--yes")
    assert rows_of(there.database) == rows_of(demo.database)
    assert "everything agrees" in there.done("audit")
    kept = list((there.home / "backups").rglob("rehome.sqlite3"))
    assert [path.read_bytes() for path in kept] == [harmed]
    assert pictures_of(there.home) == pictures_of(demo.home)


def test_a_backup_of_an_older_rehome_is_brought_up_to_date(tmp_path: Path, elsewhere: Installation) -> None:
    older = Installation(tmp_path / "older")
    older.done("migrate", "inventory", "0006", "-v0")
    with closing(sqlite3.connect(older.database)) as raw, raw:
        raw.execute("INSERT INTO inventory_place (name, type, note, version) VALUES ('Old', 'tray', '', 1)")
    older.done("backup", str(tmp_path / "older.backup"))
    elsewhere.done("restore", str(tmp_path / "older.backup"))
    assert (
        "up to date" in elsewhere.run("migrate", "--check").stderr
        or not elsewhere.run("migrate", "--check").returncode
    )
    assert "Old" in [row[1] for row in rows_of(elsewhere.database)["inventory_place"]]
    assert "everything agrees" in elsewhere.done("audit")


def test_an_earlier_file_is_kept_and_only_its_owner_reads_a_backup(
    demo: Installation, tmp_path: Path
) -> None:
    path = tmp_path / "saltmarsh.backup"
    path.write_text("something else")
    assert "the earlier file is" in demo.done("backup", str(path))
    assert path.stat().st_mode & 0o777 == 0o600
    (earlier,) = [each for each in tmp_path.iterdir() if each != path]
    assert earlier.read_text() == "something else"


def test_a_place_that_will_not_have_it_is_reported_in_a_line(demo: Installation, tmp_path: Path) -> None:
    assert "there is no folder" in demo.refused("backup", str(tmp_path / "nowhere" / "a.backup"))
    assert "is a folder" in demo.refused("backup", str(tmp_path))
    if os.path.exists("/dev/full"):
        assert list(tmp_path.iterdir()) == []


def test_a_restore_leaves_the_tables_of_another_program_alone(
    backup: Path, tmp_path: Path, postgres: str
) -> None:
    club = Installation(tmp_path / "club", postgres)
    club.done("migrate")
    club.python(
        "from django.db import connection as c; k = c.cursor(); "
        "k.execute('DROP SCHEMA public CASCADE'); k.execute('CREATE SCHEMA public'); "
        "k.execute('CREATE TABLE auth_user (theirs int)'); k.execute('INSERT INTO auth_user VALUES (7)')"
    )
    said = club.refused("restore", str(backup), "--yes")
    assert "another program's" in said
    left = (
        "from django.db import connection as c; k = c.cursor(); "
        "k.execute('SELECT theirs FROM auth_user'); print(k.fetchall())"
    )
    assert club.python(left).strip() == "[(7,)]"
