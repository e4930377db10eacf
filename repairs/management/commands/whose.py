"""`manage.py whose`: whose lots, boards and orders are; made somebody's, or all of a person's handed over."""

from typing import Any

from django.contrib.auth.models import User
from django.core.management.base import CommandError, CommandParser
from django.db.models import Count

from inventory import ownership
from inventory.management.readable import Readable
from inventory.models import Board, Lot
from inventory.tables import show, stream_of
from inventory.whole_numbers import whole_number
from repairs import purchases
from repairs.management.named import person_named, purchase_numbered, row_named
from repairs.models import Job

EVERYBODY = "everybody"


class Command(Readable):
    help = (
        "Show how many lots, boards and jobs are whose; make lots, a board or what is on order somebody's,\n"
        "or everybody's; hand over all that is a person's.  That is for them to do, or for an owner once\n"
        "they left.\n\n"
        "Examples:\n"
        "  python3 manage.py whose\n"
        "  python3 manage.py whose lot 5 7 --to merle --by merle\n"
        '  python3 manage.py whose board "Plover donor" --to everybody --by merle\n'
        "  python3 manage.py whose order 3 --to wren --by wren\n"
        "  python3 manage.py whose all merle --to wren --by robin"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        self.add_forms(parser)
        what = parser.add_subparsers(dest="what", metavar="lot | board | order | all")
        lots = what.add_parser("lot", help="make lots somebody's")
        lots.add_argument("lots", nargs="+", metavar="LOT", help="numbers of lots")
        board = what.add_parser("board", help="make a board somebody's, with its owner's pieces on it")
        board.add_argument("board", metavar="BOARD", help="its name or number")
        bought = what.add_parser("order", help="say for whom something on order is bought")
        bought.add_argument("order", metavar="PURCHASE", help="its number, as `buy` lists it")
        whole = what.add_parser("all", help="hand over all that is a person's")
        whole.add_argument("person", metavar="PERSON", help="their name")
        for each in (lots, board, bought, whole):
            each.add_argument("--to", required=True, metavar="NAME", help="whose it becomes, or everybody")
            each.add_argument("--by", metavar="NAME", help="who says so")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["what"] is None:
            self.list(options["json"])
            return
        to, by = _heir(options["to"]), person_named(options["by"])
        whose = f"{to.username if to else EVERYBODY}'s"
        match options["what"]:
            case "lot":
                numbers = [whole_number(each) or 0 for each in options["lots"]]
                known = set(Lot.objects.filter(pk__in=numbers).values_list("id", flat=True))
                unknown = [text for text in options["lots"] if (whole_number(text) or 0) not in known]
                if unknown:
                    raise CommandError(f"no lot has the number {', '.join(unknown)}")
                changed = ownership.give_lots(known, to, by=by)
                self.stdout.write(f"{changed} became {whose}")
            case "board":
                row = row_named(Board.objects.all(), options["board"], "board")
                lots = ownership.give_board(row, to, by=by)
                self.stdout.write(f"{row} is {whose}, and {_lots(lots)} on it")
            case "order":
                purchase = purchase_numbered(options["order"])
                purchases.hand_on(purchase, to, by=by)
                self.stdout.write(f"{purchase} is bought for {to.username if to else EVERYBODY}")
            case _:
                person = person_named(options["person"])
                assert person is not None  # a name is required
                lots, boards = ownership.hand_all_over(person, to, by=by)
                self.stdout.write(f"{_lots(lots)} and {_boards(boards)} of {person} became {whose}")

    def list(self, as_json: bool) -> None:
        counts = [
            dict(rows.order_by().values_list("owner__username").annotate(Count("id")))
            for rows in (Lot.objects.all(), Board.objects.all(), Job.objects.all())
        ]
        people = [None, *User.objects.order_by("username").values_list("username", flat=True)]
        rows = [(name, *(count.get(name, 0) for count in counts)) for name in people]
        if as_json:
            columns = "owner", "lots", "boards", "jobs"
            self.print_json([dict(zip(columns, row, strict=True)) for row in rows])
            return
        table = [(name or EVERYBODY, *map(str, numbers)) for name, *numbers in rows]
        show(stream_of(self.stdout), "Whose", ("whose", "lots", "boards", "jobs"), table)


def _lots(count: int) -> str:
    return f"{count} lot{'' if count == 1 else 's'}"


def _boards(count: int) -> str:
    return f"{count} board{'' if count == 1 else 's'}"


def _heir(name: str) -> User | None:
    if name == EVERYBODY:
        return None
    person = ownership.who_may_own().filter(username=name).first()
    if person is None:
        person_named(name)  # says who there is, where there is none of that name
        raise CommandError(f"{name} does no work here, so nothing becomes theirs")
    return person
