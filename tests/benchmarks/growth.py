"""How GET shortages/ grows with jobs, with lots and with distinct parts.

    python -m tests.benchmarks.growth [--jobs N …] [--lots N …] [--parts N …]

The workshop is that of `tests.benchmarks.shortages`; each row builds one in a temporary REHOME_HOME and
measures it in a fresh process.  One size varies at a time, the others stay as they are there.  Seconds
are of processor time, the ratio is to the bare solver plus the raw SQL that reads the same rows, memory is
the peak of the process.
"""

import argparse
import tempfile
import time
from collections.abc import Iterable

from tests.benchmarks.shortages import JOBS, LOTS, PARTS, in_processes_of_its_own

GROWN = {
    "jobs": (10, 50, 200, 1000),
    "lots": (1000, 10_000, 100_000, 1_000_000),
    "parts": (500, 1500, 5000),
}
HEAD = ("jobs", "lots", "parts", "classes", "request s", "plan() s", "raw SQL s", "ratio", "MB", "setup s")


def rows(asked: dict[str, Iterable[int]]) -> list[dict[str, int]]:
    """The sizes to measure, each once."""
    usual = {"jobs": JOBS, "lots": LOTS, "parts": PARTS}
    found: list[dict[str, int]] = []
    for name, sizes in asked.items():
        found += [row for size in sizes if (row := {**usual, name: size}) not in found]
    return found


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    for name, sizes in GROWN.items():
        parser.add_argument(f"--{name}", type=int, nargs="*", default=sizes)
    asked = vars(parser.parse_args())
    print(" ".join(f"{title:>9}" for title in HEAD), flush=True)
    for row in rows(asked):
        with tempfile.TemporaryDirectory(prefix="rehome-benchmark-") as home:
            start = time.monotonic()
            found = in_processes_of_its_own(home, **row)
            setup = time.monotonic() - start - found["measuring"]
        cells = (
            *(f"{size:,}" for size in row.values()),
            f"{found['supplies']:,}",
            *(f"{found[name]:.2f}" for name in ("request", "plan()", "raw SQL", "ratio")),
            f"{found['peak MB']}",
            f"{setup:.0f}",
        )
        print(" ".join(f"{cell:>9}" for cell in cells), flush=True)


if __name__ == "__main__":
    main()
