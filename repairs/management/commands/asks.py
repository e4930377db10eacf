"""`manage.py asks`: what people at this bench ask of each other's own, and what they answer."""

from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.management.readable import Readable
from inventory.models import Lot
from inventory.tables import show, stream_of
from inventory.whole_numbers import whole_number
from repairs import asks
from repairs.api.asks import PieceAskSerializer
from repairs.management.named import person_named
from repairs.models import Need, PieceAsk


class Command(Readable):
    help = (
        "List what is asked of whom and not answered yet; ask for pieces of somebody's lot; answer, which\n"
        "only whose it is does, and whose yes reserves them; take back what was asked.\n\n"
        "Examples:\n"
        "  python3 manage.py asks\n"
        "  python3 manage.py asks --of merle\n"
        "  python3 manage.py asks ask 31 5 --pieces 2 --by wren\n"
        "  python3 manage.py asks yes 7 --by merle\n"
        '  python3 manage.py asks no 7 --by merle --note "I need them"\n'
        "  python3 manage.py asks withdraw 7 --by wren"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        self.add_forms(parser)
        parser.add_argument("--of", metavar="NAME", help="only what is asked of this person")
        parser.add_argument("--all", action="store_true", help="answered ones too")
        what = parser.add_subparsers(dest="what", metavar="ask | yes | no | withdraw")
        asking = what.add_parser("ask", help="ask for pieces of a lot")
        asking.add_argument("need", metavar="NEED", help="number of the need that they are for")
        asking.add_argument("lot", metavar="LOT", help="number of the lot")
        asking.add_argument("--pieces", default="1", metavar="N", help="how many (1)")
        others = [
            what.add_parser("yes", help="say yes, which reserves them"),
            what.add_parser("no", help="say no"),
            what.add_parser("withdraw", help="take back what was asked"),
        ]
        for each in others:
            each.add_argument("ask", metavar="NUMBER", help="of what was asked")
        for each in (asking, *others):
            each.add_argument(
                "--by", required=True, metavar="NAME", help="who asks, answers or takes it back"
            )
            each.add_argument("--note", default="", metavar="TEXT", help="a word with it")

    def handle(self, *args: Any, **options: Any) -> None:
        what = options["what"]
        if what is None:
            self.list(options)
            return
        by, note = person_named(options["by"]), options["note"][:400]
        if what == "ask":
            need = Need.objects.filter(pk=whole_number(options["need"]) or 0).first()
            lot = Lot.objects.filter(pk=whole_number(options["lot"]) or 0).first()
            if need is None or lot is None:
                missing = f"need has the number {options['need']}" if need is None else ""
                raise CommandError(f"no {missing or 'lot has the number ' + options['lot']}")
            pieces = whole_number(options["pieces"])
            if not pieces:
                raise CommandError(f"--pieces {options['pieces']}: expected a whole number from 1")
            asked = asks.ask(need, lot, pieces, by=by, note=note)
            self.stdout.write(f"{asked.owner} is asked: number {asked.pk}")
            return
        row = PieceAsk.objects.select_related("need").filter(pk=whole_number(options["ask"]) or 0).first()
        if row is None:
            raise CommandError(f"nothing that was asked has the number {options['ask']}")
        if what == "withdraw":
            done = asks.withdraw(row, by=by)
        else:
            done = asks.answer(row, what == "yes", by=by, note=note)
        self.stdout.write(f"{done}: {done.state}")

    def list(self, options: dict[str, Any]) -> None:
        rows = asks.told(PieceAsk.objects.order_by("id"))
        if not options["all"]:
            rows = rows.filter(state=PieceAsk.State.ASKED)
        if (owner := person_named(options["of"])) is not None:
            rows = rows.filter(owner=owner)
        if options["json"]:
            self.print_json({"results": PieceAskSerializer(rows, many=True).data})
            return
        table = [
            (
                str(each.pk), each.owner.username, each.by.username if each.by else "", str(each.quantity),
                each.lot.part.spec.text, f"{each.need.job.name} {each.need.ref}".rstrip(), each.state,
                each.answer or each.note,
            )
            for each in rows
        ]  # fmt: skip
        heads = "number", "of", "by", "pieces", "what", "for", "state", "note"
        show(stream_of(self.stdout), "Asked", heads, table)
