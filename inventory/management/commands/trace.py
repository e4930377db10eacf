"""`manage.py trace`: where a piece came from and where it went."""

import json
from collections.abc import Mapping
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser
from django.utils.timezone import localtime

from inventory.management.helped import Helped
from inventory.models import Board, Lot, Movement
from inventory.places import paths
from inventory.tables import show, stream_of
from inventory.traces import LotTrace, trace_lot


class Command(Helped):
    help = (
        "Tell the life of a lot, or of the piece that came off a board, oldest first.\n\nExamples:\n"
        "  python3 manage.py trace 5\n"
        '  python3 manage.py trace --board "Tern donor 1" --ref RN1'
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("lot", nargs="?", type=int, help="the number of the lot")
        parser.add_argument("--board", metavar="NAME", help="the board that the piece came off")
        parser.add_argument("--ref", help="the reference at which it was")
        parser.add_argument("--json", action="store_true", help="print as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        trace = trace_lot(self.wanted(options))
        where = paths()
        if options["json"]:
            self.stdout.write(json.dumps(as_json(trace, where)))
        else:
            print_trace(stream_of(self.stdout), trace, where)

    def wanted(self, options: Mapping[str, Any]) -> Lot:
        lots = Lot.objects.select_related("part__spec", "origin_board")
        if options["lot"] is not None and not (options["board"] or options["ref"]):
            if not -(2**63) <= options["lot"] < 2**63 or not (lot := lots.filter(pk=options["lot"]).first()):
                raise CommandError(f"no lot has the number {options['lot']}")
            return lot
        if options["lot"] is not None or not (options["board"] and options["ref"]):
            raise CommandError("give the number of a lot, or --board and --ref")
        if not (board := Board.objects.filter(name=options["board"]).first()):
            known = ", ".join(Board.objects.order_by("name").values_list("name", flat=True)[:20])
            raise CommandError(f"no board is named {options['board']}; boards: {known or 'none'}")
        if not (lot := lots.filter(origin_board=board, origin_ref=options["ref"]).order_by("id").first()):
            raise CommandError(f"no piece is recorded as coming from {board.name} {options['ref']}")
        return lot


def origin_text(lot: Lot) -> str:
    """Where a lot came from, in words."""
    if lot.origin_board is not None:
        return f"off {lot.origin_board.name} {lot.origin_ref}".rstrip()
    giver = f", {lot.origin_from}" if lot.origin_from else ""
    return {"unknown": "from an unknown source"}.get(lot.origin_source, lot.origin_source) + giver


def print_trace(out: TextIO, trace: LotTrace, where: Mapping[int, str]) -> None:
    """The life of a lot as a table, and where it is now."""
    lot = trace.lot
    rows = [
        (
            f"{localtime(line.at):%Y-%m-%d %H:%M}",
            line.kind + (" (borrowed)" if line.borrow else ""),
            str(line.quantity),
            f"{where[line.from_place_id]} {line.from_ref}".rstrip(),
            f"{where[line.to_place_id]} {line.to_ref}".rstrip(),
            line.by.get_username() if line.by else "",
            line.note,
        )
        for line in trace.movements
    ]
    title = f"Lot {lot.pk}: {lot.part.spec.text}, {lot.condition}; {origin_text(lot)}"
    show(out, title, ("when", "what", "pieces", "from", "to", "by", "note"), rows)
    for there in trace.now:
        held = there.holding
        mixed = ", among others" if there.mixed else ""
        print(f"now: {held.quantity} at {where[held.place_id]} {held.ref}".rstrip() + mixed, file=out)
    if not trace.now:
        print("now: nowhere", file=out)


def as_json(trace: LotTrace, where: Mapping[int, str]) -> dict[str, Any]:
    return {
        "lot": trace.lot.pk,
        "spec_text": trace.lot.part.spec.text,
        "condition": trace.lot.condition,
        "origin": origin_text(trace.lot),
        "movements": [_line(line, where) for line in trace.movements],
        "now": [
            {
                "place": where[there.holding.place_id],
                "ref": there.holding.ref,
                "quantity": there.holding.quantity,
                "promised": there.holding.promised,
                "mixed": there.mixed,
            }
            for there in trace.now
        ],
    }


def _line(line: Movement, where: Mapping[int, str]) -> dict[str, Any]:
    return {
        "id": line.pk,
        "kind": line.kind,
        "quantity": line.quantity,
        "from": f"{where[line.from_place_id]} {line.from_ref}".rstrip(),
        "to": f"{where[line.to_place_id]} {line.to_ref}".rstrip(),
        "at": localtime(line.at).isoformat(),
        "by": line.by.get_username() if line.by else None,
        "borrow": line.borrow,
        "note": line.note,
    }
