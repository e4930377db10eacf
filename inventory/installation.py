"""The folder of a workshop and the state of its database: begun only when asked, kept to its owner's eyes.

Folders are 0700 and files 0600.  What a command or the server may not work on is named by `unfit`.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from inventory import unchanged
from inventory.cookie_names import cookie_names
from inventory.refusals import Code

BEGIN = ("demo", "migrate", "restore")
"""Commands that begin a workshop where there is none."""
NEED_NONE = (
    "check", "decode", "diffsettings", "doctor", "help", "makemigrations", "spectacular", "test", "version",
)  # fmt: skip
"""Commands that do not work on a workshop, or that say what is wrong with one."""


class Unfit(Exception):
    """Why nothing may be done with this installation, in one sentence, and what to do about it."""

    def __init__(self, code: Code, detail: str) -> None:
        super().__init__(detail)
        self.code, self.detail = code, detail


def secret_key_path() -> Path:
    return Path(settings.HOME) / "secret-key"


def database_file() -> Path | None:
    """Where SQLite keeps the database; None on PostgreSQL."""
    return Path(connection.settings_dict["NAME"]) if connection.vendor == "sqlite" else None


def is_begun() -> bool:
    """Whether HOME is the folder of a workshop."""
    file = database_file()
    if file is None and os.environ.get("REHOME_SECRET_KEY"):
        return Path(settings.HOME).is_dir()  # neither the key nor the database is kept there
    return _holds(secret_key_path()) or (file is not None and _holds(file))


def begin(secret_key: str = "") -> bool:
    """Make the folder with its secret key, where there is none; whether that was so.

    `secret_key` is the one to begin with, where it comes out of a backup: whoever starts meanwhile reads
    that one, and none that is drawn and then replaced.  The database file is made here too: SQLite would make
    it readable by everybody.
    """
    fresh = not is_begun()
    home, key = Path(settings.HOME), secret_key_path()
    home.mkdir(mode=0o700, parents=True, exist_ok=True)
    if not os.environ.get("REHOME_SECRET_KEY"):
        with suppress(FileExistsError):
            _write_new(key, secret_key or settings.SECRET_KEY)
        heed_secret_key()  # a twin at the same moment may have been first
    if file := database_file():
        with suppress(FileExistsError):
            _write_new(file, "")
    return fresh


def heed_secret_key() -> None:
    """Go by the key that is kept: another process may have put it there since this one read the settings.

    Unfit (`no_secret_key`) where it cannot be read.
    """
    key = secret_key_path()
    if not os.environ.get("REHOME_SECRET_KEY") and _holds(key):
        try:
            settings.SECRET_KEY = key.read_text().strip()
        except (OSError, UnicodeDecodeError) as error:
            why = error.strerror if isinstance(error, OSError) else "it is no text"
            raise Unfit(
                Code.NO_SECRET_KEY,
                f"{key} cannot be read ({why}): let the one who runs Rehome own and read it, or put back the "
                "one you had (`restore` brings it from a backup)",
            ) from None
        settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME = cookie_names(settings.SECRET_KEY)


def private(path: Path) -> None:
    """Take from everybody else what they may do with a file or a folder."""
    with suppress(OSError):
        path.chmod(0o700 if path.is_dir() else 0o600)


def tighten() -> None:
    """Make everything under HOME its owner's alone, as far as this process may."""
    if os.name == "posix":
        for path in loose():
            private(path)


def loose() -> Iterator[Path]:
    """What under HOME others can read or enter, HOME first."""
    home = Path(settings.HOME)
    for path in (home, *home.rglob("*")):
        with suppress(OSError):
            if not path.is_symlink() and path.stat().st_mode & 0o077:
                yield path


def check(command: str = "") -> None:
    """Unfit where the server, or the command of this name, may not go on."""
    if command in NEED_NONE:
        return
    if not is_begun():
        if command not in BEGIN:
            raise Unfit(Code.NO_WORKSHOP, no_workshop())
        return
    if command == "restore":
        return
    if command not in BEGIN or secret_key_path().exists():
        check_secret_key()
    if command not in BEGIN:
        check_database_is_there()
    refuse_newer()


def check_database_is_there() -> None:
    """Unfit (`no_database`) where its file is gone, or holds nothing: to open it would make an empty one, or
    wait until SQLite no longer believes that somebody is about to write it."""
    file = database_file()
    if file is not None and not _holds(file):
        raise Unfit(
            Code.NO_DATABASE,
            f"the database {file} is {'empty' if file.exists() else 'gone'}: put a backup in its place with "
            f"{settings.PROGRAM} restore FILE, or begin an empty one with {settings.PROGRAM} migrate",
        )


def check_secret_key() -> None:
    """Unfit (`no_secret_key`) where the workshop has lost it."""
    key = secret_key_path()
    if not os.environ.get("REHOME_SECRET_KEY") and not _holds(key):
        raise Unfit(
            Code.NO_SECRET_KEY,
            f"{key} is {'empty' if key.exists() else 'gone'}: put back the one you had (`restore` brings it "
            f"from a backup), or remove the file and run {settings.PROGRAM} migrate: all sign in again",
        )
    heed_secret_key()


def no_workshop() -> str:
    return (
        f"there is no workshop in {settings.HOME}: name the folder of yours with REHOME_HOME, or begin one "
        f"there with {settings.PROGRAM} migrate (empty) or demo"
    )


def refuse_newer() -> None:
    """Unfit (`newer_database`) where a newer Rehome has changed the database."""
    if later := later_migrations():
        raise Unfit(
            Code.NEWER_DATABASE,
            f"the database was changed by a newer Rehome ({', '.join(later[:3])}): update this one, or put "
            f"back the backup that was taken before, with {settings.PROGRAM} restore FILE",
        )


def later_migrations() -> list[str]:
    """Migrations that were applied to the database and that this code does not know."""
    applied = applied_migrations()
    unknown = [(app, name) for app, name in applied if not _on_disk(app, name)]
    if unknown:  # several that were made one keep their names in it
        migrations = MigrationLoader(None).disk_migrations
        replaced = {each for migration in migrations.values() for each in migration.replaces}
        unknown = [each for each in unknown if each not in replaced]
    return [f"{app}.{name}" for app, name in unknown]


def applied_migrations() -> list[tuple[str, str]]:
    """Of apps that are installed, by app and name; none where the database is empty."""
    installed = {app.label for app in apps.get_app_configs()}
    return sorted(each for each in MigrationRecorder(connection).applied_migrations() if each[0] in installed)


def leave_cleanly() -> None:
    """Bring what SQLite still keeps in its write-ahead file into the database, as a server ends."""
    file = database_file()
    if file is None or not _holds(file):
        return
    unchanged.stop_watching()
    connection.close()
    with suppress(sqlite3.Error), closing(sqlite3.connect(file)) as last:
        last.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _on_disk(app: str, name: str) -> bool:
    return (Path(apps.get_app_config(app).path) / "migrations" / f"{name}.py").exists()


def _holds(path: Path) -> bool:
    """Whether it is a file with anything in it."""
    try:
        return path.stat().st_size > 0
    except OSError:
        return False


def _write_new(path: Path, text: str) -> None:
    with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w") as file:
        file.write(text)
