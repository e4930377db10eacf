"""Memory tests of a board: what was wrong where, what that suggests, and what to try next."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from inventory.ledger import By, Refused
from inventory.models import Board
from repairs import readiness, trials
from repairs.models import Trial
from repairs.proving import ready
from repairs.proving.board import BoardFacts
from repairs.proving.drawing import Bank
from repairs.proving.memory import Fault, Located, locate
from repairs.proving.suspects import Attempt, Suspect, list_suspects
from repairs.proving.verdict import INCONCLUSIVE, Judgement, Reason
from repairs.proving_models import TrialRecord

METHOD = "memory test"


@dataclass(frozen=True)
class Found:
    """A memory test: the trial that was written, where the faults are (None: it passed), and what to try
    next.
    """

    trial: Trial
    located: Located | None
    suspects: tuple[Suspect, ...]


@transaction.atomic
def write_test(board: Board, faults: Sequence[Fault], *, by: By, note: str = "") -> Found:
    """Write a memory test down; no faults: it passed.  A fault points at a position, it condemns no part."""
    facts = readiness.facts_of(board)
    banks = [bank for bank in (facts.drawing.banks if facts.drawing else ()) if bank.map]
    if not banks:
        raise Refused(
            "no_map", f"{board.name}: its drawing maps no memory, so nothing can be said of an address"
        )
    located = locate(faults, banks) if faults else None
    pointed = [each.ref for each in located.pointed] if located else _mapped(banks)
    tried = {ref: piece.lot for ref, piece in facts.fitted.items() if ref in pointed}
    first = faults[0] if faults else None
    reading = f"{first.address:04X}: wrote {first.wrote:02X}, read {first.read:02X}" if first else "no fault"
    more = f" and {len(faults) - 1} more" if len(faults) > 1 else ""
    trial = trials.record(
        by=by,
        board=board,
        method=METHOD,
        in_circuit=True,
        reading=reading + more,
        judgement=_judgement(located),
        tried=tried,
        note=note,
    )
    return Found(trial, located, suspects(board, located))


def _mapped(banks: Sequence[Bank]) -> list[str]:
    return [ref for bank in banks for span in bank.map for _bit, ref in span.bits]


def _judgement(located: Located | None) -> Judgement:
    if located is None:
        return Judgement(Trial.Verdict.GOOD, (Reason("passed", "the memory test passed"),))
    told = Reason("board_failed", "in place: swap a chip before it is blamed")
    return Judgement(INCONCLUSIVE, (*located.reasons, told))


def suspects(board: Board, located: Located | None = None) -> tuple[Suspect, ...]:
    """What may be at fault on a board and what was tried, least disturbed first."""
    facts = readiness.facts_of(board)
    records = list(
        TrialRecord.objects.filter(board=board).select_related("trial").order_by("trial_id").exclude(tried={})
    )
    attempts = [attempt for told in records for attempt in _attempts(told)]
    return list_suspects(
        facts,
        ready.unsettled(facts),
        located=located,
        attempts=attempts,
        suspected_positions=_suspected(facts, records),
    )


def _attempts(told: TrialRecord) -> list[Attempt]:
    verdict = {"pass": "good", "fail": "faulty"}.get(told.outcome, told.trial.verdict)
    return [
        Attempt(ref, lot, told.trial.method, verdict, told.credible, ref in told.acquitted)
        for ref, lot in told.tried.items()
    ]


def _suspected(facts: BoardFacts, records: Sequence[TrialRecord]) -> list[str]:
    """Positions whose latest trial is a failure that a known good part's failure explains."""
    latest: dict[str, bool] = {}
    for told in records:
        for ref in told.tried:
            if told.outcome:
                latest[ref] = ref in told.acquitted
    return [position.ref for position in facts.positions if latest.get(position.ref)]
