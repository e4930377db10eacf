"""Memory tests of a board: what was wrong where, what that suggests, and what to try next."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from inventory.design_facts import Bank
from inventory.ledger import Actor, Refused
from inventory.models import Board
from inventory.refusals import Code
from repairs import readiness, trials
from repairs.models import Trial
from repairs.proving import ready
from repairs.proving.board import BoardFacts
from repairs.proving.memory import ALL_BITS, FaultyAddress, Located, locate
from repairs.proving.suspects import Attempt, Suspect, list_suspects
from repairs.proving.verdict import INCONCLUSIVE, Judgement, TrialReason
from repairs.proving_models import TrialRecord

METHOD = "memory test"


@dataclass(frozen=True)
class MemoryTestResult:
    """A memory test: the trial that was written, where the faults are (None: it passed), and what to try
    next.
    """

    trial: Trial
    located: Located | None
    suspects: tuple[Suspect, ...]


@transaction.atomic
def write_test(
    board: Board, faults: Sequence[FaultyAddress], *, by: Actor, note: str = ""
) -> MemoryTestResult:
    """Write a memory test down; no faults: it passed.  A fault points at a position, it condemns no part."""
    facts = readiness.facts_of(board)
    banks = [bank for bank in (facts.design.banks if facts.design else ()) if bank.map]
    if not banks:
        raise Refused(
            Code.NO_MAP, f"{board.name}: its drawing maps no memory, so nothing can be said about an address"
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
    return MemoryTestResult(trial, located, suspects(board, located))


def _mapped(banks: Sequence[Bank]) -> list[str]:
    return [ref for bank in banks for span in bank.map for _bit, ref in span.bits]


def _judgement(located: Located | None) -> Judgement:
    if located is None:
        return Judgement(Trial.Verdict.GOOD, (TrialReason("passed", "the memory test passed"),))
    reason = TrialReason("board_failed", "in place: swap a chip before it is blamed")
    return Judgement(INCONCLUSIVE, (*located.reasons, reason))


def suspects(board: Board, located: Located | None = None) -> tuple[Suspect, ...]:
    """What may be at fault on a board and what was tried, least disturbed first."""
    facts = readiness.facts_of(board)
    records = list(
        TrialRecord.objects.filter(board=board).select_related("trial").order_by("trial_id").exclude(tried={})
    )
    attempts = [attempt for record in records for attempt in _attempts(record)]
    return list_suspects(
        facts,
        ready.unsettled(facts),
        located=located,
        attempts=attempts,
        suspected_positions=_suspected(facts, records),
        failed=_failed(records),
        retest=_to_retest(attempts),
        dead=located is None and failed_as_a_whole(board),
    )


def failed_as_a_whole(board: Board) -> bool:
    """Whether the latest trial of the whole board failed, and was no memory test, which points at chips."""
    records = TrialRecord.objects.filter(trial__board=board, trial__ref="", trial__lot=None)
    latest = records.exclude(outcome="").select_related("trial").order_by("trial_id").last()
    return latest is not None and latest.outcome == TrialRecord.Outcome.FAIL and latest.trial.method != METHOD


def _attempts(record: TrialRecord) -> list[Attempt]:
    verdict = {"pass": "good", "fail": "faulty"}.get(record.outcome, record.trial.verdict)
    return [
        Attempt(
            ref,
            lot,
            record.trial.method,
            verdict,
            record.credible,
            ref in record.acquitted,
            record.known_good,
        )
        for ref, lot in record.tried.items()
    ]


def _failed(records: Sequence[TrialRecord]) -> set[str]:
    """Positions whose failures still count.

    A report of all bits speaks of what the chips share: once another report has come, it speaks of none.
    """
    reports = [record for record in records if record.trial.method == METHOD]
    return {
        ref
        for record in records
        if record.outcome == TrialRecord.Outcome.FAIL
        and not (record.has_reason(ALL_BITS) and record != reports[-1])
        for ref in record.tried
    }


def _to_retest(attempts: Sequence[Attempt]) -> set[int]:
    """Known good parts that failed at a suspected position and were not found good by themselves since."""
    failed = {attempt.lot for attempt in attempts if attempt.known_good and attempt.acquitted}
    latest = {attempt.lot: attempt for attempt in attempts}
    by_itself = Trial.objects.filter(lot__in=failed, in_circuit=False).order_by("id")
    verdicts = dict(by_itself.values_list("lot_id", "verdict"))
    return {
        lot for lot in failed if latest[lot].verdict != "good" and verdicts.get(lot) != Trial.Verdict.GOOD
    }


def _suspected(facts: BoardFacts, records: Sequence[TrialRecord]) -> list[str]:
    """Positions whose latest trial is a failure that a known good part's failure explains."""
    latest: dict[str, bool] = {}
    for record in records:
        for ref in record.tried:
            if record.outcome and not record.has_reason(ALL_BITS):
                latest[ref] = ref in record.acquitted
    return [position.ref for position in facts.positions if latest.get(position.ref)]
