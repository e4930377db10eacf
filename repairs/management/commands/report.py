"""`manage.py report`: the report of a repair, as text, as a page to print, or as JSON."""

import base64
from collections.abc import Sequence
from pathlib import Path
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser

from inventory.answers import Answer, AnswerTable, as_json
from inventory.management.readable import Readable
from inventory.models import Photo
from inventory.pictures import photos
from inventory.tables import stream_of
from repairs.answers.report import RepairReport, report
from repairs.answers.report.answer import EXCEPTIONS, PARTS, READINGS, TASKS, TRIALS
from repairs.answers.report.view import as_page
from repairs.management.named import row_named
from repairs.models import Job


class Command(Readable):
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
        answer = report(job)
        if options["json"]:
            self.print_json(as_json(answer))
        elif options["html"]:
            self.write_page(as_page(answer, _as_data), options["html"])
        else:
            print_report(stream_of(self.stdout), answer)

    def write_page(self, page: str, file: str) -> None:
        if file == "-":
            self.stdout.write(page)
            return
        try:
            Path(file).write_text(page, encoding="utf-8")
        except OSError as wrong:
            raise CommandError(f"{file} is not written: {wrong.strerror or wrong}") from None


def _as_data(photo: Photo) -> str:
    """The picture itself: a page that is sent or kept elsewhere has no address to fetch it from."""
    if not photos.path_of(photo.content).exists():
        return ""
    return f"data:image/jpeg;base64,{base64.b64encode(photos.data_of(photo)).decode('ascii')}"


def print_report(out: TextIO, answer: RepairReport) -> None:
    """The report in words and tables."""
    ready = f"; ready to power: {answer.verdict_text}" if answer.verdict else ""
    print(f"{answer.name}: {answer.board or 'no board'}, {answer.status}{ready}", file=out)
    print(f"symptom: {answer.symptom or 'none was written down'}", file=out)
    print(f"cause: {answer.cause or 'none was written down'}", file=out)
    if answer.note:
        print(f"note: {answer.note}", file=out)
    if answer.isolated:
        print(f"isolated, not fixed: a borrowed part is in {', '.join(answer.isolated)}", file=out)
    for lender in answer.lenders:
        print(f"borrowed from {lender.board}: {lender.explanation}", file=out)
    _show(out, PARTS, answer.parts)
    print(answer.costs, file=out)
    _show(out, READINGS, answer.readings)
    _show(out, EXCEPTIONS, answer.exceptions)
    _show(out, TRIALS, answer.trials)
    _show(out, TASKS, answer.tasks)


def _show(out: TextIO, table: AnswerTable, rows: Sequence[Answer]) -> None:
    if rows:
        table.show(out, rows)
    else:
        print(f"{table.title}: none", file=out)
