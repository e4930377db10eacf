"""The machine fails: each fault is answered by its name, and what was acknowledged is there afterwards.

A disk that takes no more is a limit on the size of files (as the shell's `ulimit -f` sets it); a clock that
was put back is a request that thinks it is two days earlier; the second server serves the same folder.
"""

import resource
import shutil
import signal
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tests.installed import Installation, Server
from tests.postgres import NoServer, throwaway

FAULTY = (503, 507)
CLOCK_BACK = """
import datetime
from unittest.mock import patch
from django.test import Client
from django.utils import timezone
earlier = timezone.now() - datetime.timedelta(days=2)
with patch("django.utils.timezone.now", return_value=earlier):
    answer = Client(headers={{"Authorization": "Token {key}"}}).post(
        "/api/v1/places/", {{"name": "Tray of yesterday", "type": "tray"}}, content_type="application/json"
    )
print(answer.status_code)
"""


class Writes:
    """Trays made one after another: what was answered, and what was acknowledged."""

    def __init__(self) -> None:
        self.acknowledged: set[str] = set()
        self.statuses: list[int] = []
        self.wrong: list[str] = []

    def make(self, server: Server, pieces: int, fault: str, *, note: str = "") -> None:
        for _ in range(pieces):
            name = f"Tray {len(self.statuses) + 10}"
            try:
                status, answer, headers = server.ask(
                    "/api/v1/places/", {"name": name, "type": "tray", "note": note}
                )
            except (OSError, ValueError) as error:
                self.wrong.append(f"{fault}: no answer ({error})")
                return
            self.statuses.append(status)
            if status == 201:
                self.acknowledged.add(name)
            elif status not in FAULTY or "problem+json" not in headers.get("Content-Type", ""):
                self.wrong.append(f"{fault}: {status} {str(answer)[:200]}")


def _full(bench: Installation, server: Server, writes: Writes, pieces: int) -> None:
    """The files of the server may not grow any more, and then may again."""
    limit = Path(f"{bench.database}-wal").stat().st_size
    usual = resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY))
    writes.make(server, pieces, "disk full", note="x" * 390)
    if 507 not in writes.statuses[-pieces:]:
        writes.wrong.append("disk full: no write was refused, so nothing was tried")
    resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE, usual)


def _away(bench: Installation, server: Server, writes: Writes, pieces: int) -> None:
    """Its folder has another name for a while, as when a disk is pulled out."""
    aside = bench.home.with_name("aside")
    bench.home.rename(aside)
    writes.make(server, pieces, "database away")
    if server.ask("/healthz")[0] != 503:
        writes.wrong.append("database away: /healthz is green")
    if bench.home.exists():
        shutil.rmtree(bench.home)
        writes.wrong.append("database away: an empty one was made in its place")
    aside.rename(bench.home)


def _two_servers(bench: Installation, server: Server, writes: Writes, pieces: int) -> None:
    """Another server on the same folder; one is killed."""
    with bench.serving() as other:
        other.key = server.key
        for _ in range(pieces):
            writes.make(other, 1, "two servers")
            writes.make(server, 1, "two servers")
        other.end(signal.SIGKILL)
        writes.make(server, 1, "two servers")


def _clock_back(bench: Installation, server: Server, writes: Writes, _pieces: int) -> None:
    status = bench.python(CLOCK_BACK.format(key=server.key)).split()[-1]
    if status != "201":
        writes.wrong.append(f"clock back: a write was answered {status}")


ON_SQLITE: tuple[Callable[[Installation, Server, Writes, int], None], ...] = (
    _full, _away, _two_servers, _clock_back,
)  # fmt: skip
ON_POSTGRESQL = (_two_servers, _clock_back)


def run(*, long: bool, seed: int) -> list[str]:
    """What was answered otherwise than by a fault's own name, or is gone afterwards; nothing is drawn."""
    pieces = 300 if long else 30
    with TemporaryDirectory() as folder:
        bench = Installation(Path(folder) / "workshop", REHOME_RATE="1000000/min")
        bench.begin()
        wrong = _tried(bench, ON_SQLITE, pieces)
        with suppress(NoServer), throwaway() as url:
            bench = Installation(Path(folder) / "club", url, REHOME_RATE="1000000/min")
            bench.done("migrate", "-v0")
            wrong += _tried(bench, ON_POSTGRESQL, pieces)
            return wrong
        print("  NOT RUN ON POSTGRESQL")
    return wrong


def _tried(
    bench: Installation,
    faults: tuple[Callable[[Installation, Server, Writes, int], Any], ...],
    pieces: int,
) -> list[str]:
    writes = Writes()
    key = bench.done("token", "robin", "--role", "owner").split()[-1]
    with bench.serving() as server:
        server.key = key
        writes.make(server, 1, "at first")
        for fault in faults:
            began = time.monotonic()
            fault(bench, server, writes, pieces)
            print(f"  {fault.__name__[1:].replace('_', ' ')}: {time.monotonic() - began:.1f} s", flush=True)
            before = len(writes.acknowledged)
            deadline = time.monotonic() + 30
            while len(writes.acknowledged) == before and time.monotonic() < deadline:
                writes.make(server, 1, f"after {fault.__name__}")
            if len(writes.acknowledged) == before:
                writes.wrong.append(f"after {fault.__name__}: it never came back")
    if "Traceback" in server.log:
        writes.wrong.append(f"a traceback in the log: {server.log[-1500:]}")
    names = "print(*Place.objects.values_list('name', flat=True), sep='\\n')"
    there = set(bench.python(f"from inventory.models import Place; {names}").splitlines())
    writes.wrong += [f"{name} was acknowledged and is gone" for name in sorted(writes.acknowledged - there)]
    audited = bench.run("audit")
    if audited.returncode:
        writes.wrong.append(f"audit: {audited.stdout}{audited.stderr}")
    refused = sum(status != 201 for status in writes.statuses)
    print(f"  {len(writes.acknowledged)} writes acknowledged, {refused} refused, {len(faults)} faults")
    return writes.wrong
