"""Slow and idle connections: people are still answered while many of them are open."""

import random
import socket
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.installed import Installation

SECONDS = 2.0


def run(*, long: bool, seed: int) -> list[str]:
    """What kept an ordinary request waiting longer than it may."""
    rnd, wrong = random.Random(seed), []
    count = 900 if long else 200
    with TemporaryDirectory() as folder:
        bench = Installation(Path(folder) / "workshop")
        bench.done("migrate", "-v0")
        with bench.serving() as server:
            held = []
            for number in range(count):
                client = socket.create_connection(("127.0.0.1", server.port), timeout=10)
                held.append(client)
                if number % 3 == 1:
                    client.sendall(b"GET /healthz HTTP/1.1\r\nHost: localhost\r\nX-Slow: ")
                if number % 3 == 2:
                    client.sendall(
                        b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5000\r\n\r\nusername="
                    )
            worst = 0.0
            for _ask in range(20):
                for client in rnd.sample(held, 20):
                    client.sendall(b"x")
                start = time.monotonic()
                status = server.ask("/healthz")[0]
                worst = max(worst, time.monotonic() - start)
                assert status == 200
            print(f"  {count} idle, slow and half-sent connections: 20 answers, the slowest {worst:.2f} s")
            if worst > SECONDS:
                wrong.append(f"an answer took {worst:.1f} s beside {count} open connections")
            wrong += _slow_upload(server.port, 45 if long else 5)
            for client in held:
                client.close()
    return wrong


def _slow_upload(port: int, seconds: int) -> list[str]:
    """A form that comes in over a slow line is taken."""
    body = b"username=" + b"x" * 400
    with socket.create_connection(("127.0.0.1", port), timeout=30) as client:
        head = f"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: {len(body)}\r\n\r\n"
        client.sendall(head.encode())
        step = len(body) // seconds + 1
        for start in range(0, len(body), step):
            client.sendall(body[start : start + step])
            time.sleep(1)
        answer = client.recv(200)
    print(f"  a body that took {seconds} s to come: {answer[:15].decode()!r}")
    return [] if answer.startswith(b"HTTP/1.1 403") else [f"a slow upload was answered {answer[:40]!r}"]
