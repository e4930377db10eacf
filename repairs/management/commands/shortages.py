"""`manage.py shortages`: what open jobs still lack."""

from collections.abc import Sequence
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser

from inventory.management.readable import Readable
from inventory.refs import write_refs
from inventory.tables import show, stream_of
from repairs.management.named import jobs_named
from repairs.planning import Tier
from repairs.shortages import Row, shortages, totals
from repairs.what_if import GRAMMAR, BadAssumption, Supposed, suppose

HEADINGS = (
    "requirement", "needed", "fitted", "promised", "in drawers", "on donors", "on order", "short",
    "jobs that wait",
)  # fmt: skip


class Command(Readable):
    help = (
        "Show what open jobs still lack after the best use of everything free; with --assume what they\n"
        "would lack then, and for which job that makes a difference.  Nothing is stored.\n\nExamples:\n"
        '  python3 manage.py shortages --job "Tern C rebuild"\n'
        '  python3 manage.py shortages --assume "park:Merlin pen driver" --assume "strip:Tern donor 1"\n'
        "  python3 manage.py shortages --borrow --json\n\n"
        f"An assumption is {GRAMMAR}; jobs, boards and parts by number or exact name."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--job", action="append", metavar="JOB", help="only this job (may be repeated)")
        parser.add_argument("--borrow", action="store_true", help="also draw on working boards")
        parser.add_argument(
            "--ask", action="store_true", help="also draw on pieces that a person must decide on"
        )
        parser.add_argument(
            "--assume", action="append", default=[], metavar="WHAT", help="suppose it (may be repeated)"
        )
        parser.add_argument("--all", action="store_true", help="also rows that lack nothing any more")
        self.add_forms(parser, sheet=True)

    def handle(self, *args: Any, **options: Any) -> None:
        jobs, assumed = jobs_named(options["job"]), options["assume"]
        how = {"borrow": options["borrow"], "ask": options["ask"]}
        if options["out"]:
            asked = {"job": jobs or [], "assume": assumed, **{name: [said] for name, said in how.items()}}
            self.write_export(options["out"], "shortages", asked)
            return
        try:
            found = suppose(assumed, jobs, **how) if assumed else None
        except BadAssumption as refused:
            raise CommandError(str(refused)) from None
        rows = shortages(jobs, **how) if found is None else found.rows
        if options["json"]:
            from repairs.api.shortages import as_json, difference

            self.print_json(as_json(rows) | ({"difference": difference(found)} if found else {}))
            return
        out = stream_of(self.stdout)
        print_shortages(out, rows if options["all"] else waiting(rows))
        if found is not None:
            print_difference(out, found)


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


def print_difference(out: TextIO, found: Supposed) -> None:
    """What the assumptions change: pieces short now and then, job by job."""
    print(f"\nSupposed: {'; '.join(found.assumed)}.", file=out)
    changes = [
        (found.names[each.job], str(each.before), "parked" if each.after is None else str(each.after))
        for each in found.changes
    ]
    if changes:
        show(out, "What that changes", ("job", "short now", "short then"), changes)
    else:
        print("No job lacks more or less than now.", file=out)


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
