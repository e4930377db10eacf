"""`manage.py shortages`: what open jobs still lack."""

import json
from argparse import RawDescriptionHelpFormatter
from collections.abc import Sequence
from typing import Any, TextIO

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.refs import write_refs
from inventory.tables import show, stream_of
from repairs.models import Job
from repairs.planning import Tier
from repairs.shortages import Row, shortages, totals

HEADINGS = (
    "requirement", "needed", "fitted", "promised", "in drawers", "on donors", "on order", "short",
    "jobs that wait",
)  # fmt: skip


class Command(BaseCommand):
    help = (
        "Show what open jobs still lack after the best use of everything free.\n\nExamples:\n"
        '  python3 manage.py shortages --job "Tern C rebuild"\n'
        "  python3 manage.py shortages --borrow --json"
    )

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        return super().create_parser(
            prog_name, subcommand, formatter_class=RawDescriptionHelpFormatter, **kwargs
        )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--job", action="append", metavar="NAME", help="only this job (may be repeated)")
        parser.add_argument("--borrow", action="store_true", help="also draw on working boards")
        parser.add_argument("--all", action="store_true", help="also rows that lack nothing any more")
        parser.add_argument("--json", action="store_true", help="print the rows as the API answers them")

    def handle(self, *args: Any, **options: Any) -> None:
        jobs = None
        if options["job"]:
            named = dict(Job.objects.filter(name__in=options["job"]).values_list("name", "id"))
            unknown = [name for name in options["job"] if name not in named]
            if unknown:
                known = ", ".join(Job.objects.filter(status=Job.Status.OPEN).values_list("name", flat=True))
                raise CommandError(f"no job named {', '.join(unknown)}; open jobs: {known or 'none'}")
            jobs = list(named.values())
        rows = shortages(jobs, borrow=options["borrow"])
        if options["json"]:
            from repairs.api.shortages import as_json

            self.stdout.write(json.dumps(as_json(rows)))
        else:
            print_shortages(stream_of(self.stdout), rows if options["all"] else waiting(rows))


def waiting(rows: Sequence[Row]) -> list[Row]:
    """The rows that still lack a piece in hand: neither fitted nor promised."""
    return [row for row in rows if row.needed > row.fitted + row.promised]


def print_shortages(out: TextIO, rows: Sequence[Row]) -> None:
    """The table, and its totals in a line."""
    show(out, "Shortages across open jobs", HEADINGS, map(_cells, rows))
    sums = totals(rows)
    print(
        f"{len(rows)} requirements: {sums['needed']} pieces needed, {sums['fitted']} fitted, "
        f"{sums['promised']} promised, {sums['free']} in drawers, {sums['on_donors']} on donors, "
        f"{sums['on_order']} on order, {sums['short']} short",
        file=out,
    )


def _cells(row: Row) -> tuple[str, ...]:
    def number(count: int) -> str:
        return str(count) if count else ""

    jobs = "; ".join(
        f"{job.name}{f' ({write_refs(job.refs)})' if job.refs else ''}" for job in row.jobs if job.lacking
    )
    return (
        row.spec.text, str(row.needed), number(row.fitted), number(row.promised), number(row.free),
        _donors(row), number(row.on_order), number(row.short), jobs,
    )  # fmt: skip


def _donors(row: Row) -> str:
    """Each board with the references that the plan takes from it: `2: Tern donor 1 C4, C5`."""
    boards: dict[str, list[str]] = {}
    for take in row.take:
        if take.tier in (Tier.DONOR, Tier.BORROW):
            boards.setdefault(take.piece.place_name, []).append(take.piece.ref)
    places = "; ".join(f"{board} {write_refs(refs)}" for board, refs in boards.items())
    return f"{row.on_donors}: {places}" if places else ""
