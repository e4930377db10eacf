"""Import of 50,000 stock rows from xlsx, as a ratio to the bare read of the same file; again; and out.

    python3 -m tests.benchmarks.sheets [ROWS]

The floor is openpyxl's read-only walk over every cell of a file with shared strings, as most programs save
it. The import is that of `import_sheet`: reading, checking and writing parts, lots, holdings and movements
to a new SQLite database.  Targets: at most twice the floor, at most 500 MB.  Each runs in its own process,
so that the peak of memory is its own; processor time is given beside the clock, since other work on the
machine does not count there.  During the import somebody else writes twenty times a second, and waits at most
a second for it.
"""

import json
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

from tests.benchmarks import verdict

ROWS = 50_000
HEADINGS = (
    "Kind", "Number", "Value", "Tolerance", "Volts", "Watts", "Amps", "Dielectric", "Package", "Lead style",
    "Pitch mm", "Polarised", "Safety class", "Speed ns", "Make", "Traits", "Quantity", "Place", "Condition",
    "Marking", "Source", "From", "Price", "Pack size", "Reorder at", "Note",
)  # fmt: skip
E24 = (
    "10", "11", "12", "13", "15", "16", "18", "20", "22", "24", "27", "30", "33", "36", "39", "43", "47",
    "51", "56", "62", "68", "75", "82", "91",
)  # fmt: skip
STEPS = {
    "bare read": "read", "import": "import", "bare read again": "read", "the same again": "import",
    "export": "export",
}  # fmt: skip


def rows(count: int) -> list[list[object]]:
    """Invented stock: some 2,000 different parts in 600 drawers, each row with its own marking."""
    chance = random.Random(7)
    made: list[list[object]] = []
    for number in range(count):
        row: dict[str, object] = dict.fromkeys(HEADINGS)
        digits = chance.choice(E24)
        if number % 2:
            value = f"{digits[0]}{chance.choice(('R', 'k', 'M'))}{digits[1]}"
            row |= {"Kind": "resistor", "Value": value, "Tolerance": chance.choice((1, 2, 5, 10))}
            row |= {"Watts": chance.choice((0.25, 0.5, 1)), "Lead style": "axial"}
            row |= {"Traits": f"technology={chance.choice(('carbon_film', 'metal_film'))}"}
        else:
            row |= {"Kind": "capacitor", "Value": f"{digits}{chance.choice('pn')}", "Tolerance": 10}
            row |= {"Volts": chance.choice((50, 63, 100)), "Dielectric": chance.choice(("film", "class2"))}
            row |= {"Lead style": "radial", "Pitch mm": 5, "Polarised": "no"}
        row |= {
            "Quantity": chance.randrange(1, 200),
            "Place": f"Cabinet {'ABCDEF'[number % 6]} / Row {number % 10} / Drawer {number % 600}",
            "Condition": chance.choice(("good", "untested")),
            "Marking": f"{digits} {number:05d}",
            "Source": "bought",
            "From": chance.choice(("Lodestar Components", "Slack Tide Components")),
            "Note": f"strip {number % 997}",
        }
        made.append(list(row.values()))
    return made


def write(path: str, count: int = ROWS) -> None:
    from openpyxl import Workbook

    from tests.sheets.books import with_shared_strings

    book = Workbook(write_only=True)
    sheet = book.create_sheet("Stock")
    for row in (HEADINGS, *rows(count)):
        sheet.append(row)
    file = BytesIO()
    book.save(file)
    Path(path).write_bytes(with_shared_strings(file).getvalue())


def bare_read(path: str) -> int:
    from openpyxl import load_workbook

    book = load_workbook(path, read_only=True, data_only=True)
    return sum(1 for _row in book.worksheets[0].iter_rows(values_only=True))


def whole_import(path: str) -> object:
    from inventory import sheets

    with open(path, "rb") as file:
        report = sheets.import_sheet(file, name="stock.xlsx", kind="stock", by=None)
    return f"{report.created:,} created, {report.unchanged:,} unchanged"


def whole_export(path: str) -> int:
    from inventory import sheets

    return sum(map(len, sheets.export("stock", "xlsx")))


def other_writes(path: str) -> float:
    """Write until the file is gone; the longest that a write waited, in seconds."""
    from inventory.models import Place

    longest, number = 0.0, 0
    while Path(path).exists():
        began = time.perf_counter()
        Place.objects.create(name=f"Shelf {number}")
        longest, number = max(longest, time.perf_counter() - began), number + 1
        time.sleep(0.05)
    return longest


TASKS: dict[str, Callable[..., object]] = {
    "other writes": other_writes,
    "write": write,
    "read": bare_read,
    "import": whole_import,
    "export": whole_export,
}


def begin(task: str, path: str, *more: str) -> subprocess.Popen[str]:
    """A task in a process of its own."""
    command = [sys.executable, "-m", "tests.benchmarks.sheets", "--task", task, path, *more]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def end(task: subprocess.Popen[str]) -> dict[str, Any]:
    output, wrong = task.communicate()
    if task.returncode:
        raise SystemExit(wrong)
    figures: dict[str, Any] = json.loads(output.splitlines()[-1])
    return figures


def run(task: str, path: str, *more: str) -> dict[str, Any]:
    return end(begin(task, path, *more))


def here(task: str, path: str, *more: str) -> None:
    if task != "read":
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        import django

        django.setup()
    clock, processor = time.perf_counter(), time.process_time()
    result = TASKS[task](path, *map(int, more))
    figures = {"clock": time.perf_counter() - clock, "processor": time.process_time() - processor}
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps({**figures, "peak": peak, "result": result}))


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as home:
        os.environ["REHOME_HOME"] = home
        os.environ.pop("DATABASE_URL", None)
        subprocess.run([sys.executable, "manage.py", "migrate", "-v0"], check=True)
        path = str(Path(home) / "stock.xlsx")
        run("write", path, str(count))
        at_work = Path(home) / "at-work"
        at_work.touch()
        other = begin("other writes", str(at_work))
        figures = {name: run(task, path) for name, task in STEPS.items()}
        at_work.unlink()
        waited = end(other)["result"]
    print(f"{count:,} rows of stock, {len(HEADINGS)} columns")
    for name, each in figures.items():
        clock, processor, peak = each["clock"], each["processor"], each["peak"]
        print(f"  {name:16}{clock:7.1f} s{processor:7.1f} s of processor{peak:7.0f} MB  {each['result']}")
    for measure in ("clock", "processor"):
        floor = (figures["bare read"][measure] + figures["bare read again"][measure]) / 2
        ratio = figures["import"][measure] / floor
        verdict(f"the import to the bare read, by {measure}", ratio, 2)
    verdict("the import at its peak", figures["import"]["peak"], 500, unit=" MB")
    verdict("the longest that somebody else waited to write", waited, 1, unit=" s")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--task"]:
        here(*sys.argv[2:])
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else ROWS)
