"""How what a workshop is asked grows with its lots and jobs, on both databases.

    python -m tests.benchmarks.growth [--jobs N …] [--lots N …] [--on sqlite postgresql]

The workshop is that of `tests.benchmarks.shortages`; each row builds one and measures it in a fresh process,
on SQLite in a temporary REHOME_HOME, on PostgreSQL in a throwaway cluster.  Seconds are of processor time, of
this process and of the database's own for it, and the median of three: the machine may be shared.  What is
asked is asked right after a piece came or went, the import is of 1,000 rows into 600 new places, the backup
is read again and checked; memory is the peak of the process before these two.
"""

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from tests.benchmarks import start_django
from tests.benchmarks.sheets import whole_import, write
from tests.benchmarks.shortages import PARTS, build, changes
from tests.postgres import throwaway

JOBS, LOTS = (10, 1000), (1000, 100_000)
ASKED = {
    "list": "lots/?page_size=100",
    "last page": "lots/?page_size=100&ordering=-id&page={last}",
    "filtered": "lots/?place=1&page_size=100",
    "search": "search/?q=4k7",
    "trace": "lots/{lot}/trace/",
    "shortages": "shortages/",
    "buy": "buy/",
}
IMPORTED, REPEATS = 1000, 3
HEAD = ("on", "lots", "jobs", *ASKED, "Now", "import", "backup", "MB")


def processor_seconds() -> float:
    """Of this process, and of the PostgreSQL process that works for it."""
    from django.db import connection

    own = sum(resource.getrusage(resource.RUSAGE_SELF)[:2])
    if connection.vendor != "postgresql":
        return own
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        (pid,) = cursor.fetchone()
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return own + (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def seconds(work: Callable[[], Any], before: Callable[[], Any] = lambda: None, times: int = REPEATS) -> float:
    taken = []
    for _ in range(times):
        before()
        start = processor_seconds()
        work()
        taken.append(processor_seconds() - start)
    return statistics.median(taken)


def measure(home: str, lots: int) -> dict[str, float]:
    start_django(home)
    from django.contrib.auth import get_user_model
    from django.db import connection
    from django.test import Client

    from inventory import backups
    from inventory.keys import kept_key
    from inventory.models import Lot
    from inventory.roles import give_role

    connection.settings_dict["CONN_MAX_AGE"] = None  # one process of the database's, whose time is counted
    person, _made = get_user_model().objects.get_or_create(username="bench")
    give_role(person, "owner")
    client = Client(headers={"Authorization": f"Token {kept_key(person)}"})
    pages = Client()
    pages.force_login(person)

    def read(by: Client, address: str) -> None:
        answer = by.get(address)
        assert answer.status_code == 200, (address, answer.getvalue()[:300])
        sum(map(len, answer))

    known = {"last": lots // 100, "lot": Lot.objects.order_by("id")[lots // 2].pk}
    found: dict[str, float] = {}
    for name, address in ASKED.items():
        path = f"/api/v1/{address.format(**known)}"
        read(client, path)
        found[name] = seconds(lambda path=path: read(client, path), changes())  # type: ignore[misc]
    found["Now"] = seconds(lambda: read(pages, "/"), changes())
    found["MB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    with tempfile.TemporaryDirectory() as folder:
        sheet, copy = f"{folder}/stock.xlsx", Path(folder) / "all.backup"
        write(sheet, IMPORTED)
        found["import"] = seconds(lambda: whole_import(sheet), times=1)
        found["backup"] = seconds(lambda: backups.write(copy), times=1)
    return found


def in_processes_of_its_own(home: str, url: str, *, jobs: int, lots: int) -> dict[str, float]:
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    if url:
        environment["DATABASE_URL"] = url
    sizes = ["--jobs", str(jobs), "--lots", str(lots), "--home", home]
    again = [sys.executable, "-m", "tests.benchmarks.growth", *sizes, "--step"]
    subprocess.run([*again, "build"], check=True, env=environment, stdout=subprocess.DEVNULL)
    measured = subprocess.run(
        [*again, "measure"], check=True, env=environment, stdout=subprocess.PIPE, text=True
    )
    found: dict[str, float] = json.loads(measured.stdout.splitlines()[-1])
    return found


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--jobs", type=int, nargs="*", default=JOBS)
    parser.add_argument("--lots", type=int, nargs="*", default=LOTS)
    parser.add_argument("--on", nargs="*", choices=("sqlite", "postgresql"), default=("sqlite", "postgresql"))
    parser.add_argument("--step", choices=("build", "measure"), help=argparse.SUPPRESS)
    parser.add_argument("--home", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.step == "build":
        build(options.home, jobs=options.jobs[0], lots=options.lots[0], parts=PARTS)
        return
    if options.step == "measure":
        print(json.dumps(measure(options.home, options.lots[0])))
        return
    print(" ".join(f"{title:>10}" for title in HEAD), flush=True)
    for on in options.on:
        for lots in options.lots:
            for jobs in options.jobs:
                place = nullcontext("") if on == "sqlite" else throwaway()
                with tempfile.TemporaryDirectory(prefix="rehome-benchmark-") as home, place as url:
                    found = in_processes_of_its_own(home, url, jobs=jobs, lots=lots)
                cells = (
                    on, f"{lots:,}", f"{jobs:,}",
                    *(f"{found[name]:.3f}" for name in HEAD[3:-1]), f"{found['MB']:.0f}",
                )  # fmt: skip
                print(" ".join(f"{cell:>10}" for cell in cells), flush=True)


if __name__ == "__main__":
    main()
