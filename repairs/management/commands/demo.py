"""`manage.py demo`: a workshop to try things in."""

import secrets
import shutil
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth import authenticate
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandError, CommandParser
from django.db import connection, transaction

from inventory import attachments
from inventory.installation import leave_cleanly
from inventory.keys import kept_key
from inventory.management.commands.trace import print_trace
from inventory.management.helped import Helped
from inventory.models import Lot, Movement, Part
from inventory.places import paths
from inventory.roles import give_role
from inventory.tables import stream_of
from inventory.traces import trace_lot
from repairs import demo
from repairs.answers.shortages import shortages
from repairs.management.commands.serve import serve
from repairs.management.commands.shortages import print_shortages, waiting

NAME = "robin"


class Command(Helped):
    help = (
        "Make the database, load the demo workshop where it is empty, print what its open jobs lack and the\n"
        "life of one salvaged part, and serve it.  Run again, it keeps what you have changed.\n\nExamples:\n"
        "  python3 manage.py demo\n"
        "  python3 manage.py demo --no-serve --fresh --yes"
    )
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="stop after printing")
        parser.add_argument(
            "--fresh", action="store_true", help="start over: everything in the database is lost"
        )
        parser.add_argument("--yes", action="store_true", help="with --fresh: do not ask")
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on (127.0.0.1)")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on (8000)")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["fresh"]:
            self.start_over(ask=not options["yes"])
        call_command("migrate", verbosity=0, interactive=False)
        person, password = self.somebody()
        if not Part.objects.exists() and not Movement.objects.exists():
            demo.load(by=person)
        self.show_around()
        self.stdout.write(f"\nsign in as {NAME} with the password {password}\nAPI key: {kept_key(person)}")
        if not options["no_serve"]:
            serve(options["host"], options["port"], 8, self.stdout)

    def start_over(self, *, ask: bool) -> None:
        """Throw everything away, having asked.  CommandError where the answer is no."""
        database = connection.settings_dict
        named = f"{database['NAME']}" + (f" on {database['HOST']}" if database.get("HOST") else "")
        if ask:
            self.stdout.write(
                f"everything in {named} will be lost: parts, boards, jobs, people and the ledger"
            )
            try:
                answer = input("type yes to start over: ")
            except EOFError:
                answer = ""
            if answer.strip().lower() != "yes":
                raise CommandError("kept as it was")
        if connection.vendor == "sqlite":
            leave_cleanly()
            for ending in ("", "-wal", "-shm"):
                Path(f"{database['NAME']}{ending}").unlink(missing_ok=True)
        else:
            with connection.cursor() as cursor:
                cursor.execute("DROP SCHEMA public CASCADE")
                cursor.execute("CREATE SCHEMA public")
        for folder in (settings.MEDIA_ROOT, attachments.folder()):
            shutil.rmtree(folder, ignore_errors=True)
        self.kept_password.unlink(missing_ok=True)

    @property
    def kept_password(self) -> Path:
        return Path(settings.HOME) / "demo-password"

    @transaction.atomic
    def somebody(self) -> tuple[User, str]:
        """The person of the demo, an owner, and the password to print."""
        person, made = User.objects.get_or_create(username=NAME)
        if made:
            password = "-".join(secrets.token_hex(2) for _group in range(3))
            person.set_password(password)
            person.save(update_fields=["password"])
            give_role(person, "owner")
            self.kept_password.touch(mode=0o600)
            self.kept_password.write_text(password)
        password = self.kept_password.read_text() if self.kept_password.exists() else ""
        if not password or authenticate(username=NAME, password=password) is None:
            password = "that you gave it"
        return person, password

    def show_around(self) -> None:
        """Print the shortages, and the life of the salvaged piece that has moved most."""
        out = stream_of(self.stdout)
        print_shortages(
            out, [row for row in waiting(shortages()) if row.short], "What open jobs are short of"
        )
        salvaged = Lot.objects.filter(origin_board__isnull=False, holdings__quantity__gt=0)
        fitted = salvaged.filter(movements__kind=Movement.Kind.FIT, movements__reversed_by=None).order_by(
            "id"
        )
        lot = (fitted.first() or salvaged.order_by("id").first()) if salvaged.exists() else None
        if lot is not None:
            lot = Lot.objects.select_related("part__spec", "origin_board").get(pk=lot.pk)
            print(file=out)
            print_trace(out, trace_lot(lot), paths())
