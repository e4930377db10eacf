"""`manage.py token`: a key for the API."""

from argparse import RawDescriptionHelpFormatter
from typing import Any

from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction
from rest_framework.authtoken.models import Token

from inventory.roles import ROLES, give_role, role_of


class Command(BaseCommand):
    help = (
        "Print the API key of a person, making the person if need be.\n\nExample:\n"
        '  curl -H "Authorization: Token $(python3 manage.py token robin --role bench)" '
        "http://localhost:8000/api/v1/lots/"
    )

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        return super().create_parser(
            prog_name, subcommand, formatter_class=RawDescriptionHelpFormatter, **kwargs
        )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="the person's name, as they sign in")
        parser.add_argument(
            "--role", choices=ROLES, help="owner, bench or viewer; a new person without it is owner"
        )
        parser.add_argument("--new", action="store_true", help="make the old key useless and print a new one")

    @transaction.atomic
    def handle(self, *args: Any, **options: Any) -> None:
        people = get_user_model()
        name = options["name"]
        try:
            people.username_validator(name)
        except ValidationError:
            raise CommandError(
                f"{name!r} is no name to sign in with: letters, digits and @ . + - _ only"
            ) from None
        if len(name) > 150:
            raise CommandError("a name to sign in with has at most 150 characters")
        person, made = people.objects.get_or_create(username=name)
        if made:
            person.set_unusable_password()
            person.save(update_fields=["password"])
        if options["role"] or made:
            give_role(person, options["role"] or "owner")
        if options["new"]:
            Token.objects.filter(user=person).delete()
        token, _made = Token.objects.get_or_create(user=person)
        self.stderr.write(f"{name} is {role_of(person)}")
        self.stdout.write(token.key)
