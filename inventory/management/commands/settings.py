"""`manage.py settings`: what is set once for the whole bench."""

import json
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser

from inventory.bench_settings import SETTINGS, BadSettings, set_bench, settings_of_bench
from inventory.management.helped import Helped


class Command(Helped):
    help = (
        "Show the settings of the bench, or set some: its name, the era of its parts, its sheets of labels,\n"
        "the address that labels point to.  An empty text unsets.\n\n"
        "Examples:\n"
        "  python3 manage.py settings\n"
        '  python3 manage.py settings name="Saltmarsh" era=1984 labels=a4-3x7\n'
        "  python3 manage.py settings era="
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("set", nargs="*", metavar="NAME=TEXT", help=f"one of {', '.join(SETTINGS)}")
        parser.add_argument("--json", action="store_true", help="print them as one object")

    def handle(self, *args: Any, **options: Any) -> None:
        given = {}
        for each in options["set"]:
            name, equals, text = each.partition("=")
            if not equals:
                raise CommandError(f"{each!r}: expected NAME=TEXT, with NAME one of {', '.join(SETTINGS)}")
            given[name] = text
        try:
            row = set_bench(given) if given else settings_of_bench()
        except BadSettings as wrong:
            raise CommandError(str(wrong)) from None
        values = {name: getattr(row, name) for name in SETTINGS}
        if options["json"]:
            self.stdout.write(json.dumps({**values, "time_zone": settings.TIME_ZONE}))
            return
        for name, text in values.items():
            self.stdout.write(f"{name} = {text}")
        self.stdout.write(f"time zone: {settings.TIME_ZONE} ({settings.TIME_ZONE_SOURCE})")
