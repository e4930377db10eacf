"""`manage.py restore`: a backup in the place of what is there."""

import os
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser
from django.db import connection

from inventory import backups
from inventory.backups.restoring import has_anything
from inventory.installation import tighten
from inventory.management.helped import Helped


class Command(Helped):
    help = (
        "Put a backup in the place of what is there, on SQLite or PostgreSQL, whichever it was taken from.\n"
        "What is there is kept first.  A damaged backup, or one of a newer Rehome, is refused and changes\n"
        "nothing.  Stop the server first: what people write meanwhile would be neither here nor there.\n\n"
        "Examples:\n  python3 manage.py restore /media/stick/saltmarsh.backup"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE", help="the backup")
        parser.add_argument("--yes", action="store_true", help="do not ask")

    def handle(self, *args: Any, **options: Any) -> None:
        path = options["file"].expanduser().absolute()
        try:
            with backups.opened(path) as backup:
                made_at = backup.manifest["made_at"]
            if not options["yes"] and has_anything():
                self.agree(f"the backup of {made_at} takes the place of what is in {settings.HOME}")
            restored = backups.restore(path)
        except backups.BadBackup as bad:
            raise CommandError(str(bad)) from None
        tighten()
        self.stdout.write(
            f"restored as of {restored.made_at}: {restored.rows} rows, {restored.pictures} pictures, "
            f"on {connection.display_name}"
        )
        if restored.kept:
            self.stdout.write(f"what was there is kept in {restored.kept}")
        for name, value in restored.settings.items():
            if os.environ.get(name) != value:
                self.stdout.write(f"it was taken with {name}={value}, which is not set so here")
        self.stdout.write("start the server again, if it runs")

    def agree(self, what: str) -> None:
        try:
            answer = input(f"{what}, which is kept\ntype yes to go on: ")
        except EOFError:
            answer = ""
        if answer.strip().lower() != "yes":
            raise CommandError("left as it was")
