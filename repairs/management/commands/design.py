"""`manage.py design`: a design out into one file, and one in; looked at first, and undone whole."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.answers import as_json
from inventory.attachments import AttachmentLost
from inventory.management.arguments import design_named, read_file
from inventory.management.readable import Readable, replace_file
from inventory.pictures.photos import PhotoLost
from inventory.tables import show, stream_of
from inventory.whole_numbers import whole_number
from repairs import design_files
from repairs.api.design_files import DesignBrought
from repairs.friends.keys import friend_behind
from repairs.management.named import person_named, row_named
from repairs.sharing_models import DesignTaken, Friend


class Command(Readable):
    help = (
        "Write a design with its pictures and what was seen on it into one file (.zip), or bring\n"
        "such a file in: what both have is kept side by side unless --take or --choose says otherwise.\n\n"
        "Examples:\n"
        '  python3 manage.py design export "Tern TR6 main board C" tern-c.zip\n'
        "  python3 manage.py design export 4 tern-c.zip --attachment memory-map.txt\n"
        "  python3 manage.py design import tern-c.zip --dry-run\n"
        "  python3 manage.py design import tern-c.zip --take theirs --choose positions/R7=mine\n"
        "  python3 manage.py design undo 3\n"
        "  python3 manage.py design schema"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        what = parser.add_subparsers(dest="what", required=True, metavar="export | import | undo | schema")
        out = what.add_parser("export", help="write a design into a file")
        out.add_argument("design", metavar="DESIGN", help="its name and revision, or its number")
        out.add_argument("file", type=Path, help="the file; what is there is replaced")
        out.add_argument(
            "--without", action="append", default=[], choices=design_files.LEAVABLE, help="leave this out"
        )
        out.add_argument(
            "--attachment", dest="attachments", action="append", default=[], metavar="FILE",
            help="with this data sheet or file that is kept with it: name or number; may be repeated",
        )  # fmt: skip
        into = what.add_parser("import", help="bring a file in")
        into.add_argument("file", type=Path, help="the file")
        into.add_argument("--dry-run", action="store_true", help="only show what it would bring")
        into.add_argument("--into", metavar="DESIGN", help="into this design, whatever name is in the file")
        into.add_argument(
            "--take", choices=design_files.TAKES, default=design_files.BOTH, help="where both differ"
        )
        into.add_argument(
            "--choose", action="append", default=[], metavar="KEY=TAKE", help="a single line otherwise"
        )
        into.add_argument(
            "--friend", metavar="FRIEND", help="whose it is: name or number; else whose key signed it"
        )
        into.add_argument("--by", metavar="NAME", help="who imports it")
        into.add_argument("--json", action="store_true", help="print as JSON, as the API answers it")
        back = what.add_parser("undo", help="take out again what a file brought")
        back.add_argument("taken", metavar="NUMBER", help="as the import said it")
        what.add_parser("schema", help="print the JSON Schema of design.json")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            match options["what"]:
                case "export":
                    design = design_named(options["design"])
                    with_it = design_files.files_named(design, options["attachments"])
                    data = design_files.file_of(design, options["without"], with_it)
                    replace_file(options["file"], iter([data]))
                    self.stdout.write(f"{options['file']} written")
                case "import":
                    self.bring(options)
                case "undo":
                    self.take_out(options["taken"])
                case _:
                    self.stdout.write(json.dumps(design_files.schema(), indent=2))
        except (PhotoLost, AttachmentLost) as lost:
            raise CommandError(str(lost)) from None

    def bring(self, options: dict[str, Any]) -> None:
        data = read_file(options["file"])
        opened = design_files.read(data)
        into = options["into"]
        design = design_named(into) if into else design_files.named_as(opened.document)
        how = options["take"], _choices(options["choose"])
        named = options["friend"]
        taken, friend = None, row_named(Friend.objects.all(), named, "friend") if named else None
        if options["dry_run"]:
            friend = friend_behind(friend, opened.signature)
            merged = design_files.preview(opened, design, *how)
        else:
            by = person_named(options["by"])
            taken, merged = design_files.import_design(opened, design, *how, by=by, friend=friend)
            friend = taken.friend
        answer = DesignBrought.of(opened, merged, design, taken, friend)
        if options["json"]:
            self.print_json(as_json(answer))
            return
        rows = [
            (line.key, line.state.replace("_", " "), line.mine, line.theirs, line.takes)
            for line in answer.lines
        ]
        show(stream_of(self.stdout), answer.title, ("what", "state", "mine", "theirs", "taken"), rows)
        if answer.signed_by:
            self.stdout.write(f"signed by {answer.signed_by}")
        if friend is not None:
            self.stdout.write(f"of {friend}")
        if answer.caution:
            self.stdout.write(answer.caution)
        done = (
            "nothing was changed" if taken is None else f"imported: `design undo {taken.pk}` removes it again"
        )
        self.stdout.write(done)

    def take_out(self, number: str) -> None:
        taken = DesignTaken.objects.filter(pk=whole_number(number) or 0).first()
        if taken is None:
            raise CommandError(f"no import has the number {number}")
        design_files.undo(taken)
        self.stdout.write(f"{taken.title} is as it was before")


def _choices(given: list[str]) -> dict[str, str]:
    choices = {}
    for text in given:
        key, _sign, take = text.rpartition("=")
        if not key or take not in design_files.TAKES:
            raise CommandError(f"--choose {text}: expected a key, =, and {', '.join(design_files.TAKES)}")
        choices[key] = take
    return choices
