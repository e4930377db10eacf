"""`manage.py report`: the report of a repair, as text, as a page to print, or as JSON."""

import base64
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser

from inventory import photos
from inventory.management.helped import Helped
from inventory.models import Photo
from inventory.tables import show, stream_of
from repairs.api.benchlog import as_json, as_page
from repairs.management.named import row_named
from repairs.models import Job
from repairs.report import report


class Command(Helped):
    help = (
        "Print the report of a repair: parts and where they came from, costs and what salvage\n"
        "saved, readings, exceptions, trials, things done and the log.\n\nExamples:\n"
        '  python3 manage.py report "Tern C rebuild"\n'
        '  python3 manage.py report "Tern C rebuild" --html tern.html\n'
        "  python3 manage.py report 4 --json"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("job", metavar="JOB", help="the name of the job, or its number")
        form = parser.add_mutually_exclusive_group()
        form.add_argument(
            "--html", metavar="FILE", help="write a page to print, its pictures in it; - is the output"
        )
        form.add_argument("--json", action="store_true", help="print as the API answers it")

    def handle(self, *args: Any, **options: Any) -> None:
        job = row_named(Job.objects.select_related("board__design"), options["job"], "job")
        told = as_json(report(job))
        if options["json"]:
            self.stdout.write(json.dumps(told, default=str))
        elif options["html"]:
            self.write_page(_with_pictures_in_it(told), options["html"])
        else:
            print_report(stream_of(self.stdout), told)

    def write_page(self, told: dict[str, Any], file: str) -> None:
        if file == "-":
            self.stdout.write(as_page(told))
            return
        try:
            Path(file).write_text(as_page(told), encoding="utf-8")
        except OSError as wrong:
            raise CommandError(f"{file} is not written: {wrong.strerror or wrong}") from None


def _with_pictures_in_it(told: dict[str, Any]) -> dict[str, Any]:
    """A page that is sent or kept elsewhere has no address to fetch pictures from."""
    rows = Photo.objects.in_bulk([picture["id"] for line in told["log"] for picture in line["photos"]])
    for line in told["log"]:
        line["photos"] = [
            {**picture, "image": _as_data(rows[picture["id"]])}
            for picture in line["photos"]
            if picture["id"] in rows and photos.path_of(rows[picture["id"]].content).exists()
        ]
    return told


def _as_data(photo: Photo) -> str:
    return f"data:image/jpeg;base64,{base64.b64encode(photos.data_of(photo)).decode('ascii')}"


def print_report(out: TextIO, told: dict[str, Any]) -> None:
    """The report in words and tables."""
    ready = f"; ready to power: {told['verdict']}" if told["verdict"] else ""
    print(f"{told['name']}: {told['board'] or 'no board'}, {told['status']}{ready}", file=out)
    print(f"symptom: {told['symptom'] or 'none was written down'}", file=out)
    print(f"cause: {told['cause'] or 'none was written down'}", file=out)
    if told["note"]:
        print(f"note: {told['note']}", file=out)
    if told["isolated"]:
        print(f"isolated, not fixed: a borrowed part is in {', '.join(told['isolated'])}", file=out)
    for lender in told["lenders"]:
        print(f"borrowed from {lender['board']}: {lender['told']}", file=out)
    parts = [
        (
            part["ref"] or "loose", f"{part['quantity']} x {part['fitted']}", part["origin"],
            part["price"] or "", part["note"],
        )
        for part in told["parts"]
    ]  # fmt: skip
    _show(out, "Parts used", ("position", "fitted", "from", "each", "note"), parts)
    print(
        f"spent {told['spent']}, saved by salvage {told['saved']}, "
        f"pieces without a price: {told['unpriced']}",
        file=out,
    )
    readings = [
        (row["rail"], row["stage"], row["ref"], row["reading"], row["by"]) for row in told["readings"]
    ]
    _show(out, "Rails", ("rail", "stage", "position", "reading", "by"), readings)
    exceptions = [(row["check"], row["subject"], row["why"], row["by"]) for row in told["exceptions"]]
    _show(out, "Exceptions", ("check", "of", "why", "by"), exceptions)
    trials = [(row["of"], row["method"], row["reading"], row["verdict"]) for row in told["trials"]]
    _show(out, "Trials", ("of", "method", "reading", "verdict"), trials)
    tasks = [("done" if row["done"] else "to do", row["text"]) for row in told["tasks"]]
    _show(out, "Things done", ("state", "what"), tasks)


def _show(out: TextIO, title: str, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    if rows:
        show(out, title, headings, rows)
    else:
        print(f"{title}: none", file=out)
