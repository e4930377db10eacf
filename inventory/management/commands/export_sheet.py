"""`manage.py export_sheet`: the workshop into a spreadsheet."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory import sheets
from inventory.management.readable import Readable, form_of, replace_file


class Command(Readable):
    help = (
        "Write a spreadsheet (xlsx or csv, by the file's name), or an empty one to fill in.\n\nExample:\n"
        "  python3 manage.py export_sheet stock drawers.xlsx\n"
        '  python3 manage.py export_sheet design parts.xlsx --with "design=Tern TR6 main board C"\n'
        "  python3 manage.py export_sheet donor survey.xlsx --empty"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        kinds = list(dict.fromkeys([*sheets.EXPORTS, *sheets.IMPORTS]))
        parser.add_argument("kind", choices=kinds, help="what to write")
        parser.add_argument("file", type=Path, help="an .xlsx or .csv file; what is there is replaced")
        parser.add_argument(
            "--empty", action="store_true", help="headings, drop-downs and notes only, to fill in"
        )
        parser.add_argument(
            "--with",
            dest="options",
            action="append",
            default=[],
            metavar="NAME=VALUE",
            help="as in the API's query",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        kind, path = options["kind"], options["file"]
        form = form_of(path)
        if options["empty"] and kind not in sheets.IMPORTS:
            raise CommandError(f"empty sheets are of {', '.join(sheets.IMPORTS)}")
        if not options["empty"] and kind not in sheets.EXPORTS:
            raise CommandError(f"{kind} is only written --empty; expected {', '.join(sheets.EXPORTS)}")
        try:
            pieces = (
                sheets.template(kind, form)
                if options["empty"]
                else self._pieces(kind, form, options["options"])
            )
            replace_file(path, pieces)
        except sheets.BadOption as refused:
            raise CommandError(f"--with {refused}") from None
        self.stdout.write(f"{path} written")

    def _pieces(self, kind: str, form: str, given: list[str]) -> Iterator[bytes]:
        known = sheets.EXPORTS[kind].options
        asked: dict[str, list[str]] = {}
        for text in given:
            name, sign, value = text.partition("=")
            if not sign or name not in known:
                raise CommandError(
                    f"--with {text}: {kind} takes {', '.join(f'{each}=…' for each in known) or 'no options'}"
                )
            asked.setdefault(name, []).append(value)
        return sheets.export(kind, form, asked)
