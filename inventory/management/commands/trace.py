"""`manage.py trace`: where a piece came from and where it went."""

from collections.abc import Mapping
from typing import Any, TextIO

from django.core.management.base import CommandError, CommandParser
from django.utils.timezone import localtime

from inventory.api.traces import lot_trace
from inventory.management.readable import Readable
from inventory.models import Board, Lot
from inventory.places import paths
from inventory.tables import show, stream_of
from inventory.traces import LotTrace, trace_lot


class Command(Readable):
    help = (
        "Tell the life of a lot, or of the piece that came off a board, oldest first.\n\nExamples:\n"
        "  python3 manage.py trace 5\n"
        '  python3 manage.py trace --board "Tern donor 1" --ref RN1'
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("lot", nargs="?", type=int, help="the number of the lot")
        parser.add_argument("--board", metavar="NAME", help="the board that the piece came off")
        parser.add_argument("--ref", help="the reference at which it was")
        parser.add_argument("--json", action="store_true", help="print as the API answers it")

    def handle(self, *args: Any, **options: Any) -> None:
        lot, where = self.wanted(options), paths()
        if options["json"]:
            self.print_json(lot_trace(lot, where))
        else:
            print_trace(stream_of(self.stdout), trace_lot(lot), where)

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
    for change in lot.hand_overs.select_related("by").order_by("id"):
        by = change.by.get_username() if change.by else "the terminal"
        was, is_now = (f"{name}'s" if name else "everybody's" for name in (change.before, change.after))
        print(f"{localtime(change.at):%Y-%m-%d %H:%M}: {was}, then {is_now}, by {by}", file=out)
    for there in trace.now:
        held = there.holding
        mixed = ", among others" if there.mixed else ""
        print(f"now: {held.quantity} at {where[held.place_id]} {held.ref}".rstrip() + mixed, file=out)
    if not trace.now:
        print("now: nowhere", file=out)
