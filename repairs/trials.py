"""Trials: what a reading comes to, what it says of a lot's condition, and what it does not.

A lot's condition follows its latest trial out of circuit.  A failure that was seen while links, rails or
orientation of that board were unsettled is kept and held against nothing; one that a known good part's
failure at the same position explains is taken back.  One file: writing a trial, taking one back and what
stands after either are one rule, read from the same rows.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from django.db import transaction
from django.db.models import F, Sum

from inventory import ledger
from inventory.ledger import Actor, NotEnough, Refused, Spot
from inventory.models import Board, Holding, Lot, Part, Place
from inventory.refusals import Code
from inventory.spec import Spec
from repairs import hazards, readiness, reservations
from repairs.models import Reservation, Trial
from repairs.proving import methods
from repairs.proving import ready as rules
from repairs.proving.memory import ALL_BITS
from repairs.proving.meter import UnreadableReading
from repairs.proving.standing import RETEST, LotTrial, PositionTrial, Unsettled, condition_of, settle, weigh
from repairs.proving.verdict import Judgement, TrialReason
from repairs.proving_models import TrialRecord
from repairs.substitutions import Reading, judge, recorded

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
    by: Actor,
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
    measured_tolerance: Decimal | None = None,
    fixture: Board | None = None,
    fixture_ref: str = "",
    judgement: Judgement | None = None,
    tried: Mapping[str, int] | None = None,
) -> Trial:
    """Write a trial down.  Out of circuit, a verdict that stands becomes the lot's condition.

    Without a verdict the rules judge the reading: `NotJudged` and `UnreadableReading` where they cannot.
    One reading judges one piece, or `quantity` of them `at` a spot: judged apart from the rest they become a
    lot of their own.  Refused (ambiguous) where the lot is in several places and it is not said which.
    `measured_tolerance` is what the meter may be off, in per cent, and is kept beside the value that was
    read; None: as bench meters of the kind are.  Promises of pieces found faulty, or that a measured value no
    longer serves, are given up.  `fixture` is the board, and its position, in which a lot was tried.  `tried`
    maps positions to lots where a trial of a board spoke of several.
    """
    hazards.refuse_trial(lot, board or fixture)
    seen_on, places = _where(lot, board, ref, fixture, fixture_ref, in_circuit=in_circuit)
    places = dict(tried) if tried is not None else places
    spec = _spec(lot, places)
    judged = judgement or _judge(spec, method, reading, verdict, in_circuit=in_circuit, expected=expected)
    final = verdict or judged.verdict
    kept = TrialRecord(
        board=seen_on,
        stage=_stage(lot),
        computed=not verdict,
        expected=expected,
        reasons=[vars(reason) for reason in judged.reasons],
        windows=_windows(spec, method),
        measured=judged.measured,
        measured_tolerance=measured_tolerance if judged.measured is not None else None,
        condition_before=lot.condition if lot is not None else "",
        stamp=readiness.latest_movement(seen_on) if seen_on is not None else 0,
        known_good=_known_good(lot, places),
        outcome=_outcome(final, judged),
        tried=places,
    )
    if kept.outcome == TrialRecord.Outcome.FAIL and seen_on is not None:
        kept.unsettled = _unsettled(seen_on, lot, places if fixture is not None else {})
        kept.credible = not kept.unsettled
    acquitted = _weigh(seen_on, kept) if seen_on is not None and places else {}
    kept.acquitted = acquitted.get(_THIS, {})
    if lot is not None and not in_circuit:
        stands = kept.credible and not kept.acquitted
        condition = CONDITIONS.get(final) if stands or final == Trial.Verdict.GOOD else None
        if kept.acquitted and lot.condition == Lot.Condition.GOOD:
            condition = RETEST
        found = lot.measured, lot.measured_tolerance
        if judged.measured is not None:
            found = judged.measured, measured_tolerance
        lot = _judged(lot, condition or lot.condition, found, quantity or 1, at, by=by, method=method)
        if judged.pin_order:
            _set_pin_order(lot, judged.pin_order)
    trial = Trial.objects.create(
        lot=lot, board=board, ref=ref, method=method, in_circuit=in_circuit, reading=reading, verdict=final,
        note=note, by=by,
    )  # fmt: skip
    kept.trial = trial
    kept.save(force_insert=True)
    if seen_on is not None:
        _take_back(seen_on, acquitted, trial)
    return trial


@transaction.atomic
def sort_out(
    lot: Lot, at: Spot, counts: Mapping[str, int], *, by: Actor, method: str, note: str = ""
) -> list[Trial]:
    """Judge a handful of one lot at once: so many of each verdict, a trial for each, the rest as it was.

    Refused: none at all, more than are there, a verdict that is none.
    """
    wanted = {verdict: pieces for verdict, pieces in counts.items() if pieces}
    held = Holding.objects.filter(lot=lot, place_id=at.place_id, ref=at.ref).first()
    here = held.quantity if held is not None else 0
    if not wanted or not wanted.keys() <= CONDITIONS.keys():
        raise Refused(Code.REQUIRED, "Say how many are good, suspect or faulty.")
    if sum(wanted.values()) > here:
        raise NotEnough(
            Code.NOT_ENOUGH,
            f"{sum(wanted.values())} judged, but {here} are there.",
            available=here,
            held=here,
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
        return Judgement(verdict, (TrialReason("said", "the person's own verdict"),))
    if not verdict or verdict == judged.verdict:
        return judged
    reason = TrialReason("said", f"the person's own verdict; by the window it is {judged.verdict}")
    return Judgement(judged.verdict, (reason, *judged.reasons), judged.measured)


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


def _judged(
    lot: Lot, condition: str, found: Reading, quantity: int, at: Spot | None, *, by: Actor, method: str
) -> Lot:
    """The pieces that were judged, in their new condition: the lot, or a lot of their own out of it."""
    if (condition, *found) == (lot.condition, lot.measured, lot.measured_tolerance):
        return lot
    held = lot.holdings.aggregate(held=Sum("quantity"))["held"] or 0
    if quantity > max(held, 1):
        raise NotEnough(Code.NOT_ENOUGH, f"{lot}: {quantity} tried, {held} held", available=held, held=held)
    if quantity >= held:
        _set(lot, condition, found)
        return lot
    places = list(lot.holdings.filter(quantity__gt=0).select_related("place"))
    spots = {Spot(each.place_id, each.ref): each for each in places}
    here = places[0] if at is None and len(places) == 1 else spots.get(at) if at is not None else None
    if here is None:
        names = ", ".join(f"{each.place.name} {each.ref}".rstrip() for each in places)
        raise Refused(Code.AMBIGUOUS, f"{lot} is in {names}: say which of them was tried")
    return _apart(lot, here, quantity, condition, found, by=by, method=method)


def _apart(
    lot: Lot, here: Holding, quantity: int, condition: str, found: Reading, *, by: Actor, method: str
) -> Lot:
    """So many pieces of a holding as a lot of their own; reservations stay where the pieces still serve."""
    if quantity > here.quantity:
        there = here.quantity
        detail = f"{lot}: {quantity} tried, {there} there"
        raise NotEnough(Code.NOT_ENOUGH, detail, available=there, held=there)
    given_up = reservations.free_up(here, quantity)
    line = ledger.split(lot, Spot(here.place_id, here.ref), quantity, condition=condition, by=by, note=method)
    apart = line.to_lot
    assert apart is not None
    apart.measured, apart.measured_tolerance = found
    apart.save(update_fields=["measured", "measured_tolerance"])
    here.refresh_from_db()
    beside = Holding.objects.get(lot=apart, place_id=here.place_id, ref=here.ref)
    for promise in reversed(given_up):
        _reserve_again(promise, here, beside, by)
    return apart


def _reserve_again(promise: Reservation, here: Holding, there: Holding, by: Actor) -> None:
    """As much as the rest of the lot keeps, and what the judged pieces still serve."""
    left = promise.quantity
    for holding in (here, there):
        holding.refresh_from_db()
        pieces = min(left, holding.quantity - holding.promised)
        if pieces > 0:
            try:
                with transaction.atomic():
                    reservations.reserve(promise.need, holding, pieces, by=by, again=True, ask=promise.ask)
                left -= pieces
            except Refused:
                continue


def _set_pin_order(lot: Lot, order: str) -> None:
    """The legs of the whole lot, as one of its pieces, or a data sheet, showed them."""
    spec = lot.part.spec.spec
    if spec.facts.get("pin_order") != order:
        of = replace(spec, traits={**spec.traits, "pin_order": order})
        part = Part.of(Spec.from_dict(of.to_dict()))
        Lot.objects.filter(pk=lot.pk).update(part=part, version=F("version") + 1)
        lot.part = part


def _set(lot: Lot, condition: str, found: Reading) -> None:
    """Write a lot's condition and reading; promises that it cannot keep any more are given up."""
    measured, percent = found
    Lot.objects.filter(pk=lot.pk).update(
        condition=condition, measured=measured, measured_tolerance=percent, version=F("version") + 1
    )
    drifted = measured is not None and found != (lot.measured, lot.measured_tolerance)
    lot.condition, lot.measured, lot.measured_tolerance = condition, measured, percent
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
            _set(lot, condition, (lot.measured, lot.measured_tolerance))


def _tried(trial: Trial) -> LotTrial:
    kept: TrialRecord | None = getattr(trial, "record", None)
    if kept is None:
        return LotTrial(trial.verdict, trial.in_circuit)
    return LotTrial(
        trial.verdict,
        trial.in_circuit,
        kept.credible,
        bool(kept.acquitted),
        kept.condition_before or "untested",
    )


# --- what stands


def _weigh(board: Board, new: TrialRecord) -> dict[int, dict[str, int]]:
    """For each trial on this board whose failure is explained: position -> the trial that explains it."""
    known = list(TrialRecord.objects.filter(board=board).exclude(outcome="").order_by("trial_id"))
    outcomes = [outcome for kept in known for outcome in _outcomes(kept, kept.trial_id)]
    found: dict[int, dict[str, int]] = {}
    outcomes += _outcomes(new, _THIS)
    for ref in {outcome.ref for outcome in outcomes}:
        weighed = weigh([outcome for outcome in outcomes if outcome.ref == ref])
        for trial, explained_by in weighed.acquitted.items():
            found.setdefault(trial, {})[ref] = explained_by
    return found


def _outcomes(kept: TrialRecord, trial: int) -> Sequence[PositionTrial]:
    passed = kept.outcome == TrialRecord.Outcome.PASS
    if not kept.outcome or kept.has_reason(ALL_BITS):  # a rail, or a select line: it says nothing of a part
        return []
    return [
        PositionTrial(trial, lot, ref, passed, kept.known_good, kept.credible)
        for ref, lot in kept.tried.items()
    ]


def _take_back(board: Board, acquitted: Mapping[int, Mapping[str, int]], new: Trial) -> None:
    """Write down which failures are explained now, and set the conditions of the lots that they were of."""
    lots: list[int] = []
    for kept in TrialRecord.objects.filter(board=board).exclude(outcome="").select_related("trial"):
        this = _THIS if kept.trial_id == new.pk else kept.trial_id
        explained = {ref: trial or new.pk for ref, trial in acquitted.get(this, {}).items()}
        if explained != kept.acquitted:
            kept.acquitted = explained
            kept.save(update_fields=["acquitted"])
            if kept.trial.lot_id is not None:
                lots.append(kept.trial.lot_id)
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
    for kept in waiting:
        lot = kept.trial.lot
        ref = next(iter(kept.tried), "")
        visiting = lot is not None and ref and not kept.trial.in_circuit
        seen = readiness.trying(facts, readiness.piece_of(lot, ref) if visiting and lot is not None else None)
        now = {(item.check, item.subject): item.state for item in rules.findings(seen)}
        left = [vars(item) for item in settle([Unsettled(**item) for item in kept.unsettled], now)]
        if left != kept.unsettled:
            kept.unsettled, kept.credible = left, not left
            kept.save(update_fields=["unsettled", "credible"])
            if lot is not None and kept.credible:
                lots.append(lot.pk)
    _conditions(lots)
