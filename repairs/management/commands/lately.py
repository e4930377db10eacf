"""`manage.py lately`: what was done on the bench, newest first."""

from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from inventory.management.readable import Readable
from inventory.tables import show, stream_of
from repairs import benchlog
from repairs.answers.log_lines import lines_as_json
from repairs.api.over_time import DEFAULT_LINES, MAX_LINES


class Command(Readable):
    help = (
        "Show the last things that were done on the bench, newest first.\n\nExamples:\n"
        "  python3 manage.py lately\n"
        "  python3 manage.py lately --most 20 --json"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--most", type=int, default=DEFAULT_LINES, help=f"lines, 1 to {MAX_LINES} ({DEFAULT_LINES})"
        )
        self.add_forms(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        if not 1 <= options["most"] <= MAX_LINES:
            raise CommandError(f"--most: expected a whole number from 1 to {MAX_LINES}")
        lines = benchlog.lately(options["most"])
        if options["json"]:
            self.print_json({"lines": lines_as_json(lines, None)})
            return
        rows = [
            (f"{timezone.localtime(line.at):%Y-%m-%d %H:%M}", line.kind, line.text, line.by, line.note)
            for line in lines
        ]
        show(stream_of(self.stdout), "Lately", ("when", "what", "", "by", "note"), rows)
