"""What every command of ours is: help that keeps its lines, and a refusal said in one line."""

from argparse import RawDescriptionHelpFormatter
from typing import Any, Literal

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.refusals import Refused


class Helped(BaseCommand):
    """A command whose help keeps its lines, for the example in it.

    What the bench refuses is a CommandError: one line on stderr and exit status 1, with nothing changed.

    Django's checks load every page and address, longer than most commands take: `serve` runs them, and so
    does `manage.py check`.
    """

    requires_system_checks: tuple[str, ...] | Literal["__all__"] = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.help = self.help.replace("python3 manage.py", settings.PROGRAM)

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        return super().create_parser(
            prog_name, subcommand, formatter_class=RawDescriptionHelpFormatter, **kwargs
        )

    def execute(self, *args: Any, **options: Any) -> str | None:
        try:
            return super().execute(*args, **options)
        except Refused as refused:
            raise CommandError(refused.detail) from None
