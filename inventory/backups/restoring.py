"""Putting a backup in the place of what is there, which is kept.

The rows are built apart, compared with what the backup says of them, and then take the place of the others in
one transaction: on SQLite by the database's own backup call, which heeds the locks of whoever is at work and
any write-ahead file that was left behind; on PostgreSQL as one transaction of the database.
"""

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.commands import migrate
from django.db import DatabaseError, DataError, IntegrityError, ProgrammingError, connection, transaction

from inventory import attachments, statistics, unchanged
from inventory.backups import tables
from inventory.backups.archive import Backup, BadBackup, opened
from inventory.backups.dated import folder_of_before, stamp
from inventory.backups.taking import KEPT_FILES, attachment_files, picture_files, write
from inventory.installation import (
    Unfit,
    begin,
    database_file,
    heed_secret_key,
    is_begun,
    refuse_newer,
    secret_key_path,
)
from inventory.kept_files import write_whole


@dataclass(frozen=True)
class Restored:
    """What was put in place, and where what was there is kept."""

    made_at: str
    rows: int
    pictures: int
    kept: Path | None
    settings: dict[str, str]
    """Settings of the environment that the backup was taken with."""


def restore(path: Path) -> Restored:
    """Put the backup in the place of what is there.  BadBackup where it will not do: nothing is changed, and
    where no workshop was none is left."""
    with opened(path) as backup, _left_as_it_was():
        if later := tables.unknown(_migrations(backup)):
            raise BadBackup(
                f"{path} was made by a newer Rehome ({backup.manifest['rehome']}, with {later[0]}): "
                "update this one first"
            )
        begin(_secret_key(backup))
        file = database_file()
        if file is None:
            _refuse_anothers()
            kept = _copied_aside()
            with transaction.atomic():
                kept = kept or _set_tables_aside()
                _drop_tables()
                _build(backup)
        else:
            apart = Path(settings.HOME) / f".restoring-{os.getpid()}.sqlite3"
            try:
                with _instead(apart):
                    _build(backup)
                kept = _copied_aside() or _set_files_aside(file)
                _put_in_place(apart, file)
            finally:
                for ending in ("", "-wal", "-shm"):
                    Path(f"{apart}{ending}").unlink(missing_ok=True)
        _put_files(backup)
        call_command(migrate.Command(), verbosity=0, interactive=False)
        statistics.renew()
        return Restored(
            backup.manifest["made_at"], backup.rows, len(backup.pictures), kept, backup.manifest["settings"]
        )


@contextmanager
def _left_as_it_was() -> Iterator[None]:
    """Take out again what was begun for a backup that would not do, but never what was set aside."""
    if is_begun():
        yield
        return
    home = Path(settings.HOME)
    made = [folder for folder in (home, *home.parents) if not folder.exists()]
    there = [] if made else [*home.iterdir()]
    try:
        yield
    except BaseException:
        unchanged.stop_watching()
        connection.close()
        if home.exists():
            aside = folder_of_before()
            for path in home.iterdir():
                if path not in (aside, *there):
                    shutil.rmtree(path) if path.is_dir() else path.unlink()
            made = [aside, *made]
        for folder in made:
            with suppress(OSError):  # something is kept in it, or it was never made
                folder.rmdir()
        raise


def _secret_key(backup: Backup) -> str:
    try:
        return (backup.read("secret-key") or b"").decode().strip()
    except UnicodeDecodeError:
        raise BadBackup(f"{backup.path} holds a secret key that is no text: nothing was changed") from None


def has_anything() -> bool:
    """Whether there is anything that a backup would take the place of."""
    file = database_file()
    if file is not None and not (file.exists() and file.stat().st_size):
        return False
    try:
        return bool(connection.introspection.table_names())
    except DatabaseError:
        return True


def _migrations(backup: Backup) -> list[tuple[str, str]]:
    return [(app, name) for app, name in backup.manifest["migrations"]]


# --- what is there


def _copied_aside() -> Path | None:
    """Keep what is there as a backup; None where there is nothing, or none can be taken of it."""
    if not has_anything():
        return None
    try:
        refuse_newer()
        aside = folder_of_before() / f"before-restore-{stamp()}.backup"
        write(aside)
        return aside
    except (DatabaseError, sqlite3.Error, Unfit, BadBackup, LookupError, ValueError):
        connection.close()
        return None


def _set_tables_aside() -> Path | None:
    """Keep tables of which no backup can be taken, in a schema of their own."""
    if not (there := _own_tables()):
        return None
    schema = f"before_restore_{stamp().replace('-', '_').lower()}"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE SCHEMA {schema}")
        for name in there:
            cursor.execute(f"ALTER TABLE {connection.ops.quote_name(name)} SET SCHEMA {schema}")
    return Path(f"schema {schema}")


def _set_files_aside(file: Path | None) -> Path | None:
    """Move the files of a database that cannot be read, and the pictures with it."""
    there = [path for path in (Path(f"{file}{end}") for end in ("", "-wal", "-shm")) if path.exists()]
    there = [path for path in there if path.stat().st_size] or there[1:]
    if file is None or not there:
        return None
    unchanged.stop_watching()
    connection.close()
    aside = folder_of_before() / f"before-restore-{stamp()}"
    aside.mkdir(mode=0o700)
    for path in there:
        path.replace(aside / path.name)
    for folder in (Path(settings.MEDIA_ROOT), attachments.folder()):
        if folder.exists():
            folder.replace(aside / folder.name)
    if secret_key_path().exists():
        (aside / "secret-key").write_bytes(secret_key_path().read_bytes())
    return aside


def _own_tables() -> list[str]:
    """The tables in the database that are Rehome's, of whatever version."""
    ours = ("auth_", "django_", *_of_ours_alone())
    return sorted(name for name in connection.introspection.table_names() if name.startswith(ours))


def _of_ours_alone() -> tuple[str, ...]:
    """How the names of tables begin that no other Django program makes."""
    return tuple(f"{app}_" for app in settings.OWN_APPS)


def _refuse_anothers() -> None:
    """BadBackup where the database has tables that every Django program makes, and none of Rehome's alone."""
    there = _own_tables()
    if there and not any(name.startswith(_of_ours_alone()) for name in there):
        raise BadBackup(
            f"the database is another program's: it holds {there[0]} and nothing of Rehome; "
            "give Rehome a database of its own; nothing was changed"
        )


def _drop_tables() -> None:
    with connection.cursor() as cursor:
        for name in _own_tables():
            cursor.execute(f"DROP TABLE {connection.ops.quote_name(name)} CASCADE")


# --- what comes


NAME_TAKEN = ("42P07", "42710")
"""PostgreSQL manual, appendix A: duplicate_table, of any relation, and duplicate_object."""


def _build(backup: Backup) -> None:
    """Fill an empty database from the backup; BadBackup where it comes out otherwise than it says."""
    try:
        present = tables.built(_migrations(backup))
    except ProgrammingError as error:
        if getattr(error.__cause__, "sqlstate", "") not in NAME_TAKEN:
            raise
        raise BadBackup(
            f"the database holds what is not Rehome's under a name that it needs ({str(error).strip()}): "
            "give it a database of its own; nothing was changed"
        ) from None
    expected = backup.manifest["tables"]
    if {table._meta.db_table for table in present} != set(expected):
        raise BadBackup(f"{backup.path} holds other tables than its migrations make")
    try:
        with tables.in_any_order(), transaction.atomic():
            for table in present:
                with backup.archive.open(f"tables/{table._meta.db_table}.jsonl") as lines:
                    tables.read_table(table, lines)
            tables.set_last_ids(present, backup.manifest["last_ids"])
    except (ValueError, KeyError, DataError, IntegrityError) as error:
        raise BadBackup(f"{backup.path} holds what the database refuses: {error}") from None
    for table in present:
        name = table._meta.db_table
        if tables.summary_of(table) != expected[name]:
            raise BadBackup(f"{name} came out otherwise than it is in {backup.path}: nothing was changed")


@contextmanager
def _instead(file: Path) -> Iterator[None]:
    """Let the connection lead to another SQLite file."""
    connection.close()
    usual = connection.settings_dict["NAME"]
    connection.settings_dict["NAME"] = str(file)
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous = OFF")  # what takes its place is synced when it does
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = usual


def _put_in_place(apart: Path, file: Path) -> None:
    """Overwrite the database as one transaction of its own; where it is none, take its name."""
    unchanged.stop_watching()
    connection.close()
    try:
        with closing(sqlite3.connect(file, timeout=60)) as live:
            live.execute("PRAGMA journal_mode=WAL")
            with closing(sqlite3.connect(apart)) as source:
                source.backup(live)
            live.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    except sqlite3.DatabaseError:
        _set_files_aside(file)
        apart.replace(file)
    file.chmod(0o600)


def _put_files(backup: Backup) -> None:
    """The pictures and attachments, and only those; the secret key that keys and sessions were made with."""
    _put_kept(backup, backup.pictures, Path(settings.MEDIA_ROOT), picture_files(), ".jpg")
    _put_kept(backup, backup.attachments, attachments.folder(), attachment_files(), "")
    for name in KEPT_FILES:
        data = backup.read(name) or b""
        if data and (name != "secret-key" or not os.environ.get("REHOME_SECRET_KEY")):
            write_whole(Path(settings.HOME) / name, data)
    heed_secret_key()


def _put_kept(backup: Backup, names: list[str], folder: Path, there: list[Path], ending: str) -> None:
    """Files that are named by their content."""
    for name in names:
        data = backup.archive.read(name)
        target = folder.joinpath(*name.split("/")[1:])
        if target.name != f"{sha256(data).hexdigest()}{ending}" or target.parent.name != target.name[:2]:
            raise BadBackup(f"{name} in {backup.path} is not named by what is in it")
        if not target.exists() or target.stat().st_size != len(data):
            write_whole(target, data)
    wanted = {name.rpartition("/")[2] for name in names}
    for path in there:
        if path.name not in wanted:  # what was there is kept, its files too
            path.unlink(missing_ok=True)
