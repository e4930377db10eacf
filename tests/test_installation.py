"""The folder of a workshop: begun only when asked, its owner's alone, and never worked on by older code."""

import errno
import os
import signal
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from django.db.migrations.recorder import MigrationRecorder
from django.http import HttpRequest

from inventory import installation, watching
from inventory.cookie_names import cookie_names
from inventory.faults import fault_of
from tests.installed import Installation
from tests.postgres import NoServer, throwaway

pytestmark = pytest.mark.xdist_group("installed")  # the workshops that they copy are made once


@pytest.fixture
def empty(tmp_path: Path) -> Installation:
    """A workshop that was begun and holds nothing."""
    installation = Installation(tmp_path / "workshop")
    installation.begin()
    return installation


@pytest.mark.parametrize("command", ["audit", "token wren", "serve", "settings", "shell", "people"])
def test_a_mistyped_folder_makes_no_workshop(tmp_path: Path, command: str) -> None:
    mistyped = Installation(tmp_path / "wrokshop")
    message = mistyped.refused(*command.split())
    assert "there is no workshop in" in message
    assert "python3 manage.py migrate" in message
    assert not mistyped.home.exists()


def test_help_needs_no_workshop(tmp_path: Path) -> None:
    nowhere = Installation(tmp_path / "nowhere")
    assert "usage" in nowhere.done("audit", "--help")
    assert not nowhere.home.exists()


def test_a_workshop_that_is_begun_says_where(tmp_path: Path) -> None:
    installation = Installation(tmp_path / "workshop")
    assert f"a new workshop in {installation.home}" in installation.run("migrate", "-v0").stderr
    assert "a new workshop" not in installation.run("migrate", "-v0").stderr


def test_what_a_workshop_holds_is_its_owners_alone(tmp_path: Path) -> None:
    installation = Installation(tmp_path / "workshop")
    installation.begin(demo=True)
    with installation.serving() as server:
        server.key = installation.done("token", "robin").strip()
        assert server.ask("/api/v1/places/", {"name": "Tray 90", "type": "tray"})[0] == 201
        everything = [installation.home, *installation.home.rglob("*")]
        modes = {path: path.stat().st_mode & 0o777 for path in everything}
    assert {mode for path, mode in modes.items() if path.is_dir()} == {0o700}
    assert {mode for path, mode in modes.items() if path.is_file()} == {0o600}
    assert any(path.name.endswith("-wal") for path in modes)


def test_a_folder_that_others_can_read_is_closed_to_them(empty: Installation) -> None:
    empty.home.chmod(0o755)
    empty.database.chmod(0o644)
    empty.done("migrate", "-v0")
    assert empty.home.stat().st_mode & 0o777 == 0o700
    assert empty.database.stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_a_server_that_is_ended_leaves_no_write_ahead_file(empty: Installation, how: int) -> None:
    key = empty.done("token", "wren").strip()
    with empty.serving() as server:
        server.key = key
        assert server.ask("/api/v1/places/", {"name": "Tray 90", "type": "tray"})[0] == 201
        assert server.end(how) == 0
        wal = Path(f"{empty.database}-wal")
        assert not wal.exists() or wal.stat().st_size == 0
    with sqlite3.connect(f"file:{empty.database}?mode=ro&immutable=1", uri=True) as alone:
        assert alone.execute("SELECT count(*) FROM inventory_place WHERE name = 'Tray 90'").fetchone() == (1,)


def test_older_code_refuses_a_database_that_newer_code_changed(empty: Installation) -> None:
    with sqlite3.connect(empty.database) as newer:
        newer.execute(
            "INSERT INTO django_migrations (app, name, applied) "
            "VALUES ('inventory', '9999_later', '2040-01-01')"
        )
    for command in ("serve", "audit", "migrate", "token wren", "shell", "demo --no-serve"):
        message = empty.refused(*command.split())
        assert "changed by a newer Rehome (inventory.9999_later)" in message, command


@pytest.mark.parametrize("command", ["audit", "serve", "token wren"])
def test_a_folder_without_its_database_is_no_reason_to_make_an_empty_one(
    empty: Installation, command: str
) -> None:
    empty.database.unlink()
    message = empty.refused(*command.split())
    assert "is gone" in message
    assert "python3 manage.py restore FILE" in message
    assert not empty.database.exists()


def test_an_empty_secret_key_is_refused_at_once(empty: Installation) -> None:
    (empty.home / "secret-key").write_text("")
    assert "secret-key is empty" in empty.refused("serve")


@pytest.mark.parametrize("harm", ["no text", "a folder", "not ours"])
def test_a_secret_key_that_cannot_be_read_is_said_in_one_sentence(
    tmp_path: Path, settings: Any, monkeypatch: pytest.MonkeyPatch, harm: str
) -> None:
    monkeypatch.delenv("REHOME_SECRET_KEY", raising=False)
    settings.HOME = tmp_path
    key = tmp_path / "secret-key"
    if harm == "a folder":
        key.mkdir()
        (key / "x").write_text("x")
    else:
        key.write_bytes(b"\xff\xfe" if harm == "no text" else b"k" * 50)
    if harm == "not ours":  # whoever runs the tests may read every file

        def refuse(*_: Any) -> str:
            raise PermissionError(errno.EACCES, "Permission denied")

        monkeypatch.setattr(Path, "read_text", refuse)
    with pytest.raises(installation.Unfit) as unfit:
        installation.check_secret_key()
    assert "secret-key cannot be read (" in unfit.value.detail
    fault = fault_of(unfit.value)
    assert fault is not None
    assert (fault.status, fault.code) == (503, "no_secret_key")


def test_commands_say_that_the_key_cannot_be_read(empty: Installation) -> None:
    (empty.home / "secret-key").write_bytes(b"\xff\xfe" * 20)
    for command in ("audit", "serve", "migrate"):
        assert "cannot be read (it is no text)" in empty.refused(command)
    assert "cannot be read (it is no text)" in empty.run("doctor").stdout


def test_a_workshop_with_its_key_in_the_environment_and_its_rows_on_postgresql_is_one(tmp_path: Path) -> None:
    """Then neither a key nor a database is in its folder."""
    try:
        with throwaway() as url:
            club = Installation(tmp_path / "club", url, REHOME_SECRET_KEY="k" * 60)
            assert "there is no workshop" in club.refused("audit")
            club.done("migrate", "-v0")
            assert "everything agrees" in club.done("audit")
            assert "all is well" in club.run("doctor").stdout
    except NoServer as missing:
        pytest.skip(str(missing))


def test_the_audit_fails_on_a_damaged_database(empty: Installation) -> None:
    """SQLite's own integrity check is the referee: a page of zeros in the middle is no page of its."""
    with open(empty.database, "r+b") as file:
        size = os.fstat(file.fileno()).st_size
        file.seek(size // 2 // 4096 * 4096)
        file.write(bytes(8 * 4096))
    run = empty.run("audit")
    assert run.returncode == 1
    assert "Traceback" not in run.stderr
    assert "the database file" in run.stdout or "damaged" in run.stderr


def test_the_audit_fails_on_what_refers_to_nothing(empty: Installation) -> None:
    with sqlite3.connect(empty.database) as careless:
        careless.execute(
            "INSERT INTO inventory_place (name, type, note, within_id, version) "
            "VALUES ('x', 'tray', '', 999, 1)"
        )
    run = empty.run("audit")
    assert run.returncode == 1
    assert "inventory_place" in run.stdout
    assert "refers to a row" in run.stdout


@pytest.mark.django_db
def test_each_way_of_being_unfit_has_its_code(
    tmp_path: Path, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused() -> str:
        with pytest.raises(installation.Unfit) as caught:
            installation.check("audit")
        return str(caught.value.code)

    monkeypatch.delenv("REHOME_SECRET_KEY", raising=False)
    settings.HOME = tmp_path / "workshop"
    monkeypatch.setattr(installation, "database_file", lambda: settings.HOME / "rehome.sqlite3")
    assert refused() == "no_workshop"
    settings.HOME.mkdir()
    (settings.HOME / "rehome.sqlite3").write_bytes(b"SQLite format 3")
    assert refused() == "no_secret_key"
    (settings.HOME / "secret-key").write_text("a" * 50)
    MigrationRecorder.Migration.objects.create(app="inventory", name="9999_of_tomorrow")
    assert refused() == "newer_database"
    (settings.HOME / "rehome.sqlite3").unlink()
    assert refused() == "no_database"


def test_a_demo_that_came_in_while_another_waited_to_load_is_found(tmp_path: Path) -> None:
    """Somebody presses twice: the second is told by the page that it is here, and makes no second one."""
    bench = Installation(tmp_path / "workshop")
    bench.begin(demo=True)
    waited = "from repairs import demo\nwith demo.prepared(by=None): print('found')"
    assert bench.python(waited) == "found\n"


def test_who_drew_a_key_before_there_was_one_goes_by_the_one_that_is_kept(
    settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its settings were read in an empty folder; meanwhile another process began the workshop."""
    monkeypatch.delenv("REHOME_SECRET_KEY", raising=False)
    settings.HOME, settings.SECRET_KEY = tmp_path, "drawn" * 10
    (tmp_path / "secret-key").write_text("kept" * 10 + "\n")
    installation.check_secret_key()
    assert settings.SECRET_KEY == "kept" * 10
    assert cookie_names("kept" * 10) == (settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME), (
        "as a server that starts now names them: nobody is signed out by it"
    )


@pytest.mark.django_db
def test_a_server_that_runs_goes_by_the_key_that_a_restore_brings(
    settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("REHOME_SECRET_KEY", raising=False)
    monkeypatch.setattr("inventory.watching.LOOK_AGAIN", 0)
    monkeypatch.setattr(installation, "check_database_is_there", lambda: None)
    settings.HOME = tmp_path
    names = []
    serve = watching.fit_to_serve(lambda _request: names.append(settings.SESSION_COOKIE_NAME))
    for key in ("of the bench", "of its backup"):
        (tmp_path / "secret-key").write_text(key)
        serve(HttpRequest())
    assert names == [cookie_names(key)[0] for key in ("of the bench", "of its backup")]
    (tmp_path / "secret-key").write_bytes(b"\xff")
    with pytest.raises(installation.Unfit, match="cannot be read"):  # which is answered as 503
        serve(HttpRequest())
