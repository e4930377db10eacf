"""Donor surveys into boards and their pieces.

A board is found by name, or registered.  What was at a position is one piece for life:

- there: it is at its position, and comes in there where nothing is known of it;
- lifted: it came off this position and is at To: it comes in at its position and is lifted;
- gone: there is no piece any more.  Its lot is kept with none left, so that nobody looks for it again.

A survey adds to what is known and overwrites nothing: a piece that was tested, marked or identified since
stays so, and one that the ledger has elsewhere is a bad cell.  The same survey again changes nothing.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import F

from inventory import boards, ledger, lots
from inventory.ledger import Actor, Arrival, Origin, Refused, Spot
from inventory.models import Board, Holding, Lot, Place, Position
from inventory.refs import split_ref
from inventory.sheets.donor_table import EVERY, GONE, LIFTED, THERE, DonorRow, read_donor
from inventory.sheets.names import BoardNames, DesignNames, PlaceNames
from inventory.sheets.parts import parts_of
from inventory.sheets.report import Report
from inventory.sheets.specs import SpecReader, spec_cells
from inventory.sheets.table import Progress, SheetRow
from inventory.spec import Spec

NOTE = "from a survey"
_CREATED, _UPDATED, _UNCHANGED = 2, 1, 0


@dataclass(slots=True)
class _Piece:
    """What a row says of one position."""

    entry: DonorRow
    board: Board
    ref: str
    spec: Spec
    to: Place | None

    @property
    def spot(self) -> Spot:
        return Spot(self.board.place_id, self.ref)

    @property
    def key(self) -> tuple[int, str]:
        return self.board.pk, self.ref


def import_rows(rows: Sequence[SheetRow], *, by: Actor, report: Report, progress: Progress) -> None:
    """Do what the rows say.  Bad cells are named on the rows; whoever called takes everything back then."""
    Survey(by, report).import_rows(rows, progress)


class Survey:
    def __init__(self, by: Actor, report: Report) -> None:
        self.by, self.report = by, report
        self.boards, self.designs, self.places, self.specs = (
            BoardNames(),
            DesignNames(),
            PlaceNames(),
            SpecReader(),
        )
        self.outcome: dict[SheetRow, int] = {}
        self.left_alone = 0

    def import_rows(self, rows: Sequence[SheetRow], progress: Progress) -> None:
        surveyed = []
        for row in rows:
            entry = read_donor(row)
            self.outcome[row] = _UNCHANGED
            surveyed.append((entry, self._board(entry)))
        pieces = list(self._pieces(surveyed))
        known = _Known({piece.board.pk: piece.board for piece in pieces})
        tasks = [(piece, self._task(piece, known)) for piece in pieces]
        self._bring_in([piece for piece, task in tasks if task == self._comes_in and piece.entry.row.sound])
        for done, (piece, task) in enumerate(tasks):
            if task is not None and piece.entry.row.sound:
                try:
                    with transaction.atomic():
                        task(piece, known)
                except Refused as refused:
                    piece.entry.row.bad("state", f"{piece.board.name} {piece.ref}: {refused.detail}")
            if done % 100 == 0:
                progress("surveying", done)
        outcomes = list(self.outcome.values())
        self.report.created += outcomes.count(_CREATED)
        self.report.updated += outcomes.count(_UPDATED)
        self.report.unchanged += outcomes.count(_UNCHANGED)
        if self.left_alone:
            many = "1 piece is" if self.left_alone == 1 else f"{self.left_alone} pieces are"
            self.report.notes.append(f"{many} known otherwise by now: what is known was kept.")
        self.places.note_made(self.report)

    def _now(self, row: SheetRow, outcome: int) -> None:
        self.outcome[row] = max(self.outcome[row], outcome)

    # --- boards

    def _board(self, entry: DonorRow) -> Board | None:
        """The board of a row, registered where there is none; None, and a cell bad, where it cannot be."""
        row = entry.row
        design = self.designs.named(row) if row["design"] else None
        if row["revision"] and not row["design"]:
            row.bad("design", "expected the design that this is the revision of")
        board = self.boards.get(row["board"])
        if board is None:
            if not row.sound:
                return None
            if Place.objects.filter(within=None, name=row["board"]).exists():
                row.bad("board", "a place has this name: a board needs another")
                return None
            board = boards.register(
                name=row["board"], purpose=entry.purpose or Board.Purpose.DONOR, by=self.by, design=design
            )
            self.boards.add(board)
            self.report.notes.append(f"Board registered: {board}.")
            self._now(row, _CREATED)
        elif design is not None and board.design is None:
            Board.objects.filter(pk=board.pk).update(design=design, version=F("version") + 1)
            board.design = design
            self._now(row, _UPDATED)
        elif design is not None and design != board.design:
            row.bad("design", f"{board} is made to {board.design} here")
        if entry.purpose and entry.purpose != board.purpose:
            row.bad("purpose", f"{board} is {board.purpose} here: change that on the board itself")
        return board

    # --- pieces

    def _pieces(self, surveyed: Sequence[tuple[DonorRow, Board | None]]) -> Iterator[_Piece]:
        """The positions of every row; `all` is every position of the design that no other row names."""
        named: dict[tuple[int, str], SheetRow] = {}
        drawn: dict[int, dict[str, Position]] = {}
        for entry, board in surveyed:
            for ref in [EVERY] if entry.every else entry.refs:
                first = named.setdefault((board.pk, ref), entry.row) if board else entry.row
                if first is not entry.row:
                    entry.row.bad("ref", f"{ref} of {board} is in row {first.number} already")
        for entry, board in surveyed:
            if board is None:
                continue
            if board.pk not in drawn:
                positions = Position.objects.filter(design=board.design_id).select_related("spec")
                drawn[board.pk] = {position.ref: position for position in positions}
            refs = entry.refs
            if entry.every:
                refs = sorted((ref for ref in drawn[board.pk] if (board.pk, ref) not in named), key=split_ref)
                if not drawn[board.pk]:
                    entry.row.bad("ref", f"{board} has no design that says which positions there are")
            to = self.places.keeping(entry.row, "to") if entry.row["to"] and entry.state == LIFTED else None
            for ref in refs:
                spec = self._spec(entry, board, drawn[board.pk].get(ref), ref)
                if spec is not None:
                    yield _Piece(entry, board, ref, spec, to)

    def _spec(self, entry: DonorRow, board: Board, position: Position | None, ref: str) -> Spec | None:
        """What is at a position: as the design has it, with what the row says over it."""
        if position is not None and not entry.says_what:
            return position.spec.spec
        if position is None and not entry.row["kind"]:
            known = f"{board.design} has no position {ref}" if board.design else f"{board} has no design"
            entry.row.bad(
                "ref", f"{known}: expected the columns Kind, Value and so on, which say what is there"
            )
            return None
        return self.specs.read(entry.row, position.spec.spec if position else None, blank_is_base=True)

    def _task(self, piece: _Piece, known: "_Known") -> Callable[[_Piece, "_Known"], None] | None:
        """What is to be done for a piece; None where there is nothing, or its cell is bad."""
        row, state = piece.entry.row, piece.entry.state
        here, elsewhere = known.here(piece), known.elsewhere(piece)
        other = known.other_at(piece)
        new = piece.key not in known.lots
        if other is not None and (new or state == THERE):
            row.bad("state", f"{piece.board} {piece.ref} holds lot {other.lot_id}, which came from elsewhere")
            return None
        if state == LIFTED and piece.to is None and (new or here) and row.sound:
            row.bad("to", "expected the place where the lifted piece is")
            return None
        if new:
            return self._is_gone if state == GONE else self._comes_in
        if state == THERE and not here:
            if elsewhere:
                row.bad(
                    "state", f"it was lifted: {piece.board} {piece.ref} is in {known.where(elsewhere[0])} now"
                )
                return None
            return self._found_again
        if state == LIFTED and not here and not elsewhere:
            row.bad("state", f"{piece.board} {piece.ref} is on record as gone")
            return None
        return {THERE: self._described, LIFTED: self._lifted, GONE: self._counted_out}[state]

    def _bring_in(self, pieces: Sequence[_Piece]) -> None:
        """All new pieces at once, each at its position."""
        parts = parts_of({piece.spec: {} for piece in pieces})
        ledger.receive_all(
            [
                Arrival(
                    part=parts.of[piece.spec],
                    quantity=1,
                    to=piece.spot,
                    origin=Origin(source=Lot.Source.BOARD, board=piece.board, ref=piece.ref),
                    condition=piece.entry.condition or Lot.Condition.UNTESTED,
                    marking=piece.entry.marking,
                    note=piece.entry.note,
                )
                for piece in pieces
            ],
            by=self.by,
        )

    # --- what is done for each piece

    def _comes_in(self, piece: _Piece, known: "_Known") -> None:
        self._now(piece.entry.row, _CREATED)
        if piece.entry.state == LIFTED and piece.to is not None:
            ledger.lift(piece.board, [piece.ref], Spot(piece.to.pk), by=self.by, note=NOTE)

    def _is_gone(self, piece: _Piece, known: "_Known") -> None:
        self._now(piece.entry.row, _CREATED)
        lot = Lot.objects.create(
            part=parts_of({piece.spec: {}}).of[piece.spec],
            condition=piece.entry.condition or Lot.Condition.UNTESTED,
            marking=piece.entry.marking,
            note=piece.entry.note,
            owner_id=piece.board.owner_id,
            **Origin(source=Lot.Source.BOARD, board=piece.board, ref=piece.ref).columns(),
        )
        ledger.count(lot, piece.spot, 0, by=self.by, note=NOTE)

    def _found_again(self, piece: _Piece, known: "_Known") -> None:
        self._now(piece.entry.row, _UPDATED)
        ledger.count(known.lots[piece.key], piece.spot, 1, by=self.by, note=NOTE)
        self._described(piece, known)

    def _counted_out(self, piece: _Piece, known: "_Known") -> None:
        for holding in known.here(piece):
            self._now(piece.entry.row, _UPDATED)
            ledger.count(holding.lot, piece.spot, 0, by=self.by, note=NOTE)

    def _lifted(self, piece: _Piece, known: "_Known") -> None:
        if known.here(piece) and piece.to is not None:
            self._now(piece.entry.row, _UPDATED)
            ledger.lift(piece.board, [piece.ref], Spot(piece.to.pk), by=self.by, note=NOTE)
        elif piece.to is not None and piece.to.pk not in {
            holding.place_id for holding in known.elsewhere(piece)
        }:
            self.left_alone += 1
        self._described(piece, known)

    def _described(self, piece: _Piece, known: "_Known") -> None:
        """Add what the row says of the lot to what is known of it."""
        there = [*known.here(piece), *known.elsewhere(piece)]
        lot = there[0].lot if there else known.lots[piece.key]
        news: dict[str, object] = {}
        otherwise = False
        for name, blank in (("condition", Lot.Condition.UNTESTED), ("marking", ""), ("note", "")):
            given, now = getattr(piece.entry, name), getattr(lot, name)
            if given not in ("", blank) and given != now:
                otherwise = otherwise or now != blank
                if now == blank:
                    news[name] = given
        now_is = lot.part.spec.spec
        if piece.entry.says_what and piece.spec != now_is:
            cells = zip(spec_cells(now_is), spec_cells(piece.spec), strict=True)
            if all(now in ("", given) for now, given in cells):
                news["part"] = parts_of({piece.spec: {}}).of[piece.spec]
            else:
                otherwise = True
        self.left_alone += otherwise
        if news:
            lots.refuse_change(lot, **news)
            Lot.objects.filter(pk=lot.pk).update(**news, version=F("version") + 1)
            self._now(piece.entry.row, _UPDATED)


class _Known:
    """What is on record of the pieces of some boards, before the survey."""

    def __init__(self, boards_named: dict[int, Board]) -> None:
        places = {board.place_id for board in boards_named.values()}
        self.lots = {
            (lot.origin_board_id, lot.origin_ref): lot
            for lot in Lot.objects.select_related("part__spec").filter(
                origin_board__in=boards_named, split_from=None
            )
        }
        self._family: dict[tuple[int | None, str], list[Holding]] = defaultdict(list)
        self._at: dict[tuple[int, str], Holding] = {}
        held = (
            Holding.objects.filter(quantity__gt=0).select_related("lot__part__spec", "place").order_by("id")
        )
        for holding in held.filter(lot__origin_board__in=boards_named):
            self._family[holding.lot.origin_board_id, holding.lot.origin_ref].append(holding)
        for holding in held.filter(place__in=places):
            self._at[holding.place_id, holding.ref] = holding

    def here(self, piece: _Piece) -> list[Holding]:
        """The piece of this position, where it is at it."""
        return [holding for holding in self._family[piece.key] if _spot(holding) == piece.spot]

    def elsewhere(self, piece: _Piece) -> list[Holding]:
        return [holding for holding in self._family[piece.key] if _spot(holding) != piece.spot]

    def other_at(self, piece: _Piece) -> Holding | None:
        """A piece from elsewhere that is at this position."""
        there = self._at.get((piece.board.place_id, piece.ref))
        return there if there is not None and not self.here(piece) else None

    @staticmethod
    def where(holding: Holding) -> str:
        return f"{holding.place} {holding.ref}".rstrip()


def _spot(holding: Holding) -> Spot:
    return Spot(holding.place_id, holding.ref)
