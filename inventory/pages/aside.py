"""Spreadsheets that were previewed and not imported: kept for one person, a few of them, for a day.

A file lies under HOME, in a folder of its person; it is named by a word that nobody can guess, and what is
known of it lies beside it.  Progress lies there too, since a transaction shows nobody what it does.
"""

from __future__ import annotations

import json
import re
import time
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile

KEPT_SECONDS = 24 * 60 * 60
MAX_KEPT = 5
"""Files of one person; the oldest gives way."""
_WORD = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True)
class Kept:
    """A file that was put aside: the word it goes by, what it is called and what it is a list of."""

    word: str
    name: str
    kind: str
    path: Path


def put_aside(person: User, file: UploadedFile[Any], kind: str) -> Kept:
    """Keep an uploaded file in place of one of the same name.  Whoever calls has bounded its size."""
    _forget()
    folder, word = _folder(person), uuid4().hex
    kept = Kept(word, Path(file.name or "sheet").name[:120], kind, folder / f"{word}.sheet")
    others = [old for old in of(person) if old.name != kept.name][: MAX_KEPT - 1]
    for old in _newest_first(folder):
        if old.stem not in {other.word for other in others}:
            _remove(old)
    with kept.path.open("wb") as out:
        for chunk in file.chunks():
            out.write(chunk)
    _describe(kept)
    return kept


def find(person: User, word: str) -> Kept | None:
    """The file of this person that goes by this word; None where there is none, or not any more."""
    if not _WORD.fullmatch(word):
        return None
    path = _folder(person) / f"{word}.sheet"
    try:
        if time.time() - _written_at(path) > KEPT_SECONDS:
            return None
        saved = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):
        return None
    return Kept(word, saved["name"], saved["kind"], path)


def of(person: User) -> list[Kept]:
    """What is kept for a person, newest first."""
    files = _newest_first(_folder(person))
    return [kept for path in files if (kept := find(person, path.stem)) is not None]


def as_another(kept: Kept, kind: str) -> Kept:
    """The same file as a list of something else."""
    other = Kept(kept.word, kept.name, kind, kept.path)
    _describe(other)
    return other


def discard(kept: Kept) -> None:
    _remove(kept.path)


@dataclass(frozen=True)
class Progress:
    """What is being done, how many rows of it are done, and of how many (0: not known yet)."""

    stage: str
    done: int
    total: int


class Stopped(Exception):
    """Whoever waits for the work has stopped it: it is to leave nothing behind."""


class Counter:
    """Counts for those who wait, under a word that their page made up; nobody's word counts nothing.

    Raises Stopped at the next count after `ask_to_stop`.
    """

    def __init__(self, person: User, word: str) -> None:
        self._path = _folder(person) / f"{word}.count" if _WORD.fullmatch(word) else None
        self.total = 0
        self._unfinished = _folder(person) / f"{uuid4().hex}.counting"  # a twin counts under the same word

    def __call__(self, stage: str, done: int) -> None:
        if self._path is not None:
            if self._path.with_suffix(".stop").exists():
                raise Stopped
            self._unfinished.write_text(json.dumps(asdict(Progress(stage, done, self.total))))
            self._unfinished.replace(self._path)

    def end(self) -> None:
        if self._path is not None:
            self._path.unlink(missing_ok=True)
            self._path.with_suffix(".stop").unlink(missing_ok=True)


def ask_to_stop(person: User, word: str) -> None:
    """Stop the work that goes by this word at its next count, or at its first where it is yet to begin."""
    if _WORD.fullmatch(word):
        (_folder(person) / f"{word}.stop").touch()


def progress(person: User, word: str) -> Progress | None:
    """How far it is; None before it began and after it ended."""
    if not _WORD.fullmatch(word):
        return None
    try:
        return Progress(**json.loads((_folder(person) / f"{word}.count").read_text()))
    except FileNotFoundError:
        return None


def _root() -> Path:
    root = Path(settings.HOME) / "aside"
    root.mkdir(mode=0o700, exist_ok=True)
    return root


def _folder(person: User) -> Path:
    folder = _root() / str(person.pk)
    folder.mkdir(mode=0o700, exist_ok=True)
    return folder


def _newest_first(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.sheet"), key=_written_at, reverse=True)


def _written_at(path: Path) -> float:
    """When a file was written; long ago where another request has just removed it."""
    try:
        return path.stat().st_mtime
    except FileNotFoundError:
        return 0.0


def _describe(kept: Kept) -> None:
    text = json.dumps({"name": kept.name, "kind": kept.kind})
    kept.path.with_suffix(".json").write_text(text, encoding="utf-8")


def _remove(path: Path) -> None:
    for ending in (".sheet", ".json"):
        path.with_suffix(ending).unlink(missing_ok=True)


def _forget() -> None:
    """Remove what is past its time, whoever kept it."""
    past = time.time() - KEPT_SECONDS
    for path in _root().glob("*/*"):
        if _written_at(path) < past:
            path.unlink(missing_ok=True)
