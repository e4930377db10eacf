"""What was worked out from the database, kept for as long as nothing at all is committed to it.

It needs no list of what depends on what: the database itself says whether anything was committed, by whatever
connection or process.  SQLite tells a connection that never writes by its `data_version`; PostgreSQL by its
snapshot, which is the same text only while no transaction ends.  Where neither is at hand nothing is kept.
"""

import gc
import os
import sqlite3
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from functools import wraps
from inspect import signature
from threading import Lock, RLock
from typing import Any, ParamSpec, TypeVar

from django.db import connection

MAX_KEPT = 8

_Asked = ParamSpec("_Asked")
_Answer = TypeVar("_Answer")


def while_unchanged(work: Callable[_Asked, _Answer]) -> Callable[_Asked, _Answer]:
    """Let calls with the same arguments, which must be hashable, share one answer until something changes.

    The answer goes to several threads: it must never be changed, nor what hangs on it.  Whoever asks while
    another works it out waits for that.  Inside a transaction it is worked out each time: what was written
    there nobody else sees, and it may be taken back.  Not for use while a queryset is being iterated, which
    on SQLite holds an older state of the database before this connection's eyes.
    """
    form = signature(work)

    @wraps(work)
    def kept(*args: _Asked.args, **named: _Asked.kwargs) -> _Answer:
        state = _STATES.now()
        if state is None:
            return work(*args, **named)
        asked = form.bind(*args, **named)
        asked.apply_defaults()
        key = work, asked.args, tuple(asked.kwargs.items())
        found = _ANSWERS.find(state, key)
        if found is None:
            with _ANSWERS.working:
                state = _STATES.now()
                found = _ANSWERS.find(state, key)
                if found is None:
                    with _uncollected():
                        found = (work(*args, **named),)
                    if _STATES.now() == state:  # else it mixes what was there before and after
                        _ANSWERS.keep(state, key, found)
        answer: _Answer = found[0]
        return answer

    return kept


@contextmanager
def _uncollected() -> Iterator[None]:
    """Look for no garbage while a large answer grows: all that stands would be gone through again and again.

    One thread at a time works, so none switches it on between.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def stop_watching() -> None:
    """Close the connections that only look, as a server ends; whoever asks afterwards opens another."""
    _STATES.stop()


class _Answers:
    """The last answers, all of one state of the database."""

    def __init__(self) -> None:
        self.working = RLock()
        self._lock = Lock()
        self._state: Hashable = None
        self._kept: OrderedDict[Hashable, tuple[Any]] = OrderedDict()

    def find(self, state: Hashable, key: Hashable) -> tuple[Any] | None:
        with self._lock:
            if state != self._state:
                self._kept.clear()  # at once: a new answer should not have to fit in beside the old
                self._state = state
            found = self._kept.get(key)
            if found is not None:
                self._kept.move_to_end(key)
            return found

    def keep(self, state: Hashable, key: Hashable, found: tuple[Any]) -> None:
        with self._lock:
            if state == self._state:
                self._kept[key] = found
                if len(self._kept) > MAX_KEPT:
                    self._kept.popitem(last=False)


class _States:
    """Names the committed state of the database: two equal names, and nothing was committed in between."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._watched: Hashable = None
        self._watchers: list[sqlite3.Connection] = []
        self._owner = 0

    def now(self) -> Hashable:
        """None inside a transaction, and where it is unknown."""
        if connection.in_atomic_block:
            return None
        name = str(connection.settings_dict["NAME"])
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_current_snapshot()::text")
                return name, cursor.fetchone()[0]
        if connection.vendor != "sqlite" or not os.path.isfile(name):
            return None
        with self._lock:
            return self._of_file(name)

    def stop(self) -> None:
        with self._lock:
            if self._watchers and self._owner == os.getpid():  # else it was stopped before
                self._watchers.pop().close()
            self._watchers, self._watched = [], None

    def _of_file(self, name: str) -> Hashable:
        status = os.stat(name)
        # The numbers of one connection mean nothing to another: to look at another file is to begin again.
        watched = name, status.st_dev, status.st_ino, os.getpid()
        if watched != self._watched:
            # The old one stays open: a forked process must not close what it inherited.
            self._watchers.append(sqlite3.connect(name, isolation_level=None, check_same_thread=False))
            self._watched, self._owner = watched, os.getpid()
        return watched, self._watchers[-1].execute("PRAGMA data_version").fetchone()[0]


_ANSWERS, _STATES = _Answers(), _States()
