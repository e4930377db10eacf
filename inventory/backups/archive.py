"""The file of a backup: a zip archive that says of itself, in its comment, what all bytes before it hash to.

    manifest.json              what made it and when, migrations, rows and digest of each table, last ids
    tables/TABLE.jsonl         the names of the columns, then a line for each row
    pictures/ab/abcd….jpg      each named by the SHA-256 of its content
    attachments/ab/abcd…       so are these
    secret-key, demo-password  as they lie in the folder of the workshop

One changed byte anywhere is noticed.
"""

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import IO, Any
from zipfile import ZIP_DEFLATED, ZipFile

from inventory.damaged_zip import DAMAGED_ZIP

FORMAT = 1
MANIFEST = "manifest.json"
_NO_DIGEST = b"0" * 64
_CHUNK = 2**20


class BadBackup(Exception):
    """Why a file is not restored: damaged, no backup, or made by a newer Rehome."""


@dataclass(frozen=True)
class Backup:
    """A backup whose every byte was checked."""

    path: Path
    archive: ZipFile
    manifest: dict[str, Any]

    @property
    def rows(self) -> int:
        return sum(table["rows"] for table in self.manifest["tables"].values())

    @property
    def pictures(self) -> list[str]:
        return [name for name in self.archive.namelist() if name.startswith("pictures/")]

    @property
    def attachments(self) -> list[str]:
        return [name for name in self.archive.namelist() if name.startswith("attachments/")]

    def read(self, name: str) -> bytes | None:
        """A short member; None where the backup has none of this name."""
        return self.archive.read(name) if name in self.archive.namelist() else None


@contextmanager
def writing(path: Path) -> Iterator[ZipFile]:
    """An archive that appears under its name when it is whole and on the disk, and else not at all."""
    beside = path.with_name(f".{path.name}.{os.getpid()}-{os.urandom(4).hex()}")
    try:
        with ZipFile(beside, "w", ZIP_DEFLATED, compresslevel=1) as archive:
            beside.chmod(0o600)
            yield archive
            archive.comment = _NO_DIGEST
        with beside.open("r+b") as file:
            digest = _digest(file)
            file.seek(-len(_NO_DIGEST), os.SEEK_END)
            file.write(digest)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
        _sync_folder(path.parent)
    finally:
        beside.unlink(missing_ok=True)


@contextmanager
def opened(path: Path) -> Iterator[Backup]:
    """A backup, every byte of it checked.  BadBackup where it is none, damaged or of a later form."""
    try:
        file = path.open("rb")
    except OSError as error:
        raise BadBackup(f"{path}: {error.strerror or error}") from None
    with file:
        yield _checked(path, file)


def _checked(path: Path, file: IO[bytes]) -> Backup:
    if file.seek(0, os.SEEK_END) < len(_NO_DIGEST):
        raise BadBackup(f"{path} is not a backup of a workshop, or only the beginning of one")
    file.seek(-len(_NO_DIGEST), os.SEEK_END)
    if file.read() != _digest(file):  # nothing of it is unpacked
        raise BadBackup(f"{path} is not a backup of a workshop, or damaged: it is not what was written")
    try:
        archive = ZipFile(file)
        manifest = json.loads(archive.read(MANIFEST))
        form, made_by = int(manifest["format"]), manifest["rehome"]
    except (*DAMAGED_ZIP, TypeError) as error:
        raise BadBackup(f"{path} is not a backup of a workshop: {error}") from None
    if form > FORMAT:
        raise BadBackup(f"{path} was made by a newer Rehome ({made_by}): update this one first")
    return Backup(path, archive, manifest)


def _digest(file: IO[bytes]) -> bytes:
    """SHA-256 of all but the last 64 bytes, as hexadecimal digits."""
    left = file.seek(0, os.SEEK_END) - len(_NO_DIGEST)
    file.seek(0)
    digest = sha256()
    while left > 0 and (chunk := file.read(min(_CHUNK, left))):
        digest.update(chunk)
        left -= len(chunk)
    return digest.hexdigest().encode()


def _sync_folder(folder: Path) -> None:
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
