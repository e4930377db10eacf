"""The transfer plan of a board with many positions over the API: `python -m tests.benchmarks.transfer`.

A donor of one revision and a bare board of the next: of 300 positions two thirds ask for what the donor has
at the same reference, others for what it has elsewhere, for something better or worse, or for what it has
not.  The floor is the raw SQL that reads the same rows and the bare solver on the same instance.
"""

import argparse
import random
import statistics
import tempfile
import time
from collections.abc import Callable
from typing import Any
from unittest.mock import patch

from tests.benchmarks import start_django, verdict

POSITIONS, SECONDS, REPEATS = 300, 0.5, 9


def build(positions: int) -> tuple[int, int]:
    """The job whose board is bare, and the donor."""
    from django.core.management import call_command
    from django.db import transaction

    from inventory.models import Board, Part, Position, StoredSpec
    from tests.benchmarks.shortages import part_specs, requirement
    from tests.factories import BoardFactory, DesignFactory, JobFactory, NeedFactory, PartFactory, stock

    call_command("migrate", verbosity=0)
    dice = random.Random(1)
    specs = dice.sample([spec for spec in part_specs() if not spec.make], positions // 2)
    old = dice.choices(specs, k=positions)
    new = list(old)
    for place in dice.sample(range(positions), positions // 3):
        new[place] = dice.choice(specs)
    with transaction.atomic():
        rows = StoredSpec.keep_all([requirement(spec) for spec in specs])
        before, after = (DesignFactory(name="Tern", revision=revision) for revision in "AB")
        for design, wanted in ((before, old), (after, new)):
            Position.objects.bulk_create(
                Position(design=design, ref=f"X{n}", spec=rows[requirement(spec)])
                for n, spec in enumerate(wanted)
            )
        donor = BoardFactory(design=before, purpose=Board.Purpose.DONOR)
        job = JobFactory(board=BoardFactory(design=after, purpose=Board.Purpose.UNDER_REPAIR))
        parts: dict[Any, Part] = {spec: PartFactory(of=spec) for spec in specs}
        for n, spec in enumerate(old):
            stock(part=parts[spec], place=donor.place, ref=f"X{n}", source="board", board=donor)
        for position in after.positions.all():
            NeedFactory(job=job, ref=position.ref, spec=position.spec)
    return job.pk, donor.pk


RAW = (
    "SELECT * FROM repairs_job WHERE id = {job}",
    "SELECT n.*, s.* FROM repairs_need n JOIN inventory_storedspec s ON s.id = n.spec_id"
    " WHERE n.job_id = {job}",
    "SELECT p.*, s.* FROM inventory_position p JOIN inventory_storedspec s ON s.id = p.spec_id",
    "SELECT h.*, l.*, t.*, s.* FROM inventory_holding h JOIN inventory_lot l ON l.id = h.lot_id"
    " JOIN inventory_part t ON t.id = l.part_id JOIN inventory_storedspec s ON s.id = t.spec_id"
    " JOIN inventory_board b ON b.place_id = h.place_id WHERE b.id = {donor}",
    "SELECT * FROM repairs_reservation WHERE status = 'held'",
)


def read_raw(job: int, donor: int) -> None:
    from django.db import connection

    with connection.cursor() as cursor:
        for statement in RAW:
            cursor.execute(statement.format(job=job, donor=donor))
            cursor.fetchall()


def seconds(call: Callable[[], Any]) -> tuple[float, float]:
    """The median by the clock and of processor time: the machine may be shared."""
    taken = []
    for _ in range(REPEATS):
        clock, processor = time.perf_counter(), time.process_time()
        call()
        taken.append((time.perf_counter() - clock, time.process_time() - processor))
    by_clock, of_processor = (statistics.median(column) for column in zip(*taken, strict=True))
    return by_clock, of_processor


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--positions", type=int, default=POSITIONS)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="rehome-benchmark-") as home:
        start_django(home)
        from django.contrib.auth import get_user_model
        from django.db import connection
        from django.test import Client
        from django.test.utils import CaptureQueriesContext
        from networkx import network_simplex

        from inventory.keys import make_key
        from inventory.roles import give_role
        from repairs.planning import network, transfer

        job, donor = build(options.positions)
        person = get_user_model().objects.create(username="measurer")
        give_role(person, "viewer")
        client = Client(headers={"Authorization": f"Token {make_key(person, 'measuring')[1]}"})

        def request() -> Any:
            answer = client.get(f"/api/v1/jobs/{job}/transfer/?from={donor}")
            assert answer.status_code == 200, answer.content[:500]
            return answer.json()

        start = time.perf_counter()
        with (
            CaptureQueriesContext(connection) as captured,
            patch.object(transfer, "allot", wraps=network.allot) as allot,
        ):
            answer = request()
            queries = len(captured)
        first = time.perf_counter() - start
        graphs = [network.flow_graph(component) for component in network.components(*allot.call_args.args)]
        by_clock, processor = seconds(request)
        raw = seconds(lambda: read_raw(job, donor))[1]
        solver = seconds(lambda: [network_simplex(graph) for graph in graphs])[1]
        connection.close()
    print(
        f"{options.positions} positions: {len(answer['moves'])} moves, {len(answer['missing'])} to be found,"
        f" {queries} queries; the first request {first:.2f} s"
    )
    print(f"processor: a request {processor:.3f} s, raw SQL {raw:.3f} s, bare solver {solver:.3f} s")
    print(f"ratio to the raw SQL and the bare solver: {processor / (raw + solver):.1f}")
    verdict("a request", by_clock, SECONDS, unit=" s")


if __name__ == "__main__":
    main()
