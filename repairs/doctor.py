"""What is wrong with an installation, and how to mend it."""

import os
import shutil
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Annotated, Self

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone
from pydantic import Field

from inventory import attachments, backups, installation
from inventory.answers import WholeAnswer, one_of
from inventory.faults import fault_of
from inventory.models import Attachment, Movement, Photo
from inventory.pictures import photos
from inventory.snapshot import one_moment, unsound
from repairs.audit import audit

MIN_FREE = 500 * 10**6
"""Bytes below which the disk counts as full; and always room for two more of the database."""
OLDEST_BACKUP = timedelta(days=8)
MAX_NAMED = 5


@dataclass(frozen=True)
class Finding:
    """`wrong`: it must be mended; else it is as well to know."""

    check: str
    detail: str
    mend: str
    wrong: Annotated[bool, Field(description="It must be mended; else it is as well to know.")] = True


@dataclass(frozen=True)
class Health(WholeAnswer):
    """What was found, worst first; `ok` where nothing must be mended."""

    status: Annotated[str, one_of(("ok", "wrong"))]
    findings: list[Finding]

    @classmethod
    def of(cls, findings: list[Finding]) -> Self:
        return cls("wrong" if any(finding.wrong for finding in findings) else "ok", findings)

    @classmethod
    def example(cls) -> Self:
        detail, mend = (
            "the last good backup is 12 days old",
            "manage.py backup --dated, each night from a timer (cron)",
        )
        return cls.of([Finding("backup", detail, mend)])


def diagnose(*, audited: bool = True) -> list[Finding]:
    """All findings, worst first; an empty list where all is well.  Nobody waits for it."""
    findings = list(_folder())
    if any(finding.check == "folder" for finding in findings):
        return findings
    try:
        connection.ensure_connection()
        findings += _versions()
        if not any(finding.check == "versions" and finding.wrong for finding in findings):
            with one_moment():
                for check in CHECKS + ((_audit,) if audited else ()):
                    findings += check()
    except DatabaseError as error:
        fault = fault_of(error)
        detail = str(error).splitlines()[0]
        findings.append(Finding("database", detail, fault.detail if fault else "look at the server's log"))
    return sorted(findings, key=lambda finding: not finding.wrong)


def _folder() -> Iterator[Finding]:
    home = Path(settings.HOME)
    begun = installation.is_begun()
    if not begun:
        yield Finding(
            "folder", f"there is no workshop in {home}", "set REHOME_HOME, or run manage.py migrate"
        )
    if begun or installation.database_file() is None:  # a mistyped folder has lost no key
        try:
            installation.check_secret_key()
        except installation.Unfit as unfit:
            yield Finding("secret key", unfit.detail, "put back the file secret-key, or restore a backup")
    if not begun:
        return
    try:
        installation.check_database_is_there()
    except installation.Unfit as unfit:
        yield Finding("folder", unfit.detail.partition(":")[0], "manage.py restore FILE")
        return
    file = installation.database_file()
    loose = list(installation.loose()) if os.name == "posix" else []
    if loose:
        yield Finding(
            "modes", f"others can read {_named(loose)}", f"chmod -R go= {home} (folders 0700, files 0600)"
        )
    unwritable = [path for path in (home, file) if path and not os.access(path, os.W_OK)]
    if unwritable:
        yield Finding(
            "modes", f"{_named(unwritable)} cannot be written", "run Rehome as whoever owns the folder"
        )
    free = shutil.disk_usage(home).free
    least = max(MIN_FREE, 2 * file.stat().st_size if file else 0)
    if free < least:
        yield Finding(
            "space",
            f"{free / 1e6:.0f} MB are free where {home} lies",
            f"make room: at least {least / 1e6:.0f} MB",
        )
    if settings.DEBUG:
        yield Finding(
            "settings", "REHOME_DEBUG shows errors in full to whoever causes them", "unset REHOME_DEBUG"
        )
    if len(str(settings.SECRET_KEY)) < 32:
        yield Finding(
            "secret key", "the secret key is too short to be one",
            "remove secret-key, or give REHOME_SECRET_KEY 50 random characters; everybody signs in again",
        )  # fmt: skip
    if settings.HOSTS_NAMED and "*" in settings.ALLOWED_HOSTS:
        yield Finding(
            "hosts", "the server answers to any host name", "name yours in REHOME_HOSTS", wrong=False
        )  # fmt: skip


def _versions() -> Iterator[Finding]:
    if sys.version_info < (3, 11):  # noqa: UP036
        yield Finding("versions", f"Python {sys.version.split()[0]}", "install Python 3.11 or newer")
    if later := installation.later_migrations():
        yield Finding(
            "versions", f"the database was changed by a newer Rehome ({', '.join(later[:3])})",
            "update this Rehome, or restore the backup that was taken before",
        )  # fmt: skip
        return
    executor = MigrationExecutor(connection)
    if plan := executor.migration_plan(executor.loader.graph.leaf_nodes()):
        yield Finding("versions", f"{len(plan)} migrations are not applied", "manage.py migrate")


def _clock() -> Iterator[Finding]:
    newest = Movement.objects.order_by("-at").values_list("at", flat=True).first()
    if newest and newest > timezone.now() + timedelta(minutes=5):
        yield Finding(
            "clock",
            f"the newest movement is from {timezone.localtime(newest):%Y-%m-%d %H:%M}, which is yet to come",
            "set the clock of this machine",
        )  # fmt: skip


def _pictures() -> Iterator[Finding]:
    kept = Photo.objects.order_by("id").iterator()
    return _files(
        "pictures", ((f"photo {each.pk}", photos.path_of(each.content), each.size) for each in kept)
    )


def _attachments() -> Iterator[Finding]:
    kept = Attachment.objects.order_by("id").iterator()
    return _files(
        "attachments",
        ((f"attachment {each.pk} ({each})", attachments.path_of(each.content), each.size) for each in kept),
    )


def _files(check: str, kept: Iterable[tuple[str, Path, int]]) -> Iterator[Finding]:
    lost = [name for name, path, size in kept if not path.exists() or path.stat().st_size != size]
    if lost:
        yield Finding(check, f"the files of {_named(lost)} are missing or cut short", "restore a backup")


def _backups() -> Iterator[Finding]:
    age = backups.age()
    first = Movement.objects.order_by("at").values_list("at", flat=True).first()
    mend = "manage.py backup --dated, each night from a timer (cron)"
    if age is None:
        new = first is None or timezone.now() - first < OLDEST_BACKUP
        yield Finding("backup", "no backup was ever taken", mend, wrong=not new)
    elif age > OLDEST_BACKUP:
        yield Finding("backup", f"the last good backup is {age.days} days old", mend)


def _audit() -> Iterator[Finding]:
    for detail in unsound():
        yield Finding("database", detail, "stop the server and restore a backup")
    for detail in audit()[:MAX_NAMED]:
        yield Finding(
            "audit", detail, "manage.py audit names every difference; restore a backup from before it"
        )


CHECKS: tuple[Callable[[], Iterator[Finding]], ...] = (_clock, _pictures, _attachments, _backups)


def _named(things: list[object] | list[Path] | list[str]) -> str:
    more = f" and {len(things) - MAX_NAMED} more" if len(things) > MAX_NAMED else ""
    return ", ".join(map(str, things[:MAX_NAMED])) + more
