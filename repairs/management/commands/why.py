"""`manage.py why`: why a need was given what it was given, and what would change it."""

from typing import Any, TextIO

from django.core.management.base import CommandParser

from inventory.management.readable import Readable
from inventory.refs import write_refs
from inventory.tables import show, stream_of
from repairs.api.why import as_json
from repairs.management.named import need_named
from repairs.models import Need
from repairs.planning import Tier
from repairs.supply_and_demand import Piece
from repairs.telling import TIERS, grade, noted, objections, settled
from repairs.why import Explained, explain


class Command(Readable):
    help = (
        "Show what the plan gives a need and why, who has what it would have had by itself, which pieces\n"
        "were refused, and what would change it.\n\nExamples:\n"
        '  python3 manage.py why "Tern C rebuild" R11\n'
        "  python3 manage.py why 12 --json"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "need", nargs="+", metavar="NEED", help="its number; or a job, by name or number, and a reference"
        )
        self.add_forms(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        need = need_named(options["need"])
        found = explain(need)
        if options["json"]:
            self.print_json(as_json(need, found))
        else:
            print_why(stream_of(self.stdout), need, found)


def print_why(out: TextIO, need: Need, found: Explained | None) -> None:
    """The chain of reasons."""
    print(f"{need.job}, {need.ref or 'loose'}: {need.spec}", file=out)
    print(f"wanted {need.quantity}, fitted {need.fitted}, promised {need.promised}", file=out)
    if found is None:
        print("No plan is made for it: it lacks nothing, was dropped, or its job is not open.", file=out)
        return
    why = found.why
    refs = write_refs(found.lines[found.line].refs)
    if refs != need.ref:
        print(f"Planned together with all of this kind that the job lacks: {refs or 'loose'}.", file=out)
    if why.given:
        given = [
            (
                str(take.quantity), _where(found.pieces[take.supply]), TIERS[Tier(take.tier)],
                grade(take.fit), "; ".join(noted(take.fit)),
            )
            for take in why.given
        ]  # fmt: skip
        show(out, "The plan gives it", ("pieces", "from", "where", "grade", "why"), given)
    if why.elsewhere:
        others = [
            (
                str(each.quantity), _where(found.pieces[each.supply]), found.lines[each.demand.id].name,
                write_refs(found.lines[each.demand.id].refs),
                "comes first" if each.first_in_line else "the whole plan is better so",
            )
            for each in why.elsewhere
        ]  # fmt: skip
        show(out, "By itself it would have had", ("pieces", "from", "went to", "at", "because"), others)
    if why.refused:
        refused = [
            (
                _where(found.pieces[miss.supply]), grade(miss.fit), "; ".join(objections(miss.fit)),
                settled(miss.settled_by),
            )
            for miss in why.refused
        ]  # fmt: skip
        show(out, "Refused", ("what", "grade", "why", "what would settle it"), refused)
    print(
        f"short now {why.short}; with its job first in line {why.if_first}; "
        f"with working boards lending {why.if_borrowing}",
        file=out,
    )


def _where(piece: Piece) -> str:
    """`lot 8, Drawer 3`; what is on order has neither."""
    if piece.lot is None:
        return "on order"
    return f"lot {piece.lot}, {piece.place_name} {piece.ref}".rstrip()
