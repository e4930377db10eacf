"""`manage.py audit`: recompute everything from the movements."""

import json
from typing import Any

from django.core.management.base import CommandParser
from django.db import DatabaseError

from inventory.management.helped import Helped
from inventory.models import Holding, Movement
from inventory.snapshot import one_moment, unsound
from repairs.audit import audit


class Command(Helped):
    help = (
        "Let the database check itself, then recompute holdings, promises and loans from the movements and\n"
        "name each difference; nobody has to stop working for it.\n"
        "Exit status 1 if there is any.\n\nExample:\n  python3 manage.py audit"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help="print the findings as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        with one_moment():
            findings = unsound()
            movements = holdings = 0
            try:
                findings += audit()
                movements, holdings = Movement.objects.count(), Holding.objects.count()
            except DatabaseError as error:  # of a damaged file nothing more can be recomputed
                if not findings:
                    raise
                findings.append(f"it cannot be read to its end: {error}")
        if options["json"]:
            self.stdout.write(
                json.dumps({"movements": movements, "holdings": holdings, "differences": findings})
            )
        else:
            for finding in findings:
                self.stdout.write(finding)
            verdict = f"{len(findings)} differences" if findings else "everything agrees"
            self.stdout.write(f"{movements} movements, {holdings} holdings: {verdict}")
        if findings:
            raise SystemExit(1)
