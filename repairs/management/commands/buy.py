"""`manage.py buy`: what is left to buy; ordering it, and receiving what came."""

from argparse import SUPPRESS
from collections.abc import Iterable, Sequence
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser

from inventory import ledger
from inventory.answers import as_json
from inventory.api.fields import kept_part
from inventory.management.readable import Readable
from inventory.models import Place
from inventory.sheets.names import PlaceNames
from inventory.tables import show, stream_of
from inventory.whole_numbers import MAX_PIECES, whole_number
from repairs import purchases
from repairs.answers.buy import LineToBuy, OrderLine, order, to_buy
from repairs.answers.buy.answer import (
    ASKS,
    COMPLETIONS,
    FRIENDS,
    LINES,
    QUESTIONS,
    Buy,
    of_completions,
)
from repairs.answers.buy.question import ABOUT_FRIENDS, BUY_LIST, POSTAGE
from repairs.answers.parameters import add_arguments
from repairs.api.ordering import OrderSerializer
from repairs.api.purchases import PurchaseSerializer
from repairs.explanations import money, pieces
from repairs.management.named import jobs_named, option_read, person_named, purchase_numbered
from repairs.models import Purchase

ON_ORDER = ("purchase", "what", "pieces", "each", "from", "whose")


class Command(Readable):
    help = (
        "Show what is left to buy after the best use of everything free, merged across jobs, in whole\n"
        "packs, and what is on order.  `order` puts parts of the list on order, `receive` puts what came in\n"
        "a drawer.\n\n"
        "Examples:\n"
        "  python3 manage.py buy --postage 3.50\n"
        "  python3 manage.py buy --friends cost --postage 3.50\n"
        "  python3 manage.py buy --out buy.xlsx\n"
        "  python3 manage.py buy order 12 --friends first\n"
        '  python3 manage.py buy order "18-way socket, DIP-18" --from "Harbour Radio" --price 0.20\n'
        '  python3 manage.py buy receive 3 --to "Tray 1" --pieces 2\n\n'
        "The sheet goes back in, its lines marked: import_sheet buy.xlsx --as buy"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        add_arguments(parser, *BUY_LIST.parameters)
        self.add_forms(parser, sheet=True)
        what = parser.add_subparsers(dest="what", metavar="order | receive")
        ordering = what.add_parser("order", help="put parts of the list on order")
        ordering.add_argument(
            "parts", nargs="+", metavar="PART", help="number of a part, or what it is, as on the list"
        )
        ordering.add_argument("--pieces", metavar="N", help="how many, with one part; else as on the list")
        ordering.add_argument("--price", metavar="PRICE", help="for one piece, with one part")
        ordering.add_argument("--from", dest="bought_from", default="", metavar="WHO", help="the shop")
        ordering.add_argument(
            "--friends", default=SUPPRESS, metavar="WHICH",
            help=f"{', '.join(FRIENDS)}: order from the list as `buy --friends` shows it",
        )  # fmt: skip
        ordering.add_argument(
            "--postage", default=SUPPRESS, metavar="AMOUNT", help="of the order, for `--friends cost`"
        )
        receiving = what.add_parser("receive", help="put what came in a drawer")
        receiving.add_argument("purchase", metavar="PURCHASE", help="its number, as on the list")
        receiving.add_argument("--to", required=True, metavar="PLACE", help="a place, by its name or path")
        receiving.add_argument("--pieces", metavar="N", help="how many came; the rest stays on order")
        for parser in (ordering, receiving):
            parser.add_argument(
                "--json", action="store_true", default=SUPPRESS, help="print what was bought as JSON"
            )
        receiving.add_argument("--by", metavar="NAME", help="who puts them there")

    def handle(self, *args: Any, **options: Any) -> None:
        match options["what"]:
            case "order":
                self.print_orders(self.order(options), options)
            case "receive":
                self.print_orders([self.receive(options)], options)
            case _:
                self.print_list(options)

    def print_list(self, options: dict[str, Any]) -> None:
        jobs, asked = jobs_named(options["job"]), {name: options[name] for name in ("borrow", "ask")}
        friends, postage = option_read(ABOUT_FRIENDS, options["friends"]), options["postage"]
        if options["out"]:
            self.write_export(
                options["out"],
                "buy",
                {"job": jobs or [], "postage": [postage] if postage else [], "friends": [friends], **asked},
            )
            return
        answer = BUY_LIST.ask(jobs, postage=option_read(POSTAGE, postage), friends=friends, **asked)
        if options["json"]:
            self.print_json(as_json(answer))
            return
        out = stream_of(self.stdout)
        print_buy(out, answer)
        print_on_order(out, Purchase.objects.filter(state=Purchase.State.ORDERED).order_by("id"))

    def order(self, options: dict[str, Any]) -> list[Purchase]:
        friends = option_read(ABOUT_FRIENDS, options["friends"])
        items = to_buy(friends=friends, postage=option_read(POSTAGE, options["postage"])).results
        asked = [_on_the_list(items, each) for each in options["parts"]]
        if len(asked) > 1 and (options["pieces"] or options["price"]):
            raise CommandError("--pieces and --price go with one part")
        if len({item.spec for item in asked}) < len(asked):
            raise CommandError("a part is given twice: name it once")
        fields = {"price": options["price"], "from": options["bought_from"] or None}
        lines = [
            {
                "part": item.part if item.part is not None else item.spec.to_dict(),
                "quantity": options["pieces"] or item.pieces,
                **{name: value for name, value in fields.items() if value is not None},
            }
            for item in asked
        ]  # fmt: skip
        read = OrderSerializer(data={"lines": lines})
        if not read.is_valid():
            raise CommandError("; ".join(_problems(read.errors)))
        return order(
            [
                OrderLine(
                    kept_part(line["part"]), line["quantity"], line.get("price"), line.get("bought_from", "")
                )
                for line in read.validated_data["lines"]
            ]
        )

    def receive(self, options: dict[str, Any]) -> Purchase:
        found, pieces = purchase_numbered(options["purchase"]), options["pieces"]
        count = whole_number(pieces) if pieces else found.quantity
        if count is None or not 1 <= count <= MAX_PIECES:
            raise CommandError(f"--pieces {pieces}: expected a whole number from 1 to {MAX_PIECES:,}")
        place = _place_named(options["to"])
        return purchases.receive(found, ledger.spot_of(place), by=person_named(options["by"]), quantity=count)

    def print_orders(self, bought: Sequence[Purchase], options: dict[str, Any]) -> None:
        if options["json"]:
            self.print_json({"purchases": PurchaseSerializer(bought, many=True).data})
            return
        for each in bought:
            where = f", lot {each.lot_id} in {each.place}" if each.lot_id is not None else ""
            self.stdout.write(f"purchase {each.pk}: {each}, {each.state}{where}")


def _on_the_list(items: Sequence[LineToBuy], named: str) -> LineToBuy:
    number = whole_number(named)
    found = [item for item in items if named in (item.name, item.spec.text)] or [
        item for item in items if number is not None and item.part == number
    ]
    if not found:
        known = "; ".join(f"{item.part}: {item.name}" if item.part else item.name for item in items[:40])
        raise CommandError(f"{named} is not on the buy list; on it: {known or 'nothing'}")
    return found[0]


def _place_named(text: str) -> Place:
    names = PlaceNames()
    found = names.written_as(text)
    if len(found) != 1:
        could = " or ".join(names.paths[pk] for pk in found[:5])
        raise CommandError(f"{text} could be {could}: say which" if found else f"no place is named {text}")
    return Place.objects.get(pk=found[0])


def _problems(errors: Any) -> Iterable[str]:
    """What is wrong with the lines, by member."""
    for line in errors["lines"].values():
        for name, details in line.items():
            yield f"--{'pieces' if name == 'quantity' else name}: {details[0]}"


def print_buy(out: TextIO, answer: Buy) -> None:
    """The list, what needs an answer first, the smallest sets that complete jobs, and what it all costs."""
    LINES.show(out, answer.results)
    if answer.ask_friends:
        ASKS.show(out, answer.ask_friends)
    if answer.questions:
        QUESTIONS.show(out, answer.questions)
    if answer.completions:
        COMPLETIONS.show(out, of_completions(answer))
    sums = answer.totals
    known = money(sums.known_price) or "0"
    price = money(sums.price) if sums.price is not None else f"{known} and what has no price yet"
    postage = f", postage {money(sums.postage)}" if sums.postage is not None else ""
    print(f"{sums.lines} lines, {sums.pieces} pieces: {price}{postage}", file=out)
    if sums.from_others:
        print(f"left off it, to be asked of others here: {pieces(sums.from_others)}", file=out)
        for each in answer.ask_others:
            print(f"  {each.label}: {each.spec_text}, for {each.job_name}", file=out)
    if sums.from_friends:
        saved = ""
        if sums.saved is not None:
            words = f"costs more by {money(-sums.saved)}" if sums.saved < 0 else f"saves {money(sums.saved)}"
            saved = f", which {words}"
        print(f"left off it, to be asked of friends: {pieces(sums.from_friends)}{saved}", file=out)
    if sums.asked:
        print(f"left off it, asked of friends already: {pieces(sums.asked)}", file=out)


def _whose(bought: Purchase) -> str:
    return bought.owner.username if bought.owner else ""


def print_on_order(out: TextIO, rows: Any) -> None:
    """What is on its way."""
    cells = [
        (str(each.pk), str(each.part), str(each.quantity), money(each.price), each.bought_from, _whose(each))
        for each in rows.select_related("part", "owner")
    ]
    if cells:
        show(out, "On order", ON_ORDER, cells)
