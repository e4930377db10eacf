"""How many requests one person may make, counted once for all processes of a server.

The count stands in a small SQLite file of its own beside the workshop, whichever database that is in, and may
be lost at any time: nothing is synced, and nobody who writes to the bench waits for it.  15 µs a request; in
the bench's own database it took 6.7 ms, and kept in the process, as each moment of 1,200 requests, 57 µs.
"""

import sqlite3
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from django.conf import settings
from rest_framework.request import Request
from rest_framework.throttling import UserRateThrottle

from inventory.watching import address_of

_WAIT = 1.0
_OPEN = threading.local()


class SharedRate(UserRateThrottle):
    """The rate is that of a window which slides: what was counted in the last one fades as this one fills."""

    num_requests: int
    duration: int
    shared = True
    earlier, now = 0, 0
    passed = 0.0

    def get_cache_key(self, request: Request, view: Any) -> str:
        return f"person-{request.user.pk}" if request.user.is_authenticated else address_of(request)

    def allow_request(self, request: Request, view: Any) -> bool:
        if self.rate is None:
            return True
        window, passed = divmod(time.time() / self.duration, 1)
        self.passed = passed
        for _again in range(2):
            try:
                return self._counted(self.get_cache_key(request, view), int(window))
            except sqlite3.OperationalError:  # the disk is full, or may only be read
                _close()
                break
            except sqlite3.DatabaseError:  # damaged: it may be lost
                _close()
                for end in ("", "-wal", "-shm"):
                    Path(f"{_path()}{end}").unlink(missing_ok=True)
        self.shared = False  # each process counts for itself
        return super().allow_request(request, view)

    def wait(self) -> float | None:
        """Seconds until another request is allowed."""
        if not self.shared:
            return super().wait()
        fades = self.earlier if self.now < self.num_requests else self.now
        room = self.num_requests - self.now if self.now < self.num_requests else self.num_requests
        until = max(1 - room / fades, 0) + (0 if self.now < self.num_requests else 1)
        return max((until - self.passed) * self.duration, 1.0)

    def _counted(self, key: str, window: int) -> bool:
        file = _file()
        file.execute("BEGIN IMMEDIATE")
        try:
            found = file.execute(
                "SELECT window, requests FROM rate WHERE who = ? AND window >= ?", (key, window - 1)
            )
            counts = dict(found.fetchall())
            self.earlier, self.now = counts.get(window - 1, 0), counts.get(window, 0)
            if self.earlier * (1 - self.passed) + self.now >= self.num_requests:
                return False
            file.execute(
                "INSERT INTO rate VALUES (?, ?, 1) ON CONFLICT DO UPDATE SET requests = requests + 1",
                (key, window),
            )
            if not self.now:
                file.execute("DELETE FROM rate WHERE window NOT IN (?, ?)", (window, window - 1))
            return True
        finally:
            file.execute("COMMIT")


def forget() -> None:
    """Count from nothing again."""
    with suppress(sqlite3.Error):
        _file().execute("DELETE FROM rate")


def _path() -> Path:
    return Path(settings.HOME) / "rates.sqlite3"


def _file() -> sqlite3.Connection:
    """This thread's connection; the file is made where there is none."""
    path = _path()
    kept: tuple[Path, sqlite3.Connection] | None = getattr(_OPEN, "file", None)
    if kept is None or kept[0] != path:
        _close()
        made = sqlite3.connect(path, isolation_level=None, timeout=_WAIT)
        made.execute("PRAGMA journal_mode = WAL")
        made.execute("PRAGMA synchronous = OFF")
        made.execute(
            "CREATE TABLE IF NOT EXISTS rate (who TEXT, window INTEGER, requests INTEGER, "
            "PRIMARY KEY (who, window)) WITHOUT ROWID"
        )
        kept = _OPEN.file = (path, made)
    return kept[1]


def _close() -> None:
    kept: tuple[Path, sqlite3.Connection] | None = _OPEN.__dict__.pop("file", None)
    if kept is not None:
        kept[1].close()
