"""`manage.py figures`: pieces in and out, money spent and saved, over time."""

from typing import Any

from django.core.management.base import CommandParser

from inventory.answers import as_json, cents
from inventory.management.readable import Readable
from inventory.tables import show, stream_of
from repairs.api.over_time import Figures
from repairs.plots import plots


class Command(Readable):
    help = (
        "Show the figures of the workshop over time, and what each job is short of.\n\nExamples:\n"
        "  python3 manage.py figures\n"
        "  python3 manage.py figures --json"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        self.add_forms(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        found = Figures.of(plots())
        if options["json"]:
            self.print_json(as_json(found))
            return
        out = stream_of(self.stdout)
        spans = [(str(each.begins), str(each.came_in), str(each.went_out)) for each in found.moved]
        show(out, f"Pieces by {found.step}", ("from", "came in", "went out"), spans)
        money = [(str(each.begins), cents(each.spent), cents(each.saved)) for each in found.money]
        show(out, f"Money by {found.step}", ("from", "spent", "saved"), money)
        show(out, "Short", ("job", "pieces"), [(each.name, str(each.pieces)) for each in found.short])
        if found.unpriced:
            self.stdout.write(f"{found.unpriced} fitted pieces have no known price")
