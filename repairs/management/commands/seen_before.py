"""`manage.py seen_before`: what was wrong with boards of a design before, and what it was."""

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from inventory.management.readable import Readable
from inventory.models import Design
from inventory.tables import show, stream_of
from repairs import benchlog
from repairs.api.benchlog import SeenBeforeSerializer, SeenElsewhereSerializer
from repairs.management.named import row_named


class Command(Readable):
    help = (
        "Show the closed jobs on boards of a design, whatever its revision, with symptom and cause, newest\n"
        "first; with words, those in which each of them stands.  What other workshops saw, by the files of\n"
        "the design that came in, follows with its source.\n\n"
        "Examples:\n"
        '  python3 manage.py seen_before "Tern TR6 main board"\n'
        '  python3 manage.py seen_before "Tern TR6 main board" trace flat'
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("design", metavar="DESIGN", help="the name of the design, or its number")
        parser.add_argument("words", nargs="*", metavar="WORD", help="of the symptom, the cause or the log")
        parser.add_argument("--elsewhere", action="store_true", help="only what other workshops saw")
        parser.add_argument("--json", action="store_true", help="print them as the API answers them")

    def handle(self, *args: Any, **options: Any) -> None:
        design = row_named(Design.objects.all(), options["design"], "design")
        words = " ".join(options["words"])
        found = [] if options["elsewhere"] else list(benchlog.seen_before(design, words))
        theirs = benchlog.seen_elsewhere(design, words)
        if options["json"]:
            asked = SeenElsewhereSerializer(theirs, many=True) if options["elsewhere"] else None
            answer = asked or SeenBeforeSerializer(found, many=True)
            self.print_json({"results": answer.data})
            return
        rows = [
            (
                f"{timezone.localtime(job.closed):%Y-%m-%d}" if job.closed else "",
                job.board.name if job.board else "", job.symptom, job.cause, job.name,
            )
            for job in found
        ]  # fmt: skip
        others = [(row.facts["on"], row.facts["symptom"], row.facts["cause"], row.credit) for row in theirs]
        if not rows and not others:
            self.stdout.write(f"nothing like it is on record for {design.name}")
            return
        out = stream_of(self.stdout)
        if rows:
            headings: tuple[str, ...] = ("closed", "board", "symptom", "cause", "job")
            show(out, f"Seen before on {design.name}", headings, rows)
        if others:
            headings = ("day", "symptom", "cause", "source")
            show(out, f"Seen by others on {design.name}", headings, others)
