"""`manage.py find`: anything on the bench by what one remembers of it."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.answers import as_json
from inventory.label_codes import read_codes
from inventory.management.readable import Readable
from inventory.pictures.taking_in import PictureError
from inventory.tables import show, stream_of
from repairs.search import EACH, MAX_EACH, search


class Command(Readable):
    help = (
        "Find anything by what you remember of it.\n\nExamples:\n"
        "  python3 manage.py find R47\n"
        '  python3 manage.py find "tray 1"\n'
        "  python3 manage.py find 4k7 --json"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("text", nargs="*", metavar="TEXT")
        parser.add_argument("--picture", type=Path, metavar="FILE", help="the code on the label in a picture")
        parser.add_argument("--limit", type=int, default=EACH, help=f"of each sort, 1 to {MAX_EACH} ({EACH})")
        self.add_forms(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        if not 1 <= options["limit"] <= MAX_EACH:
            raise CommandError(f"--limit: expected a whole number from 1 to {MAX_EACH}")
        text = " ".join(options["text"])
        if (options["picture"] is not None) == bool(text):
            raise CommandError("say what to find, or give a --picture of a label")
        if options["picture"] is not None:
            text = _code_in(options["picture"])
        answer = search(text, each=options["limit"], people=True)
        if options["json"]:
            self.print_json(as_json(answer))
        elif answer.opens:
            self.stdout.write(f"{text}: the page {answer.opens}")
        elif not answer.results:
            raise CommandError(f"nothing here matches {text!r}")
        else:
            rows = [(each.type, each.label, each.what, each.where) for each in answer.results]
            show(stream_of(self.stdout), "", ("type", "label", "what it is", "where"), rows)
            if answer.more:
                self.stdout.write("there are more: type more of it, or raise --limit")


def _code_in(picture: Path) -> str:
    """What the largest code in a picture says."""
    try:
        codes = read_codes(picture.read_bytes())
    except (PictureError, OSError) as error:
        raise CommandError(f"{picture}: {error}") from None
    if not codes:
        raise CommandError(f"{picture}: no code is to be read in it")
    return codes[0]
