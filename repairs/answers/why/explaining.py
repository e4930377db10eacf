"""Why the plan gave a need what it gave it."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import Q

from inventory.models import Board
from inventory.places import paths
from inventory.spec import GRADES, search_window
from inventory.spec.recorded import Recorded
from repairs import substitutions
from repairs.answers.others import others_may
from repairs.answers.pieces import OtherMay, fitting, in_question, not_planned, where
from repairs.answers.why.answer import GivenPieces, GoneElsewhere, HeldPieces, Why, sentences
from repairs.known_to_work import known_to_work
from repairs.models import Need, Reservation
from repairs.planning import Tier
from repairs.planning.why import why
from repairs.supply_and_demand import Alike, FreePieces, planned, read_pieces, the_bench

PLANNED = GRADES[:3]
MAX_HELD = 5
MAX_LOOKED_AT = 200
"""So many promises to others are looked at for what would do here."""


def explain(need: Need) -> Why:
    """The reasons; not `planned` for a need that lacks nothing, was dropped, or whose job is not open.

    Needs of one job with one requirement are planned together.
    """
    answer = Why(
        need.pk, need.job_id, need.ref, need.spec.text, need.quantity, need.fitted, need.promised, False,
        [], 0, [], [], [], [], 0, 0, [], need.job.name, 0, (),
    )  # fmt: skip
    bench = the_bench(borrow=True)
    line = bench.line_of(need)
    if need.status != Need.Status.OPEN or line not in bench.lines or not bench.lines[line].lacking:
        return answer
    reasons = why(line, bench.demands, bench.supplies, recorded=bench.recorded)
    named = {
        *(each.supply for each in (*reasons.given, *reasons.asked)),
        *(each.supply for each in reasons.elsewhere),
        *(each.supply for each in reasons.refused),
    }
    first = {alike: bench.shelves[alike].after(0) for alike in named}
    pieces = read_pieces(first.values())

    def at(supply: Alike) -> dict[str, Any]:
        return where(pieces[first[supply]], supply.tier, bench.text_of(supply))

    for_job = {"job": need.job_id, "job_name": need.job.name}
    answer.planned, answer.short = True, reasons.short
    answer.lacking, answer.refs = bench.lines[line].lacking, bench.lines[line].refs
    working = _working(pieces[first[take.supply]].place for take in reasons.given)
    answer.given = [
        GivenPieces(
            **at(take.supply), **fitting(take.fit), quantity=take.quantity,
            works=working.get(pieces[first[take.supply]].place, ""),
        )
        for take in reasons.given
    ]  # fmt: skip
    answer.elsewhere = [
        GoneElsewhere(
            **at(each.supply), quantity=each.quantity, job=each.demand.job,
            job_name=bench.lines[each.demand.id].name, refs=bench.lines[each.demand.id].refs,
            first_in_line=each.first_in_line,
        )
        for each in reasons.elsewhere
    ]  # fmt: skip
    answer.held = _held(need, bench.recorded) if reasons.short else []
    answer.others = _others(need) if reasons.short else []
    answer.questions = [
        in_question(at(take.supply), take.fit, quantity=take.quantity, **for_job) for take in reasons.asked
    ]
    answer.refused = [not_planned(at(miss.supply), miss.fit) for miss in reasons.refused]
    answer.if_first, answer.if_borrowing = reasons.if_first, reasons.if_borrowing
    answer.sentences = [*sentences(answer)]
    return answer


def _others(need: Need) -> list[OtherMay]:
    """What people whose job it is not have of it, as the plan over all open jobs leaves it."""
    bench, plan = planned()
    found = others_may(bench, bench.of_others(plan), {need.job_id})
    return [may for requirement, may in found if requirement == need.spec_id]


def _working(places: Iterable[int | None]) -> Mapping[int | None, str]:
    """Of these places, the boards that work -> that they do."""
    boards = list(Board.objects.filter(place__in={place for place in places if place is not None}))
    known = known_to_work(boards) if boards else {}
    return {board.place_id: known[board.pk] for board in boards if board.pk in known}


def _held(need: Need, known: Recorded) -> list[HeldPieces]:
    """Pieces that would do and are reserved for other jobs, the better first."""
    near = Q()
    window = None if known.of(need.spec.spec) else search_window(need.spec.spec)
    if window is not None:  # else the first few of a large bench may hide the one
        near = Q(holding__lot__part__spec__value__range=window) | Q(holding__lot__measured__range=window)
    promises = (
        Reservation.objects.filter(near, status=Reservation.Status.HELD, need__spec__kind=need.spec.kind)
        .exclude(need__job=need.job_id)
        .select_related(
            "need__job", "holding__lot__part__spec", "holding__lot__origin_board", "holding__place"
        )
        .order_by("id")[:MAX_LOOKED_AT]
    )
    names: Mapping[int, str] | None = None
    found = []
    for promise in promises:
        holding = promise.holding
        fit = substitutions.judge(need, holding.lot, known)
        if fit.grade not in PLANNED:
            continue
        names = names or paths()
        piece = FreePieces(holding.pk, holding.lot_id, holding.place_id, names[holding.place_id], holding.ref)
        tier = Tier.DONOR if holding.place.type == "board" else Tier.DRAWER
        held = HeldPieces(
            **where(piece, tier, holding.lot.part.spec.text), **fitting(fit), quantity=promise.quantity,
            job=promise.need.job_id, job_name=promise.need.job.name, for_ref=promise.need.ref,
        )  # fmt: skip
        found.append((GRADES.index(fit.grade), fit.closeness, promise.pk, held))
    return [held for *_, held in sorted(found, key=lambda each: each[:3])[:MAX_HELD]]
