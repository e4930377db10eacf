"""`manage.py harvest`: what to lift off which donor, board by board."""

from typing import Any, TextIO

from django.core.management.base import CommandParser

from inventory.management.readable import Readable
from inventory.refs import write_refs
from inventory.tables import show, stream_of
from repairs.api.harvest import as_json
from repairs.harvest import HarvestPlan, harvest_plan
from repairs.management.named import jobs_named
from repairs.planning.harvest import Lift
from repairs.planning.lifting import stage_of
from repairs.proving.cautions import DEFER
from repairs.telling import grade, noted

HEADINGS = (
    "step",
    "lift",
    "what",
    "lot",
    "condition",
    "stage",
    "for",
    "wanted at",
    "grade",
    "worth it",
    "why",
)


class Command(Readable):
    help = (
        "Show the fewest lifts that close what donors can close of the open jobs: by board, in lifting\n"
        "order, with what to mind first and what else to take for the drawers.\n\nExamples:\n"
        "  python3 manage.py harvest\n"
        '  python3 manage.py harvest --job "Tern C rebuild" --out harvest.xlsx'
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--job", action="append", metavar="JOB", help="only for this job (may be repeated)"
        )
        self.add_forms(parser, sheet=True)

    def handle(self, *args: Any, **options: Any) -> None:
        jobs = jobs_named(options["job"])
        if options["out"]:
            self.write_export(options["out"], "harvest", {"job": jobs or []})
            return
        found = harvest_plan(jobs)
        if options["json"]:
            self.print_json(as_json(found))
        else:
            print_harvest(stream_of(self.stdout), found)


def print_harvest(out: TextIO, found: HarvestPlan) -> None:
    """Each board: what to mind, then the lifts; then what no board can give."""
    for work in found.plan.boards:
        name = found.boards[work.board].name
        print(f"At {name}, mind:", file=out)
        for caution in work.cautions:
            print(f"- {caution.text}", file=out)
        print(f"- {DEFER}", file=out)
        rows = [_cells(found, step, lift) for step, lift in enumerate((*work.lifts, *work.extras), 1)]
        show(out, f"Lift off {name}", HEADINGS, rows)
        print(file=out)
    for piece, caution in found.plan.blocked:
        where = f"{found.boards[piece.board].name} {piece.ref}".rstrip()
        print(f"not lifted: {piece.spec.text} off {where}: {caution.text}", file=out)
    for alike, pieces in found.plan.out_of_reach.items():
        print(f"out of reach: {pieces} x {found.specs[alike].text}", file=out)
    boards = found.plan.boards
    lifts, extras = sum(len(work.lifts) for work in boards), sum(len(work.extras) for work in boards)
    print(f"{len(boards)} boards, {lifts} pieces to lift for jobs, {extras} for the drawers", file=out)


def _cells(found: HarvestPlan, step: int, lift: Lift) -> tuple[str, ...]:
    piece, job = lift.piece, found.lines.get(lift.demand)
    return (
        str(step), piece.ref, piece.spec.text, str(piece.id.lot), piece.condition,
        stage_of(piece).name.lower(), job.name if job else "the drawers", write_refs(job.refs) if job else "",
        grade(lift.fit) if lift.fit else "", lift.worth.verdict,
        "; ".join([*(noted(lift.fit) if lift.fit else ()), lift.worth.why]).strip("; "),
    )  # fmt: skip
