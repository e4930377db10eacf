"""What a failure proves, and what it does not.

Two rules that save evenings: a failure seen while a link, a rail or an orientation of that board is open or
in conflict condemns no part; and where a known good part fails at the same position, the suspect is acquitted
and the position is suspected: links, socket, tracks, neighbours (common practice).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from repairs.proving.verdict import FAULTY, GOOD, SUSPECT

RETEST = "untested"
"""What a good part is that failed where the position is the suspect."""


@dataclass(frozen=True)
class Unsettled:
    """An item that was open or a stop when a failure was seen."""

    check: str
    subject: str
    state: str
    reason: str = ""


def settle(then: Sequence[Unsettled], now: Mapping[tuple[str, str], str]) -> tuple[Unsettled, ...]:
    """What still keeps a failure from being believed, by the states of the same items today.

    An item that was open and passes today stood right all along: it is settled.  One that is a stop today, or
    was one, was wrong when the failure was seen: it never settles, the trial is repeated instead.
    """
    left = []
    for item in then:
        today = now.get((item.check, item.subject), "open")
        if item.state == "stop" or today == "stop":
            left.append(replace(item, state="stop"))
        elif today != "pass":
            left.append(item)
    return tuple(left)


@dataclass(frozen=True)
class PositionTrial:
    """One part tried at one position of one board, in the order of time."""

    trial: int
    lot: int
    ref: str
    passed: bool
    known_good: bool
    credible: bool = True


@dataclass(frozen=True)
class Weighed:
    """Trials whose failure is no longer held against the part, by the trial that acquits it; positions
    suspected.
    """

    acquitted: Mapping[int, int]
    suspected: tuple[str, ...]


def weigh(outcomes: Sequence[PositionTrial]) -> Weighed:
    """Weigh all trials on one board against each other, oldest first.

    Failures at a position count together until something passes there: two parts that fail one after the
    other, one of them known good, point at the position and at neither of them.
    """
    acquitted: dict[int, int] = {}
    suspected: dict[str, bool] = {}
    for ref in dict.fromkeys(outcome.ref for outcome in outcomes):
        run: list[PositionTrial] = []
        for outcome in (each for each in outcomes if each.ref == ref):
            if outcome.passed:
                run, suspected[ref] = [], False
                continue
            run.append(outcome)
            found = _explained(run)
            acquitted.update(found)
            suspected[ref] = suspected.get(ref, False) or bool(found)
    return Weighed(acquitted, tuple(ref for ref, is_so in suspected.items() if is_so))


def _explained(run: Sequence[PositionTrial]) -> dict[int, int]:
    """Failures in an unbroken run that a known good part's failure explains, each by that trial."""
    found: dict[int, int] = {}
    for outcome in run:
        for other in run:
            believed = other.credible or not outcome.credible
            if other.lot != outcome.lot and (other.known_good or outcome.known_good) and believed:
                found[outcome.trial] = other.trial
    return found


@dataclass(frozen=True)
class LotTrial:
    """A trial of one lot as its condition sees it."""

    verdict: str
    in_circuit: bool
    credible: bool = True
    acquitted: bool = False
    before: str = "untested"


def condition_of(trials: Sequence[LotTrial]) -> str | None:
    """The condition that the trials of a lot (oldest first) come to; None where they say nothing.

    The latest trial out of circuit counts; one that is not believed, or from which the part was acquitted,
    counts for nothing, and what stood before the first of them stands again.  But a part that was good and
    failed at a suspected position is tested again before it is called good: whatever is wrong there may have
    hurt it.
    """
    out = [trial for trial in trials if not trial.in_circuit and trial.verdict in (GOOD, SUSPECT, FAULTY)]
    stood = out[0].before if out else None
    retest = False
    for trial in reversed(out):
        if trial.verdict == GOOD or (trial.credible and not trial.acquitted):
            stood = trial.verdict
            break
        retest = retest or trial.acquitted
    return RETEST if retest and stood == GOOD else stood
