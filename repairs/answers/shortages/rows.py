"""What open needs still lack after the best use of everything free, as rows."""

from collections import Counter
from collections.abc import Collection, Sequence
from datetime import date
from typing import Any

from inventory.spec import Fit, Spec
from inventory.unchanged import while_unchanged
from repairs import explanations
from repairs.answers.others import others_may
from repairs.answers.pieces import TIER_NAMES, InQuestion, Waiting, not_planned, where
from repairs.answers.shortages.answer import COUNTS, Row, Take, made_up_address
from repairs.friends.tier import FriendsTier
from repairs.planning import Allocation, Demand, Plan, Tier
from repairs.supply_and_demand import (
    Alike,
    DemandKey,
    FreePieces,
    JobDemand,
    SupplyAndDemand,
    planned,
    read_pieces,
)


def shortages(jobs: Collection[int] | None = None, *, borrow: bool = False, ask: bool = False) -> list[Row]:
    """One row for each requirement of the open jobs, or of those named, by kind, value and number.

    The plan is always over all open jobs, so that a job which comes first keeps its pieces whoever asks.
    `borrow` also draws on working boards, `ask` also on pieces that a person must decide on.
    """
    return _rows(None if jobs is None else frozenset(jobs), borrow=borrow, ask=ask)


@while_unchanged
def _rows(jobs: frozenset[int] | None, *, borrow: bool, ask: bool) -> list[Row]:
    return rows_of(*planned(borrow=borrow, ask=ask), jobs)


def rows_of(bench: SupplyAndDemand, plan: Plan, jobs: Collection[int] | None = None) -> list[Row]:
    """A plan of the bench as rows; of `jobs`, where they are named, only what these require."""
    shown = bench.jobs.keys() if jobs is None else bench.jobs.keys() & set(jobs)
    rows: dict[int, Row] = {}
    for line, demand in bench.lines.items():
        if line.job in shown:
            row = rows.get(line.spec)
            if row is None:
                row = rows[line.spec] = _empty(line.spec, bench.specs[line.spec])
            _wait(row, line, demand, plan.short.get(line, 0))
    _give(rows, shown, bench, plan)
    _ask_friends(rows, shown, bench, _ask_others(rows, shown, bench, plan))
    line_up = {job: (priority, due or date.max, job) for job, (_, priority, due) in bench.jobs.items()}
    for row in rows.values():
        row.jobs.sort(key=lambda demand: line_up[demand.job])
        row.made_up = made_up_address(row)
    return sorted(rows.values(), key=lambda row: _in_order(row.spec))


def _in_order(spec: Spec) -> tuple[str, int, str, str]:
    """By kind, value and number."""
    return spec.kind, spec.value or 0, spec.number, spec.key


def questions_of(bench: SupplyAndDemand, plan: Plan, jobs: Collection[int] | None = None) -> list[InQuestion]:
    """The questions of all these rows alone, in their order."""
    shown = bench.jobs.keys() if jobs is None else bench.jobs.keys() & set(jobs)
    asked = set(map(id, plan.asked))
    handed = [
        each
        for each in bench.handed_out([*plan.takes, *plan.asked])
        if id(each[0]) in asked and each[0].demand.job in shown
    ]
    pieces = read_pieces(holding for _, holding, _ in handed)
    handed.sort(key=lambda each: _in_order(bench.specs[each[0].demand.spec]))
    told = _Told(bench)
    return [told.question(take, pieces[holding], quantity) for take, holding, quantity in handed]


def _empty(requirement: int, spec: Spec) -> Row:
    nothing: dict[str, Any] = dict.fromkeys(COUNTS, 0)
    return Row(
        **nothing, requirement=requirement, spec=spec, spec_text=spec.text, jobs=[], take=[], questions=[],
        refused=[], others=[], friends=[], made_up=None,
    )  # fmt: skip


def _wait(row: Row, line: DemandKey, demand: JobDemand, short: int) -> None:
    """Add what one line wants to the row and to its job's share.

    Lines that are kept apart by where the pieces go are one job's share all the same; they follow each other.
    """
    needed, fitted, promised = demand.needed, demand.fitted, demand.promised
    row.needed += needed
    row.fitted += fitted
    row.promised += promised
    row.short += short
    share = row.jobs[-1] if row.jobs else None
    if share is None or share.job != line.job:
        share = Waiting(
            line.job, demand.name, demand.refs, needed, fitted, promised, short, demand.lacking_refs,
            demand.short_refs(short),
        )  # fmt: skip
        row.jobs.append(share)
        return
    share.refs += demand.refs
    share.lacking_refs += demand.lacking_refs
    share.short_refs += demand.short_refs(short)
    share.needed += needed
    share.fitted += fitted
    share.promised += promised
    share.short += short


def _give(rows: dict[int, Row], shown: Collection[int], bench: SupplyAndDemand, plan: Plan) -> None:
    """Name the pieces that the plan takes, those that wait for an answer, and the nearest misses."""
    asked = set(map(id, plan.asked))
    taken: Counter[Alike] = Counter()
    for take in plan.takes:
        taken[take.supply] += take.quantity
    # The nearest misses are of the requirement, and so the same for every job that lacks it.
    nearest = {line.spec: misses for line, misses in plan.refused.items() if line.job in shown}
    missed: set[Alike] = {miss.supply for misses in nearest.values() for miss in misses}
    left = {alike: bench.shelves[alike].after(taken[alike]) for alike in missed}
    told = _Told(bench)
    handed = bench.handed_out([*plan.takes, *plan.asked])
    takes = [each for each in handed if each[0].demand.job in shown]
    pieces = read_pieces([*left.values(), *(holding for _, holding, _ in takes)])
    for take, holding, quantity in takes:
        row = rows[take.demand.spec]
        if id(take) in asked:
            row.ask += quantity
            row.questions.append(told.question(take, pieces[holding], quantity))
            continue
        row.take.append(told.take(take, pieces[holding], quantity))
        if take.tier == Tier.DRAWER:
            row.free += quantity
        elif take.tier == Tier.ON_ORDER:
            row.on_order += quantity
        else:
            row.on_donors += quantity
            row.borrowed += quantity if take.tier == Tier.BORROW else 0
    for spec, misses in nearest.items():
        rows[spec].refused = [
            not_planned(where(pieces[left[miss.supply]], miss.tier, bench.text_of(miss.supply)), miss.fit)
            for miss in misses
        ]


def _ask_others(
    rows: dict[int, Row], shown: Collection[int], bench: SupplyAndDemand, plan: Plan
) -> Sequence[Demand]:
    """After donors and orders: who else at this bench has what stays short; what they could not fill."""
    found = bench.of_others(plan)
    if not found.takes and not found.asked:
        return plan.lacking(bench.demands)
    for take in found.takes:
        if take.demand.job in shown:
            rows[take.demand.spec].at_others += take.quantity
    for requirement, may in others_may(bench, found, shown):
        rows[requirement].others.append(may)
    return bench.after_others(plan, plan.lacking(bench.demands))


def _ask_friends(
    rows: dict[int, Row], shown: Collection[int], bench: SupplyAndDemand, lacking: Sequence[Demand]
) -> None:
    """Behind the others, before anything is bought: which friends have what stays short."""
    tier = FriendsTier.of(lacking, bench.recorded)
    for each, quantity in tier.given():
        if each.job in shown:
            rows[each.id.spec].at_friends += quantity
    for each, quantity in tier.waiting():
        if each.job in shown:
            rows[each.id.spec].asked += quantity
    for requirement, may in tier.may(shown):
        rows[requirement].friends.append(may)


class _Told:
    """Pieces that a plan hands out, in words; what many say alike is said once.

    By place, not by name: of a large workshop these are a great many.
    """

    def __init__(self, bench: SupplyAndDemand) -> None:
        self._bench = bench
        self._why: dict[int, list[str]] = {}
        self._asking: dict[int, tuple[str, list[str]]] = {}

    def take(self, take: Allocation, piece: FreePieces, quantity: int) -> Take:
        fit, job = take.fit, take.demand.job
        _, lot, place, place_name, ref = piece
        return Take(
            fit.grade, fit.reasons, self._reasons(fit), lot, place, place_name, ref, TIER_NAMES[take.tier],
            self._bench.text_of(take.supply), job, self._bench.jobs[job][0], quantity,
        )  # fmt: skip

    def question(self, take: Allocation, piece: FreePieces, quantity: int) -> InQuestion:
        fit, job = take.fit, take.demand.job
        asking = self._asking.get(id(fit))
        if asking is None:
            asking = self._asking[id(fit)] = fit.settled_by, explanations.question(fit, "\0").split("\0")
        settled_by, around = asking
        _, lot, place, place_name, ref = piece
        what = explanations.ON_ORDER if lot is None else f"lot {lot}"
        return InQuestion(
            fit.grade, fit.reasons, self._reasons(fit), lot, place, place_name, ref, TIER_NAMES[take.tier],
            self._bench.text_of(take.supply), job, self._bench.jobs[job][0], quantity, settled_by,
            what.join(around),
        )  # fmt: skip

    def _reasons(self, fit: Fit) -> list[str]:
        words = self._why.get(id(fit))
        if words is None:
            words = self._why[id(fit)] = explanations.reasons(fit)
        return words
