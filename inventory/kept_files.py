"""Writing a file under HOME so that nobody ever meets half of it."""

import os
from pathlib import Path


def write_whole(path: Path, data: bytes) -> None:
    """Whole or not at all, whatever was there before."""
    path.parent.mkdir(parents=True, exist_ok=True)
    unfinished = path.with_name(f".{path.name}.{os.getpid()}-{os.urandom(4).hex()}")
    try:
        unfinished.write_bytes(data)
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)
