"""Whether a board is safe to switch on: loads what is known of it and has `repairs.proving` judge."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

from django.db.models import Count, F, Max, Q

from inventory import ledger
from inventory.design_facts import DesignFacts, LinkRule, read_conditions, read_design
from inventory.models import Board, Holding, Lot, Movement
from inventory.models import Position as DrawnPosition
from inventory.refs import split_ref
from inventory.spec import FieldProblem, Recorded
from repairs import substitutions
from repairs.proving import confirmations, orientation, ready
from repairs.proving.board import (
    Accepted,
    BoardConfirmation,
    BoardFacts,
    BoardLinkSetting,
    BoardPosition,
    BoardTrial,
)
from repairs.proving.fitted import FittedPiece
from repairs.proving.items import Item
from repairs.proving.positions import empty_by_rule
from repairs.proving.rails import BoardRailReading, with_negative_first
from repairs.proving.ready import Readiness
from repairs.proving_models import TrialRecord


def judge(board: Board) -> Readiness:
    """The verdict on a board with every item and its reason."""
    return ready.judge(facts_of(board))


def unsettled(board: Board, piece: FittedPiece | None = None) -> tuple[Item, ...]:
    """What is open or in conflict on a board, with another piece in a position for the length of a trial."""
    found = ready.unsettled(trying(facts_of(board), piece))
    if piece is None:
        return found
    # How a visitor sits in the socket is on nobody's record: whoever tries it sees to that.
    return tuple(item for item in found if (item.check, item.subject) != ("orientation", piece.ref))


def trying(facts: BoardFacts, piece: FittedPiece | None) -> BoardFacts:
    """The board with a piece in a position for the length of a trial: its own part may be out for that."""
    if piece is None:
        return facts
    elsewhere = [position.ref for position in facts.positions if position.lent and position.ref != piece.ref]
    return replace(facts.with_piece(piece), runs=facts.works and not elsewhere)


def piece_of(lot: Lot, ref: str) -> FittedPiece:
    """A lot as the checks see it in a position."""
    return FittedPiece(ref, lot.pk, lot.part.spec.spec, lot.marking, lot.condition)


def facts_of(board: Board) -> BoardFacts:
    """Everything that is known of a board, in a constant number of queries."""
    lent = _lent(board)
    drawn = list(board.design.positions.select_related("spec")) if board.design else []
    design, empty_when = _design(board, drawn)
    held = {
        holding.ref: holding
        for holding in Holding.objects.filter(place_id=board.place_id, quantity__gt=0)
        .exclude(ref="")
        .select_related("lot__part__spec", "lot__origin_board")
    }
    touches, moved, changed = _movements(board)
    positions = []
    for row in sorted(drawn, key=lambda row: split_ref(row.ref)):
        holding = held.pop(row.ref, None)
        positions.append(
            BoardPosition(
                ref=row.ref,
                required=row.spec.spec,
                piece=piece_of(holding.lot, row.ref) if holding else None,
                socketed=row.socketed,
                note=row.note,
                touches=touches[row.ref],
                measured=holding.lot.measured if holding else None,
                measured_tolerance=holding.lot.measured_tolerance if holding else None,
                at_home=holding is not None and _is_at_home(holding.lot, board, row.ref),
                lent=lent.get(row.ref, ""),
                empty_when=empty_when[row.ref],
            )
        )
    if design is not None:
        minus = {
            position.ref: [position.required, *([position.piece.spec] if position.piece else [])]
            for position in positions
        }
        design = replace(design, rails=with_negative_first(design.rails, minus)[0])
    return BoardFacts(
        design=design,
        positions=tuple(positions),
        settings=tuple(
            BoardLinkSetting(row.link, row.setting, row.stamp, row.basis)
            for row in board.link_settings.filter(withdrawn=None).order_by("id")
        ),
        confirmations=tuple(_confirmations(board)),
        readings=tuple(
            BoardRailReading(
                row.rail, row.stage, row.amount, row.stamp, row.ref, row.measured_at,
                tuple(row.protects), tuple(row.filled),
            )
            for row in board.rail_readings.filter(withdrawn=None).order_by("id")
        ),
        exceptions=tuple(
            Accepted(row.item, row.subject, row.stamp, row.person, row.why, row.basis, row.finding)
            for row in board.exceptions.filter(withdrawn=None).select_related("by").order_by("id")
        ),
        trials=tuple(_trials(board)),
        moved=moved,
        changed=changed,
        works=board.purpose == Board.Purpose.WORKING,
        runs=board.purpose == Board.Purpose.WORKING and not lent,
        scrapped=board.purpose == Board.Purpose.SCRAPPED,
        undrawn=tuple(
            BoardPosition(ref, held[ref].lot.part.spec.spec, piece_of(held[ref].lot, ref))
            for ref in sorted(held, key=split_ref)
        ),
        design_id=board.design_id,
        recorded=substitutions.recorded(board.design) if board.design else Recorded(),
    )  # fmt: skip


def _design(
    board: Board, positions: Sequence[DrawnPosition]
) -> tuple[DesignFacts | None, Mapping[str, LinkRule | None]]:
    """What the board's design says, and when each of its positions is left empty."""
    if board.design is None:
        return None, {}
    members = {name: getattr(board.design, name) for name in ("links", "rails", "banks", "hazards")}
    required = {row.ref: row.spec.spec for row in positions}
    facts = read_design(members, required.keys())
    conditions = [(row.ref, row.empty_when) for row in positions]
    rules, problems = read_conditions(conditions, members["banks"], required.keys())
    pointed = (
        FieldProblem(f"/positions{problem.pointer}", problem.code, problem.detail) for problem in problems
    )
    facts = replace(facts, problems=(*facts.problems, *pointed))
    return facts, dict(zip(required, rules, strict=True))


def _is_at_home(lot: Lot, board: Board, ref: str) -> bool:
    """Whether a piece came off this very position of a board of the same design."""
    origin = lot.origin_board
    return origin is not None and lot.origin_ref == ref and origin.design_id == board.design_id


def latest_movement(board: Board) -> int:
    """The id of the latest movement on the board; 0 where there was none."""
    return max(_movements(board)[1].values(), default=0)


def _movements(board: Board) -> tuple[Counter[str], dict[str, int], dict[str, int]]:
    """How many movements there were to and from each reference, the latest of each, and the latest of those
    that were not reversed.

    A split at the position is none: nobody touched the piece.
    """
    touches: Counter[str] = Counter()
    moved: dict[str, int] = defaultdict(int)
    changed: dict[str, int] = defaultdict(int)
    lasting = Q(reversed_by=None, reverses=None)
    for end in ("to", "from"):
        rows = (
            Movement.objects.filter(**{f"{end}_place": board.place_id})
            .exclude(from_place=F("to_place"), from_ref=F("to_ref"))
            .order_by()
            .values_list(f"{end}_ref")
            .annotate(touched=Count("id"), latest=Max("id"), lasted=Max("id", filter=lasting, default=0))
        )
        for ref, count, latest, latest_lasting in rows:
            touches[ref] += count
            moved[ref] = max(moved[ref], latest)
            changed[ref] = max(changed[ref], latest_lasting)
    return touches, dict(moved), dict(changed)


def _trials(board: Board) -> Iterable[BoardTrial]:
    """Trials of the board, and of pieces while they were in it; of visitors in its sockets none."""
    of_it = Q(trial__board=board) | Q(board=board, trial__in_circuit=True)
    records = TrialRecord.objects.filter(of_it).exclude(outcome="").select_related("trial")
    for record in records.order_by("trial_id"):
        trial = record.trial
        ref = trial.ref or ("" if trial.lot_id is None else next(iter(record.tried), ""))
        text = " ".join(filter(None, (trial.method, trial.reading, trial.note)))[:200]
        passed = record.outcome == TrialRecord.Outcome.PASS
        yield BoardTrial(trial.pk, ref, passed, text, record.stamp)


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


def _confirmations(board: Board) -> Iterable[BoardConfirmation]:
    for row in board.confirmations.filter(withdrawn=None).select_related("by").order_by("id"):
        yield BoardConfirmation(
            row.item, row.ref, row.right, row.stamp, row.way, row.person, row.note, row.basis
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
        design, empty_when = _design(board, here)
        positions = tuple(
            BoardPosition(
                row.ref, row.spec.spec, held.get((board.place_id, row.ref)), empty_when=empty_when[row.ref]
            )
            for row in here
        )
        facts = BoardFacts(design, positions)
        judged = ((position.ref, *empty_by_rule(facts, position)) for position in positions)
        found[board.pk] = {ref: why for ref, holds, why in judged if holds == "yes"}
    return found


def fitting_notes(board: Board, ref: str, lot: Lot) -> Mapping[str, str]:
    """What to tell whoever fits this lot there: how it goes in, and the links that will want looking at."""
    facts = facts_of(board)
    position = next((position for position in facts.positions if position.ref == ref), None)
    if position is None:
        return {}
    notes = {}
    found = facts.recorded_of(position, piece_of(lot, ref))
    if found is not None:
        notes["substitution"] = found.text
    if way := orientation.note_at_fitting(position.required, lot.part.spec.spec, position.note, found):
        notes["orientation"] = way
    there = facts.with_piece(piece_of(lot, ref))
    links = [
        found for found in confirmations.link_findings(there) if ref in found.refs and found.state != "agrees"
    ]
    if links:
        notes["links"] = "; ".join(f"{found.link}: {found.reason}" for found in links)
    return notes
