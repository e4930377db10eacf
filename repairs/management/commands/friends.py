"""`manage.py friends`: other workshops, their lists, who has what is lacking, and what is asked of them."""

import json
from argparse import SUPPRESS
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.answers import as_json
from inventory.api.versions import claim
from inventory.ledger import spot_of
from inventory.management.arguments import read_file
from inventory.management.readable import Readable
from inventory.models import Lot, Place
from inventory.places import paths
from inventory.tables import show, stream_of
from inventory.whole_numbers import whole_number
from repairs.answers.buy.question import POSTAGE
from repairs.friends import exchange, giving, lists
from repairs.friends.keys import facts_of_key, refuse_key_of_another
from repairs.friends.match import Friends, friends
from repairs.friends.signing import fingerprint, read_key
from repairs.management.named import option_read, person_named, row_named
from repairs.sharing_models import Friend, FriendAsk, FriendLine


class Command(Readable):
    help = (
        "Show who has what open jobs lack, whom we could help, and the fewest parcels (then the least\n"
        "postage) that close the most jobs; bring in a list; ask for pieces and say how far they are.\n\n"
        "Examples:\n"
        "  python3 manage.py friends\n"
        '  python3 manage.py friends add "Lantern Street" --reach "post box 7" --postage 4.20\n'
        "  python3 manage.py friends key\n"
        '  python3 manage.py friends list "Lantern Street" their-spare.json\n'
        "  python3 manage.py friends ask 31 --pieces 2\n"
        '  python3 manage.py friends give "Lantern Street" 7 --pieces 4\n'
        '  python3 manage.py friends move 5 arrived --to "Tray 1"'
    )

    def add_arguments(self, parser: CommandParser) -> None:
        self.add_forms(parser)
        what = parser.add_subparsers(dest="what", metavar="add | key | list | ask | move | give")
        new = what.add_parser("add", help="a workshop")
        new.add_argument("name", metavar="NAME", help="its name")
        new.add_argument("--reach", default="", help="how to reach it")
        new.add_argument("--postage", help="what a parcel costs")
        keeping = what.add_parser("key", help="show the key of this bench, or keep that of a friend")
        keeping.add_argument("friend", nargs="?", metavar="FRIEND", help="its name or number")
        keeping.add_argument("key", nargs="?", metavar="KEY", help="what it gives is signed by this; '': any")
        keeping.add_argument("--json", action="store_true", default=SUPPRESS, help="print it as JSON")
        into = what.add_parser("list", help="import a friend's list")
        into.add_argument("friend", metavar="FRIEND", help="its name or number")
        into.add_argument("file", type=Path, help="the list, as `spare export` writes it")
        gift = what.add_parser("give", help="give pieces of a lot to a friend: they leave the bench")
        gift.add_argument("friend", metavar="FRIEND", help="its name or number")
        gift.add_argument("lot", metavar="LOT", help="the number of the lot")
        gift.add_argument("--pieces", default="1", metavar="N", help="how many")
        gift.add_argument("--note", default="", metavar="TEXT", help="more words, kept as they are")
        gift.add_argument("--by", metavar="NAME", help="who gave them")
        asking = what.add_parser("ask", help="ask for pieces")
        asking.add_argument("line", metavar="LINE", help="the number of the line, as listed")
        asking.add_argument("--pieces", default="1", metavar="N", help="how many")
        moving = what.add_parser("move", help="say how far a request is")
        moving.add_argument("ask", metavar="NUMBER", help="of what was asked for")
        moving.add_argument(
            "state", choices=[each for each in FriendAsk.State.values if each != "asked"], help="its state"
        )
        moving.add_argument("--to", metavar="PLACE", help="the drawer or tray, once it arrived")
        moving.add_argument("--by", metavar="NAME", help="who put it there")

    def handle(self, *args: Any, **options: Any) -> None:
        match options["what"]:
            case "add":
                self.add(options)
            case "key":
                self.key(options)
            case "list":
                self.take(options)
            case "ask":
                line = FriendLine.objects.filter(pk=whole_number(options["line"]) or 0).first()
                if line is None:
                    raise CommandError(f"no line has the number {options['line']}")
                asked = exchange.ask(line, whole_number(options["pieces"]) or 0)
                self.stdout.write(f"{asked}: asked for, number {asked.pk}")
            case "give":
                self.give(options)
            case "move":
                self.move(options)
            case _:
                self.print_list(options)

    def add(self, options: dict[str, Any]) -> None:
        postage = option_read(POSTAGE, options["postage"])
        if Friend.objects.filter(name=options["name"]).exists():
            raise CommandError(f"{options['name']} exists already")
        friend = Friend.objects.create(name=options["name"], reach=options["reach"], postage=postage)
        self.stdout.write(f"{friend} is there: number {friend.pk}")

    def key(self, options: dict[str, Any]) -> None:
        if options["friend"] is None:
            facts = facts_of_key()
            text = f"{facts['key']}\nfingerprint {facts['fingerprint']}"
            self.stdout.write(json.dumps(facts) if options["json"] else text)
            return
        friend = row_named(Friend.objects.all(), options["friend"], "friend")
        if options["key"] is None:
            self.stdout.write(friend.key or f"no key of {friend} is kept")
            return
        key = read_key(options["key"]) if options["key"] else ""
        refuse_key_of_another(key, friend)
        claim(friend, key=key)
        self.stdout.write(f"{friend}: {fingerprint(key) if key else 'no key is kept'}")

    def take(self, options: dict[str, Any]) -> None:
        friend = row_named(Friend.objects.all(), options["friend"], "friend")
        data = read_file(options["file"])
        seen = exchange.take_list(friend, lists.read_list(data))
        self.stdout.write(f"{friend}: {seen.spare} lines to spare, {seen.lacking} lacking, as of {seen.made}")
        self.stdout.write(f"signed by {seen.signed_by}" if seen.signed_by else "not signed")

    def give(self, options: dict[str, Any]) -> None:
        friend = row_named(Friend.objects.all(), options["friend"], "friend")
        lot = Lot.objects.select_related("part__spec").filter(pk=whole_number(options["lot"]) or 0).first()
        if lot is None:
            raise CommandError(f"no lot has the number {options['lot']}")
        pieces, by = whole_number(options["pieces"]) or 0, person_named(options["by"])
        gift = giving.give(friend, lot, pieces, by=by, note=options["note"])
        self.stdout.write(f"movement {gift.movement_id}: {pieces} of {lot} to {friend}")

    def move(self, options: dict[str, Any]) -> None:
        asked = FriendAsk.objects.filter(pk=whole_number(options["ask"]) or 0).first()
        if asked is None:
            raise CommandError(f"no request has the number {options['ask']}")
        place = None
        if options["to"]:
            found = next((pk for pk, path in paths().items() if path == options["to"]), None)
            place = Place.objects.filter(pk=found or 0).first()
            if place is None:
                raise CommandError(f"there is no place {options['to']}")
        by = person_named(options["by"])
        to = spot_of(place) if place is not None else None
        moved = exchange.move_on(asked, options["state"], by=by, to=to)
        self.stdout.write(f"{moved}: {moved.state}" + (f", lot {moved.lot_id}" if moved.lot_id else ""))

    def print_list(self, options: dict[str, Any]) -> None:
        answer = friends()
        if options["json"]:
            self.print_json(as_json(answer))
            return
        out = stream_of(self.stdout)
        rows = [
            (
                str(row.line),
                f"{row.short} of {row.for_text}",
                f"{row.quantity} of {row.spec_text}",
                row.friend_name,
                row.grade,
            )
            for row in answer.have
        ]
        show(out, "Who has what is lacking", ("line", "lacking", "they have", "who", "fit"), rows)
        self.stdout.write(_parcels(answer))
        helps = [
            (
                row.friend_name,
                f"{row.wants} of {row.wants_text}",
                str(row.lot),
                f"{row.spare} of {row.spec_text}",
            )
            for row in answer.help
        ]
        show(out, "Whom we could help", ("who", "lacks", "lot", "to spare"), helps)
        swaps = [(each.name, each.swap) for each in answer.friends if each.swap]
        show(out, "How the swaps stand", ("who", "pieces"), swaps)


def _parcels(answer: Friends) -> str:
    plan = answer.parcels
    others = f"; others here could give {plan.of_others} first: ask them" if plan.of_others else ""
    if not plan.parcels:
        cut = f"no parcel was found; the search was cut short: {plan.how_far}"
        return (cut if plan.truncated else "no parcel would close a job") + others
    senders = ", ".join(f"{each.friend_name} ({len(each.lines)} lines)" for each in plan.parcels)
    cut = f"; the search was cut short: {plan.how_far}" if plan.truncated else ""
    closes = ", ".join(plan.closes)
    return (
        f"{len(plan.parcels)} parcel(s), from {senders}, close {closes}; postage {plan.postage}{cut}{others}"
    )
