"""GET shortages/ on a large workshop, against the bare solver and the raw SQL that reads the same rows.

    python -m tests.benchmarks.shortages [--keep FOLDER] [--jobs N] [--lots N] [--parts N]

Builds 200 open jobs x 150 needs over 5,000 parts, 100,000 lots and 500 donor boards (or what `--jobs`,
`--lots` and `--parts` say) in a temporary REHOME_HOME (or once in FOLDER), then measures in a fresh process
and prints seconds of processor time, the ratio and the peak memory.  The first request also reads the Specs
and judges what fits what; later ones remember both.  A plan is kept while nothing is committed, so a piece
comes or goes before each request that is measured; `again` is the request when nothing did.
"""

import argparse
import json
import os
import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from decimal import Decimal
from itertools import cycle
from typing import Any

from tests.benchmarks import start_django, verdict

JOBS, NEEDS, PARTS, LOTS = 200, 150, 5000, 100_000
LOTS_TO_A_DONOR, CHUNK = 200, 10_000
REPEATS = 3
SECONDS, RATIO, MEGABYTES = 2.0, 3.0, 400


# --- the workshop ---------------------------------------------------------------------------------------

E12 = (100, 120, 150, 180, 220, 270, 330, 390, 470, 560, 680, 820)
E24 = tuple(sorted((*E12, 110, 130, 160, 200, 240, 300, 360, 430, 510, 620, 750, 910)))
MAKES = ("", "Alder")


def part_specs() -> Iterator[Any]:
    """Kinds, values and ratings in about the mix of an old board, each unmarked and of one make."""
    from inventory.spec import Spec

    for make in MAKES:
        for step in range(1, 7):
            for figure in E24:
                for tolerance, watts in ((5, "0.25"), (5, "0.5"), (1, "0.25"), (2, "0.5"), (5, "1")):
                    yield Spec(
                        kind="resistor", value=figure * 10**step * 10**4, make=make, lead_style="axial",
                        tolerance_percent=Decimal(tolerance), watts=Decimal(watts),
                    )  # fmt: skip
        for step in range(6):
            for figure in E12:
                for volts, dielectric in (
                    (50, "class2"),
                    (100, "film"),
                    (63, "c0g"),
                    (250, "film"),
                    (400, "film"),
                ):
                    yield Spec(
                        kind="capacitor", value=figure * 10**step * 100, make=make, dielectric=dielectric,
                        tolerance_percent=Decimal(10), volts=Decimal(volts), lead_style="radial",
                        polarised=False,
                    )  # fmt: skip
        for figure in (
            100,
            220,
            330,
            470,
            1000,
            2200,
            3300,
            4700,
            10_000,
            22_000,
            33_000,
            47_000,
            100_000,
            220_000,
        ):
            for volts in (10, 16, 25, 35, 50, 63):
                yield Spec(
                    kind="capacitor", value=figure * 10**7, make=make, dielectric="aluminium",
                    tolerance_percent=Decimal(20), volts=Decimal(volts), lead_style="radial", polarised=True,
                )  # fmt: skip
        for number in range(750):
            yield Spec(kind="ic", number=f"K{1000 + number}", package="DIP-14", make=make)
        for number in range(420):
            yield Spec(kind="transistor", number=f"T{100 + number}", package="TO-92", make=make)
        for number in range(190):
            yield Spec(kind="diode", number=f"D{100 + number}", lead_style="axial", make=make)


def requirement(spec: Any) -> Any:
    """What a drawing says of such a part: never the make, seldom a tighter rating than needed."""
    from dataclasses import replace

    return replace(spec, make="")


def build(home: str, *, jobs: int, lots: int, parts: int) -> None:
    """Write the workshop straight into the tables: what is measured is the reading."""
    start_django(home)
    from django.core.management import call_command
    from django.db import connection, transaction

    from inventory.models import Board, Holding, Lot, Part, Place, StoredSpec
    from repairs.models import Job, Need

    call_command("migrate", verbosity=0)
    dice = random.Random(1)
    specs = list(part_specs())
    dice.shuffle(specs)
    assert parts <= len(specs), f"there are {len(specs)} distinct parts to choose from"
    specs = specs[:parts]
    boards = max(1, lots // LOTS_TO_A_DONOR)
    # Common parts are common: a few hundred values make up half of what lies about.
    weights = [1 / (rank + 20) for rank in range(parts)]
    with transaction.atomic():
        rows = StoredSpec.keep_all(specs + [requirement(spec) for spec in specs])
        known = {part.spec_id: part for part in Part.objects.all()}  # of a bench that holds something
        Part.objects.bulk_create(
            [Part(spec=rows[spec], name=spec.text) for spec in specs if rows[spec].pk not in known],
            batch_size=500,
        )
        known = {part.spec_id: part for part in Part.objects.all()}
        kept = [known[rows[spec].pk] for spec in specs]
        drawers = Place.objects.bulk_create([Place(name=f"Drawer {n}", type="drawer") for n in range(1000)])
        places = Place.objects.bulk_create([Place(name=f"Donor {n}", type="board") for n in range(boards)])
        donors = Board.objects.bulk_create(
            [Board(name=place.name, purpose="donor", place=place) for place in places]
        )
        for start in range(0, lots, CHUNK):
            numbers = range(start, min(start + CHUNK, lots))
            chunk, where = [], []
            for number, part in zip(numbers, dice.choices(kept, weights, k=len(numbers)), strict=True):
                lot = Lot(
                    part=part,
                    condition=dice.choices(("untested", "good", "suspect", "faulty"), (60, 30, 5, 5))[0],
                )
                if number % 2:
                    board = donors[number // 2 % boards]
                    lot.origin_source, lot.origin_board, lot.origin_ref = "board", board, f"X{number}"
                    where.append((board.place_id, lot.origin_ref, 1))
                else:
                    where.append((dice.choice(drawers).pk, "", dice.choice((1, 1, 1, 2, 5, 10))))
                chunk.append(lot)
            Holding.objects.bulk_create(
                [
                    Holding(lot=lot, place_id=place, ref=ref, quantity=quantity)
                    for lot, (place, ref, quantity) in zip(
                        Lot.objects.bulk_create(chunk, batch_size=1000), where, strict=True
                    )
                ],
                batch_size=1000,
            )
        dice.shuffle(specs)
        wanted = [rows[requirement(spec)] for spec in specs]
        opened = Job.objects.bulk_create(
            [Job(name=f"Repair {n}", priority=1 + n % 5) for n in range(jobs)], batch_size=500
        )
        for job in opened:
            Need.objects.bulk_create(
                [
                    Need(job=job, ref=f"X{number}", spec=spec)
                    for number, spec in enumerate(dice.choices(wanted, weights, k=NEEDS))
                ]
            )
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


# --- the measurement ------------------------------------------------------------------------------------


def seconds(
    call: Callable[[], Any],
    clock: Callable[[], float] = time.process_time,
    before: Callable[[], Any] = lambda: None,
) -> float:
    """The median of a few runs, of processor time unless told otherwise: the machine may be shared.

    `before` is called before each and not measured.
    """
    taken = []
    for _ in range(REPEATS):
        before()
        start = clock()
        call()
        taken.append(clock() - start)
    return statistics.median(taken)


RAW = (
    "SELECT id, name, priority, due FROM repairs_job WHERE status = 'open'",
    "SELECT n.id, n.spec_id, n.job_id, n.ref, n.quantity, n.fitted, n.promised FROM repairs_need n"
    " JOIN repairs_job j ON j.id = n.job_id WHERE n.status = 'open' AND j.status = 'open'",
    "SELECT * FROM inventory_storedspec",
    "SELECT h.id, h.lot_id, h.place_id, p.name, h.ref, h.quantity, h.promised, l.condition, l.measured,"
    " t.spec_id, p.type, b.purpose FROM inventory_holding h JOIN inventory_lot l ON l.id = h.lot_id"
    " JOIN inventory_part t ON t.id = l.part_id JOIN inventory_place p ON p.id = h.place_id"
    " LEFT JOIN inventory_board b ON b.place_id = p.id"
    " WHERE h.quantity > h.promised AND l.condition <> 'faulty'",
    "SELECT part_id, quantity FROM repairs_purchase WHERE state = 'ordered'",
)


def read_raw() -> None:
    from django.db import connection

    with connection.cursor() as cursor:
        for statement in RAW:
            cursor.execute(statement)
            cursor.fetchall()


def changes() -> Callable[[], None]:
    """One more piece in a drawer, or one less, each time it is called: plans are made anew."""
    from inventory.models import Holding

    held = Holding.objects.filter(place__name__startswith="Drawer", place__type="drawer").latest("id")
    pieces = cycle((held.quantity + 1, held.quantity))
    return lambda: Holding.objects.filter(pk=held.pk).update(quantity=next(pieces)) and None


def measure(home: str) -> dict[str, Any]:
    begun = time.monotonic()
    start_django(home)
    from django.contrib.auth import get_user_model
    from django.test import Client
    from networkx import network_simplex

    from inventory.keys import kept_key
    from inventory.roles import give_role
    from repairs.planning import plan
    from repairs.supply_and_demand import SupplyAndDemand
    from tests.benchmarks.planning import Workshop, prepared

    person, _made = get_user_model().objects.get_or_create(username="bench")
    give_role(person, "viewer")
    key = kept_key(person)
    client = Client(headers={"Authorization": f"Token {key}"})

    def request() -> Any:
        answer = client.get("/api/v1/shortages/")
        assert answer.status_code == 200, answer.getvalue()[:500]
        return answer

    def read() -> int:
        """How long an answer is, piece by piece as a server sends it."""
        return sum(map(len, request()))

    start = time.process_time()
    size = read()
    first = time.process_time() - start
    again = seconds(read)
    by_clock, whole = (seconds(read, clock, changes()) for clock in (time.perf_counter, time.process_time))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    body = json.loads(request().getvalue())
    loaded = SupplyAndDemand.load()
    demands, supplies = loaded.demands, loaded.supplies
    planned = seconds(lambda: plan(demands, supplies))
    whole_graphs, trimmed_graphs = prepared(Workshop(demands, supplies))
    solver, trimmed = (
        seconds(lambda graphs=graphs: [network_simplex(graph) for graph in graphs])
        for graphs in (whole_graphs, trimmed_graphs)
    )
    raw = seconds(read_raw)
    return {
        "rows": len(body["results"]), "totals": body["totals"], "bytes": size,
        "demands": len(demands), "supplies": len(supplies), "first request": first,
        "request by the clock": by_clock, "request": whole, "again": again,
        "plan()": planned, "bare solver": solver, "bare solver, trimmed": trimmed, "raw SQL": raw,
        "ratio": whole / (solver + raw), "ratio to the trimmed": whole / (trimmed + raw), "peak MB": peak,
        "measuring": time.monotonic() - begun,
    }  # fmt: skip


def sized(parser: argparse.ArgumentParser) -> None:
    """What says how large a workshop is."""
    for name, size in (("jobs", JOBS), ("lots", LOTS), ("parts", PARTS)):
        parser.add_argument(f"--{name}", type=int, default=size)


def in_processes_of_its_own(home: str, *, jobs: int, lots: int, parts: int) -> dict[str, Any]:
    """Build the workshop in `home` unless one stands there, and measure it: each in a fresh process."""
    sizes = ["--jobs", str(jobs), "--lots", str(lots), "--parts", str(parts)]
    again = [sys.executable, "-m", "tests.benchmarks.shortages", "--keep", home, *sizes, "--step"]
    if not os.path.exists(os.path.join(home, "rehome.sqlite3")):
        subprocess.run([*again, "build"], check=True)
    measured = subprocess.run([*again, "measure"], check=True, stdout=subprocess.PIPE, text=True).stdout
    found: dict[str, Any] = json.loads(measured)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--keep", metavar="FOLDER", help="build the workshop there once and use it again")
    parser.add_argument("--step", choices=("build", "measure"), help=argparse.SUPPRESS)
    sized(parser)
    options = parser.parse_args()
    sizes = {name: getattr(options, name) for name in ("jobs", "lots", "parts")}
    if options.step == "build":
        build(options.keep, **sizes)
        return
    if options.step == "measure":
        print(json.dumps(measure(options.keep)))
        return
    with tempfile.TemporaryDirectory(prefix="rehome-benchmark-") as temporary:
        found = in_processes_of_its_own(options.keep or temporary, **sizes)
    for name, figure in found.items():
        print(f"{name:>21}: {figure:.3f}" if isinstance(figure, float) else f"{name:>21}: {figure}")
    verdict("a request by the clock", found["request by the clock"], SECONDS, unit=" s")
    verdict("to the bare solver and the raw SQL", found["ratio"], RATIO)
    verdict("peak memory", found["peak MB"], MEGABYTES, unit=" MB")


if __name__ == "__main__":
    main()
