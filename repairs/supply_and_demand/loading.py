"""The bench read by a constant number of queries, into lines of needs and shelves of pieces."""

from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal
from itertools import groupby
from operator import itemgetter
from typing import Any, TypeVar

from django.db.models import F, Sum

from inventory import stock
from inventory.chunks import chunks
from inventory.ledger import borrowed_lots
from inventory.models import Board, Holding, Lot, Part, Place, Position, StoredSpec
from inventory.places import paths
from inventory.spec import Recorded, Spec
from inventory.spec.recorded import Spot
from repairs import hazards, readiness
from repairs.models import Job, Need, PieceAsk
from repairs.planning import Tier
from repairs.sharing_models import FriendAsk
from repairs.supply_and_demand.grouped import (
    CHUNK,
    EVERYBODY,
    NOT_MEASURED,
    USUAL_METER,
    Alike,
    Declined,
    DemandKey,
    FreePieces,
    JobDemand,
    Shelf,
)

_Same = TypeVar("_Same")


def read_declined() -> frozenset[Declined]:
    """What its owner refused to a job that lacks it still, and was not asked for it again."""
    open_needs = PieceAsk.objects.filter(need__status=Need.Status.OPEN).order_by()
    rows = open_needs.values_list("need__spec", "need__job", "lot")
    refused = rows.filter(
        state=PieceAsk.State.DECLINED, need__quantity__gt=F("need__promised") + F("need__fitted")
    )
    return frozenset(refused) - frozenset(rows.filter(state=PieceAsk.State.ASKED))


def read_promised_by_friends() -> dict[tuple[int, int], tuple[int, int]]:
    """What friends said yes to, which is on its way as what was ordered is: (part, whose it will be) -> its
    Spec's row, pieces.

    A Spec of which the bench has no part yet stands under its own number, below nought.
    """
    agreed = FriendAsk.objects.filter(state__in=FriendAsk.ON_ITS_WAY)
    pieces = list(agreed.order_by().values_list("spec", "job__owner").annotate(Sum("quantity")))
    parts = dict(Part.objects.filter(spec__in={spec for spec, *_ in pieces}).values_list("spec_id", "id"))
    return {
        (parts.get(spec, -spec), owner or EVERYBODY): (spec, quantity) for spec, owner, quantity in pieces
    }


def read_particular(recorded: Recorded) -> frozenset[int]:
    """Rows of the required Specs of which something was recorded for one design only."""
    if not any(record.design is not None for record in recorded):
        return frozenset()
    wanted = StoredSpec.objects.filter(kind__in=recorded.kinds, needs__status=Need.Status.OPEN)
    specs = read_specs(set(wanted.values_list("id", flat=True)))
    return frozenset(
        row for row, spec in specs.items() if any(record.design is not None for record in recorded.of(spec))
    )


def _left_empty(jobs: Collection[int]) -> frozenset[tuple[int, str]]:
    """(job, reference) of positions that what is fitted now leaves empty: nothing is wanted there."""
    designs = set(Position.objects.exclude(empty_when={}).values_list("design", flat=True))
    if not designs:
        return frozenset()
    asked = Job.objects.filter(pk__in=jobs, board__design__in=designs).select_related("board__design")
    boards = {job.pk: job.board for job in asked if job.board}
    empty = readiness.left_empty_on({board.pk: board for board in boards.values()}.values())
    return frozenset((job, ref) for job, board in boards.items() for ref in empty[board.pk])


LEGS_IN_ORDER = ("transistor", "regulator", "diode")
"""Kinds of which a type number may be made with two pin orders."""


def read_origins(jobs: Collection[int]) -> dict[int, Spot]:
    """Lot -> the spot that it came off, for lots whose pin order is not known and of which an open job wants
    something at that very position of a board of that design."""
    wanted = set(
        Need.objects.filter(
            status=Need.Status.OPEN, job__in=list(jobs), job__board__design__isnull=False,
            spec__kind__in=LEGS_IN_ORDER, quantity__gt=F("promised") + F("fitted"),
        ).exclude(ref="").values_list("job__board__design", "ref")
    )  # fmt: skip
    if not wanted:
        return {}
    came_off = Lot.objects.filter(
        part__spec__kind__in=LEGS_IN_ORDER, origin_board__design__in={design for design, _ in wanted}
    ).exclude(origin_ref="")
    return {
        lot: (design, ref)
        for lot, design, ref, traits in came_off.values_list(
            "id", "origin_board__design", "origin_ref", "part__spec__traits"
        )
        if (design, ref) in wanted and "pin_order" not in traits
    }


def read_lines(
    names: Mapping[int, str], particular: Collection[int], origins: Collection[Spot]
) -> dict[DemandKey, JobDemand]:
    """`particular` requirements, and needs at one of these origins, are kept apart by where the pieces go."""
    design_of: dict[int, int] = {}
    if particular or origins:
        designs = Job.objects.filter(board__design__isnull=False).values_list("id", "board__design")
        design_of = dict(designs)
    empty = _left_empty(names)
    lines: dict[DemandKey, JobDemand] = {}
    kept = _Kept()
    rows = (
        Need.objects.filter(status=Need.Status.OPEN, job__in=list(names))
        .order_by("spec_id", "job_id", "id")
        .values_list("spec_id", "job_id", "ref", "quantity", "fitted", "promised")
        .iterator(chunk_size=CHUNK)
    )
    for (spec, job), needs in groupby(rows, itemgetter(0, 1)):
        here = DemandKey(kept.once(spec), kept.once(job))
        apart: dict[DemandKey, list[_NeedRow]] = {}
        if design_of or empty:
            for need in needs:
                at = (design_of[job], need[2]) if job in design_of else ()
                key = DemandKey(*here[:2], at) if spec in particular or at in origins else here
                if (job, need[2]) not in empty:
                    apart.setdefault(key, []).append(need)
        else:
            apart[here] = list(needs)
        for key, wanted in apart.items():
            lines[key] = kept.line(here.job, names[job], wanted)
    return lines


_NeedRow = tuple[int, int, str, int, int, int]
"""Spec, job, reference, pieces wanted, fitted, promised."""


class _Kept:
    """Makes lines of which what many say alike is kept once."""

    def __init__(self) -> None:
        self._same: dict[Any, Any] = {}

    def once(self, each: _Same) -> _Same:
        found: _Same = self._same.setdefault(each, each)
        return found

    def line(self, job: int, name: str, wanted: list[_NeedRow]) -> JobDemand:
        once = self.once
        if len(wanted) == 1:  # the usual line
            ((_, _, ref, quantity, fitted, promised),) = wanted
            lacks = quantity - fitted - promised
            refs, lacking = once((ref,)) if ref else (), once(((ref, lacks),)) if lacks else ()
            return JobDemand(job, name, refs, quantity, fitted, promised, lacking)
        quantity = sum(need[3] for need in wanted)
        fitted, promised = sum(need[4] for need in wanted), sum(need[5] for need in wanted)
        lacks_of = ((need[2], need[3] - need[4] - need[5]) for need in wanted)
        return JobDemand(
            job, name, tuple(once(need[2]) for need in wanted if need[2]), quantity, fitted, promised,
            tuple(once(each) for each in lacks_of if each[1]),
        )  # fmt: skip


def _tiers(*, borrow: bool) -> dict[int, int]:
    """Place -> tier, of every place whose pieces may be planned: never people, scrap or boards in use."""
    at_hand = Place.objects.filter(type__in=stock.KEPT_IN)
    tiers = {place: int(Tier.DRAWER) for place in at_hand.values_list("id", flat=True)}
    of_board: dict[str, Tier] = dict.fromkeys(stock.LIFTED_FROM, Tier.DONOR)
    if borrow:
        of_board[Board.Purpose.WORKING] = Tier.BORROW
    for place, purpose in Board.objects.filter(purpose__in=of_board).values_list("place_id", "purpose"):
        tiers[place] = int(of_board[purpose])
    return tiers


def read_shelves(origins: Mapping[int, Spot], *, borrow: bool) -> dict[Alike, Shelf]:
    """What is free for jobs; a borrowed piece is owed back and one that failed is put by: free for none."""
    blocked = hazards.blocked_places()
    borrowed = list(borrowed_lots())
    failed = frozenset(stock.failed_lots())
    where = {place: (tier, place in blocked) for place, tier in _tiers(borrow=borrow).items()}
    found: dict[tuple[tuple[int, bool], int, str, int | None, Spot, Decimal | None, int], Shelf] = {}
    # One pass over plain tuples: quicker than to let the database group them and then look for the pieces.
    for holding, place, quantity, promised, lot, part, condition, measured, tolerance, owner in (
        Holding.objects.filter(quantity__gt=F("promised"))
        .exclude(lot__condition=Lot.Condition.FAULTY)
        .exclude(lot__in=borrowed)
        .order_by("id")
        .values_list(
            "id",
            "place_id",
            "quantity",
            "promised",
            "lot_id",
            "lot__part_id",
            "lot__condition",
            "lot__measured",
            "lot__measured_tolerance",
            "lot__owner_id",
        )
        .iterator(chunk_size=CHUNK)
    ):
        here = where.get(place)
        if here is None or lot in failed:
            continue
        key = here, part, condition, measured, origins.get(lot, ()), tolerance, owner or EVERYBODY
        shelf = found.get(key)
        if shelf is None:
            shelf = found[key] = Shelf()
        shelf.free += quantity - promised
        shelf.holdings.append(holding)
        shelf.pieces.append(quantity - promised)
    return {
        Alike(
            tier,
            part,
            condition,
            NOT_MEASURED if measured is None else measured,
            is_blocked,
            origin,
            USUAL_METER if tolerance is None else tolerance,
            owner,
        ): shelf
        for ((tier, is_blocked), part, condition, measured, origin, tolerance, owner), shelf in found.items()
    }


def read_specs(rows: Collection[int]) -> dict[int, Spec]:
    """The Specs of these rows of StoredSpec."""
    found: dict[int, Spec] = {}
    for chunk in chunks(sorted(rows), CHUNK):
        missing = []
        for pk, key in StoredSpec.objects.filter(pk__in=chunk).values_list("id", "key_hash"):
            known = StoredSpec.remembered(key)
            if known is None:
                missing.append(pk)
            else:
                found[pk] = known
        if missing:
            for row in StoredSpec.objects.filter(pk__in=missing):
                found[row.pk] = row.spec
    return found


def read_spec(row: int, key_hash: str) -> Spec:
    """The Spec of one row of StoredSpec, of which the hash is at hand already."""
    known = StoredSpec.remembered(key_hash)
    return read_specs([row])[row] if known is None else known


def read_pieces(holdings: Iterable[int | None]) -> dict[int | None, FreePieces]:
    """What these holdings are, for people; None is what is on order."""
    wanted = {holding for holding in holdings if holding is not None}
    found: dict[int | None, FreePieces] = {None: FreePieces(None, None, None, "", "")}
    where = paths() if wanted else {}
    for chunk in chunks(sorted(wanted), CHUNK):
        # Of holdings that nearly follow each other the whole stretch is read: thousands of numbers cost more.
        dense = len(chunk) > CHUNK // 10 and chunk[-1] - chunk[0] < 4 * len(chunk)
        of = {"pk__range": (chunk[0], chunk[-1])} if dense else {"pk__in": chunk}
        for pk, lot, place, ref in Holding.objects.filter(**of).values_list(
            "id", "lot_id", "place_id", "ref"
        ):
            if pk in wanted:
                found[pk] = FreePieces(pk, lot, place, where[place], ref)
    return found
