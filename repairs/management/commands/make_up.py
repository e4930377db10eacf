"""`manage.py make_up`: what free pieces can stand in for a missing value."""

from collections.abc import Sequence
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser

from inventory.management.readable import Readable
from inventory.management.said import GRAMMAR, spec_said
from inventory.refs import write_refs
from inventory.spec import print_value
from inventory.tables import show, stream_of
from repairs.api.made_up import as_json, figure
from repairs.making_up import (
    MOST_WAYS,
    MakingUp,
    Way,
    made_up_for,
    made_up_for_need,
    made_up_for_short,
)
from repairs.management.named import jobs_named, need_named
from repairs.planning.combination import RATINGS
from repairs.proving.cautions import DEFER

COUNTS = range(1, MOST_WAYS + 1)
HEADINGS = ("way", "arrangement", "value", "off by", "at worst", "stands", "of")


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
            "--count", type=int, choices=COUNTS, metavar="N", help=f"so many ways, at most {MOST_WAYS}"
        )
        self.add_forms(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        found = self.found(options)
        if options["json"]:
            self.print_json({"results": [as_json(each) for each in found]})
            return
        out = stream_of(self.stdout)
        if not found:
            print("Nothing that is short may be made up.", file=out)
        for each in found:
            print_making_up(out, each)

    def found(self, options: dict[str, Any]) -> Sequence[MakingUp]:
        if sum(bool(options[name]) for name in ("spec", "need", "job")) > 1:
            raise CommandError("want one of: what is wanted in words, --need, --job")
        count = options["count"] or 3
        if options["need"]:
            return [made_up_for_need(need_named(options["need"]), count=count)]
        if not options["spec"]:
            return made_up_for_short(jobs_named(options["job"]), count=count)
        spec = spec_said(options["spec"])
        if spec.kind not in RATINGS:
            raise CommandError(f"no {spec.kind} is made up: want {', '.join(RATINGS)}")
        if spec.value is None:
            raise CommandError(f"say which value: {GRAMMAR}")
        return [made_up_for(spec, count=count)]


def print_making_up(out: TextIO, found: MakingUp) -> None:
    """The ways as a table, then the work of each, then what to mind."""
    waiting = ", ".join(f"{each.name} {write_refs(each.refs)}".rstrip() for each in found.waiting)
    print(f"{found.spec}{f': {found.short} short, for {waiting}' if waiting else ''}", file=out)
    if found.refused:
        print(f"nothing is made up here: {found.refused}\n", file=out)
        return
    if found.allowed is not None:
        low, high = map(figure, found.allowed)
        print(f"accepted: {low} % below to {high} % above", file=out)
    if not found.ways:
        print("no free pieces make it\n", file=out)
        return
    show(out, "Made up", HEADINGS, [_cells(found, n, way) for n, way in enumerate(found.ways, 1)])
    for number, way in enumerate(found.ways, 1):
        print(f"Way {number}: {'; '.join(way.steps)}.", file=out)
        for note in way.made.notes:
            print(f"- {note}", file=out)
    for text in dict.fromkeys(caution.text for way in found.ways for caution in way.cautions):
        print(f"! {text}", file=out)
    print(f"! {DEFER}", file=out)
    print(file=out)


def _cells(found: MakingUp, number: int, way: Way) -> tuple[str, ...]:
    made = way.made
    low, high = (figure(None if each is None else each * 100) for each in (made.low, made.high))
    units = {"watts": "W", "volts": "V", "amps": "A"}
    stands = (f"{figure(most, 4)} {units[name]}" for name, most in made.stands.items() if most is not None)
    parts = (f"lot {part.piece.lot}, {part.piece.place_name} {part.piece.ref}".rstrip() for part in way.parts)
    return (
        str(number), str(made.arrangement), print_value(found.spec.kind, round(made.arrangement.value)),
        f"{figure(made.error * 100)} %", "not known" if None in (low, high) else f"{low} to {high} %",
        ", ".join(stands), "; ".join(parts),
    )  # fmt: skip
