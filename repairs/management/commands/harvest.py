"""`manage.py harvest`: what to lift off which donor, board by board."""

from typing import Any, TextIO

from django.core.management.base import CommandParser

from inventory.answers import as_json
from inventory.management.readable import Readable
from inventory.tables import stream_of
from repairs.answers.harvest import HarvestPlan, harvest_plan
from repairs.answers.harvest.answer import LIFTS
from repairs.answers.harvest.question import HARVEST
from repairs.answers.parameters import add_arguments
from repairs.management.named import jobs_named
from repairs.proving.cautions import DEFER


class Command(Readable):
    help = (
        "Show the fewest lifts that close what donors can close of the open jobs: by board, in lifting\n"
        "order, with what to mind first and what else to take for the drawers.\n\nExamples:\n"
        "  python3 manage.py harvest\n"
        '  python3 manage.py harvest --job "Tern C rebuild" --out harvest.xlsx'
    )

    def add_arguments(self, parser: CommandParser) -> None:
        add_arguments(parser, *HARVEST.parameters)
        self.add_forms(parser, sheet=True)

    def handle(self, *args: Any, **options: Any) -> None:
        jobs = jobs_named(options["job"])
        if options["out"]:
            self.write_export(options["out"], "harvest", {"job": jobs or []})
            return
        answer = harvest_plan(jobs)
        if options["json"]:
            self.print_json(as_json(answer))
        else:
            print_harvest(stream_of(self.stdout), answer)


def print_harvest(out: TextIO, answer: HarvestPlan) -> None:
    """Each board: what to mind, then the lifts; then what no board can give."""
    for work in answer.boards:
        print(f"At {work.name}, mind:", file=out)
        if work.works:
            print(f"- {work.works}: it is seldom worth its parts.", file=out)
        for text in (*(each.text for each in work.cautions), DEFER):
            print(f"- {text}", file=out)
        LIFTS.show(out, work.steps, f"Lift off {work.name}")
        print(file=out)
    for piece in answer.blocked:
        where = f"{piece.name} {piece.ref}".rstrip()
        print(f"not lifted: {piece.spec_text} off {where}: {piece.caution.text}", file=out)
    for each in answer.out_of_reach:
        print(f"out of reach: {each.quantity} x {each.spec_text}", file=out)
    sums = answer.totals
    print(
        f"{sums.boards} boards, {sums.lifts} pieces to lift for jobs, {sums.extras} for the drawers", file=out
    )
