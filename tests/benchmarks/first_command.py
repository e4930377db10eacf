"""How long the first README command takes to its first answer, once packages are installed.

    python -m tests.benchmarks.first_command

An empty REHOME_HOME each time: the database is made, the demo workshop loaded, shortages and a trace printed,
and /healthz asked until it answers.  The floor is an interpreter that only starts Django.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from pathlib import Path

from tests.benchmarks import verdict
from tests.postgres import free_port

ROOT = Path(__file__).resolve().parent.parent.parent
ROUNDS, SECONDS, PATIENCE = 3, 6.0, 120.0


def answers(port: int) -> bool:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz", timeout=1) as answer:
            return bool(answer.status == 200)
    except (TimeoutError, urllib.error.URLError, ConnectionError):
        return False


def first_answer() -> float:
    """Seconds from the command to its first answer."""
    port = free_port()
    with tempfile.TemporaryDirectory(prefix="rehome-benchmark-") as home:
        environment = {**os.environ, "REHOME_HOME": home}
        environment.pop("DATABASE_URL", None)
        start = time.perf_counter()
        command = [sys.executable, "manage.py", "demo", "--port", str(port)]
        server = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL)
        try:
            while not answers(port):
                if server.poll() is not None or time.perf_counter() - start > PATIENCE:
                    raise RuntimeError(f"no answer from {' '.join(command)}")
                time.sleep(0.02)
            return time.perf_counter() - start
        finally:
            server.terminate()
            server.wait()


def bare_start() -> float:
    start = time.perf_counter()
    code = "import os, django; os.environ['DJANGO_SETTINGS_MODULE'] = 'config.settings'; django.setup()"
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)
    return time.perf_counter() - start


def main() -> None:
    taken = statistics.median(first_answer() for _ in range(ROUNDS))
    floor = statistics.median(bare_start() for _ in range(ROUNDS))
    print(
        f"first answer after {taken:.2f} s; starting Django alone {floor:.2f} s ({taken / floor:.1f} times)"
    )
    verdict("the first answer", taken, SECONDS, unit=" s")


if __name__ == "__main__":
    main()
