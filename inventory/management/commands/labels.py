"""`manage.py labels`: labels for bags and drawers as a PDF, for sheets and for printers of rolls."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.bench_settings import settings_of_bench
from inventory.labels import KINDS, MAX_COPIES, MAX_LABELS, STOCKS, is_address, labels_for
from inventory.labels_pdf import pdf
from inventory.management.helped import Helped
from inventory.management.readable import replace_file
from inventory.models import Place
from inventory.places import paths
from inventory.whole_numbers import whole_numbers


class Command(Helped):
    help = (
        "Write labels as a PDF at their true size: of lots, or of the bags or drawers in a place.\n\n"
        "Examples:\n"
        '  python3 manage.py labels bags.pdf --place "Cabinet A" --stock a4-3x8 --start 5\n'
        '  python3 manage.py labels drawers.pdf --place "Cabinet A" --what drawers --stock roll-62\n'
        "  python3 manage.py labels two.pdf --lot 5 --lot 58 --address http://10.0.0.7:8000"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="a .pdf file; what is there is replaced")
        parser.add_argument(
            "--lot", action="append", default=[], metavar="NUMBER", help="a lot; several times for more"
        )
        parser.add_argument("--place", default="", help="by its name: all that is inside it")
        parser.add_argument("--what", choices=KINDS, default="bags", help="with --place (bags)")
        parser.add_argument("--stock", choices=STOCKS, help="the sheet or roll (that of the settings)")
        parser.add_argument("--start", type=int, default=1, help="the first free position of the first sheet")
        parser.add_argument("--copies", type=int, default=1, help="of each")
        parser.add_argument("--marks", action="store_true", help="with marks to cut along")
        parser.add_argument("--address", default="", help="that the codes lead to (that of the settings)")

    def handle(self, *args: Any, **options: Any) -> None:
        usual = settings_of_bench()
        stock = STOCKS[options["stock"] or usual.labels or next(iter(STOCKS))]
        base = options["address"] or usual.address
        if not base or not is_address(base):
            raise CommandError(
                "say where the codes lead with --address, such as http://10.0.0.7:8000, "
                "or once for all with the setting address"
            )
        if not 1 <= options["start"] <= stock.on_a_sheet:
            raise CommandError(
                f"--start {options['start']}: this sheet has the positions 1 to {stock.on_a_sheet}"
            )
        if not 1 <= options["copies"] <= MAX_COPIES:
            raise CommandError(f"--copies {options['copies']}: expected 1 to {MAX_COPIES}")
        lots = whole_numbers(options["lot"])
        if len(lots) < len(set(options["lot"])):
            raise CommandError("--lot takes the number of a lot, such as 58")
        if bool(lots) == bool(options["place"]):
            raise CommandError("say of what: either --lot, or --place")
        where = paths()
        place = self._place(options["place"], where) if options["place"] else 0
        made = labels_for(lots=lots, place=place, what=options["what"], base=base.rstrip("/"), where=where)
        labels = [label for label in made for _copy in range(options["copies"])]
        if not labels:
            raise CommandError("there is nothing to label")
        if len(labels) > MAX_LABELS:
            raise CommandError(f"at most {MAX_LABELS} labels are made at once: go place by place")
        replace_file(
            options["file"], iter([pdf(labels, stock, start=options["start"], marks=options["marks"])])
        )
        self.stdout.write(f"{options['file']} written: {len(labels)} on {stock.text}")

    @staticmethod
    def _place(name: str, where: Mapping[int, str]) -> int:
        """A place by its name, or by its path where several have that name."""
        found = [pk for pk, path in where.items() if path == name]
        found = found or list(Place.objects.filter(name=name).values_list("id", flat=True))
        if len(found) != 1:
            kept = "no place is" if not found else f"{len(found)} places are"
            raise CommandError(f"{kept} called {name}: give the whole path, such as Cabinet A / Drawer 7")
        return found[0]
