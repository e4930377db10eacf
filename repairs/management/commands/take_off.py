"""`manage.py take_off`: take a part off a board, and say how it is."""

from typing import Any

from django.core.management.base import CommandParser

from inventory.management.helped import Helped
from inventory.models import Board, Place
from repairs import known_to_work, taking_off
from repairs.management.named import person_named, row_named

AS_IT_WAS = "as-it-was"


class Command(Helped):
    help = (
        "Take the part at a position off a board.  It comes off as suspect unless told otherwise; what\n"
        "failed goes to the tray of failed parts, and is planned for nobody.\n\nExamples:\n"
        '  python3 manage.py take_off "Tern C, bare board" R11\n'
        '  python3 manage.py take_off "Tern C, bare board" R12 --condition faulty --scrap\n'
        '  python3 manage.py take_off "Tern C, bare board" U3 --condition good --to "Drawer 7"'
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("board", metavar="BOARD", help="the name of the board, or its number")
        parser.add_argument("ref", metavar="REF", help="the position")
        ways = [condition or AS_IT_WAS for condition, _words in taking_off.HOW]
        parser.add_argument("--condition", choices=ways, default=ways[0], help="how it comes off")
        where = parser.add_mutually_exclusive_group()
        where.add_argument("--to", metavar="PLACE", help="the name or number of a drawer or tray")
        where.add_argument("--scrap", action="store_true", help="into the scrap bin")
        parser.add_argument("--by", metavar="NAME", help="who takes it off")

    def handle(self, *args: Any, **options: Any) -> None:
        board = row_named(Board.objects.select_related("design", "place"), options["board"], "board")
        to = row_named(Place.objects.all(), options["to"], "place") if options["to"] else None
        condition = "" if options["condition"] == AS_IT_WAS else options["condition"]
        works = known_to_work.works(board)
        line = taking_off.take_off(
            board,
            options["ref"],
            condition=condition,
            to=Place.scrap() if options["scrap"] else to,
            by=person_named(options["by"]),
        )
        if works:
            self.stdout.write(f"{works}.")
        lot = line.to_lot or line.lot
        self.stdout.write(
            f"{board.name} {line.from_ref}: lot {lot.pk}, {lot.condition}, is in {line.to_place.name}"
        )
