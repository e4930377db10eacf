"""Trials: what a reading comes to, what it says of a lot's condition, and what it does not.

A lot's condition follows its latest trial out of circuit.  A failure that was seen while links, rails or
orientation of that board were unsettled is kept and held against nothing; one that a known good part's
failure at the same position explains is taken back.
"""

from collections.abc import Iterable, Mapping, Sequence

from django.db import transaction
from django.db.models import F, Sum

from inventory import ledger
from inventory.ledger import By, NotEnough, Refused, Spot
from inventory.models import Board, Holding, Lot, Place
from inventory.spec import Spec
from repairs import hazards, readiness, reservations
from repairs.models import Reservation, Trial
from repairs.proving import methods
from repairs.proving import ready as rules
from repairs.proving.meter import UnreadableReading
from repairs.proving.standing import Outcome, Tried, Unsettled, condition_of, settle, weigh
from repairs.proving.verdict import Judgement, Reason
from repairs.proving_models import TrialRecord
from repairs.substitutions import judge, recorded

CONDITIONS: dict[str, str] = {
    Trial.Verdict.GOOD: Lot.Condition.GOOD,
    Trial.Verdict.SUSPECT: Lot.Condition.SUSPECT,
    Trial.Verdict.FAULTY: Lot.Condition.FAULTY,
}
FAILED = frozenset({"board_failed", "faults", "differs", "failed"})
"""Reasons that tell a failure of the position even where no part is condemned by it."""
_THIS = 0  # stands for the trial that is being written


@transaction.atomic
def record(
    *,
    by: By,
    method: str,
    lot: Lot | None = None,
    board: Board | None = None,
    ref: str = "",
    quantity: int | None = None,
    at: Spot | None = None,
    in_circuit: bool = False,
    reading: str = "",
    verdict: str = "",
    expected: str = "",
    note: str = "",
    fixture: Board | None = None,
    fixture_ref: str = "",
    judgement: Judgement | None = None,
    tried: Mapping[str, int] | None = None,
) -> Trial:
    """Write a trial down.  Out of circuit, a verdict that stands becomes the lot's condition.

    Without a verdict the rules judge the reading: `NotJudged` and `UnreadableReading` where they cannot.
    `quantity` pieces `at` a spot judged apart from the rest become a lot of their own.  Promises of pieces
    found faulty, or that a measured value no longer serves, are given up.  `fixture` is the board, and its
    position, in which a lot was tried.  `tried` maps positions to lots where a trial of a board spoke of
    several.
    """
    hazards.refuse_trial(lot, board or fixture)
    seen_on, places = _where(lot, board, ref, fixture, fixture_ref, in_circuit=in_circuit)
    places = dict(tried) if tried is not None else places
    spec = _spec(lot, places)
    judged = judgement or _judge(spec, method, reading, verdict, in_circuit=in_circuit, expected=expected)
    said = verdict or judged.verdict
    told = TrialRecord(
        board=seen_on,
        stage=_stage(lot),
        computed=not verdict,
        expected=expected,
        reasons=[vars(reason) for reason in judged.reasons],
        windows=_windows(spec, method),
        measured=judged.measured,
        condition_before=lot.condition if lot is not None else "",
        known_good=_known_good(lot, places),
        outcome=_outcome(said, judged),
        tried=places,
    )
    if told.outcome == TrialRecord.Outcome.FAIL and seen_on is not None:
        told.unsettled = _unsettled(seen_on, lot, places if fixture is not None else {})
        told.credible = not told.unsettled
    acquitted = _weigh(seen_on, told) if seen_on is not None and places else {}
    told.acquitted = acquitted.get(_THIS, {})
    if lot is not None and not in_circuit:
        stands = told.credible and not told.acquitted
        condition = CONDITIONS.get(said) if stands or said == Trial.Verdict.GOOD else None
        measured = _reading_now(lot, judged, method, said)
        lot = _judged(lot, condition or lot.condition, measured, quantity, at, by=by, method=method)
    trial = Trial.objects.create(
        lot=lot, board=board, ref=ref, method=method, in_circuit=in_circuit, reading=reading, verdict=said,
        note=note, by=by,
    )  # fmt: skip
    told.trial = trial
    told.save(force_insert=True)
    if seen_on is not None:
        _take_back(seen_on, acquitted, trial)
    return trial


@transaction.atomic
def sort_out(
    lot: Lot, at: Spot, counts: Mapping[str, int], *, by: By, method: str, note: str = ""
) -> list[Trial]:
    """Judge a handful of one lot at once: so many of each verdict, a trial for each, the rest as it was.

    Refused: none at all, more than are there, a verdict that is none.
    """
    wanted = {verdict: pieces for verdict, pieces in counts.items() if pieces}
    held = Holding.objects.filter(lot=lot, place_id=at.place_id, ref=at.ref).first()
    here = held.quantity if held is not None else 0
    if not wanted or not wanted.keys() <= CONDITIONS.keys():
        raise Refused("nothing_named", "Say how many are good, suspect or faulty.")
    if sum(wanted.values()) > here:
        raise NotEnough(
            "not_enough", f"{sum(wanted.values())} judged, but {here} are there.", available=here, held=here
        )
    return [
        record(lot=lot, quantity=pieces, at=at, method=method, verdict=verdict, note=note, by=by)
        for verdict, pieces in wanted.items()
    ]


def _where(
    lot: Lot | None,
    board: Board | None,
    ref: str,
    fixture: Board | None,
    fixture_ref: str,
    *,
    in_circuit: bool,
) -> tuple[Board | None, dict[str, int]]:
    """The board on which it was seen, and which lot was in which position."""
    if lot is None:
        assert board is not None  # a trial is of a lot or of a board
        there = ledger.piece_at(board, ref) if ref else None
        return board, {ref: there.lot_id} if there is not None else {}
    if fixture is not None:
        return fixture, {fixture_ref: lot.pk} if fixture_ref else {}
    here = (
        lot.holdings.filter(quantity__gt=0, place__type=Place.Type.BOARD)
        .select_related("place__board")
        .first()
    )
    if not in_circuit or here is None or not here.ref:
        return None, {}
    return here.place.board, {here.ref: lot.pk}


def _spec(lot: Lot | None, places: Mapping[str, int]) -> Spec | None:
    if lot is None and len(places) == 1:
        lot = Lot.objects.select_related("part__spec").get(pk=next(iter(places.values())))
    return lot.part.spec.spec if lot is not None else None


def _judge(
    spec: Spec | None, method: str, reading: str, verdict: str, *, in_circuit: bool, expected: str
) -> Judgement:
    """What the rules say; beside a person's verdict it is only a reason."""
    try:
        if spec is None:
            raise methods.NotJudged("a trial of a whole board is for a person to judge: say the verdict")
        judged = methods.judge(spec, method, reading, in_circuit=in_circuit, expected=expected)
    except (methods.NotJudged, UnreadableReading):
        if not verdict:
            raise
        return Judgement(verdict, (Reason("said", "the person's own verdict"),))
    if not verdict or verdict == judged.verdict:
        return judged
    told = Reason("said", f"the person's own verdict; by the window it is {judged.verdict}")
    return Judgement(judged.verdict, (told, *judged.reasons), judged.measured)


def _outcome(verdict: str, judged: Judgement) -> str:
    if verdict == Trial.Verdict.GOOD:
        return TrialRecord.Outcome.PASS
    failed = verdict in (Trial.Verdict.SUSPECT, Trial.Verdict.FAULTY)
    if failed or any(reason.code in FAILED for reason in judged.reasons):
        return TrialRecord.Outcome.FAIL
    return TrialRecord.Outcome.NEITHER


def _windows(spec: Spec | None, method: str) -> list[str]:
    """The pass windows of the method, in words."""
    offered = methods.named(spec, method) if spec is not None else None
    return [window.text for window in offered.windows] if offered is not None else []


def _stage(lot: Lot | None) -> str:
    """Before or after the piece came off the board that it was salvaged from."""
    if lot is None or lot.origin_board is None:
        return TrialRecord.Stage.NEITHER
    there = Holding.objects.filter(
        lot=lot, place_id=lot.origin_board.place_id, ref=lot.origin_ref, quantity__gt=0
    )
    return TrialRecord.Stage.BEFORE if there.exists() else TrialRecord.Stage.AFTER


def _known_good(lot: Lot | None, places: Mapping[str, int]) -> bool:
    if lot is not None:
        return lot.condition == Lot.Condition.GOOD
    return bool(places) and not Lot.objects.filter(pk__in=places.values()).exclude(condition="good").exists()


def _unsettled(board: Board, lot: Lot | None, places: Mapping[str, int]) -> list[dict[str, str]]:
    piece = readiness.piece_of(lot, next(iter(places))) if lot is not None and places else None
    return [
        vars(Unsettled(item.check, item.subject, item.state, item.reason))
        for item in readiness.unsettled(board, piece)
    ]


# --- condition and value


def _reading_now(lot: Lot, judged: Judgement, method: str, said: str) -> int | None:
    """The value that the lot goes by from now on: its reading where that is outside its marking."""
    if judged.measured is not None:
        return judged.measured
    taken_back = said == Trial.Verdict.GOOD and methods.measures_value(lot.part.spec.spec, method)
    return None if taken_back else lot.measured


def _judged(
    lot: Lot,
    condition: str,
    measured: int | None,
    quantity: int | None,
    at: Spot | None,
    *,
    by: By,
    method: str,
) -> Lot:
    """The lot that was judged, in its new condition; pieces judged apart from the rest are a lot of their
    own.
    """
    if (condition, measured) == (lot.condition, lot.measured):
        return lot
    faulty = condition == Lot.Condition.FAULTY
    if quantity is not None and at is not None:
        held = lot.holdings.aggregate(held=Sum("quantity"))["held"] or 0
        if quantity > held:
            raise NotEnough("not_enough", f"{lot}: {quantity} tried, {held} held", available=held, held=held)
        if quantity < held:
            here = Holding.objects.filter(lot=lot, place_id=at.place_id, ref=at.ref).first()
            if faulty and here is not None:
                reservations.free_up(here, min(quantity, here.quantity))
            line = ledger.split(lot, at, quantity, condition=condition, by=by, note=method)
            assert line.to_lot is not None
            line.to_lot.measured = measured
            line.to_lot.save(update_fields=["measured"])
            return line.to_lot
    _set(lot, condition, measured)
    return lot


def _set(lot: Lot, condition: str, measured: int | None) -> None:
    """Write a lot's condition and reading; promises that it cannot keep any more are given up."""
    Lot.objects.filter(pk=lot.pk).update(condition=condition, measured=measured, version=F("version") + 1)
    drifted = measured is not None and measured != lot.measured
    lot.condition, lot.measured = condition, measured
    held = Reservation.objects.filter(holding__lot=lot, status=Reservation.Status.HELD)
    if condition == Lot.Condition.FAULTY or drifted:
        known = recorded()
        promises = held.select_related("need__spec", "need__job__board", "holding")
        for promise in promises.order_by("holding_id", "-id"):
            if condition == Lot.Condition.FAULTY or judge(promise.need, lot, known).grade == "no":
                reservations.release(promise)


def _conditions(lots: Iterable[int]) -> None:
    """Set each lot to what its trials come to, after what stands of them has changed."""
    for lot in Lot.objects.select_related("part__spec").filter(pk__in=set(lots)).order_by("id"):
        trials = lot.trials.select_related("record").order_by("id")
        condition = condition_of([_tried(trial) for trial in trials])
        if condition and condition != lot.condition:
            _set(lot, condition, lot.measured)


def _tried(trial: Trial) -> Tried:
    told: TrialRecord | None = getattr(trial, "record", None)
    if told is None:
        return Tried(trial.verdict, trial.in_circuit)
    return Tried(
        trial.verdict,
        trial.in_circuit,
        told.credible,
        bool(told.acquitted),
        told.condition_before or "untested",
    )


# --- what stands


def _weigh(board: Board, new: TrialRecord) -> dict[int, dict[str, int]]:
    """For each trial on this board whose failure is explained: position -> the trial that explains it."""
    known = list(TrialRecord.objects.filter(board=board).exclude(outcome="").order_by("trial_id"))
    outcomes = [outcome for told in known for outcome in _outcomes(told, told.trial_id)]
    found: dict[int, dict[str, int]] = {}
    outcomes += _outcomes(new, _THIS)
    for ref in {outcome.ref for outcome in outcomes}:
        weighed = weigh([outcome for outcome in outcomes if outcome.ref == ref])
        for trial, explained_by in weighed.acquitted.items():
            found.setdefault(trial, {})[ref] = explained_by
    return found


def _outcomes(told: TrialRecord, trial: int) -> Sequence[Outcome]:
    passed = told.outcome == TrialRecord.Outcome.PASS
    if not told.outcome:
        return []
    return [
        Outcome(trial, lot, ref, passed, told.known_good, told.credible) for ref, lot in told.tried.items()
    ]


def _take_back(board: Board, acquitted: Mapping[int, Mapping[str, int]], new: Trial) -> None:
    """Write down which failures are explained now, and set the conditions of the lots that they were of."""
    lots: list[int] = []
    for told in TrialRecord.objects.filter(board=board).exclude(outcome="").select_related("trial"):
        this = _THIS if told.trial_id == new.pk else told.trial_id
        explained = {ref: trial or new.pk for ref, trial in acquitted.get(this, {}).items()}
        if explained != told.acquitted:
            told.acquitted = explained
            told.save(update_fields=["acquitted"])
            if told.trial.lot_id is not None:
                lots.append(told.trial.lot_id)
    _conditions(lots)


@transaction.atomic
def reconsider(board: Board) -> None:
    """Look again at the failures that waited for what was open on this board.

    One is believed from now on where everything that was open then has proven right as it stood.
    """
    waiting = list(
        TrialRecord.objects.filter(board=board, credible=False)
        .select_related("trial__lot__part__spec")
        .order_by("trial_id")
    )
    if not waiting:
        return
    facts = readiness.facts_of(board)
    lots: list[int] = []
    for told in waiting:
        lot = told.trial.lot
        ref = next(iter(told.tried), "")
        visiting = lot is not None and ref and not told.trial.in_circuit
        seen = readiness.trying(facts, readiness.piece_of(lot, ref) if visiting and lot is not None else None)
        now = {(item.check, item.subject): item.state for item in rules.findings(seen)}
        left = [vars(item) for item in settle([Unsettled(**item) for item in told.unsettled], now)]
        if left != told.unsettled:
            told.unsettled, told.credible = left, not left
            told.save(update_fields=["unsettled", "credible"])
            if lot is not None and told.credible:
                lots.append(lot.pk)
    _conditions(lots)
