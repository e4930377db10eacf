"""Whether a board is safe to switch on: loads what is known of it and has `repairs.proving` judge."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from django.db.models import Count

from inventory import ledger
from inventory.models import Board, Holding, Lot, Movement
from inventory.models import Position as DrawnPosition
from inventory.refs import split_ref
from inventory.spec import Recorded
from repairs import substitutions
from repairs.proving import orientation, ready
from repairs.proving.board import Accepted, BoardFacts, Confirmation, LinkSetting, Position
from repairs.proving.drawing import Drawing, read_drawing
from repairs.proving.fitted import Piece
from repairs.proving.rails import RailReading, with_negative_first
from repairs.proving.ready import Item, Readiness
from repairs.proving_models import said_of


def judge(board: Board) -> Readiness:
    """The verdict on a board with every item and its reason."""
    return ready.judge(facts_of(board))


def unsettled(board: Board, piece: Piece | None = None) -> tuple[Item, ...]:
    """What is open or in conflict on a board, with another piece in a position for the length of a trial."""
    found = ready.unsettled(trying(facts_of(board), piece))
    if piece is None:
        return found
    # How a visitor sits in the socket is on nobody's record: whoever tries it sees to that.
    return tuple(item for item in found if (item.check, item.subject) != ("orientation", piece.ref))


def trying(facts: BoardFacts, piece: Piece | None) -> BoardFacts:
    """The board with a piece in a position for the length of a trial: its own part may be out for that."""
    if piece is None:
        return facts
    elsewhere = [position.ref for position in facts.positions if position.lent and position.ref != piece.ref]
    return replace(facts.with_piece(piece), runs=facts.works and not elsewhere)


def piece_of(lot: Lot, ref: str) -> Piece:
    """A lot as the checks see it in a position."""
    return Piece(ref, lot.pk, lot.part.spec.spec, lot.marking, lot.condition)


def facts_of(board: Board) -> BoardFacts:
    """Everything that is known of a board, in a constant number of queries."""
    lent = _lent(board)
    drawn = list(board.design.positions.select_related("spec")) if board.design else []
    drawing = _drawing(board, drawn)
    held = {
        holding.ref: holding
        for holding in Holding.objects.filter(place_id=board.place_id, quantity__gt=0)
        .exclude(ref="")
        .select_related("lot__part__spec")
    }
    arrivals, departures = _touches(board)
    positions = []
    for row in sorted(drawn, key=lambda row: split_ref(row.ref)):
        holding = held.pop(row.ref, None)
        positions.append(
            Position(
                ref=row.ref,
                required=row.spec.spec,
                piece=piece_of(holding.lot, row.ref) if holding else None,
                socketed=row.socketed,
                note=row.note,
                touches=arrivals[row.ref] + departures[row.ref],
                departures=departures[row.ref],
                measured=holding.lot.measured if holding else None,
                lent=lent.get(row.ref, ""),
                empty_when=row.empty_when,
            )
        )
    known = {position.ref for position in positions}
    return BoardFacts(
        drawing=drawing,
        positions=tuple(positions),
        settings=tuple(
            LinkSetting(row.link, row.setting, row.stamp)
            for row in board.link_settings.filter(withdrawn=None).order_by("id")
        ),
        confirmations=tuple(_confirmations(board)),
        readings=tuple(
            RailReading(
                row.rail, row.stage, row.amount, row.stamp, row.ref, row.departures, tuple(row.filled)
            )
            for row in board.rail_readings.filter(withdrawn=None).order_by("id")
        ),
        exceptions=tuple(
            Accepted(row.item, row.subject, row.stamp, said_of(row.by), row.why)
            for row in board.exemptions.filter(withdrawn=None).select_related("by").order_by("id")
        ),
        loose=sum(count for ref, count in (arrivals + departures).items() if ref not in known),
        works=board.purpose == Board.Purpose.WORKING,
        runs=board.purpose == Board.Purpose.WORKING and not lent,
        undrawn=tuple(sorted(held, key=split_ref)),
        design=board.design_id,
        recorded=substitutions.recorded(board.design) if board.design else Recorded(),
    )


def _drawing(board: Board, positions: Iterable[DrawnPosition]) -> Drawing | None:
    if board.design is None:
        return None
    design = board.design
    told = {name: getattr(design, name) for name in ("links", "rails", "banks", "hazards")}
    wants = {row.ref: row.spec.spec for row in positions}
    drawing = read_drawing(told, wants.keys())
    return replace(drawing, rails=with_negative_first(drawing.rails, wants)[0])


def _touches(board: Board) -> tuple[Counter[str], Counter[str]]:
    """How many movements there were to and from each position."""
    to = Movement.objects.filter(to_place=board.place_id).order_by().values_list("to_ref")
    off = Movement.objects.filter(from_place=board.place_id).order_by().values_list("from_ref")
    return Counter(dict(to.annotate(Count("id")))), Counter(dict(off.annotate(Count("id"))))


def _lent(board: Board) -> dict[str, str]:
    """Where the board's own pieces are that are out on loan, by position."""
    owed = (
        ledger.open_loans()
        .filter(from_place=board.place_id, borrow=True)
        .select_related("loan__job", "to_place")
    )
    return {line.from_ref: _whither(line) for line in owed}


def _whither(line: Movement) -> str:
    loan = getattr(line, "loan", None)
    job = f" for {loan.job}" if loan is not None and loan.job is not None else ""
    return f"out on loan{job}"


def _confirmations(board: Board) -> Iterable[Confirmation]:
    for row in board.confirmations.filter(withdrawn=None).select_related("by").order_by("id"):
        yield Confirmation(
            row.item, row.ref, row.right, row.stamp, row.lot_id, row.way, said_of(row.by), row.note
        )


def left_empty(board: Board) -> dict[str, str]:
    """Positions that are left empty by what is fitted now, and why; most drawings have none that ask."""
    return left_empty_on([board])[board.pk]


def left_empty_on(boards: Collection[Board]) -> dict[int, dict[str, str]]:
    """The same for several boards by their id, in a constant number of queries."""
    found: dict[int, dict[str, str]] = {board.pk: {} for board in boards}
    designs = {board.design_id for board in boards if board.design_id is not None}
    rules = DrawnPosition.objects.filter(design__in=designs).exclude(empty_when={})
    asking = set(rules.values_list("design", flat=True)) if designs else set()
    asked = [board for board in boards if board.design_id in asking]
    if not asked:
        return found
    drawn: dict[int | None, list[DrawnPosition]] = defaultdict(list)
    for row in DrawnPosition.objects.filter(design__in=asking).select_related("spec"):
        drawn[row.design_id].append(row)
    held = {
        (holding.place_id, holding.ref): piece_of(holding.lot, holding.ref)
        for holding in Holding.objects.filter(place__in=[board.place_id for board in asked], quantity__gt=0)
        .exclude(ref="")
        .select_related("lot__part__spec")
    }
    for board in asked:
        here = drawn[board.design_id]
        positions = tuple(
            Position(row.ref, row.spec.spec, held.get((board.place_id, row.ref)), empty_when=row.empty_when)
            for row in here
        )
        facts = BoardFacts(_drawing(board, here), positions)
        judged = ((position.ref, *ready.empty_by_rule(facts, position)) for position in positions)
        found[board.pk] = {ref: why for ref, holds, why in judged if holds == "yes"}
    return found


def said_at_fitting(board: Board, ref: str, lot: Lot) -> Mapping[str, str]:
    """What to tell whoever fits this lot there: how it goes in, and the links that will want looking at."""
    facts = facts_of(board)
    position = next((position for position in facts.positions if position.ref == ref), None)
    if position is None:
        return {}
    told = {}
    found = facts.recorded_of(position, piece_of(lot, ref))
    if found is not None:
        told["substitution"] = found.text
    if way := orientation.said_at_fitting(position.required, lot.part.spec.spec, position.note, found):
        told["orientation"] = way
    there = facts.with_piece(piece_of(lot, ref))
    links = [found for found in ready.link_findings(there) if ref in found.refs and found.state != "agrees"]
    if links:
        told["links"] = "; ".join(f"{found.link}: {found.reason}" for found in links)
    return told
