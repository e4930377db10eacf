"""Trying chips one by one in a known good board: baseline, swap, soak, the good one back, baseline again.

A suspect is only judged between two passing baselines: the fixture was good before and is still good after.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.refusals import Code
from repairs.proving.verdict import COMMON, FAULTY, GOOD, INCONCLUSIVE, Judgement, TrialReason

BASELINE, SUSPECT_IN = "baseline", "suspect"


@dataclass(frozen=True)
class TriedStep:
    """One thing done in a swap test, in the order of time: a baseline with the fixture's own part, or a
    suspect.
    """

    what: str
    passed: bool
    lot: int | None = None
    reading: str = ""


@dataclass(frozen=True)
class SwapResult:
    """One line of the result table."""

    step: int
    lot: int
    verdict: str
    reasons: tuple[TrialReason, ...]
    settled: bool


class OutOfTurn(ValueError):
    """The step may not be done now; `code` is stable, the message says what comes first."""

    def __init__(self, code: Code, detail: str) -> None:
        super().__init__(detail)
        self.code = code


def refuse_out_of_turn(steps: Sequence[TriedStep], what: str, *, maybe_shorted: str = "") -> None:
    """OutOfTurn where the step breaks the order of a swap test.

    `maybe_shorted` says why the suspect may be shorted: nothing that may be goes into a good board before
    ohms pass.
    """
    if what == BASELINE:
        return
    if not any(step.what == BASELINE for step in steps):
        raise OutOfTurn(Code.BASELINE_FIRST, "the baseline with the board's own part comes first")
    last = next(step for step in reversed(steps) if step.what == BASELINE)
    if not last.passed:
        raise OutOfTurn(
            Code.BASELINE_FAILED, "the last baseline failed: the board is not a known good one any more"
        )
    if maybe_shorted:
        raise OutOfTurn(
            Code.OHMS_FIRST, f"{maybe_shorted}: ohms pass before it goes into a good board ({COMMON})"
        )


def results(steps: Sequence[TriedStep]) -> tuple[SwapResult, ...]:
    """The verdict on each suspect, by the baselines around it."""
    rows = []
    for index, step in enumerate(steps):
        if step.what != SUSPECT_IN or step.lot is None:
            continue
        after = next((later for later in steps[index + 1 :] if later.what == BASELINE), None)
        judged = _between(step, after)
        rows.append(SwapResult(index, step.lot, judged.verdict, judged.reasons, after is not None))
    return tuple(rows)


def _between(step: TriedStep, after: TriedStep | None) -> Judgement:
    reason = TrialReason(
        "passed" if step.passed else "failed", step.reading or ("passed" if step.passed else "failed")
    )
    if after is None:
        waits = TrialReason(
            "baseline_after", "put the good one back: the baseline after it is still to come", COMMON
        )
        return Judgement(INCONCLUSIVE, (reason, waits))
    if not after.passed:
        hurt = TrialReason(
            "fixture_failed", "the baseline after it failed: the board was hurt or is no fixture", COMMON
        )
        return Judgement(INCONCLUSIVE, (reason, hurt))
    passed = TrialReason("baselines_pass", "the board passed with its own part before and after", COMMON)
    return Judgement(GOOD if step.passed else FAULTY, (reason, passed))
