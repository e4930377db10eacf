"""`manage.py compare`: what changes from one drawing to another, by reference."""

from typing import Any, TextIO

from django.core.management.base import CommandParser

from inventory import designs
from inventory.answers import as_json
from inventory.api.designs import DesignComparison
from inventory.designs import Comparison
from inventory.management.arguments import design_named
from inventory.management.readable import Readable
from inventory.models import Design
from inventory.refs import write_refs
from inventory.tables import show, stream_of


class Command(Readable):
    help = (
        "Show what changes from one design to another: references with another part, new and gone ones, and\n"
        "whether the old part serves the new place.\n\nExamples:\n"
        '  python3 manage.py compare "Tern TR6 main board A" "Tern TR6 main board C"\n'
        "  python3 manage.py compare 1 2 --json"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        for which in ("old", "new"):
            parser.add_argument(which, metavar="DESIGN", help="its number, or its name and revision as one")
        self.add_forms(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        old, new = (design_named(options[which]) for which in ("old", "new"))
        found = designs.compare(old, new)
        if options["json"]:
            self.print_json(as_json(DesignComparison.of(old, new, found)))
        else:
            print_comparison(stream_of(self.stdout), old, new, found)


def print_comparison(out: TextIO, old: Design, new: Design, found: Comparison) -> None:
    """The changes, then what is new and gone."""
    changed = [
        (
            change.ref, change.was.spec.text, change.now.spec.text,
            ", ".join(name.replace("_", " ") for name in change.properties), change.fit.grade,
            "; ".join(f"{reason.property.replace('_', ' ')}: {reason.rule}" for reason in change.fit.reasons
                      if reason.grade == change.fit.grade),
        )
        for change in found.changed
    ]  # fmt: skip
    print(f"From {old} to {new}", file=out)
    headings = ("at", "was", "is", "differs in", "old part there", "why")
    for title, heads, rows in (
        ("Another part", headings, changed),
        ("New", ("at", "what"), [(each.ref, each.spec.text) for each in found.added]),
        ("Gone", ("at", "what"), [(each.ref, each.spec.text) for each in found.removed]),
    ):
        if rows:
            show(out, title, heads, rows)
        else:
            print(f"{title}: none", file=out)
    print(f"the same: {write_refs([each.ref for each in found.same]) or 'nothing'}", file=out)
    print(
        f"{len(found.same)} the same, {len(found.changed)} with another part, {len(found.added)} new, "
        f"{len(found.removed)} gone",
        file=out,
    )
