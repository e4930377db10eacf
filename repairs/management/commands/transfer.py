"""`manage.py transfer`: what of a donor goes where on the board of a job."""

from typing import Any, TextIO

from django.core.management.base import CommandParser

from inventory.answers import as_json
from inventory.management.readable import Readable
from inventory.models import Board
from inventory.refs import write_refs
from inventory.tables import stream_of
from repairs.answers.transfer import Transfer, transfer_plan
from repairs.answers.transfer.answer import EMPTY, MISSING, MOVES
from repairs.management.named import row_named
from repairs.models import Job
from repairs.proving.cautions import DEFER


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
        answer = transfer_plan(job, donor)
        if options["json"]:
            self.print_json(as_json(answer))
        else:
            print_transfer(stream_of(self.stdout), job, answer)


def print_transfer(out: TextIO, job: Job, answer: Transfer) -> None:
    """What to mind, the moves, and what is not moved."""
    print(f"At {answer.from_name}, mind:", file=out)
    for text in (answer.notice, *(caution.text for caution in answer.cautions), DEFER):
        if text:
            print(f"- {text}", file=out)
    title = f"From {answer.from_name} to {answer.to_name}, for {job}"
    MOVES.show(out, enumerate(answer.moves, 1), title)
    if answer.missing:
        MISSING.show(out, answer.missing)
    if answer.empty:
        EMPTY.show(out, answer.empty)
    left = write_refs([piece.ref for piece in answer.left_over])
    print(f"left over on {answer.from_name}: {left or 'nothing'}", file=out)
    print(f"filled already: {write_refs(answer.filled) or 'nothing'}", file=out)
    sums = answer.totals
    print(
        f"{sums.same} to the same reference, {sums.moved} moved, {sums.substitute} substitutes, "
        f"{sums.missing} to be found, {sums.empty} empty",
        file=out,
    )
