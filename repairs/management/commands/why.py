"""`manage.py why`: why a need was given what it was given, and what would change it."""

from typing import Any, TextIO

from django.core.management.base import CommandParser

from inventory.answers import as_json
from inventory.management.readable import Readable
from inventory.refs import write_refs
from inventory.tables import stream_of
from repairs.answers.why import Why, explain
from repairs.answers.why.answer import ELSEWHERE, GIVEN, HELD, QUESTIONS, REFUSED
from repairs.management.named import need_named
from repairs.models import Need


class Command(Readable):
    help = (
        "Show what the plan gives a need and why, who has what it would have had by itself, which pieces\n"
        "were refused, and what would change it.\n\nExamples:\n"
        '  python3 manage.py why "Tern C rebuild" R11\n'
        "  python3 manage.py why 12 --json"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "need", nargs="+", metavar="NEED", help="its number; or a job, by name or number, and a reference"
        )
        self.add_forms(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        need = need_named(options["need"])
        answer = explain(need)
        if options["json"]:
            self.print_json(as_json(answer))
        else:
            print_why(stream_of(self.stdout), need, answer)


def print_why(out: TextIO, need: Need, answer: Why) -> None:
    """The chain of reasons."""
    print(f"{need.job}, {need.ref or 'loose'}: {need.spec}", file=out)
    print(f"wanted {need.quantity}, fitted {need.fitted}, reserved {need.promised}", file=out)
    if not answer.planned:
        print("No plan is made for it: it lacks nothing, was dropped, or its job is not open.", file=out)
        return
    refs = write_refs(answer.refs)
    if refs != need.ref:
        print(f"Planned together with all of this kind that the job lacks: {refs or 'loose'}.", file=out)
    for table, rows in (
        (GIVEN, answer.given), (ELSEWHERE, answer.elsewhere), (HELD, answer.held),
        (QUESTIONS, answer.questions), (REFUSED, answer.refused),
    ):  # fmt: skip
        if rows:
            table.show(out, rows)
    print(
        f"short now {answer.short}; with its job first in line {answer.if_first}; "
        f"with working boards lending {answer.if_borrowing}",
        file=out,
    )
