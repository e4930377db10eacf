"""`manage.py buy`: what is left to buy; ordering it, and receiving what came."""

from argparse import SUPPRESS
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser

from inventory import ledger
from inventory.api.fields import kept_part
from inventory.ledger import Refused
from inventory.management.readable import Readable
from inventory.models import Place
from inventory.refs import write_refs
from inventory.sheets.names import PlaceNames
from inventory.tables import show, stream_of
from repairs import purchases
from repairs.api.buy import OrderSerializer, as_json
from repairs.api.purchases import PurchaseSerializer
from repairs.buy_list import Item, OrderLine, ToBuy, order, read_postage, to_buy
from repairs.management.named import jobs_named, number_in, person_named
from repairs.models import Purchase
from repairs.purchases import MOST_PIECES
from repairs.telling import money

HEADINGS = ("part", "what", "needed", "pieces", "packs", "price", "from", "completes", "for")
ON_ORDER = ("purchase", "what", "pieces", "each", "from")


class Command(Readable):
    help = (
        "Show what is left to buy after the best use of everything free, merged across jobs, in whole\n"
        "packs, and what is on order.  `order` puts parts of the list on order, `receive` puts what came in\n"
        "a drawer.\n\n"
        "Examples:\n"
        "  python3 manage.py buy --postage 3.50\n"
        "  python3 manage.py buy --out buy.xlsx\n"
        '  python3 manage.py buy order "18 ways socket, DIP, dip18" --from "Harbour Radio" --price 0.20\n'
        '  python3 manage.py buy receive 3 --to "Tray 1" --pieces 2\n\n'
        "The sheet goes back in, its lines marked: import_sheet buy.xlsx --as buy"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--job", action="append", metavar="JOB", help="only what this job lacks (repeatable)"
        )
        parser.add_argument("--borrow", action="store_true", help="also draw on working boards")
        parser.add_argument(
            "--ask", action="store_true", help="also draw on pieces that a person must decide on"
        )
        parser.add_argument("--postage", metavar="AMOUNT", help="for the whole order, shared over the lines")
        self.add_forms(parser, sheet=True)
        what = parser.add_subparsers(dest="what", metavar="order | receive")
        ordering = what.add_parser("order", help="put parts of the list on order")
        ordering.add_argument(
            "parts", nargs="+", metavar="PART", help="number of a part, or what it is, as on the list"
        )
        ordering.add_argument("--pieces", metavar="N", help="so many, of one part; else as on the list")
        ordering.add_argument("--price", metavar="PRICE", help="for one piece, of one part")
        ordering.add_argument("--from", dest="bought_from", default="", metavar="WHO", help="the shop")
        receiving = what.add_parser("receive", help="put what came in a drawer")
        receiving.add_argument("purchase", metavar="PURCHASE", help="its number, as on the list")
        receiving.add_argument("--to", required=True, metavar="PLACE", help="a place, by its name or path")
        receiving.add_argument("--pieces", metavar="N", help="so many came; the rest stays on order")
        for parser in (ordering, receiving):
            parser.add_argument(
                "--json", action="store_true", default=SUPPRESS, help="print what was bought as JSON"
            )
        receiving.add_argument("--by", metavar="NAME", help="who puts them there")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            match options["what"]:
                case "order":
                    self.tell(self.order(options), options)
                case "receive":
                    self.tell([self.receive(options)], options)
                case _:
                    self.tell_list(options)
        except Refused as refused:
            raise CommandError(refused.detail) from None

    def tell_list(self, options: dict[str, Any]) -> None:
        jobs, how = jobs_named(options["job"]), {name: options[name] for name in ("borrow", "ask")}
        postage = options["postage"]
        if options["out"]:
            asked = {name: [said] for name, said in how.items()}
            self.write_export(
                options["out"], "buy", {"job": jobs or [], "postage": [postage] if postage else [], **asked}
            )
            return
        try:
            found = to_buy(jobs, postage=read_postage(postage) if postage else None, **how)
        except ValueError as refused:
            raise CommandError(f"--postage {postage}: {refused}") from None
        if options["json"]:
            self.print_json(as_json(found))
            return
        out = stream_of(self.stdout)
        print_buy(out, found)
        print_on_order(out, Purchase.objects.filter(state=Purchase.State.ORDERED).order_by("id"))

    def order(self, options: dict[str, Any]) -> list[Purchase]:
        items = list(to_buy().items)
        asked = [_on_the_list(items, each) for each in options["parts"]]
        if len(asked) > 1 and (options["pieces"] or options["price"]):
            raise CommandError("--pieces and --price go with one part")
        if len({item.spec for item in asked}) < len(asked):
            raise CommandError("a part stands there twice: want it once")
        said = {"price": options["price"], "from": options["bought_from"] or None}
        lines = [
            {
                "part": item.part if item.part is not None else item.spec.to_dict(),
                "quantity": options["pieces"] or item.pieces,
                **{name: value for name, value in said.items() if value is not None},
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
        number, pieces = number_in(options["purchase"]), options["pieces"]
        found = Purchase.objects.select_related("part__spec").filter(pk=number).first() if number else None
        if found is None:
            known = Purchase.objects.filter(state=Purchase.State.ORDERED).order_by("id")
            told = "; ".join(f"{each.pk}: {each}" for each in known.select_related("part")[:20])
            raise CommandError(
                f"no purchase has the number {options['purchase']}; on order: {told or 'none'}"
            )
        count = number_in(pieces) if pieces else found.quantity
        if count is None or not 1 <= count <= MOST_PIECES:
            raise CommandError(f"--pieces {pieces}: want a whole number from 1 to {MOST_PIECES:,}")
        place = _place_named(options["to"])
        return purchases.receive(found, ledger.spot_of(place), by=person_named(options["by"]), quantity=count)

    def tell(self, bought: Sequence[Purchase], options: dict[str, Any]) -> None:
        if options["json"]:
            self.print_json({"purchases": PurchaseSerializer(bought, many=True).data})
            return
        for each in bought:
            where = f", lot {each.lot_id} in {each.place}" if each.lot_id is not None else ""
            self.stdout.write(f"purchase {each.pk}: {each}, {each.state}{where}")


def _on_the_list(items: Sequence[Item], named: str) -> Item:
    number = number_in(named)
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
        for name, told in line.items():
            yield f"--{'pieces' if name == 'quantity' else name}: {told[0]}"


def print_buy(out: TextIO, found: ToBuy) -> None:
    """The list, the smallest sets of lines that complete jobs, and what all of it costs."""
    rows = [
        (
            str(item.part or ""), item.name, str(item.quantity), str(item.pieces),
            f"{item.packs} of {item.pack_size}" if item.pack_size > 1 else "", _cost(item), item.bought_from,
            ", ".join(found.jobs[job] for job in item.completes),
            "; ".join(f"{each.wanting.name} {write_refs(each.wanting.refs)}".rstrip() for each in item.jobs),
        )
        for item in found.items
    ]  # fmt: skip
    show(out, "To buy", HEADINGS, rows)
    sets = [
        (
            "; ".join(found.items[line].name for line in each.lines), money(each.price),
            ", ".join(found.jobs[job] for job in each.jobs),
        )
        for each in found.sets
    ]  # fmt: skip
    if sets:
        show(out, "What completes jobs", ("buy", "price", "completes"), sets)
    known = money(found.known_price) or "0"
    price = money(found.price) if found.price is not None else f"{known} and what has no price yet"
    postage = f", postage {money(found.postage)}" if found.postage is not None else ""
    print(
        f"{len(found.items)} lines, {sum(i.pieces for i in found.items)} pieces: {price}{postage}", file=out
    )


def _cost(item: Item) -> str:
    postage: Decimal | None = item.postage
    return f"{money(item.price)}{f' + {money(postage)}' if postage else ''}".strip(" +")


def print_on_order(out: TextIO, rows: Any) -> None:
    """What is on its way."""
    cells = [
        (str(each.pk), str(each.part), str(each.quantity), money(each.price), each.bought_from)
        for each in rows.select_related("part")
    ]
    if cells:
        show(out, "On order", ON_ORDER, cells)
