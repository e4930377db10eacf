"""PostgreSQL under one worker and under four, by processor time a request.

    python -m tests.benchmarks.workers [--requests N] [--clients N]

gunicorn serves the demo beside a throwaway PostgreSQL.  The client is another process, whose time counts for
nothing; what is added up is the time of the workers and of the database's processes for them (from /proc), so
that a shared machine does not matter.  As long as a request costs four workers no more than one, they
serve as much more as they have processors.
"""

import argparse
import json
import os
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

from tests.postgres import free_port, throwaway

ASKED = ("lots/1/", "lots/?page_size=20", "decode/?marking=104", "search/?q=4k7")
WORKERS = (1, 4)
ROOT = Path(__file__).resolve().parents[2]


def _processes() -> Iterator[tuple[int, int, float]]:
    """(id, parent, seconds of processor time) of each process."""
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text().rpartition(")")[2].split()
        except OSError:  # it has ended meanwhile
            continue
        spent = sum(map(int, fields[11:15])) / os.sysconf("SC_CLK_TCK")
        yield int(path.parent.name), int(fields[1]), spent


def spent_under(parents: set[int]) -> float:
    """What these processes, those below them and what those left behind have spent."""
    every = list(_processes())
    known = set(parents)
    while more := {pid for pid, parent, _ in every if parent in known and pid not in known}:
        known |= more
    return sum(spent for pid, _, spent in every if pid in known)


def ask(port: int, key: str, requests: int, clients: int) -> list[float]:
    """Ask so many times, by so many at once; seconds by the clock of each."""
    taken: list[float] = []

    def one(number: int) -> None:
        for turn in range(requests // clients):
            address = ASKED[(number + turn) % len(ASKED)]
            request = urllib.request.Request(
                f"http://127.0.0.1:{port}/api/v1/{address}", headers={"Authorization": f"Token {key}"}
            )
            began = time.monotonic()
            with urllib.request.urlopen(request, timeout=60) as answer:
                answer.read()
            taken.append(time.monotonic() - began)

    crowd = [threading.Thread(target=one, args=(number,)) for number in range(clients)]
    for each in crowd:
        each.start()
    for each in crowd:
        each.join()
    return taken


def measured(
    workers: int, url: str, home: str, key: str, postmaster: int, options: argparse.Namespace
) -> str:
    port = free_port()
    environment = {**os.environ, "DATABASE_URL": url, "REHOME_HOME": home, "REHOME_RATE": "1000000/min"}
    server = subprocess.Popen(
        [
            sys.executable, "-m", "gunicorn", "config.wsgi", "--worker-class", "gthread", "--workers",
            str(workers), "--threads", "8", "--bind", f"127.0.0.1:{port}", "--log-level", "warning",
        ],
        cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    again = [sys.executable, "-m", __spec__.name, "--port", str(port), "--key", key]
    try:
        for _attempt in range(600):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz", timeout=30).close()
                break
            except OSError:
                time.sleep(0.2)
        sizes = ["--clients", str(options.clients), "--requests"]
        subprocess.run(
            [*again, *sizes, str(options.clients * workers * 4)], check=True, stdout=subprocess.DEVNULL
        )
        before, began = spent_under({server.pid, postmaster}), time.monotonic()
        asked = subprocess.run(
            [*again, *sizes, str(options.requests)], check=True, stdout=subprocess.PIPE, text=True
        )
        clock = time.monotonic() - began
        spent = spent_under({server.pid, postmaster}) - before
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(timeout=60)
    taken = sorted(json.loads(asked.stdout))
    middle, slow = (round(each * 1000) for each in (statistics.median(taken), taken[len(taken) * 99 // 100]))
    return (
        f"{spent / len(taken) * 1000:.2f} ms of processor a request; by the clock {len(taken) / clock:.0f} "
        f"a second, median {middle} ms, 99 of 100 in {slow}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--requests", type=int, default=2000)
    parser.add_argument("--clients", type=int, default=16)
    parser.add_argument("--port", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--key", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.port:
        print(json.dumps(ask(options.port, options.key, options.requests, options.clients)))
        return
    with tempfile.TemporaryDirectory(prefix="rehome-benchmark-") as home, throwaway() as url:
        environment = {**os.environ, "DATABASE_URL": url, "REHOME_HOME": home}
        manage = [sys.executable, "manage.py"]
        run = {"cwd": ROOT, "env": environment, "check": True, "stdout": subprocess.PIPE, "text": True}
        subprocess.run([*manage, "demo", "--no-serve"], **run)  # type: ignore[call-overload]
        key = subprocess.run([*manage, "token", "robin"], **run).stdout.split()[-1]  # type: ignore[call-overload]
        socket = url.rpartition(":")[2].partition("/")[0]
        [postmaster] = [
            pid for pid, parent, _ in _processes()
            if f"-p {socket} " in Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ")
            and "postgres" in Path(f"/proc/{pid}/cmdline").read_text().partition("\0")[0]
        ][:1]  # fmt: skip
        for workers in WORKERS:
            print(f"{workers} workers: {measured(workers, url, home, key, postmaster, options)}", flush=True)


if __name__ == "__main__":
    main()
