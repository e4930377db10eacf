"""A folder, and a migrated database, of each run's own: runs beside each other never meet, nor a workshop.

Migrating takes longer than most tests, and so does loading the demo.  On SQLite the migrated database is kept
in pytest's cache, by the content of the migrations, and copied for the next run; so is the demo workshop, by
the day and the whole source, and a test that asks for `workshop` runs in that file.  On PostgreSQL both are
made anew.  Loaded by conftest.
"""

import hashlib
import os
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest


def pytest_configure(config: pytest.Config) -> None:
    if not config.pluginmanager.hasplugin("pytest_django.plugin"):
        return
    from django.conf import settings

    home = Path(tempfile.mkdtemp(prefix="rehome-tests-"))
    config.add_cleanup(lambda: shutil.rmtree(home, ignore_errors=True))
    os.environ["REHOME_HOME"] = str(home)
    settings.HOME, settings.MEDIA_ROOT = home, home / "pictures"
    # Django, "Testing tips": a hash that is slow on purpose is slow in each test that signs in.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    database = settings.DATABASES["default"]
    if "sqlite" in database["ENGINE"]:
        database["NAME"] = str(home / "rehome.sqlite3")
        database["TEST"]["NAME"] = str(home / "test.sqlite3")


@pytest.fixture(scope="session")
def django_db_keepdb() -> bool:
    from django.db import connection

    return connection.vendor == "sqlite"


@pytest.fixture(scope="session")
def migrated(request: pytest.FixtureRequest, django_db_modify_db_settings: None) -> Path | None:
    """Where the migrated database is kept; None where none is."""
    from django.db import connection

    cache = getattr(request.config, "cache", None)
    if connection.vendor != "sqlite" or cache is None:
        return None
    return Path(cache.mkdir("migrated")) / f"{_of_migrations()}.sqlite3"


@pytest.fixture(scope="session")
def django_db_setup(request: pytest.FixtureRequest, migrated: Path | None) -> None:
    """pytest-django's; where a run before has kept the result, that: to ask the migrations takes seconds."""
    from django.conf import settings
    from django.db import connection

    from inventory import changes

    if migrated is None:
        request.getfixturevalue("django_db_setup")
        return

    def make() -> str:
        request.getfixturevalue("django_db_setup")
        _copy(connection.settings_dict["NAME"], unfinished(migrated))
        with request.getfixturevalue("django_db_blocker").unblock():  # where none asks for it, it is not made
            return connection.creation.serialize_db_to_string()

    name = connection.settings_dict["TEST"]["NAME"]
    if kept_or_made(migrated, Path(name), make):
        settings.DATABASES["default"]["NAME"] = connection.settings_dict["NAME"] = name
        connection._test_serialized_contents = _rows(migrated).read_text(encoding="utf-8")
        with request.getfixturevalue("django_db_blocker").unblock():
            changes.watch()


def kept_or_made(kept: Path, own: Path, make: Callable[[], str]) -> bool:
    """Copy the database that a run before kept to where this one has its own; whether there was one.

    Else `make` makes both this run's own and `unfinished(kept)`, and answers the rows in it; that is kept for
    the next.  Runs that begin at one moment wait for the first of them.
    """
    with one_at_a_time(kept.parent.with_suffix(".lock")):
        if _rows(kept).exists():
            shutil.copyfile(kept, own)
            return True
        for old in kept.parent.iterdir():
            old.unlink(missing_ok=True)
        rows = make()
        unfinished(kept).replace(kept)
        unfinished(kept).write_text(rows, encoding="utf-8")
        unfinished(kept).replace(_rows(kept))  # last: with it both are there
        return False


def unfinished(kept: Path) -> Path:
    """What is to be kept, while it is being made."""
    return kept.with_suffix(".unfinished")


@pytest.fixture(scope="session")
def workshop_file(
    request: pytest.FixtureRequest, migrated: Path | None, django_db_setup: None, django_db_blocker: Any
) -> Path:
    """A database of this process with the demo workshop; its pictures are where pictures are kept."""
    from django.conf import settings
    from django.db import connection

    from inventory import changes
    from repairs import demo

    # The home of the run: the test that is the first to ask may have another of its own.
    home = Path(settings.DATABASES["default"]["TEST"]["NAME"]).parent
    own = home / "workshop.sqlite3"
    cache = getattr(request.config, "cache", None)
    kept = Path(cache.mkdir("workshop") if cache else tempfile.mkdtemp(dir=home)) / _of_source()
    with one_at_a_time(kept.parent / "lock"):
        if not kept.exists():
            for old in kept.parent.iterdir():
                if old.is_dir():  # of another day or source, or left half made by a run that was ended
                    shutil.rmtree(old)
            made = Path(tempfile.mkdtemp(dir=kept.parent))
            _copy(migrated or connection.settings_dict["NAME"], made / "demo.sqlite3")
            with pytest.MonkeyPatch.context() as patch, django_db_blocker.unblock():
                patch.setattr(settings, "MEDIA_ROOT", made / "pictures")
                with at_database(made / "demo.sqlite3"):
                    changes.watch()  # the kept database follows from migrations alone
                    demo.load(by=None)
                    connection.close()
            made.rename(kept)
        shutil.copyfile(kept / "demo.sqlite3", own)
        shutil.copytree(kept / "pictures", home / "pictures", dirs_exist_ok=True)
    return own


def _copy(file: Path | str, to: Path) -> None:
    """Copy a database, with what stands in its write-ahead file yet."""
    with closing(sqlite3.connect(file)) as now, closing(sqlite3.connect(to)) as copy:
        now.backup(copy)


@contextmanager
def at_database(file: Path) -> Iterator[Any]:
    """Let this process ask another SQLite file until the block ends, by the connection that is answered.

    Both stay open.  Each has a wrapper of Django to itself: what that knows of a transaction is true of one
    database alone.
    """
    from django.db import DEFAULT_DB_ALIAS, connections

    usual = connections[DEFAULT_DB_ALIAS]
    name = usual.settings_dict["NAME"]
    usual.settings_dict["NAME"] = str(file)  # threads and whoever connects anew go there too
    if file not in _OPEN:
        _OPEN[file] = connections.create_connection(DEFAULT_DB_ALIAS)
    connections[DEFAULT_DB_ALIAS] = _OPEN[file]
    try:
        yield _OPEN[file]
    finally:
        connections[DEFAULT_DB_ALIAS] = usual
        usual.settings_dict["NAME"] = name


_OPEN: dict[Path, Any] = {}


@contextmanager
def one_at_a_time(lock: Path) -> Iterator[None]:
    """Where several processes want to make the same, the first does and the others wait."""
    import fcntl

    with lock.open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


def _of_source() -> str:
    """What the demo workshop follows from: the code, its fixtures, and the day."""
    root = Path(__file__).resolve().parents[1]
    digest = hashlib.sha256(f"{_of_migrations()} {date.today()}".encode())
    for folder in ("config", "inventory", "repairs", "fixtures"):
        for file in sorted((root / folder).rglob("*")):
            if file.is_file() and file.suffix != ".pyc":
                digest.update(file.name.encode() + file.read_bytes())
    return digest.hexdigest()[:16]


def _rows(migrated: Path) -> Path:
    """What migrations put into the tables, which tests with transactions of their own start from."""
    return migrated.with_suffix(".json")


def _of_migrations() -> str:
    """What the migrated database follows from."""
    from django import VERSION
    from django.apps import apps

    digest = hashlib.sha256(repr((VERSION, sys.version, sqlite3.sqlite_version)).encode())
    for app in apps.get_app_configs():
        for file in sorted(Path(app.path).glob("migrations/*.py")):
            digest.update(file.name.encode() + file.read_bytes())
    return digest.hexdigest()[:16]
