"""`manage.py audit`: recompute everything from the movements."""

import json
from typing import Any

from django.core.management.base import CommandParser
from django.db import transaction

from inventory.management.helped import Helped
from inventory.models import Holding, Movement
from repairs.audit import audit


class Command(Helped):
    help = (
        "Recompute holdings, promises and loans from the movements and name each difference.\n"
        "Exit status 1 if there is any.\n\nExample:\n  python3 manage.py audit"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help="print the findings as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        with transaction.atomic():  # one moment in time, not several
            found = audit()
            movements, holdings = Movement.objects.count(), Holding.objects.count()
        if options["json"]:
            self.stdout.write(
                json.dumps({"movements": movements, "holdings": holdings, "differences": found})
            )
        else:
            for finding in found:
                self.stdout.write(finding)
            verdict = f"{len(found)} differences" if found else "everything agrees"
            self.stdout.write(f"{movements} movements, {holdings} holdings: {verdict}")
        if found:
            raise SystemExit(1)
