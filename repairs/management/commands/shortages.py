"""`manage.py shortages`: what open jobs still lack."""

from collections.abc import Iterable, Sequence
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser

from inventory.answers import as_json
from inventory.management.readable import Readable
from inventory.tables import show, stream_of
from repairs.answers.parameters import Unreadable, add_arguments
from repairs.answers.shortages import GRAMMAR, Difference, Row, counts
from repairs.answers.shortages.answer import REQUIREMENTS
from repairs.answers.shortages.question import SHORTAGES
from repairs.management.named import jobs_named


class Command(Readable):
    help = (
        "Show what open jobs still lack after the best use of everything free, the short first; with\n"
        "--assume what they would lack then, and for which job that makes a difference.  Nothing is\n"
        "stored.\n\n"
        "Examples:\n"
        '  python3 manage.py shortages --job "Tern C rebuild"\n'
        '  python3 manage.py shortages --assume "park:Merlin pen driver" --assume "strip:Tern donor 1"\n'
        "  python3 manage.py shortages --borrow --json\n\n"
        f"An assumption is {GRAMMAR}; jobs, boards and parts by number or exact name."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        add_arguments(parser, *SHORTAGES.parameters)
        parser.add_argument("--all", action="store_true", help="also rows that lack nothing")
        self.add_forms(parser, sheet=True)

    def handle(self, *args: Any, **options: Any) -> None:
        asked = {name: options[name] for name in ("borrow", "ask", "assume")}
        jobs = jobs_named(options["job"])
        if options["out"]:
            self.write_export(options["out"], "shortages", {"job": jobs or [], **asked})
            return
        try:
            answer = SHORTAGES.ask(jobs, **asked)
        except Unreadable as refused:
            raise CommandError(str(refused)) from None
        if options["json"]:
            self.print_json(as_json(answer))
            return
        out = stream_of(self.stdout)
        print_shortages(out, answer.results if options["all"] else waiting(answer.results))
        if answer.difference is not None:
            print_difference(out, answer.difference)


def waiting(rows: Iterable[Row]) -> list[Row]:
    """The rows that still lack a piece in hand, neither fitted nor reserved: the short first."""
    lacking = [row for row in rows if row.lacking]
    return sorted(lacking, key=lambda row: (not row.to_find, not row.short))


def print_shortages(out: TextIO, rows: Sequence[Row], title: str = "Shortages across open jobs") -> None:
    """The table, and its totals in a line."""
    REQUIREMENTS.show(out, rows, title)
    sums = counts(rows)
    print(
        f"{len(rows)} requirements: {sums.needed} pieces needed, {sums.fitted} fitted, "
        f"{sums.promised} reserved, {sums.free} in drawers, {sums.on_donors} on donors, "
        f"{sums.on_order} on order, {sums.short} short"
        + (f", of which {sums.ask} wait for an answer" if sums.ask else ""),
        file=out,
    )


def print_difference(out: TextIO, difference: Difference) -> None:
    """What the assumptions change: pieces short now and then, job by job."""
    print(f"\nSupposed: {'; '.join(difference.assumed)}.", file=out)
    changes = [
        (each.name, str(each.short_now), "parked" if each.short_then is None else str(each.short_then))
        for each in difference.jobs
    ]
    if changes:
        show(out, "What that changes", ("job", "short now", "short then"), changes)
    else:
        print("No job lacks more or less than now.", file=out)
