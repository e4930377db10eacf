"""`manage.py token`: keys for the API."""

from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.management.base import CommandError, CommandParser
from django.db import transaction
from django.utils.timezone import localtime

from inventory.keys import TERMINAL, kept_key, revoke
from inventory.management.helped import Helped
from inventory.people import add_person, change_person
from inventory.roles import BENCH, OWNER, ROLES, role_of
from inventory.tables import show, stream_of


class Command(Helped):
    help = (
        "Print an API key of a person, making the person if need be.  Asked again, it is the same key.\n\n"
        "Examples:\n"
        '  curl -H "Authorization: Token $(python3 manage.py token robin --role bench)" '
        "http://localhost:8000/api/v1/lots/\n"
        '  python3 manage.py token robin --key "the scales in the shed"\n'
        '  python3 manage.py token robin --revoke "the scales in the shed"\n'
        "  python3 manage.py token robin --list"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="the person's name, as they sign in")
        parser.add_argument(
            "--role",
            choices=ROLES,
            help="owner, bench or viewer; without it the first person is owner, others bench",
        )
        parser.add_argument(
            "--key", metavar="KEYNAME", default=TERMINAL, help=f"which of their keys ({TERMINAL})"
        )
        what = parser.add_mutually_exclusive_group()
        what.add_argument("--new", action="store_true", help="make that key useless and print a new one")
        what.add_argument("--list", action="store_true", help="print the names of their keys instead")
        what.add_argument("--revoke", metavar="KEYNAME", help="make a key useless instead")

    @transaction.atomic
    def handle(self, *args: Any, **options: Any) -> None:
        name = options["name"]
        person = User.objects.filter(username=name).first()
        try:
            if options["list"] or options["revoke"] is not None:
                if person is None:
                    raise CommandError(f"nobody is called {name}")
                if options["list"]:
                    self.list(person)
                else:
                    self.revoke(person, options["revoke"])
                return
            if person is None:
                first = BENCH if User.objects.exists() else OWNER
                person = add_person(name, role=options["role"] or first)
            elif options["role"]:
                change_person(person, role=options["role"])
            if not 0 < len(options["key"]) <= 60 or not options["key"].isprintable():
                raise CommandError("the name of a key has 1 to 60 printable characters")
            if options["new"]:
                for old in person.access_keys.filter(name=options["key"]):
                    revoke(old)
            key = kept_key(person, options["key"])
        except ValidationError as wrong:
            raise CommandError(f"{name!r} as a name to sign in with: {' '.join(wrong.messages)}") from None
        self.stderr.write(f"{name} is {role_of(person)}")
        self.stdout.write(key)

    def list(self, person: User) -> None:
        rows = [
            (
                key.name,
                f"{localtime(key.made_at):%Y-%m-%d}",
                f"{key.used_on:%Y-%m-%d}" if key.used_on else "never",
            )
            for key in person.access_keys.order_by("made_at", "id")
        ]
        show(stream_of(self.stdout), f"Keys of {person.username}", ("key", "made", "last used"), rows)

    def revoke(self, person: User, name: str) -> None:
        gone = person.access_keys.filter(name=name).first()
        if gone is None:
            known = ", ".join(person.access_keys.values_list("name", flat=True)) or "none"
            raise CommandError(f"{person.username} has no key called {name}; there are: {known}")
        revoke(gone)
        self.stderr.write(f"{name} of {person.username} no longer works")
