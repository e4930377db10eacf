"""Friends' lists of a whole country on PostgreSQL: loaded by COPY, matched with 500 needs, packed in parcels.

    python -m tests.benchmarks.friends [--workshops 100 1000 10000] [--lots 2000] [--parcels-to 1000]

For each number of workshops a fresh throwaway PostgreSQL gets that many invented ones with 2,000 spare lots
each: out of the catalogue of `shortages`, a few parts lying everywhere and most in few places, all by one
seed.  The bench has 50 open jobs of 10 needs and nothing in its drawers.  Printed for each: rows a second of
COPY, the size of the table with its indexes; the bare SQL that reads the same rows (the distinct Specs, then
the lines of those that may serve); the same through `FriendsShelf`, first with every pair judged and then
again, how many pairs of distinct Specs were judged, what the tier of the plan takes; and the fewest parcels.
Seconds by the clock (the server's work counts) and, in brackets, this process's own.
"""

import argparse
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from itertools import accumulate
from typing import Any, TypeVar

from tests.benchmarks import start_django, verdict
from tests.postgres import NoServer, throwaway

SEED = 20_261_130
WORKSHOPS, LOTS, PARCELS_TO = (100, 1_000, 10_000), 2_000, 10_000
JOBS, NEEDS = 50, 10
RATIO = 5.0
Measured = TypeVar("Measured")


def timed(what: str, work: Callable[[], Measured]) -> tuple[Measured, float]:
    clock, own = time.monotonic(), time.process_time()
    done = work()
    clock, own = time.monotonic() - clock, time.process_time() - own
    print(f"        {what}: {clock:.2f} s ({own:.2f})", flush=True)
    return done, clock


def catalogue(dice: random.Random) -> list[int]:
    """Rows of the Specs that workshops have, in an order of how usual they are."""
    from inventory.models import StoredSpec
    from tests.benchmarks.shortages import part_specs

    rows = [row.pk for row in StoredSpec.keep_all(list(part_specs())).values()]
    dice.shuffle(rows)
    return rows


def bench(rows: list[int], dice: random.Random) -> None:
    """Open jobs that want what is rather usual."""
    from repairs.models import Job, Need

    jobs = Job.objects.bulk_create([Job(name=f"Job {number}") for number in range(JOBS)])
    wanted = [row for job in jobs for row in dice.sample(rows[: len(rows) // 2], NEEDS)]
    Need.objects.bulk_create(
        [Need(job=jobs[at // NEEDS], spec_id=row) for at, row in enumerate(wanted)], batch_size=500
    )


def lines(friends: list[int], rows: list[int], lots: int, dice: random.Random) -> Iterator[str]:
    """The rows of one workshop at a time, as COPY takes them: the half of the catalogue that is usual lies
    about ten times as often as the rest."""
    weights = list(accumulate(10 if at < len(rows) // 2 else 1 for at in range(len(rows))))
    for friend in friends:
        drawn = dice.choices(rows, cum_weights=weights, k=lots)
        yield "".join(
            f"{friend}\tL{number}\t{row}\t{1 + number % 4}\t{'good' if number % 3 else 'untested'}\t\t\t\t\n"
            for number, row in enumerate(drawn)
        )


def load(friends: list[int], rows: list[int], lots: int, dice: random.Random) -> None:
    from django.db import connection

    columns = "friend_id, line, spec_id, quantity, condition, marking, came_off, came_off_ref, accepts"
    with connection.cursor() as cursor:
        # What is copied is known to name rows that are there: its foreign keys are not looked up one by one.
        cursor.execute("SET session_replication_role = replica")
        with cursor.copy(f"COPY repairs_friendline ({columns}) FROM STDIN") as copy:
            for text in lines(friends, rows, lots, dice):
                copy.write(text)
        cursor.execute("SET session_replication_role = DEFAULT")
        cursor.execute("ANALYZE")


def bare(serving: list[int], most: int | None) -> list[Any]:
    """What is read of the lists, on the bare cursor; `most`: as many pieces of each as could be used."""
    from django.db import connection

    from repairs.friends.offered import FIRST_LINES

    columns = "id, friend_id, line, spec_id, quantity, condition, marking"
    with connection.cursor() as cursor:
        cursor.execute("SELECT DISTINCT spec_id FROM repairs_friendline WHERE line <> ''")
        cursor.fetchall()
        cursor.execute(
            "SELECT count(*) FROM repairs_friendline WHERE line <> '' AND spec_id = ANY(%s)", [serving]
        )
        if most is None:
            cursor.execute(
                f"SELECT {columns} FROM repairs_friendline "
                "WHERE line <> '' AND spec_id = ANY(%s) ORDER BY id",
                [serving],
            )
        else:
            cursor.execute(
                f"""SELECT {columns} FROM (
                    SELECT l.*, row_number() OVER alike AS place, sum(quantity) OVER alike AS so_far
                    FROM repairs_friendline l JOIN repairs_friend f ON f.id = l.friend_id
                    WHERE line <> '' AND spec_id = ANY(%s)
                    WINDOW alike AS (PARTITION BY spec_id, condition ORDER BY f.postage NULLS LAST, l.id)
                ) lines WHERE place <= %s OR so_far < %s + quantity ORDER BY id""",
                [serving, FIRST_LINES, most],
            )
        return list(cursor.fetchall())


def count(serving: list[int]) -> int:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM repairs_friendline WHERE line <> '' AND spec_id = ANY(%s)", [serving]
        )
        return int(cursor.fetchone()[0])


def measure(workshops: int, lots: int, parcels_to: int) -> None:
    start_django()
    from django.core.management import call_command
    from django.db import connection

    from repairs.friends import offered
    from repairs.friends.match import fewest_parcels
    from repairs.sharing_models import Friend
    from repairs.supply_and_demand import planned

    dice = random.Random(SEED)
    call_command("migrate", verbosity=0)
    rows = catalogue(dice)
    bench(rows, dice)
    made = Friend.objects.bulk_create(
        [Friend(name=f"Workshop {n}", postage=dice.choice((3, 4, 5, 8))) for n in range(workshops)],
        batch_size=500,
    )
    print(f"{workshops:,} workshops x {lots:,} lots, {len(rows):,} distinct parts", flush=True)
    _, seconds = timed("COPY and ANALYZE", lambda: load([each.pk for each in made], rows, lots, dice))
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_total_relation_size('repairs_friendline') / 1000000.0")
        size = cursor.fetchone()[0]
    print(f"        {workshops * lots / seconds:,.0f} rows a second; {size:,.0f} MB with indexes")
    plan, lacking = planned().plan, list(planned().plan.lacking(planned().bench.demands))
    assert sum(plan.short.values()) == JOBS * NEEDS
    recorded = planned().bench.recorded
    shelf, _ = timed("match, every pair judged", lambda: offered.FriendsShelf.load(lacking, recorded))
    serving = sorted({spec for found in shelf.serving.values() for _, spec in found})
    pairs = sum(map(len, shelf.serving.values()))
    again = min(
        timed("match again", lambda: offered.FriendsShelf.load(lacking, recorded))[1] for _ in range(2)
    )
    most = None if shelf.complete else offered.most_used(shelf.serving, lacking)
    found, floor = timed("bare SQL of the same rows", lambda: bare(serving, most))
    print(
        f"        {count(serving):,} lines of {len(serving):,} Specs may serve, {len(found):,} are read; "
        f"{pairs:,} pairs of Specs do"
    )
    assert len(found) == len(shelf.lines)
    verdict("match again per bare SQL", again / floor, RATIO)
    gives, _ = timed("the tier of friends, by the optimiser", shelf.plan)
    print(f"        {sum(each.quantity for each in gives)} of {JOBS * NEEDS} pieces would be asked for")
    if workshops <= parcels_to:
        (parcels, _sent), _ = timed(
            "the fewest parcels", lambda: fewest_parcels(shelf, shelf.not_asked_for())
        )
        how = "cut short" if parcels.truncated else "proven"
        print(
            f"        {len(parcels.jobs)} of at most {parcels.jobs_at_most} of {JOBS} jobs closed by "
            f"{len(parcels.friends)} parcels, at least {parcels.parcels_at_least}, {how}"
        )
    print(f"        peak {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:,.0f} MB")


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--workshops", type=int, nargs="+", default=WORKSHOPS)
    parser.add_argument("--lots", type=int, default=LOTS)
    parser.add_argument(
        "--parcels-to", type=int, default=PARCELS_TO, help="workshops, beyond which not tried"
    )
    parser.add_argument("--here", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.here:
        measure(options.workshops[0], options.lots, options.parcels_to)
        return
    for workshops in options.workshops:
        try:
            with throwaway() as url, tempfile.TemporaryDirectory(prefix="rehome-benchmark-") as home:
                subprocess.run(
                    [
                        sys.executable, "-m", "tests.benchmarks.friends", "--here", "--workshops",
                        str(workshops), "--lots", str(options.lots), "--parcels-to", str(options.parcels_to),
                    ],
                    env={**os.environ, "DATABASE_URL": url, "REHOME_HOME": home}, check=True,
                )  # fmt: skip
        except NoServer as missing:
            print(f"NOT RUN: {missing}")
            return


if __name__ == "__main__":
    main()
