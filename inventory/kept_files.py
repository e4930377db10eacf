"""Writing a file under HOME so that nobody ever meets half of it."""

import os
from pathlib import Path

from django.db import connection


def write_whole(path: Path, data: bytes) -> None:
    """Whole or not at all, whatever was there before; nobody else on this machine may read it."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    unfinished = path.with_name(f".{path.name}.{os.getpid()}-{os.urandom(4).hex()}")
    try:
        unfinished.touch(mode=0o600)
        unfinished.write_bytes(data)
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)


def hold(content: str) -> None:
    """Lock the file that is named by this SHA-256 till the transaction ends: nobody removes it while a row is
    made for it.  On SQLite whoever writes is alone."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [int(content[:15], 16)])
