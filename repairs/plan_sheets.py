"""What is to be lifted, moved between boards and bought, as spreadsheets."""

import secrets
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import chain

from inventory.ledger import Refused
from inventory.models import Board
from inventory.refs import write_refs
from inventory.sheets import BadOption, ColumnOut, SheetOut
from inventory.sheets.exports import Options, sheet_out
from inventory.sheets.grid import CellOut
from inventory.sheets.specs import SPEC_COLUMNS, spec_values
from inventory.spec import Fit, Spec
from repairs.buy_list import ToBuy, read_postage, to_buy
from repairs.buy_table import BUY, SETS, ListLine, Written
from repairs.harvest import HarvestPlan, harvest_plan
from repairs.models import Job, Purchase
from repairs.planning.lifting import stage_of
from repairs.shortage_sheets import jobs_in, truth_in
from repairs.transfer import TransferPlan, transfer_plan

_LIFTS = (
    ColumnOut("Board", 26), ColumnOut("Order", 7, text=False), ColumnOut("Ref", 9), ColumnOut("What", 34),
    ColumnOut("Lot", 8, text=False), ColumnOut("Condition", 10), ColumnOut("Stage", 8),
    ColumnOut("For job", 26), ColumnOut("Wanted at", 24), ColumnOut("Grade", 10), ColumnOut("Worth it", 10),
    ColumnOut("Why", 60),
)  # fmt: skip
_CAUTIONS = (ColumnOut("Board", 26), ColumnOut("Step", 16), ColumnOut("Mind", 100))
_MOVES = (
    ColumnOut("Order", 7, text=False), ColumnOut("From ref", 9), ColumnOut("To ref", 9),
    ColumnOut("What", 34), ColumnOut("How", 18), ColumnOut("Lot", 8, text=False), ColumnOut("Condition", 10),
    ColumnOut("Stage", 8), ColumnOut("Grade", 10), ColumnOut("Why", 60),
)  # fmt: skip
_SETS = (
    ColumnOut("Lines", 8, text=False), ColumnOut("Buy", 90), ColumnOut("Price", 10, text=False),
    ColumnOut("Completes", 60),
)  # fmt: skip


def _why(fit: Fit | None) -> str:
    return "; ".join(f"{reason.property}: {reason.rule}" for reason in fit.reasons) if fit else ""


# --- lifting


def harvest_sheets(options: Options) -> Sequence[SheetOut]:
    """The lifts board by board in lifting order, then what to mind at each board."""
    found = harvest_plan(jobs_in(options))
    return [SheetOut("Harvest", _LIFTS, _lifts(found)), SheetOut("Mind", _CAUTIONS, _minds(found))]


def _lifts(found: HarvestPlan) -> Iterator[Sequence[CellOut]]:
    for work in found.plan.boards:
        name = found.boards[work.board].name
        for order, lift in enumerate((*work.lifts, *work.extras), 1):
            piece = lift.piece
            job = found.lines.get(lift.demand)
            yield (
                name, order, piece.ref, piece.spec.text, piece.id.lot, piece.condition,
                stage_of(piece).name.lower(), job.name if job else "for the drawers",
                write_refs(job.refs) if job else "", lift.fit.grade if lift.fit else "", lift.worth.verdict,
                "; ".join(
                    filter(None, (lift.wish.text if lift.wish else "", _why(lift.fit) or lift.worth.why))
                ),
            )  # fmt: skip


def _minds(found: HarvestPlan) -> Iterator[Sequence[CellOut]]:
    for work in found.plan.boards:
        for caution in work.cautions:
            yield found.boards[work.board].name, caution.step.replace("_", " "), caution.text


# --- moving between boards


def transfer_sheets(options: Options) -> Sequence[SheetOut]:
    """The moves in lifting order, then what must be found, stays empty or is left over; what to mind."""
    job, donor = _job(options), _donor(options)
    try:
        found = transfer_plan(job, donor)
    except Refused as refused:
        raise BadOption("from", str(refused)) from None
    cautions = ((donor.name, caution.step.replace("_", " "), caution.text) for caution in found.cautions)
    return [SheetOut("Transfer", _MOVES, _moves(found)), SheetOut("Mind", _CAUTIONS, cautions)]


def _moves(found: TransferPlan) -> Iterator[Sequence[CellOut]]:
    for order, move in enumerate(found.plan.moves, 1):
        piece = move.piece
        how = "substitute" if move.substitute else "same" if move.same_reference else "moved"
        yield (
            order, piece.ref, move.ref, piece.spec.text, how, piece.id.lot, piece.condition,
            stage_of(piece).name.lower(), move.fit.grade, _why(move.fit),
        )  # fmt: skip
    for missing in found.plan.missing:
        yield None, "", missing.ref, missing.spec.text, "must be found", None, "", "", "", ""
    for empty in found.plan.empty:
        yield None, "", empty.ref, empty.spec.text, "stays empty", None, "", "", "", empty.empty
    for piece in found.plan.left_over:
        yield None, piece.ref, "", piece.spec.text, "left over", piece.id.lot, piece.condition, "", "", ""


def _job(options: Options) -> Job:
    numbers = jobs_in(options) or []
    if len(numbers) != 1:
        raise BadOption("job", "want one job, by its number")
    return Job.objects.select_related("board__design", "board__place").get(pk=numbers[0])


def _donor(options: Options) -> Board:
    said = options.get("from", ())
    number = said[0] if len(said) == 1 else ""
    plain = number.isascii() and number.isdigit() and len(number) < 19
    board = Board.objects.select_related("design").filter(pk=int(number)).first() if plain else None
    if board is None:
        raise BadOption("from", "want one board, by its number")
    return board


# --- buying


def buy_sheets(options: Options) -> Sequence[SheetOut]:
    """The list and what is on order, to be marked; then the smallest sets of lines that complete jobs.

    Of named jobs only the list.
    """
    jobs = jobs_in(options)
    found = to_buy(
        jobs, postage=_postage(options), borrow=truth_in(options, "borrow"),
        ask=truth_in(options, "ask"),
    )  # fmt: skip
    return [
        sheet_out(BUY, "Buy", chain(_lines(found), _on_order() if jobs is None else ())),
        SheetOut(SETS, _SETS, _sets(found)),
    ]


def _postage(options: Options) -> Decimal | None:
    said = options.get("postage")
    try:
        return read_postage("".join(said)) if said else None
    except ValueError as refused:
        raise BadOption("postage", str(refused)) from None


def _lines(found: ToBuy) -> Iterator[dict[str, CellOut]]:
    mark = secrets.token_hex(4)
    for number, item in enumerate(found.items, 1):
        waiting = (f"{each.wanting.name} {write_refs(each.wanting.refs)}".rstrip() for each in item.jobs)
        yield {
            **_spec(item.spec),
            "part": item.part,
            "what": item.name,
            "needed": item.quantity,
            "pieces": item.pieces,
            "packs": item.packs,
            "pack_size": item.pack_size,
            "for_stock": item.for_stock,
            "price": item.price_each,
            "cost": item.price,
            "postage": item.postage,
            "bought_from": item.bought_from,
            "jobs": "; ".join(waiting),
            "completes": ", ".join(found.jobs[job] for job in item.completes),
            "written": str(ListLine(mark, number)),
        }


def _on_order() -> Iterator[dict[str, CellOut]]:
    rows = Purchase.objects.filter(state=Purchase.State.ORDERED).select_related("part__spec").order_by("id")
    for row in rows:
        yield {
            **_spec(row.part.spec.spec),
            "purchase": row.pk,
            "part": row.part_id,
            "what": row.part.name,
            "pieces": row.quantity,
            "state": row.state,
            "price": row.price,
            "cost": None if row.price is None else row.quantity * row.price,
            "bought_from": row.bought_from,
            "written": str(Written(row.version, row.quantity, row.price, row.bought_from)),
        }


def _spec(spec: Spec) -> dict[str, CellOut]:
    return dict(zip((column.key for column in SPEC_COLUMNS), spec_values(spec), strict=True))


def _sets(found: ToBuy) -> Iterator[Sequence[str | int | Decimal | None]]:
    for each in found.sets:
        yield (
            len(each.lines), "; ".join(found.items[line].name for line in each.lines), each.price,
            ", ".join(found.jobs[job] for job in each.jobs),
        )  # fmt: skip
