"""`manage.py make_up`: what free pieces can stand in for a missing value."""

from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser

from inventory.answers import as_json
from inventory.management.arguments import GRAMMAR, spec_of
from inventory.management.readable import Readable
from inventory.tables import stream_of
from repairs.answers.make_up import (
    MAX_WAYS,
    MadeUpValue,
    MadeUpValues,
    made_up_for,
    made_up_for_need,
    made_up_for_short,
)
from repairs.answers.make_up.answer import WAYS
from repairs.management.named import jobs_named, need_named
from repairs.planning.combination import RATINGS
from repairs.proving.cautions import DEFER

COUNTS = range(1, MAX_WAYS + 1)


class Command(Readable):
    help = (
        "Show what two or three free pieces, which no job needs, can stand in for a missing resistor,\n"
        "capacitor or inductor: for a value, for a need, or for all that is short.\n\nExamples:\n"
        "  python3 manage.py make_up\n"
        "  python3 manage.py make_up resistor 750 tolerance_percent=5 watts=0.25\n"
        '  python3 manage.py make_up --need "Tern C rebuild" R11 --count 2\n\n'
        f"What is wanted: {GRAMMAR}."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("spec", nargs="*", metavar="WANTED", help="what is wanted, in words")
        parser.add_argument(
            "--need",
            nargs="+",
            metavar="NEED",
            help="what this need requires: its number, or job and reference",
        )
        parser.add_argument(
            "--job",
            action="append",
            metavar="JOB",
            help="of all that is short, only for this job (repeatable)",
        )
        parser.add_argument(
            "--count", type=int, choices=COUNTS, metavar="N", help=f"so many ways, at most {MAX_WAYS}"
        )
        self.add_forms(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        values = self.values(options)
        if options["json"]:
            self.print_json(as_json(MadeUpValues(values)))
            return
        out = stream_of(self.stdout)
        if not values:
            print("Nothing that is short may be made up.", file=out)
        for each in values:
            print_made_up(out, each)

    def values(self, options: dict[str, Any]) -> list[MadeUpValue]:
        if sum(bool(options[name]) for name in ("spec", "need", "job")) > 1:
            raise CommandError("expected one of: what is wanted in words, --need, --job")
        count = options["count"] or 3
        if options["need"]:
            return [made_up_for_need(need_named(options["need"]), count=count)]
        if not options["spec"]:
            return made_up_for_short(jobs_named(options["job"]), count=count)
        spec = spec_of(options["spec"])
        if spec.kind not in RATINGS:
            raise CommandError(f"no {spec.kind} is made up: expected {', '.join(RATINGS)}")
        if spec.value is None:
            raise CommandError(f"say which value: {GRAMMAR}")
        return [made_up_for(spec, count=count)]


def print_made_up(out: TextIO, value: MadeUpValue) -> None:
    """The ways as a table, then the work of each, then what to mind."""
    waiting = ", ".join(value.waiting)
    print(f"{value.spec}{f': {value.short} short, for {waiting}' if waiting else ''}", file=out)
    for each in value.friends:
        print(f"ask a friend first: {each.label}", file=out)
    if value.refused:
        print(f"nothing is made up here: {value.refused}\n", file=out)
        return
    print(f"accepted: {value.allowed_low_percent} % below to {value.allowed_high_percent} % above", file=out)
    if not value.ways:
        print("no free pieces make it\n", file=out)
        return
    WAYS.show(out, enumerate(value.ways, 1))
    for number, way in enumerate(value.ways, 1):
        print(f"Way {number}: {'; '.join(way.steps)}.", file=out)
        for note in way.notes:
            print(f"- {note}", file=out)
    for text in dict.fromkeys(caution.text for way in value.ways for caution in way.cautions):
        print(f"! {text}", file=out)
    print(f"! {DEFER}", file=out)
    print(file=out)
