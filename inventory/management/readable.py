"""What commands that answer a question share: help with examples, a table, JSON, or a spreadsheet."""

import json
import os
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError, CommandParser

from inventory import sheets
from inventory.management.helped import Helped


class Readable(Helped):
    """A command that tells what was asked, in the form that was asked for."""

    def add_forms(self, parser: CommandParser, *, sheet: bool = False) -> None:
        """`--json`, and `--out` where there is such a spreadsheet."""
        form = parser.add_mutually_exclusive_group()
        form.add_argument("--json", action="store_true", help="print as JSON, as the API answers it")
        if sheet:
            form.add_argument(
                "--out", type=Path, metavar="FILE", help="write an .xlsx or .csv file instead; it is replaced"
            )

    def print_json(self, answer: object) -> None:
        self.stdout.write(json.dumps(answer, default=str))

    def write_export(self, path: Path, name: str, options: Mapping[str, Sequence[object]]) -> None:
        """Write one of the exports.  CommandError where an option or the file will not do."""
        asked = {key: [_option_text(each) for each in values] for key, values in options.items() if values}
        form = form_of(path)
        try:
            replace_file(path, sheets.export(name, form, asked))
        except sheets.BadOption as refused:
            raise CommandError(str(refused)) from None
        self.stdout.write(f"{path} written")


def _option_text(value: object) -> str:
    return {True: "true", False: "false"}[value] if isinstance(value, bool) else str(value)


def form_of(path: Path) -> str:
    """xlsx or csv, by the name of a file.  CommandError where it ends in neither."""
    form = path.suffix.lower().removeprefix(".")
    if form not in sheets.FORMS:
        raise CommandError(f"{path}: expected a file name that ends in .xlsx or .csv")
    return form


def replace_file(path: Path, pieces: Iterator[bytes]) -> None:
    """Write beside the file and then put it in its place, so that a failure leaves no half of a file."""
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with beside.open("wb") as file:
            for piece in pieces:
                file.write(piece)
        # It is the person's file, not the workshop's: readable as whatever else they make.
        beside.chmod(0o666 & ~getattr(settings, "USUAL_UMASK", 0o077))
        beside.replace(path)
    except OSError as error:
        raise CommandError(f"{path}: {error.strerror or error}") from None
    finally:
        beside.unlink(missing_ok=True)
