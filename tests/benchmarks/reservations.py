"""Promises by eight processes at once, against the bare conditional update with its commit.

    python -m tests.benchmarks.reservations

Both write the same holdings of the same database, in turn, for the same time: SQLite in a temporary
REHOME_HOME, then a throwaway PostgreSQL where the server binaries are found.  Then the eight race for the
last pieces of one holding, and the counts are checked: none is promised twice.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence

from tests.benchmarks import start_django, verdict
from tests.postgres import NoServer, throwaway

PROCESSES, DRAWERS, LAST, SECONDS, ROUNDS = 8, 50, 200, 4.0, 3
RATIO = 0.25
PLENTY = 1_000_000


def build() -> None:
    from django.core.management import call_command

    from tests.factories import JobFactory, NeedFactory, PartFactory, stock

    call_command("migrate", verbosity=0)
    part = PartFactory()
    for _bench in range(PROCESSES):
        NeedFactory(job=JobFactory(), quantity=PLENTY)
    for _drawer in range(DRAWERS):
        stock(PLENTY, part=part)
    stock(LAST, part=part)


def bare(holdings: Sequence[int]) -> int:
    """The floor: one conditional update of a holding, committed, as Django writes it."""
    from django.db.models import F

    from inventory.models import Holding

    done, until = 0, time.monotonic() + SECONDS
    while time.monotonic() < until:
        done += Holding.objects.filter(
            pk=holdings[done % len(holdings)], quantity__gte=F("promised") + 1
        ).update(promised=F("promised") + 1)
    return done


def raw(holdings: Sequence[int]) -> int:
    """The same statement, ready made, on the bare cursor."""
    from django.db import connection

    done, until = 0, time.monotonic() + SECONDS
    with connection.cursor() as cursor:
        while time.monotonic() < until:
            cursor.execute(
                "UPDATE inventory_holding SET promised = promised + 1 WHERE id = %s AND quantity > promised",
                [holdings[done % len(holdings)]],
            )
            done += cursor.rowcount
    return done


def promises(holdings: Sequence[int], bench: int) -> int:
    """The same through the code that every caller uses, as a request does it: rows read, then promised."""
    from inventory.models import Holding
    from repairs.models import Need
    from repairs.reservations import reserve

    need = Need.objects.order_by("id")[bench].pk
    done, until = 0, time.monotonic() + SECONDS
    while time.monotonic() < until:
        here = Holding.objects.get(pk=holdings[done % len(holdings)])
        reserve(Need.objects.select_related("spec", "job").get(pk=need), here, 1, by=None)
        done += 1
    return done


def to_the_last(holding: int, bench: int) -> int:
    from inventory.ledger import NotEnough
    from inventory.models import Holding
    from repairs.models import Need
    from repairs.reservations import reserve

    need, done = Need.objects.order_by("id")[bench], 0
    while True:
        try:
            reserve(need, Holding.objects.get(pk=holding), 1, by=None)
        except NotEnough:
            return done
        done += 1


def one_of_eight(step: str, bench: int) -> None:
    from django.db import connection

    from inventory.models import Holding

    ids = list(Holding.objects.order_by("id").values_list("id", flat=True))
    drawers, last = ids[:DRAWERS], ids[DRAWERS]
    # Each begins at another drawer, as people at eight benches do.
    mine = drawers[bench * 7 % DRAWERS :] + drawers[: bench * 7 % DRAWERS]
    connection.ensure_connection()
    print("ready", flush=True)
    sys.stdin.readline()
    counted = {
        "bare": lambda: bare(mine),
        "raw": lambda: raw(mine),
        "promises": lambda: promises(mine, bench),
        "last": lambda: to_the_last(last, bench),
    }
    print(counted[step](), flush=True)


def together(step: str) -> int:
    """How many were done by eight processes that began at one shot."""
    command = [sys.executable, "-m", "tests.benchmarks.reservations", "--step", step, "--bench"]
    runners = [
        subprocess.Popen([*command, str(n)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        for n in range(PROCESSES)
    ]
    for runner in runners:
        assert runner.stdout is not None
        assert runner.stdout.readline() == "ready\n"
    for runner in runners:
        assert runner.stdin is not None
        runner.stdin.write("go\n")
        runner.stdin.flush()
    return sum(int(runner.communicate()[0]) for runner in runners)


def compare(name: str) -> None:
    """Measure on the database that the environment names."""
    here = [sys.executable, "-m", "tests.benchmarks.reservations"]
    subprocess.run([*here, "--step", "build"], check=True)
    rates = dict.fromkeys(("raw", "bare", "promises"), 0.0)
    for _round in range(ROUNDS):
        for step in rates:
            rates[step] += together(step) / (SECONDS * ROUNDS)
    won = together("last")
    checked = subprocess.run([*here, "--step", "check"], stdout=subprocess.PIPE, text=True, check=True)
    print(
        f"{name}, a second: {rates['raw']:.0f} conditional updates on the bare cursor,"
        f" {rates['bare']:.0f} through Django, {rates['promises']:.0f} promises"
    )
    print(f"{name}: {won} of the last {LAST} pieces promised; {checked.stdout.strip()}")
    verdict(f"{name}: promises per bare update", rates["promises"] / rates["bare"], RATIO, at_least=True)


def check() -> str:
    """Promises beside what reservations make them: the floor's own updates have none, so the last drawer."""
    from inventory.models import Holding
    from repairs.models import Reservation

    last = Holding.objects.order_by("id")[DRAWERS]
    made = sum(Reservation.objects.filter(holding=last).values_list("quantity", flat=True))
    return f"holding says {last.promised}, reservations make {made}, held {last.quantity}"


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    steps = ("build", "raw", "bare", "promises", "last", "check")
    parser.add_argument("--step", choices=steps, help=argparse.SUPPRESS)
    parser.add_argument("--bench", type=int, default=0, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.step is None:
        with tempfile.TemporaryDirectory(prefix="rehome-benchmark-") as home:
            os.environ["REHOME_HOME"] = home
            os.environ.pop("DATABASE_URL", None)
            compare("SQLite")
            try:
                with throwaway() as url:
                    os.environ["DATABASE_URL"] = url
                    compare("PostgreSQL")
            except NoServer as missing:
                print(f"NOT RUN ON POSTGRESQL: {missing}")
        return
    start_django()
    if options.step == "build":
        build()
    elif options.step == "check":
        print(check())
    else:
        one_of_eight(options.step, options.bench)


if __name__ == "__main__":
    main()
