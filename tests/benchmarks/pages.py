"""Every page on a bench of 100,000 lots, against the raw SQL of the very questions that it asked, and the
bare solver where it plans.

    python -m tests.benchmarks.pages [--keep FOLDER] [--lots N] [--jobs N] [--only NAME …]

The workshop is the demo with that of `tests.benchmarks.shortages` beside it.  A page's questions are caught,
and asked again on a bare cursor in the same run: the ratio is of the medians.

Plans are kept while nothing is committed, so each page is measured right after a piece came or went, with
the questions that it then asks; and once more, `again`, when nothing did.  What it plans is given to the bare
solver too, as `tests.benchmarks.shortages` does for the API: its floor is both.  Of a page that is answered
within 50 ms the ratio is told and not judged: against a millisecond or two of SQL it measures the template.
"""

import argparse
import gzip
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any
from unittest.mock import patch

from tests.benchmarks import start_django, verdict
from tests.benchmarks.planning import seconds, whole_graphs
from tests.benchmarks.shortages import JOBS, LOTS, PARTS, changes

RATIO, QUICK, SLOW, REPEATS = 3.0, 0.05, 0.2, 5
ADDRESSES = "addresses.json"


def build(home: str, *, lots: int, jobs: int) -> None:
    start_django(home)
    from django.contrib.auth import get_user_model
    from django.core.management import call_command

    from inventory.roles import give_role
    from repairs import demo
    from tests.addresses import found
    from tests.benchmarks import shortages
    from tests.in_use import begin

    call_command("migrate", verbosity=0)
    give_role(get_user_model().objects.create(username="robin"), "owner")
    demo.load(by=None)
    begin()
    client = _client()

    def fetch(address: str) -> tuple[int, str, bytes]:
        answer = client.get(address)
        return answer.status_code, answer.headers.get("Content-Type", ""), answer.content

    pages = {name: addresses[0] for name, addresses in found(fetch).items() if name}
    shortages.build(home, jobs=jobs, lots=lots, parts=PARTS)
    Path(home, ADDRESSES).write_text(json.dumps({**pages, **_of_the_large()}))


def _of_the_large() -> dict[str, str]:
    """Further addresses, of what the demo has only little of."""
    from inventory.models import Board, Holding, Place
    from repairs.models import Job, Need

    job = Job.objects.get(name="Repair 0")
    held = Holding.objects.filter(place__type=Place.Type.DRAWER, place__name__startswith="Drawer").last()
    assert held is not None
    need = Need.objects.filter(job=job).first()
    assert need is not None
    return {
        "drawers: a value": "/drawers/?q=4k7",
        "drawers: a word": "/drawers/?q=alder",
        "drawers: nothing": "/drawers/?q=zzzz",
        "drawers: untested": "/drawers/?condition=untested",
        "drawers: free resistors": "/drawers/?kind=resistor&free=1",
        "drawers: one of them": f"/drawers/?place={held.place_id}",
        "drawers: the tree": "/drawers/",
        "read: a marking that many want": "/read/?marking=4k7",
        "lot: in a drawer": f"/lots/{held.lot_id}/",
        "board: a donor of 100": f"/boards/{Board.objects.get(name='Donor 7').pk}/",
        "job: of 150 needs": f"/jobs/{job.pk}/",
        "need: of a large job": f"/needs/{need.pk}/",
        "shortage: of a large job": f"/shortages/{need.spec_id}/",
    }


def _client() -> Any:
    from django.contrib.auth import get_user_model
    from django.test import Client

    client = Client()
    client.force_login(get_user_model().objects.get(username="robin"))
    return client


def measure(home: str, only: list[str]) -> list[dict[str, Any]]:
    start_django(home)
    from django.db import connection
    from networkx import network_simplex

    from repairs.planning import network, optimiser

    client, change = _client(), changes()
    pages: dict[str, str] = json.loads(Path(home, ADDRESSES).read_text())
    found = []
    for name, address in pages.items():
        if only and name not in only:
            continue
        asked: list[tuple[str, Any]] = []

        def listen(execute: Any, sql: str, params: Any, many: bool, context: Any, asked: Any = asked) -> Any:
            asked.append((sql, params))
            return execute(sql, params, many, context)

        def again(asked: Any = asked) -> None:
            with connection.cursor() as cursor:
                for sql, params in asked:
                    cursor.execute(sql, params)
                    cursor.fetchall()

        def after_a_change(address: str = address) -> float:
            change()
            return seconds(lambda: client.get(address), 1)

        start = time.perf_counter()
        client.get(address)
        first = time.perf_counter() - start
        change()
        with (
            connection.execute_wrapper(listen),
            patch.object(optimiser, "allot", wraps=network.allot) as allot,
        ):
            answer = client.get(address)
        assert answer.status_code in (200, 302), f"{address} answers {answer.status_code}"
        asked[:] = [each for each in asked if each[0].lstrip().upper().startswith(("SELECT", "WITH"))]
        graphs = [graph for call in allot.call_args_list for graph in whole_graphs(call.args)]
        found.append(
            {
                "name": name, "first": first,
                "seconds": statistics.median(after_a_change() for _ in range(REPEATS)),
                "again": seconds(lambda address=address: client.get(address)),
                "solver": seconds(lambda graphs=graphs: [network_simplex(graph) for graph in graphs]),
                "raw": seconds(again), "queries": len(asked), "bytes": len(gzip.compress(answer.content)),
            }
        )  # fmt: skip
    return found


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--keep", metavar="FOLDER", help="build the workshop there once and use it again")
    parser.add_argument("--lots", type=int, default=LOTS)
    parser.add_argument("--jobs", type=int, default=JOBS)
    parser.add_argument("--only", nargs="*", default=[], metavar="NAME", help="these pages alone")
    parser.add_argument("--step", choices=("build", "measure"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.step == "build":
        build(options.keep, lots=options.lots, jobs=options.jobs)
        return
    if options.step == "measure":
        print(json.dumps(measure(options.keep, options.only)))
        return
    with tempfile.TemporaryDirectory(prefix="rehome-benchmark-") as temporary:
        home = options.keep or temporary
        again = [sys.executable, "-m", "tests.benchmarks.pages", "--keep", home, "--step"]
        if not os.path.exists(os.path.join(home, ADDRESSES)):
            sizes = ["--lots", str(options.lots), "--jobs", str(options.jobs)]
            subprocess.run([*again, "build", *sizes], check=True)
        measured = [*again, "measure", "--only", *options.only]
        timings = json.loads(subprocess.run(measured, check=True, stdout=subprocess.PIPE, text=True).stdout)
    print(f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    for each in sorted(timings, key=lambda each: -each["seconds"]):
        figures = (
            f"{each['seconds'] * 1000:6.0f} ms (first {each['first'] * 1000:.0f}, again"
            f" {each['again'] * 1000:.0f}), raw SQL"
            f" {each['raw'] * 1000:.1f} ms in {each['queries']}, bare solver {each['solver'] * 1000:.0f} ms,"
            f" {each['bytes'] / 1000:.0f} kB: {each['name']}"
        )
        ratio = each["seconds"] / (each["raw"] + each["solver"])
        if each["seconds"] > QUICK:
            verdict(figures, ratio, RATIO)
        else:
            print(f" quick  {figures}: {ratio:.2f}")
    slow = [each["name"] for each in timings if each["seconds"] > SLOW]
    verdict(f"pages over {SLOW * 1000:.0f} ms ({', '.join(slow)})", len(slow), 0)


if __name__ == "__main__":
    main()
