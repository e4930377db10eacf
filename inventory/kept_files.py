"""Writing a file under HOME so that nobody ever meets half of it."""

import os
from pathlib import Path


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
