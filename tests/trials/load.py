"""Many clients at once for a bounded time, on both databases: nothing is lost, nothing twice, no fault.

Each client enters lots, moves pieces about, reserves what jobs lack and reads; what was acknowledged is
counted in the tables afterwards, and the audit recomputes the rest.
"""

import random
import threading
import time
from collections import Counter
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tests.installed import Installation, Server
from tests.postgres import NoServer, throwaway

READS = ("lots/?page_size=20", "shortages/?page_size=20", "search/?q=4k7", "jobs/", "healthz")
VERBS = ("lots", "movements", "needs", "reserve")
LEAST = 12
"""Things that each client does, however slow the machine."""
PART = {"kind": "resistor", "value": "4k7", "tolerance_percent": 5}


class Client(threading.Thread):
    """Does one thing after another, `LEAST` and until the time is up; remembers what was acknowledged."""

    def __init__(
        self, server: Server, name: str, rnd: random.Random, places: list[int], until: float
    ) -> None:
        super().__init__()
        self.server, self.label, self.rnd, self.places, self.until = server, name, rnd, places, until
        self.lots: dict[str, tuple[int, int]] = {}  # by the note: the lot and where it was put
        self.job = 0
        self.statuses: Counter[int] = Counter()
        self.done: Counter[str] = Counter()
        self.wrong: list[str] = []

    def run(self) -> None:
        verbs = self._enter, self._enter, self._move, self._need, self._reserve, self._read
        number = 0
        while time.monotonic() < self.until or number < LEAST:
            number += 1
            try:
                self.rnd.choice(verbs)(f"{self.label}-{number}")
            except Exception as error:  # what ends a client is found out, not lost with its thread
                self.wrong.append(f"{self.label}-{number}: {error!r}")
                return

    def _ask(self, path: str, body: dict[str, Any] | None = None, **headers: str) -> tuple[int, Any]:
        address = "/healthz" if path == "healthz" else f"/api/v1/{path}"
        status, answer, sent = self.server.ask(address, body, **headers)
        self.statuses[status] += 1
        if body is not None and status < 300:
            self.done[path.rstrip("/").rpartition("/")[2]] += 1
        waits = status == 503 and "Retry-After" in sent  # too many wait for the one writer of SQLite
        if status >= 500 and not waits:
            self.wrong.append(f"{path}: {status} {str(answer)[:200]}")
        return status, answer

    def _enter(self, name: str) -> None:
        place = self.rnd.choice(self.places)
        body = {"part": PART, "place": place, "quantity": 3, "note": name}
        status, answer = self._ask("lots/", body, Idempotency_Key=name)
        if status == 201:
            self.lots[name] = answer["id"], place
            again = self._ask("lots/", body, Idempotency_Key=name)[1]
            if "id" in again and again["id"] != answer["id"]:
                self.wrong.append(f"{name}: entered twice")

    def _move(self, name: str) -> None:
        if self.lots:
            lot, here = self.lots[self.rnd.choice(sorted(self.lots))]
            there = self.rnd.choice([place for place in self.places if place != here])
            move = {"kind": "move", "lot": lot, "from": here, "to": there, "quantity": 1}
            self._ask("movements/", move, Idempotency_Key=name)

    def _need(self, name: str) -> None:
        if not self.job:
            status, answer = self._ask("jobs/", {"name": name}, Idempotency_Key=f"job-{name}")
            self.job = answer["id"] if status == 201 else 0
        if self.job:
            self._ask("needs/", {"job": self.job, **PART, "quantity": 2}, Idempotency_Key=name)

    def _reserve(self, _name: str) -> None:
        if self.job:
            self._ask(f"jobs/{self.job}/reserve/", {})

    def _read(self, _name: str) -> None:
        self._ask(self.rnd.choice(READS))


def run(*, long: bool, seed: int) -> list[str]:
    with TemporaryDirectory() as folder:
        bench = Installation(Path(folder) / "workshop", REHOME_RATE="1000000/min")
        bench.begin()
        wrong = _under_load(bench, seed, *((64, 120) if long else (8, 3)))
        if not long:
            return wrong
        with suppress(NoServer), throwaway() as url:
            bench = Installation(Path(folder) / "club", url, REHOME_RATE="1000000/min")
            bench.done("migrate", "-v0")
            return wrong + _under_load(bench, seed, 64, 120)
        print("  NOT RUN ON POSTGRESQL")
    return wrong


def _under_load(bench: Installation, seed: int, clients: int, seconds: int) -> list[str]:
    rnd = random.Random(seed)
    key = bench.done("token", "robin", "--role", "owner").split()[-1]
    with bench.serving() as server:
        server.key = key
        places = [
            server.ask("/api/v1/places/", {"name": f"Tray {number}", "type": "tray"})[1]["id"]
            for number in range(1, 5)
        ]
        until = time.monotonic() + seconds
        crowd = [Client(server, f"{n}", random.Random(rnd.random()), places, until) for n in range(clients)]
        for client in crowd:
            client.start()
        for client in crowd:
            client.join(timeout=seconds + 90)
    wrong = [f"client {client.label} still waits" for client in crowd if client.is_alive()]
    statuses = sum((client.statuses for client in crowd), Counter[int]())
    entered = [name for client in crowd for name in client.lots]
    wrong += [each for client in crowd for each in client.wrong]
    print(f"  {clients} clients, {seconds} s: {dict(sorted(statuses.items()))}; {len(entered)} lots")
    notes = bench.python(
        "from inventory.models import Lot; print(*Lot.objects.values_list('note', flat=True))"
    ).split()
    wrong += [f"{name} was acknowledged and is gone" for name in sorted({*entered} - {*notes})]
    wrong += [f"{note} is there twice" for note, times in Counter(notes).items() if times > 1]
    if "Traceback" in server.log:
        wrong.append(f"a traceback in the log: {server.log[-1500:]}")
    audited = bench.run("audit")
    if audited.returncode:
        wrong.append(f"audit: {audited.stdout}{audited.stderr}")
    done = sum((client.done for client in crowd), Counter[str]())
    wrong += [f"no {verb} was acknowledged: it was not tried" for verb in VERBS if not done[verb]]
    return wrong
