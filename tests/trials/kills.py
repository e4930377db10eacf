"""A server killed in the middle of writes: what was acknowledged is there, nothing is half done or twice.

The clients send each lot with an Idempotency-Key, and the last one again after each kill, as a phone does
that lost its answer.
"""

import random
import signal
import threading
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from uuid import UUID

from tests.installed import Installation, Server

CLIENTS = 4


class Client(threading.Thread):
    """Enters lots, one after another, until the server is gone; remembers what was acknowledged."""

    def __init__(self, server: Server, name: str, rnd: random.Random, place: int) -> None:
        super().__init__()
        self.server, self.label, self.rnd, self.place = server, name, rnd, place
        self.acknowledged: set[str] = set()
        self.sent: tuple[str, str] | None = None
        self.wrong: list[str] = []

    def again(self, server: Server) -> None:
        """What was sent last is sent again with its key, whether it was answered or not."""
        self.server = server
        if self.sent:
            self._send(*self.sent)

    def run(self) -> None:
        for number in range(100_000):
            self.sent = (str(UUID(int=self.rnd.getrandbits(128))), f"{self.label}-{number}")
            try:
                self._send(*self.sent)
            except (OSError, ValueError):  # killed: no answer, or half of one
                return

    def _send(self, key: str, note: str) -> None:
        part = {"kind": "resistor", "value": "4k7", "tolerance_percent": 5}
        body = {"part": part, "place": self.place, "quantity": 3, "note": note}
        status, answer, _headers = self.server.ask("/api/v1/lots/", body, Idempotency_Key=key)
        if status == 201:
            self.acknowledged.add(note)
        elif status != 503:  # too many wait for the one writer
            self.wrong.append(f"{note}: {status} {answer}")


def run(*, long: bool, seed: int) -> list[str]:
    rnd, wrong = random.Random(seed), []
    acknowledged: set[str] = set()
    kills = 40 if long else 4
    with TemporaryDirectory() as folder:
        bench = Installation(Path(folder) / "workshop", REHOME_RATE="1000000/min")
        bench.begin()
        key = bench.done("token", "robin", "--role", "owner").split()[-1]
        crowd: list[Client] = []
        for kill in range(kills):
            with bench.serving() as server:
                server.key = key
                if not crowd:
                    place = server.ask("/api/v1/places/", {"name": "Tray 1", "type": "tray"})[1]["id"]
                for client in crowd:
                    client.again(server)
                    acknowledged |= client.acknowledged
                    wrong += client.wrong
                crowd = [
                    Client(server, f"{kill}-{number}", random.Random(rnd.random()), place)
                    for number in range(CLIENTS)
                ]
                for client in crowd:
                    client.start()
                time.sleep(rnd.uniform(1.0, 3.0))
                server.end(signal.SIGKILL)
                for client in crowd:
                    client.join(timeout=90)
        for client in crowd:
            acknowledged |= client.acknowledged
            wrong += client.wrong
        wrong += _differences(bench, acknowledged)
    if not acknowledged:
        wrong.append("no lot was acknowledged: nothing was tried")
    print(f"  {kills} kills, {len(acknowledged)} lots acknowledged")
    return wrong


def _differences(bench: Installation, acknowledged: set[str]) -> list[str]:
    notes = bench.python(
        "from inventory.models import Lot; print(*Lot.objects.values_list('note', flat=True))"
    ).split()
    wrong = [f"{note} was acknowledged and is gone" for note in sorted(acknowledged - {*notes})]
    wrong += [f"{note} is there twice" for note in sorted({note for note in notes if notes.count(note) > 1})]
    audited = bench.run("audit")
    if audited.returncode:
        wrong.append(f"audit: {audited.stdout}{audited.stderr}")
    return wrong
