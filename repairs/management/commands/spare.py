"""`manage.py spare`: what can be spared and what is lacking; the owner's ticks; the list given away."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.answers import as_json
from inventory.management.readable import Readable, replace_file
from inventory.tables import show, stream_of
from inventory.whole_numbers import whole_number
from repairs.friends import lists
from repairs.friends.keys import signature_of
from repairs.friends.spare import spare_and_lacking, spare_document, tick
from repairs.management.named import person_named


class Command(Readable):
    help = (
        "Show what can be spared and what is lacking; tick what may go; write the list that is given away.\n"
        "It holds what was ticked and nothing else: no names, prices or places.\n\nExamples:\n"
        "  python3 manage.py spare\n"
        "  python3 manage.py spare tick --give 7=2 --keep 9 --tell 12\n"
        "  python3 manage.py spare export spare.json"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        self.add_forms(parser)
        what = parser.add_subparsers(dest="what", metavar="tick | export")
        ticks = what.add_parser("tick", help="say what may go")
        ticks.add_argument(
            "--give", action="append", default=[], metavar="LOT=PIECES", help="how many may go; 0: none"
        )
        ticks.add_argument(
            "--keep", action="append", default=[], metavar="LOT", help="none of it is ever spare"
        )
        ticks.add_argument(
            "--tell", action="append", default=[], metavar="REQUIREMENT", help="tell that it is lacking"
        )
        ticks.add_argument(
            "--untell", action="append", default=[], metavar="REQUIREMENT", help="stop telling it"
        )
        ticks.add_argument("--by", metavar="NAME", help="who ticks: a person's own is ticked by them alone")
        out = what.add_parser("export", help="write the list")
        out.add_argument("file", type=Path, help="the file; what is there is replaced")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["what"] == "tick":
            gives = dict(_pair(each) for each in options["give"])
            lacking = {_row(each): True for each in options["tell"]}
            lacking |= {_row(each): False for each in options["untell"]}
            tick(
                gives, {_row(each): True for each in options["keep"]}, lacking, by=person_named(options["by"])
            )
        if options["what"] == "export":
            replace_file(options["file"], iter([lists.as_text(spare_document(), signature_of)]))
            self.stdout.write(f"{options['file']} written")
            return
        both = spare_and_lacking()
        if options["json"]:
            self.print_json(as_json(both))
            return
        out = stream_of(self.stdout)
        lines = [
            (
                str(each.lot),
                each.spec_text,
                each.condition,
                str(each.spare),
                str(each.ticked),
                "; ".join(each.kept),
            )
            for each in both.spare
        ]
        show(out, "To spare", ("lot", "pieces", "condition", "spare", "ticked", "kept"), lines)
        lacks = [
            (
                str(each.requirement),
                each.spec_text,
                str(each.short),
                each.accepts,
                "yes" if each.ticked else "",
            )
            for each in both.lacking
        ]
        show(out, "Lacking", ("requirement", "what", "short", "accepts", "told"), lacks)


def _row(text: str) -> int:
    number = whole_number(text)
    if number is None:
        raise CommandError(f"{text}: expected a number, as listed")
    return number


def _pair(text: str) -> tuple[int, int]:
    lot, _sign, pieces = text.partition("=")
    return _row(lot), _row(pieces)
