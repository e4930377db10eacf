"""Loads the report of a job."""

from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal
from typing import TypeVar

from django.db.models import Q

from inventory import ledger
from inventory.models import Holding, Lot, Movement
from inventory.refs import split_ref
from repairs import lenders, readiness
from repairs.answers.report.answer import (
    RepairReport,
    ReportException,
    ReportLender,
    ReportReading,
    ReportTask,
    ReportTrial,
    UsedPart,
)
from repairs.benchlog import time_line, trials_of, within
from repairs.models import Job, Reservation
from repairs.proving_models import AcceptedException, BenchEntry, Observed, RailReading

ObservedT = TypeVar("ObservedT", bound=Observed)


def report(job: Job) -> RepairReport:
    """Everything that the report of a job says."""
    promises = _fitted(job)
    parts = [_used(promise) for promise in promises]
    parts += _fitted_unasked(job, {promise.movement_id for promise in promises})
    board = job.board
    verdict = readiness.judge(board) if board else None
    return RepairReport(
        job=job.pk,
        name=job.name,
        board=board.name if board else None,
        status=job.status,
        symptom=job.symptom,
        cause=job.cause,
        note=job.note,
        parts=parts,
        spent=_sum(part for part in parts if not part.salvaged),
        saved=_sum(part for part in parts if part.salvaged),
        unpriced=sum(part.quantity for part in parts if part.price is None),
        isolated=isolated(job),
        lenders=[
            ReportLender(loan.movement.from_place.name, loan.movement.from_ref, state, explanation)
            for loan, state, explanation in lenders.of_job(job)
        ],
        verdict=verdict.verdict if verdict else None,
        accepted=verdict.accepted if verdict else 0,
        accepted_by=verdict.accepted_by if verdict else (),
        verdict_text=verdict.text if verdict else "",
        readings=[
            ReportReading(row.rail, row.stage, row.ref, row.text, row.person)
            for row in _meanwhile(job, RailReading)
        ],
        exceptions=[
            ReportException(row.item, row.subject, row.why, row.person)
            for row in _meanwhile(job, AcceptedException)
        ],
        trials=[
            ReportTrial(
                f"{row.lot}" if row.lot is not None else f"{row.board} {row.ref}".rstrip(),
                row.method, row.reading, row.verdict,
            )
            for row in trials_of(job)
        ],
        tasks=[
            ReportTask(row.text, row.done is not None)
            for row in job.entries.filter(kind=BenchEntry.Kind.TASK)
        ],
        log=time_line(job),
    )  # fmt: skip


def _meanwhile(job: Job, facts: type[ObservedT]) -> Iterable[ObservedT]:
    """What was seen of its board while the job was open, and holds."""
    if job.board is None:
        return ()
    return facts._default_manager.filter(within(job), board=job.board, withdrawn=None).select_related("by")


def isolated(job: Job) -> list[str]:
    """Positions whose fault was proven with a borrowed part that is still in: isolated, not fixed."""
    if job.board is None:
        return []
    here = Holding.objects.filter(
        place_id=job.board.place_id, quantity__gt=0, lot__in=ledger.borrowed_lots()
    ).exclude(ref="")
    return sorted(here.values_list("ref", flat=True))


def _fitted(job: Job) -> Sequence[Reservation]:
    return list(
        Reservation.objects.filter(need__job=job, status=Reservation.Status.FITTED, movement__isnull=False)
        .select_related(
            "need__spec",
            "holding__lot__part__spec",
            "holding__lot__origin_board",
            "movement",
            "holding__lot__purchase",
        )
        .order_by("need__ref", "id")
    )


def _fitted_unasked(job: Job, counted: Collection[int | None]) -> list[UsedPart]:
    """Pieces that went onto the job's board while it was open without a need of it, and stayed there."""
    if job.board is None:
        return []
    there: dict[str, Movement] = {}
    on_board = Q(from_place=job.board.place_id) | Q(to_place=job.board.place_id)
    rows = Movement.objects.filter(within(job), on_board).select_related(
        "lot__part__spec", "lot__origin_board", "lot__purchase", "to_lot__part__spec",
        "to_lot__origin_board", "to_lot__purchase",
    )  # fmt: skip
    for row in rows.order_by("id"):
        if row.from_place_id == job.board.place_id:
            there.pop(row.from_ref, None)
        if row.to_place_id == job.board.place_id and row.to_ref:
            there[row.to_ref] = row
    drawn = job.board.design.positions.select_related("spec") if job.board.design else ()
    wanted = {position.ref: position.spec.text for position in drawn}
    return [
        _used_piece(row.to_lot or row.lot, ref=ref, wanted=wanted.get(ref, ""), note=row.note)
        for ref, row in sorted(there.items(), key=lambda pair: split_ref(pair[0]))
        if row.kind == Movement.Kind.FIT and row.pk not in counted
    ]


def _used(promise: Reservation) -> UsedPart:
    lot = promise.holding.lot
    movement: Movement | None = promise.movement
    notes = [movement.note if movement is not None else "", promise.need.note]
    return _used_piece(
        lot,
        ref=promise.need.ref,
        wanted=promise.need.spec.text,
        quantity=promise.quantity,
        note="; ".join(dict.fromkeys(filter(None, notes))),
    )


def _used_piece(lot: Lot, *, ref: str, wanted: str, note: str, quantity: int = 1) -> UsedPart:
    return UsedPart(
        ref=ref,
        wanted=wanted,
        fitted=lot.part.spec.text,
        origin=_origin(lot),
        salvaged=lot.origin_source != Lot.Source.BOUGHT,
        price=_price(lot),
        quantity=quantity,
        note=note,
    )


def _origin(lot: Lot) -> str:
    if lot.origin_board is not None:
        return f"{lot.origin_board} {lot.origin_ref}".rstrip()
    return f"{lot.origin_source} {lot.origin_from}".rstrip()


def _price(lot: Lot) -> Decimal | None:
    """What one piece cost, or would: the purchase's price, or the part's."""
    purchase = getattr(lot, "purchase", None)
    if purchase is not None and purchase.price is not None:
        return Decimal(purchase.price)
    return lot.part.price


def _sum(parts: Iterable[UsedPart]) -> Decimal:
    return sum((part.price * part.quantity for part in parts if part.price is not None), Decimal(0))
