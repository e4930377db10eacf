"""`manage.py trial`: write down a reading of a lot."""

from decimal import Decimal
from typing import Any

from django.core.management.base import CommandError, CommandParser

from inventory.ledger import Spot
from inventory.management.helped import Helped
from inventory.models import MAX_METER_ERROR, Holding, Lot, Place
from inventory.questions import PERCENT
from inventory.whole_numbers import whole_number
from repairs import trials
from repairs.management.named import person_named, row_named
from repairs.models import Trial
from repairs.proving.meter import UnreadableReading
from repairs.proving.methods import NotJudged


class Command(Helped):
    help = (
        "Write a reading of a lot down, judged by the window of its method unless a verdict is said.  One\n"
        "reading judges one piece; judged apart from the rest it becomes a lot of its own.\n\nExamples:\n"
        "  python3 manage.py trial 12 ohms 4.68k\n"
        "  python3 manage.py trial 12 ohms 4.703k --measured-tolerance 0.1 --at 'Drawer 7'\n"
        "  python3 manage.py trial 30 'looked at' --verdict suspect --note 'a crack across the case'"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("lot", metavar="LOT", help="the number of the lot")
        parser.add_argument(
            "method", metavar="METHOD", help="how it was tried: ohms, capacitance, pin order …"
        )
        parser.add_argument(
            "reading", metavar="READING", nargs="?", default="", help="what was read: 4.68k, OL"
        )
        parser.add_argument(
            "--measured-tolerance", metavar="PERCENT", help="what the meter may be off; else as is usual"
        )
        parser.add_argument("--expected", metavar="TEXT", default="", help="the checksum on label or list")
        parser.add_argument("--verdict", choices=Trial.Verdict.values, default="", help="else by the window")
        parser.add_argument("--in-circuit", action="store_true", help="it is still in its board")
        parser.add_argument("--at", metavar="PLACE", help="where the piece is; else where the lot is")
        parser.add_argument("--pieces", metavar="N", help="how many were judged; else one")
        parser.add_argument("--note", metavar="TEXT", default="", help="more words, kept as they are")
        parser.add_argument("--by", metavar="NAME", help="who tried it")

    def handle(self, *args: Any, **options: Any) -> None:
        number = whole_number(options["lot"])
        lots = Lot.objects.select_related("part__spec", "origin_board")
        lot = lots.filter(pk=number).first() if number is not None else None
        if lot is None:
            raise CommandError(f"no lot has the number {options['lot']}")
        pieces = 1 if options["pieces"] is None else whole_number(options["pieces"])
        if not pieces:
            raise CommandError(f"--pieces {options['pieces']}: expected how many were judged, from 1")
        try:
            trial = trials.record(
                by=person_named(options["by"]),
                lot=lot,
                method=options["method"],
                reading=options["reading"],
                measured_tolerance=_percent(options["measured_tolerance"]),
                verdict=options["verdict"],
                expected=options["expected"],
                in_circuit=options["in_circuit"],
                note=options["note"],
                quantity=pieces,
                at=_spot(lot, options["at"]),
            )
        except (NotJudged, UnreadableReading) as unread:
            raise CommandError(str(unread)) from None
        judged = trial.lot
        assert judged is not None
        self.stdout.write(
            f"trial {trial.pk}: {trial.verdict}; lot {judged.pk}, {judged.part}, {judged.condition}"
        )
        for reason in trial.record.reasons:
            self.stdout.write(f"- {reason['detail']}")


def _percent(text: str | None) -> Decimal | None:
    if text is None:
        return None
    if not PERCENT.fullmatch(text) or Decimal(text) > MAX_METER_ERROR:
        raise CommandError(
            f"--measured-tolerance {text}: expected per cent from 0 to {MAX_METER_ERROR}, such as 0.5"
        )
    return Decimal(text)


def _spot(lot: Lot, named: str | None) -> Spot | None:
    if named is None:
        return None
    place = row_named(Place.objects.all(), named, "place")
    held = Holding.objects.filter(lot=lot, place=place, quantity__gt=0).order_by("ref").first()
    if held is None:
        raise CommandError(f"lot {lot.pk} is not in {place}")
    return Spot(place.pk, held.ref)
