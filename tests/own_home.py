"""A folder, and a migrated database, of each run's own: runs beside each other never meet, nor a workshop.

Migrating takes longer than most tests.  On SQLite the migrated database is kept in pytest's cache, by the
content of the migrations, and copied for the next run; PostgreSQL is migrated anew.  Loaded by conftest.
"""

import hashlib
import os
import shutil
import sqlite3
import sys
import tempfile
from contextlib import closing
from pathlib import Path

import pytest


def pytest_configure(config: pytest.Config) -> None:
    if not config.pluginmanager.hasplugin("django"):
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
    """Where the migrated database is kept, copied to where the tests look for theirs; None where none is."""
    from django.db import connection

    cache = getattr(request.config, "cache", None)
    if connection.vendor != "sqlite" or cache is None:
        return None
    kept = Path(cache.mkdir("migrated")) / f"{_of_migrations()}.sqlite3"
    if _rows(kept).exists():
        shutil.copyfile(kept, connection.settings_dict["TEST"]["NAME"])
    return kept


@pytest.fixture(scope="session")
def django_db_setup(request: pytest.FixtureRequest, migrated: Path | None) -> None:
    """pytest-django's; where a run before has kept the result, that: to ask the migrations takes seconds."""
    from django.conf import settings
    from django.db import connection

    from inventory import changes

    if migrated and _rows(migrated).exists():
        name = connection.settings_dict["TEST"]["NAME"]
        settings.DATABASES["default"]["NAME"] = connection.settings_dict["NAME"] = name
        connection._test_serialized_contents = _rows(migrated).read_text(encoding="utf-8")
        with request.getfixturevalue("django_db_blocker").unblock():
            changes.watch()
        return
    request.getfixturevalue("django_db_setup")
    if migrated:
        for old in migrated.parent.iterdir():
            if not old.name.startswith(migrated.stem):
                old.unlink(missing_ok=True)
        made = migrated.with_suffix(f".{os.getpid()}")
        with (
            closing(sqlite3.connect(connection.settings_dict["NAME"])) as now,
            closing(sqlite3.connect(made)) as copy,
        ):
            now.backup(copy)
        made.replace(migrated)
        rows = migrated.with_suffix(f".{os.getpid()}")
        with request.getfixturevalue("django_db_blocker").unblock():  # where none asks for it, it is not made
            rows.write_text(connection.creation.serialize_db_to_string(), encoding="utf-8")
        rows.replace(_rows(migrated))  # last: with it both are there


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
