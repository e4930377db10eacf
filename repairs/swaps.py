"""Swap tests: chips tried one by one in a socketed position of a known good board.

The board's own part is borrowed from it for that and goes back at the end.  A suspect stays on record where
it lives: it is in the socket only while it is tried.
"""

from collections.abc import Iterable
from datetime import date

from django.db import transaction
from django.db.models import F, Q, QuerySet, Sum
from django.utils import timezone

from inventory import ledger
from inventory.ledger import Actor, Refused, Spot
from inventory.models import Board, Holding, Lot
from inventory.refusals import Code
from repairs import loans, trials
from repairs.models import Job, Trial
from repairs.proving import swaps as rules
from repairs.proving.meter import Measurement, UnreadableReading
from repairs.proving.passive import is_short, only, read
from repairs.proving.verdict import Judgement
from repairs.proving_models import LoanProof, SwapStep, SwapTest

METHOD = "known good board"
SUPPLY_OHMS = "ohms between supply and ground"


@transaction.atomic
def open_test(
    board: Board,
    ref: str,
    to: Spot,
    *,
    by: Actor,
    job: Job | None = None,
    due: date | None = None,
    note: str = "",
) -> SwapTest:
    """Take the board's own part out on loan; the baseline comes next, with that part still known good.

    Refused: a board that is not kept as working, a position without a socket or without its part.
    """
    if board.purpose != Board.Purpose.WORKING:
        raise Refused(
            Code.NOT_A_WORKING_BOARD, f"{board.name} is not kept as a working board: nothing is proven in it"
        )
    position = board.design.positions.filter(ref=ref).first() if board.design else None
    if position is None or not position.socketed:
        raise Refused(
            Code.NOT_SOCKETED, f"{board.name} {ref} has no socket: a swap would need the iron", ref=ref
        )
    if ledger.piece_at(board, ref) is None:
        raise Refused(
            Code.EMPTY_POSITION, f"{board.name} {ref} is empty: there is no part to compare with", ref=ref
        )
    line = loans.borrow(board, [ref], to, by=by, job=job, reason="swap test", due=due)[0]
    return SwapTest.objects.create(board=board, ref=ref, loan=line.loan, job=job, note=note, by=by)


def steps_of(test: SwapTest) -> list[rules.TriedStep]:
    return [
        rules.TriedStep(row.what, row.passed, row.lot_id, row.reading) for row in test.steps.order_by("id")
    ]


@transaction.atomic
def add_step(
    test: SwapTest,
    what: str,
    passed: bool,
    *,
    by: Actor,
    lot: Lot | None = None,
    reading: str = "",
    note: str = "",
) -> SwapStep:
    """A baseline, or a suspect tried; a baseline settles the suspects that were waiting for it.

    Refused out of turn: no passing baseline before, or a suspect whose ohms were not taken.
    """
    test = SwapTest.objects.select_for_update(of=("self",)).select_related("board", "loan").get(pk=test.pk)
    if test.closed is not None:
        raise Refused(Code.SWAP_CLOSED, f"{test} is closed")
    if lot is not None and lot.pk == (test.loan.movement.lot_id if test.loan else None):
        raise Refused(Code.OWN_PART, "that is the board's own part: it is the baseline")
    try:
        rules.refuse_out_of_turn(steps_of(test), what, maybe_shorted=_maybe_shorted(lot))
    except rules.OutOfTurn as wrong:
        raise Refused(wrong.code, str(wrong)) from None
    step = SwapStep.objects.create(
        test=test, what=what, passed=passed, lot=lot, reading=reading, by=by, note=note
    )
    SwapTest.objects.filter(pk=test.pk).update(version=F("version") + 1)
    if what == rules.BASELINE:
        _settle(test, by=by)
    return step


@transaction.atomic
def take_ohms(here: Holding, reading: str, shorted: bool, *, by: Actor) -> Trial:
    """Supply to ground of one piece, before it goes into a good board: shorted is faulty, else nothing is
    proven yet.  Refused where the reading is none in ohms.

    A piece of a lot of several becomes a lot of its own, for it alone is judged.
    """
    lot = here.lot
    figure = _figure(reading)
    if figure is None:
        raise Refused(Code.UNREADABLE, f"{reading[:40]!r} is not a reading in ohms: write it as 12 k, or OL")
    if (Holding.objects.filter(lot=lot).aggregate(held=Sum("quantity"))["held"] or 0) > 1:
        spot = Spot(here.place_id, here.ref)
        line = ledger.split(lot, spot, 1, condition=lot.condition, by=by, note="tried by itself")
        assert line.to_lot is not None
        lot = line.to_lot
    shorted = shorted or is_short(figure)
    verdict = Trial.Verdict.FAULTY if shorted else Trial.Verdict.INCONCLUSIVE
    return trials.record(by=by, lot=lot, method=SUPPLY_OHMS, reading=reading, verdict=verdict)


def ready_to_try(lots: Iterable[Lot]) -> list[Lot]:
    """Those of the lots that may go into a good board: known good, or their ohms passed."""
    every = list(lots)
    taken = {trial.lot_id: trial for trial in _ohms().filter(lot__in=every).order_by("id")}
    return [lot for lot in every if not _why_shorted(lot, taken.get(lot.pk))]


def _ohms() -> QuerySet[Trial]:
    """Trials that may be such a measurement, by what they are called; their reading is still to be read."""
    called = Q(method__icontains="ohms") | Q(method__icontains="supply to ground")
    return Trial.objects.filter(called, in_circuit=False)


def _maybe_shorted(lot: Lot | None) -> str:
    """Why a suspect may be shorted; "" where its legs were measured and passed, or it is known good."""
    return _why_shorted(lot, _ohms().filter(lot=lot).order_by("-id").first()) if lot is not None else ""


def _why_shorted(lot: Lot, taken: Trial | None) -> str:
    if lot.condition == Lot.Condition.GOOD:
        return ""
    figure = _figure(taken.reading) if taken is not None else None
    if taken is None or figure is None:
        return f"{lot}: nobody took its ohms between supply and ground"
    if taken.verdict in (Trial.Verdict.FAULTY, Trial.Verdict.SUSPECT) or is_short(figure):
        return f"{lot}: its ohms were {taken.reading}"
    return ""


def _figure(reading: str) -> Measurement | None:
    """The meter's own figure in ohms, if one is written down: what a trial is called proves nothing."""
    try:
        return only(read(reading, "ohms"), "ohms")
    except UnreadableReading:
        return None


def _settle(test: SwapTest, *, by: Actor) -> None:
    """Write the trials of suspects that lie between two baselines now."""
    rows = list(test.steps.select_related("lot__part__spec").order_by("id"))
    for row in rules.results(
        [rules.TriedStep(step.what, step.passed, step.lot_id, step.reading) for step in rows]
    ):
        step = rows[row.step]
        if not row.settled or step.trial_id is not None or step.lot is None:
            continue
        trial = trials.record(
            by=by,
            lot=step.lot,
            method=METHOD,
            in_circuit=False,
            reading=step.reading,
            judgement=Judgement(row.verdict, row.reasons),
            fixture=test.board,
            fixture_ref=test.ref,
            note=f"swap test {test.pk}",
        )
        SwapStep.objects.filter(pk=step.pk).update(trial=trial)


@transaction.atomic
def close_test(test: SwapTest, *, by: Actor) -> SwapTest:
    """Put the board's own part back; the last baseline says how the board is now.

    Refused: no baseline since the last suspect.
    """
    test = SwapTest.objects.select_for_update(of=("self",)).select_related("loan", "board").get(pk=test.pk)
    if test.closed is not None:
        raise Refused(Code.SWAP_CLOSED, f"{test} is closed")
    steps = steps_of(test)
    if steps and steps[-1].what != rules.BASELINE:
        raise Refused(Code.BASELINE_AFTER, "put the good one back and take the baseline first")
    if test.loan is not None and ledger.open_loans().filter(pk=test.loan.movement_id).exists():
        loans.give_back(test.loan, by=by)
    for when, step in (("before", steps[0] if steps else None), ("after", steps[-1] if steps else None)):
        if step is not None and test.loan is not None:
            LoanProof.objects.create(
                loan=test.loan, when=when, passed=step.passed, reading=step.reading, by=by
            )
    SwapTest.objects.filter(pk=test.pk).update(closed=timezone.now(), version=F("version") + 1)
    test.refresh_from_db()
    return test
