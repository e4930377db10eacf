"""`manage.py transfer`: what of a donor goes where on the board of a job."""

from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser

from inventory.ledger import Refused
from inventory.management.readable import Readable
from inventory.models import Board
from inventory.refs import write_refs
from inventory.tables import show, stream_of
from repairs.api.transfer import as_json, how
from repairs.management.named import row_named
from repairs.models import Job
from repairs.planning.lifting import stage_of
from repairs.proving.cautions import DEFER
from repairs.telling import grade, noted, objections
from repairs.transfer import TransferPlan, transfer_plan

HEADINGS = ("step", "lift", "to", "what", "how", "lot", "condition", "stage", "grade", "why")


class Command(Readable):
    help = (
        "Show which pieces of a donor go to which position of a job's board, in lifting order; what must be\n"
        "found elsewhere, what stays empty, and what is left over.\n\nExamples:\n"
        '  python3 manage.py transfer "Tern C rebuild" --from "Tern donor 1"\n'
        '  python3 manage.py transfer "Tern C rebuild" --from "Tern donor 1" --out transfer.xlsx'
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("job", metavar="JOB", help="the name of the job, or its number")
        parser.add_argument(
            "--from",
            dest="donor",
            required=True,
            metavar="BOARD",
            help="the donor, by its name or its number",
        )
        self.add_forms(parser, sheet=True)

    def handle(self, *args: Any, **options: Any) -> None:
        job = row_named(Job.objects.select_related("board__design", "board__place"), options["job"], "job")
        donor = row_named(Board.objects.select_related("design"), options["donor"], "board")
        if options["out"]:
            self.write_export(options["out"], "transfer", {"job": [job.pk], "from": [donor.pk]})
            return
        try:
            found = transfer_plan(job, donor)
        except Refused as refused:
            raise CommandError(refused.detail) from None
        if options["json"]:
            self.print_json(as_json(job, donor, found))
        else:
            print_transfer(stream_of(self.stdout), job, donor, found)


def print_transfer(out: TextIO, job: Job, donor: Board, found: TransferPlan) -> None:
    """What to mind, the moves, and what is not moved."""
    plan = found.plan
    print(f"At {donor}, mind:", file=out)
    for caution in found.cautions:
        print(f"- {caution.text}", file=out)
    print(f"- {DEFER}", file=out)
    moves = [
        (
            str(step), move.piece.ref, move.ref, move.piece.spec.text, how(move), str(move.piece.id.lot),
            move.piece.condition, stage_of(move.piece).name.lower(), grade(move.fit),
            "; ".join(noted(move.fit)),
        )
        for step, move in enumerate(plan.moves, 1)
    ]  # fmt: skip
    show(out, f"From {donor} to {job.board}, for {job}", HEADINGS, moves)
    if plan.missing:
        rows = [
            (
                each.ref, each.spec.text,
                "; ".join(f"{near.ref} not: {', '.join(objections(fit))}" for near, fit in each.refused),
            )
            for each in plan.missing
        ]  # fmt: skip
        show(out, "Must be found elsewhere", ("at", "what", "of the donor"), rows)
    if plan.empty:
        empty = [(each.ref, each.spec.text, each.empty) for each in plan.empty]
        show(out, "Stays empty", ("at", "what", "why"), empty)
    left = write_refs([piece.ref for piece in plan.left_over])
    print(f"left over on {donor}: {left or 'nothing'}", file=out)
    print(f"filled already: {write_refs(found.filled) or 'nothing'}", file=out)
    told = [how(move) for move in plan.moves]
    print(
        f"{told.count('same')} to the same reference, {told.count('moved')} moved, "
        f"{told.count('substitute')} substitutes, {len(plan.missing)} to be found, {len(plan.empty)} empty",
        file=out,
    )
