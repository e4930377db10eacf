"""`manage.py substitutions`: what was found to serve for what, or not; writing one down, refuting one."""

from argparse import SUPPRESS
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser
from django.db import transaction

from inventory.api.versions import claim
from inventory.management.arguments import GRAMMAR, design_named, spec_of
from inventory.management.readable import Readable
from inventory.spec.recorded import EVIDENCE, REFUTED, WAYS
from inventory.tables import show, stream_of
from inventory.whole_numbers import whole_number
from repairs import substitutions
from repairs.api.substitutions import (
    SubstitutionChangeSerializer,
    SubstitutionFilters,
    SubstitutionSerializer,
)
from repairs.management.named import person_named
from repairs.proving_models import Substitution

HEADINGS = ("number", "for", "was tried", "where", "evidence")
_FIELDS = ("evidence", "way", "pin_map", "ref", "note", "lot", "trial")


class Command(Readable):
    help = (
        "Show what people found to serve for what, or not; `record` writes one down, `refute` says that it\n"
        "does not serve after all.  The plan, the checks and whoever fits a part go by them.\n\nExamples:\n"
        "  python3 manage.py substitutions --number 2N3904\n"
        '  python3 manage.py substitutions record "transistor 2N3904" "transistor BC547" \\\n'
        "      --evidence data_sheet --way turned_round\n"
        '  python3 manage.py substitutions refute 1 --note "rings at 1 MHz"\n\n'
        f"A part is said as {GRAMMAR}."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--number", metavar="TYPE", help="only of parts with this type number")
        parser.add_argument("--design", metavar="DESIGN", help="only those that may apply to this design")
        parser.add_argument("--evidence", choices=EVIDENCE, help="only with this evidence")
        self.add_forms(parser)
        what = parser.add_subparsers(dest="what", metavar="record | refute")
        recording = what.add_parser("record", help="write one down")
        recording.add_argument("required", nargs="?", metavar="REQUIRED", help="the part that belongs there")
        recording.add_argument("offered", nargs="?", metavar="OFFERED", help="the part that went in")
        recording.add_argument("--evidence", choices=EVIDENCE, default=SUPPRESS, help="how well it is known")
        recording.add_argument("--way", choices=WAYS, help="how the offered part goes in")
        recording.add_argument(
            "--pin-map", metavar="MAP", help="where legs cross, its leg = the hole: E=C, B=B, C=E"
        )
        recording.add_argument(
            "--design", metavar="DESIGN", default=SUPPRESS, help="only on this design; else anywhere"
        )
        recording.add_argument("--ref", metavar="REF", help="only at this position of it")
        recording.add_argument("--lot", metavar="LOT", help="instead of OFFERED: the number of a lot")
        recording.add_argument("--trial", metavar="TRIAL", help="number of the trial that supplies the rest")
        refuting = what.add_parser("refute", help="record that it does not serve after all")
        refuting.add_argument("row", metavar="NUMBER", help="its number, as listed")
        for each in (recording, refuting):
            each.add_argument("--note", metavar="TEXT", help="what was seen")
            each.add_argument("--json", action="store_true", default=SUPPRESS, help="print it as JSON")
        recording.add_argument("--by", metavar="NAME", help="who says so")

    def handle(self, *args: Any, **options: Any) -> None:
        match options["what"]:
            case "record":
                rows = [self.record(options)]
            case "refute":
                rows = [self.refute(options)]
            case _:
                rows = self.found(options)
        if options["json"]:
            self.print_json({"results": SubstitutionSerializer(rows, many=True).data})
        else:
            print_substitutions(stream_of(self.stdout), rows)

    def found(self, options: dict[str, Any]) -> list[Substitution]:
        asked: dict[str, Any] = {
            "number": options["number"],
            "evidence": [options["evidence"]] if options["evidence"] else None,
            "design": design_named(options["design"]).pk if options["design"] else None,
        }
        rows = Substitution.objects.select_related("required", "offered", "design", "by").order_by("id")
        return list(SubstitutionFilters({k: v for k, v in asked.items() if v}, queryset=rows).qs)

    def record(self, options: dict[str, Any]) -> Substitution:
        fields = {name: options[name] for name in _FIELDS}
        fields |= {
            name: spec_of([options[name]]).to_dict() for name in ("required", "offered") if options[name]
        }
        if options["design"]:
            fields["design"] = design_named(options["design"]).pk
        return substitutions.record(
            by=person_named(options["by"]), **self.read(SubstitutionSerializer, _given(fields))
        )

    @transaction.atomic
    def refute(self, options: dict[str, Any]) -> Substitution:
        number = whole_number(options["row"])
        row = Substitution.objects.select_for_update().filter(pk=number).first() if number else None
        if row is None:
            raise CommandError(f"no substitution has the number {options['row']}")
        fields = {"evidence": REFUTED, "note": options["note"]}
        claim(row, **substitutions.change(row, **self.read(SubstitutionChangeSerializer, _given(fields))))
        return Substitution.objects.select_related("required", "offered", "design", "by").get(pk=row.pk)

    def read(self, serializer: Any, fields: dict[str, Any]) -> dict[str, Any]:
        read = serializer(data=fields, partial=serializer is SubstitutionChangeSerializer)
        if not read.is_valid():
            problems = (f"{name.replace('_', '-')}: {_first(each)}" for name, each in read.errors.items())
            raise CommandError("; ".join(problems))
        return dict(read.validated_data)


def _given(fields: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if value is not None}


def _first(errors: Any) -> str:
    """The first thing that is said of a member, however deep it stands."""
    while isinstance(errors, dict | list):
        errors = next(iter(errors.values() if isinstance(errors, dict) else errors), "")
    return str(errors)


def print_substitutions(out: TextIO, rows: list[Substitution]) -> None:
    """One line for each."""
    cells = [
        (
            str(row.pk), row.required.text, row.offered.text,
            f"{row.design} {row.ref}".rstrip() if row.design else "anywhere",
            substitutions.record_of(row).text,
        )
        for row in rows
    ]  # fmt: skip
    show(out, "Substitutions", HEADINGS, cells)
