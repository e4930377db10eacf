"""`manage.py decode`: what a marking or a row of bands may mean."""

import json
from collections.abc import Iterator
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser
from django.db import OperationalError, ProgrammingError

from inventory.decoding import MalformedMarking, Question, Reading
from inventory.management.helped import Helped
from inventory.markings import DecodedMarking, ServedNeed, bare, read_marking
from inventory.questions import NAMES, BadQuestion, question_of
from inventory.spec import KINDS, print_value
from inventory.tables import show, stream_of

HEADINGS = ("likely", "kind", "value", "tolerance", "volts", "more", "notation", "wanted by")
SHOWN = 8


class Command(Helped):
    help = (
        "Tell what a marking or a row of colour bands may mean, best first.\n\nExamples:\n"
        '  python3 manage.py decode "104K 100"\n'
        '  python3 manage.py decode "4?3" --kind capacitor --measured 48n\n'
        '  python3 manage.py decode --bands "yellow,violet,red|orange,gold" --why\n\n'
        "? is one unreadable character or band, [38] either of these, red|orange either colour."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("marking", nargs="*", help="as printed; words may stand apart")
        parser.add_argument("--bands", metavar="COLOURS", help="instead of a marking: colours between commas")
        add_evidence(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        question = asked(options)
        try:
            decoded = self.decoded(question)
        except MalformedMarking as malformed:
            where = "" if question.bands else f"character {malformed.position + 1}: "
            raise CommandError(f"{where}{malformed}") from None
        if options["json"]:
            self.stdout.write(json.dumps(decoded.to_dict()))
        else:
            print_readings(stream_of(self.stdout), decoded, why=options["why"])

    def decoded(self, question: Question) -> DecodedMarking:
        """With what the bench holds and wants; a marking can be read before there is a bench, too."""
        try:
            return read_marking(question)
        except (OperationalError, ProgrammingError) as silent:
            reason = str(silent).splitlines()[0]
            self.stderr.write(f"the bench does not answer ({reason}): read without what it holds and needs")
            return bare(question)


def add_evidence(parser: CommandParser) -> None:
    """What else is known of the part, and how to print the readings."""
    parser.add_argument("--kind", metavar="KIND", help=f"one of {', '.join(KINDS)}")
    parser.add_argument("--measured", metavar="VALUE", help="what a meter says: 4.68k, 98n, '10 µH'")
    parser.add_argument("--measured-tolerance", metavar="PERCENT", help="the meter's own error")
    parser.add_argument("--expected", metavar="VALUE", help="the value expected where it was")
    parser.add_argument("--body", metavar="WORDS", help="what it looks like: blue, disc, axial")
    parser.add_argument("--era", metavar="YEAR", help="1982, or 1980s")
    parser.add_argument(
        "--scheme", metavar="WORDS", help="for colours other than resistor bands: polyester …"
    )
    parser.add_argument(
        "--doubtful", action="store_true", help="also try characters that it may be mistaken for"
    )
    parser.add_argument("--limit", metavar="N", help=f"at most so many readings; {SHOWN} in the table")
    parser.add_argument("--why", action="store_true", help="show the reasons for each reading")
    parser.add_argument("--json", action="store_true", help="print as JSON, as the API answers it")


def asked(options: dict[str, Any]) -> Question:
    stated = {name: options[name] for name in NAMES if options.get(name)}
    stated.pop("doubtful", None)
    if options["marking"]:
        stated["marking"] = " ".join(options["marking"])
    if options["doubtful"]:
        stated["doubtful"] = "true"
    if not options["json"]:
        stated.setdefault("limit", str(SHOWN))
    try:
        return question_of(stated)
    except BadQuestion as bad:
        raise CommandError(str(bad)) from None


def print_readings(out: TextIO, decoded: DecodedMarking, *, why: bool) -> None:
    """The readings as a table, then what to look at next."""
    readings = decoded.answer.readings
    if readings:
        rows = [_cells(reading, served) for reading, served in zip(readings, decoded.wanted_by, strict=True)]
        show(out, "What it may be", HEADINGS, rows)
    else:
        print("nothing fits", file=out)
    for reading in readings if why else readings[:1]:
        for line in _lines(reading):
            print(line, file=out)
    for hint in decoded.answer.hints:
        print(f"hint: {hint}", file=out)
    if decoded.answer.next_check:
        print(f"next: {decoded.answer.next_check}", file=out)
    if decoded.answer.truncated:
        print("not every possibility was tried or is shown", file=out)


def _cells(reading: Reading, served: tuple[ServedNeed, ...]) -> tuple[str, ...]:
    row = reading.to_dict()
    more = [
        reading.date and f"made {reading.date}",
        str(reading.temperature.get("code", "")),
        *map(_trait, reading.traits.items()),
    ]
    jobs = [f"{each.job_name} {each.ref}".rstrip() + f" ({each.grade})" for each in served[:2]]
    if len(served) > len(jobs):
        jobs.append("…")
    return (
        f"{reading.score:.0%}" if reading.score >= 0.01 else "< 1%", reading.kind,
        row["value_text"] or reading.number, _tolerance(reading), row["volts"] or "",
        ", ".join(each for each in more if each), reading.notation, "; ".join(jobs),
    )  # fmt: skip


def _trait(item: tuple[str, Any]) -> str:
    name, fact = item
    return f"{name.replace('_', ' ')} {fact}" if not isinstance(fact, bool) else name.replace("_", " ")


def _tolerance(reading: Reading) -> str:
    row = reading.to_dict()
    if reading.tolerance_abs is not None:
        return f"±{print_value(reading.kind, reading.tolerance_abs)}"
    if reading.tolerance_low_percent is not None:
        return f"{row['tolerance_low_percent']}/+{row['tolerance_high_percent']} %"
    return f"±{row['tolerance_percent']} %" if row["tolerance_percent"] is not None else ""


def _lines(reading: Reading) -> Iterator[str]:
    """What the characters gave, the reasons and the cautions of one reading."""
    name = reading.to_dict()["value_text"] or reading.number or reading.kind
    yield f"{name}: " + ", ".join(f"{seen} = {meaning or 'nothing'}" for seen, meaning in reading.used)
    yield from (f"  because {reason}" for reason in reading.reasons)
    yield from (f"  caution: {caution}" for caution in reading.cautions)
