"""`manage.py ready`: is a board safe to switch on?"""

import sys
from typing import Any, TextIO

from django.core.management.base import CommandParser

from inventory.answers import as_json
from inventory.management.readable import Readable
from inventory.models import Board
from inventory.refs import write_refs
from inventory.tables import show, stream_of
from repairs import readiness
from repairs.answers.ready import ready_answer
from repairs.management.named import row_named
from repairs.proving.items import Item
from repairs.proving.ready import READY, Readiness

HEADINGS = ("check", "of", "state", "why")


class Command(Readable):
    help = (
        "Show whether a board is safe to switch on, in the order of bringing it up.\n"
        "Exit status 1 where it is not ready.\n\nExamples:\n"
        '  python3 manage.py ready "Gannet, from the Merlin"\n'
        '  python3 manage.py ready "Tern C, bare board" --all --json'
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("board", metavar="BOARD", help="the name of the board, or its number")
        parser.add_argument("--all", action="store_true", help="also what passes")
        parser.add_argument("--json", action="store_true", help="print as the API answers it")

    def handle(self, *args: Any, **options: Any) -> None:
        board = row_named(Board.objects.select_related("design"), options["board"], "board")
        judged = readiness.judge(board)
        items = [item for item in judged.items if options["all"] or item.state != "pass"]
        if options["json"]:
            self.print_json(as_json(ready_answer(board, judged, items)))
        else:
            print_ready(stream_of(self.stdout), board, judged, items)
        if judged.verdict != READY:
            sys.exit(1)


def print_ready(out: TextIO, board: Board, judged: Readiness, items: list[Item]) -> None:
    """The items as a table, then the verdict and what to mind."""
    rows = [(item.check, item.subject or write_refs(item.refs), item.state, item.reason) for item in items]
    show(out, f"{board.name}: ready to power?", HEADINGS, rows)
    print(f"{board.name}: {judged.text}", file=out)
    for caution in judged.cautions:
        print(f"- {caution}", file=out)
