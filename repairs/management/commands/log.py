"""`manage.py log`: a job's bench log; read it, or write a line into it."""

from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from inventory.management.readable import Readable
from inventory.tables import show, stream_of
from repairs import benchlog
from repairs.answers.log_lines import lines_as_json
from repairs.api.benchlog import EntryTextSerializer
from repairs.management.named import person_named, row_named
from repairs.models import Job
from repairs.proving_models import BenchEntry


class Command(Readable):
    help = (
        "Show what happened to a job, oldest first; or write a note, or a thing to do, into its log.\n\n"
        "Examples:\n"
        '  python3 manage.py log "Tern C rebuild"\n'
        '  python3 manage.py log "Tern C rebuild" --task "refit the case, all screws back" --by robin\n'
        "  python3 manage.py log 4 --json"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("job", metavar="JOB", help="the name of the job, or its number")
        what = parser.add_mutually_exclusive_group()
        what.add_argument("--note", metavar="TEXT", help="write a note")
        what.add_argument("--task", metavar="TEXT", help="write a thing to do")
        what.add_argument("--json", action="store_true", help="print the lines as the API answers them")
        parser.add_argument("--by", metavar="NAME", help="whose note or task it is")

    def handle(self, *args: Any, **options: Any) -> None:
        job = row_named(Job.objects.select_related("board"), options["job"], "job")
        for kind in BenchEntry.Kind.values:
            if options[kind] is not None:
                self.write(job, kind, options[kind], options["by"])
                return
        if options["by"] is not None:
            raise CommandError("--by goes with --note or --task")
        lines = benchlog.time_line(job)
        if options["json"]:
            self.print_json({"results": lines_as_json(lines, None)})
            return
        rows = [
            (
                f"{timezone.localtime(line.at):%Y-%m-%d %H:%M}", line.kind, line.text, line.by,
                line.note, str(len(line.photos) or ""),
            )
            for line in lines
        ]  # fmt: skip
        show(stream_of(self.stdout), job.name, ("when", "what", "", "by", "note", "pictures"), rows)

    def write(self, job: Job, kind: str, text: str, by: str | None) -> None:
        person = person_named(by)
        read = EntryTextSerializer(data={"text": text})
        if not read.is_valid():
            raise CommandError(f"the {kind}: {read.errors['text'][0]}")
        made = BenchEntry.objects.create(job=job, kind=kind, by=person, **read.validated_data)
        self.stdout.write(f"{kind} {made.pk}: {made.text}")
