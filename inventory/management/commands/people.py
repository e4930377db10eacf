"""`manage.py people`: who may sign in, and what each may do."""

import sys
from getpass import getpass
from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.management.base import CommandError, CommandParser
from django.utils.timezone import localtime

from inventory.management.helped import Helped
from inventory.models import AccessChange
from inventory.people import add_person, change_person, last_seen, people, set_password
from inventory.roles import BENCH, ROLES
from inventory.second_factor import turn_off
from inventory.tables import show, stream_of

MAX_CHANGES = 200

DONE = {
    "role": "{name} is {role} now",
    "password": "{name} has a new password",
    "out": "{name} is shut out, and so are their keys",
    "back": "{name} may sign in again",
    "one-factor": "{name} signs in with the password alone",
}


class Command(Helped):
    help = (
        "List who may sign in; or let somebody in, give a role or a password, shut out, let in again.\n"
        "A password is asked for, or read from the first line of the standard input.\n\n"
        "Examples:\n"
        "  python3 manage.py people\n"
        "  python3 manage.py people add wren --role bench\n"
        "  python3 manage.py people role wren viewer\n"
        "  python3 manage.py people out wren\n"
        "  python3 manage.py people one-factor wren\n"
        "  python3 manage.py people changes"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        what = parser.add_subparsers(dest="what", metavar="WHAT")
        adding = what.add_parser("add", help="let somebody new in")
        adding.add_argument("name")
        adding.add_argument("--role", choices=ROLES, default=BENCH, help="what they may do (bench)")
        role = what.add_parser("role", help="give another role")
        role.add_argument("name")
        role.add_argument("role", choices=ROLES)
        changes = what.add_parser("changes", help="what was given and withdrawn, newest first")
        changes.add_argument("name", nargs="?", default="", help="of this person alone")
        for word, help_text in (
            ("password", "give a new password"), ("out", "shut out"), ("back", "let in again"),
            ("one-factor", "turn off the second factor of somebody who lost the phone"),
        ):  # fmt: skip
            what.add_parser(word, help=help_text).add_argument("name")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self.do(options["what"], options.get("name", ""), options.get("role"))
        except ValidationError as wrong:
            raise CommandError(" ".join(wrong.messages)) from None

    def do(self, what: str | None, name: str, role: str | None) -> None:
        if what is None:
            self.list()
            return
        if what == "changes":
            self.changes(name)
            return
        if what == "add":
            add_person(name, role=role or BENCH, password=self.password())
            self.stdout.write(f"{name} can sign in, as {role}")
            return
        person = User.objects.filter(username=name).first()
        if person is None:
            known = ", ".join(User.objects.order_by("username").values_list("username", flat=True)[:20])
            raise CommandError(f"nobody is called {name}; people: {known or 'none'}")
        if what == "password":
            set_password(person, self.password())
        elif what == "one-factor":
            turn_off(person)
        else:
            change_person(person, role=role, active={"out": False, "back": True}.get(what))
        self.stdout.write(DONE[what].format(name=name, role=role))

    def list(self) -> None:
        rows = [
            (
                person.username, person.role if person.is_active else f"{person.role}, shut out",
                str(last_seen(person) or "never"), str(getattr(person, "keys", 0)),
                "on" if person.has_second_factor else "",
            )
            for person in people()
        ]  # fmt: skip
        show(stream_of(self.stdout), "People", ("name", "role", "last seen", "keys", "second factor"), rows)

    def changes(self, name: str) -> None:
        changes = AccessChange.objects.order_by("-id")
        rows = [
            (f"{localtime(change.at):%Y-%m-%d %H:%M}", change.person, change.what, change.by, change.address)
            for change in (changes.filter(person=name) if name else changes)[:MAX_CHANGES]
        ]
        show(stream_of(self.stdout), "Who may do what", ("at", "person", "what", "by", "from"), rows)

    def password(self) -> str:
        """Typed twice at a terminal; one line of a script."""
        if not sys.stdin.isatty():
            return sys.stdin.readline().rstrip("\n")
        first = getpass("password: ")
        if getpass("once more: ") != first:
            raise CommandError("the two differ: nothing was changed")
        return first
