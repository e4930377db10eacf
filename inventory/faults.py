"""What is wrong with the machine rather than with a request, by one name for programs, pages and commands.

SQLite says it in words (sqlite.org/rescode.html), PostgreSQL by a SQLSTATE (its manual, appendix A), the
system by an errno.
"""

import errno
import sqlite3
from dataclasses import dataclass

from django.conf import settings
from django.db import Error as DatabaseFault

from inventory.installation import Unfit
from inventory.refusals import Code


@dataclass(frozen=True)
class Fault:
    """`retry_after` in seconds; None where waiting alone mends nothing."""

    status: int
    code: Code
    detail: str
    retry_after: int | None = None


BUSY = Fault(503, Code.BUSY, "the bench is busy: nothing was changed, try again", 2)
FULL = Fault(507, Code.DISK_FULL, "the disk is full: nothing was changed; make room, then try again")
TAKES_NO_MORE = Fault(
    507, Code.DISK_FULL,
    "the disk takes no more: it is full, a limit is reached, or it fails; nothing was changed: make room or "
    "look at the disk, then try again",
)  # fmt: skip
READ_ONLY = Fault(
    503, Code.READ_ONLY, "the database or its disk may only be read: nothing was changed; an owner must look"
)
AWAY = Fault(503, Code.DATABASE_AWAY, "the database does not answer: nothing was changed, try again", 10)
DAMAGED = Fault(
    503, Code.DATABASE_DAMAGED,
    f"the database is damaged: stop the server, look with {settings.PROGRAM} doctor, and put back a backup "
    f"with {settings.PROGRAM} restore FILE",
)  # fmt: skip
NOT_READY = Fault(
    503, Code.DATABASE_NOT_READY,
    f"the database is empty or not up to date: run {settings.PROGRAM} migrate, or put back a backup with "
    f"{settings.PROGRAM} restore FILE",
)  # fmt: skip

_IN_WORDS = {
    "database or disk is full": FULL,
    "readonly database": READ_ONLY,
    "disk i/o error": DAMAGED,
    "malformed": DAMAGED,
    "not a database": DAMAGED,
    "unable to open database": AWAY,
    "no such table": NOT_READY,
    "no such column": NOT_READY,
    "has no column named": NOT_READY,
    "locked": BUSY,
    "busy": BUSY,
}
_BY_SQLITE_NAME = {
    # The system refuses a write for another reason than a full disk, such as EFBIG, or lays it down too late.
    **dict.fromkeys(
        (
            "SQLITE_IOERR_WRITE", "SQLITE_IOERR_TRUNCATE", "SQLITE_IOERR_FSYNC", "SQLITE_IOERR_DIR_FSYNC",
            "SQLITE_IOERR_SHMSIZE", "SQLITE_IOERR_SHMMAP", "SQLITE_IOERR_SHMOPEN",
        ),
        TAKES_NO_MORE,
    ),
    "SQLITE_IOERR_LOCK": BUSY,
    "SQLITE_IOERR_NOMEM": AWAY,
}  # fmt: skip
_BY_STATE = {
    "40001": BUSY, "40P01": BUSY, "55P03": BUSY,
    "53100": FULL, "53200": AWAY, "53300": AWAY,
    "25006": READ_ONLY,
    "57P01": AWAY, "57P02": AWAY, "57P03": AWAY,
    "42P01": NOT_READY, "42703": NOT_READY, "3F000": NOT_READY,
    "58030": TAKES_NO_MORE,
    "XX001": DAMAGED, "XX002": DAMAGED,
}  # fmt: skip
_BY_ERRNO = {
    errno.ENOSPC: FULL, errno.EDQUOT: FULL, errno.EFBIG: TAKES_NO_MORE, errno.EROFS: READ_ONLY,
    errno.EACCES: READ_ONLY, errno.EPERM: READ_ONLY, errno.EIO: TAKES_NO_MORE,
}  # fmt: skip


def fault_of(exc: BaseException) -> Fault | None:
    """What the exception says of the machine; None where it says nothing of it, and is a bug."""
    if isinstance(exc, Unfit):
        return Fault(503, exc.code, exc.detail)
    if isinstance(exc, OSError):
        return _BY_ERRNO.get(exc.errno or 0)
    if not isinstance(exc, DatabaseFault | sqlite3.Error):
        return None
    state = getattr(exc.__cause__, "sqlstate", None)
    if state is not None:
        return AWAY if state.startswith("08") else _BY_STATE.get(state)
    if fault := _BY_SQLITE_NAME.get(getattr(exc.__cause__ or exc, "sqlite_errorname", "")):
        return fault
    message = str(exc).lower()
    for words, fault in _IN_WORDS.items():
        if words in message:
            return fault
    # psycopg: a connection that is refused or torn off has no state of the server to tell
    torn = type(exc.__cause__).__module__.startswith("psycopg") and type(exc).__name__ in (
        "OperationalError", "InterfaceError",
    )  # fmt: skip
    return AWAY if torn else None
