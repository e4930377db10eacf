"""`manage.py backup`: everything that the workshop is, in one file."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory import backups
from inventory.bench_settings import settings_of_bench
from inventory.management.helped import Helped


class Command(Helped):
    help = (
        "Write one file with data, pictures, people, keys and settings, while people work, and check it.\n"
        "A file of that name is kept under another.  Whoever has the file can read everything in it.\n\n"
        "Examples:\n"
        "  python3 manage.py backup /media/stick/saltmarsh.backup\n"
        "  17 3 * * *  cd /srv/rehome && python3 manage.py backup --dated     (a line of crontab: each night)"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("file", type=Path, metavar="FILE", nargs="?", help="where to write it")
        what.add_argument(
            "--dated",
            action="store_true",
            help="write one named by the time to the folder of backups, and keep those that the settings say",
        )
        what.add_argument("--list", action="store_true", help="list the dated ones instead")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["list"]:
            for each in backups.dated():
                self.stdout.write(f"{each.path}  {each.megabytes:.1f} MB")
            return
        try:
            if options["dated"]:
                path = backups.take_dated(settings_of_bench().backups).path
            else:
                path = options["file"].expanduser().absolute()
                self.write(path)
        except backups.BadBackup as bad:
            raise CommandError(f"the backup does not read back: {bad}") from None
        with backups.opened(path) as backup:
            self.stdout.write(
                f"{path} written and checked: {backup.rows} rows, {len(backup.pictures)} pictures, "
                f"{path.stat().st_size / 1e6:.1f} MB"
            )

    def write(self, path: Path) -> None:
        if not path.parent.is_dir():
            raise CommandError(f"there is no folder {path.parent}")
        if path.is_dir():
            raise CommandError(f"{path} is a folder: name a file in it")
        if earlier := backups.write(path):
            self.stdout.write(f"the earlier file is {earlier} now")
