"""Dated backups: taken by a timer or a button, kept by a rule, and how old the last good one is."""

import json
import os
import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Lock

from django.conf import settings
from django.utils import timezone

from inventory.backups.taking import LAST, write
from inventory.changes import forget_superseded
from inventory.faults import fault_of
from inventory.ledger import Refused
from inventory.refusals import Code

USUAL_RULE = "7 daily, 5 weekly, 12 monthly"
_NAME = re.compile(r"dated-(\d{8}T\d{6})Z\.backup")
_ONE_AT_A_TIME = Lock()


@dataclass(frozen=True)
class Dated:
    """A backup in the folder of dated ones; `size` in bytes."""

    name: str
    made_at: datetime
    size: int

    @property
    def path(self) -> Path:
        return folder() / self.name

    @property
    def megabytes(self) -> float:
        return self.size / 1e6


def rule_of(text: str) -> dict[str, int]:
    """How many to keep of each period, by `7 daily, 5 weekly, 12 monthly`; ValueError for no rule."""
    kept = {}
    for part in (text or USUAL_RULE).split(","):
        found = re.fullmatch(r"\s*(\d{1,3})\s+(daily|weekly|monthly)\s*", part)
        if not found:
            raise ValueError(f"expected a rule such as {USUAL_RULE}")
        kept[found[2]] = int(found[1])
    if not any(kept.values()):
        raise ValueError("expected at least one backup kept")
    return kept


def kept_by(rule: dict[str, int], times: Iterable[datetime]) -> set[datetime]:
    """Which of these backups the rule keeps: the newest of each of the last so many days, weeks and months
    that have one; and always the newest of all."""
    newest_first = sorted(times, reverse=True)
    kept = set(newest_first[:1])
    for each, count in rule.items():
        seen: dict[tuple[int, ...], datetime] = {}
        for time in newest_first:
            seen.setdefault(_PERIOD[each](time), time)
        kept |= set(list(seen.values())[:count])
    return kept


_PERIOD: dict[str, Callable[[datetime], tuple[int, ...]]] = {
    "daily": lambda time: (time.year, time.month, time.day),
    "weekly": lambda time: time.isocalendar()[:2],
    "monthly": lambda time: (time.year, time.month),
}


def folder() -> Path:
    return Path(settings.BACKUPS)


def dated() -> list[Dated]:
    """The dated backups that are there, newest first."""
    found = []
    with suppress(OSError):
        for path in folder().iterdir():
            if match := _NAME.fullmatch(path.name):
                made_at = datetime.strptime(match[1], "%Y%m%dT%H%M%S").replace(tzinfo=UTC)
                found.append(Dated(path.name, made_at, path.stat().st_size))
    return sorted(found, key=lambda each: each.made_at, reverse=True)


def take_dated(rule: str) -> Dated:
    """Take a dated backup, then remove those that the rule keeps no longer.

    Refused: `busy` while another is taken, `not_written` where the folder will not have it.
    """
    if not _ONE_AT_A_TIME.acquire(blocking=False):
        raise Refused(Code.BUSY, "a backup is being taken already")
    try:
        folder().mkdir(mode=0o700, parents=True, exist_ok=True)
        name = f"dated-{timezone.now().astimezone(UTC):%Y%m%dT%H%M%S}Z.backup"
        write(folder() / name)
        forget_superseded()
        there = dated()
        kept = kept_by(rule_of(rule), [each.made_at for each in there])
        for each in there:
            if each.made_at not in kept:
                each.path.unlink(missing_ok=True)
        return next(each for each in there if each.name == name)
    except OSError as error:
        if fault_of(error):
            raise
        raise Refused(Code.NOT_WRITTEN, f"it could not be written: {error}") from None
    finally:
        _ONE_AT_A_TIME.release()


def last_good() -> datetime | None:
    """When the last backup was taken that was read back whole, wherever it was written; None before any."""
    times = [each.made_at for each in dated()[:1]]
    with suppress(OSError, ValueError, KeyError):
        record = json.loads((Path(settings.HOME) / LAST).read_text())
        times.append(datetime.fromisoformat(record["at"]))
    return max(times, default=None)


def age() -> timedelta | None:
    """How long ago that was."""
    last = last_good()
    return None if last is None else timezone.now() - last


def forget_earlier(pattern: str, keep: int) -> None:
    """Of the backups taken before something was done, keep the newest few."""
    there = sorted(folder_of_before().glob(pattern), key=lambda path: path.stat().st_mtime, reverse=True)
    for path in there[keep:]:
        path.unlink(missing_ok=True)


def folder_of_before() -> Path:
    """Where backups are put that are taken before a restore or a migration."""
    path = Path(settings.HOME) / "backups"
    path.mkdir(mode=0o700, exist_ok=True)
    return path


def stamp() -> str:
    return f"{timezone.localtime():%Y%m%dT%H%M%S}-{os.getpid()}"
