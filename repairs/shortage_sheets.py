"""What open jobs still lack, as a spreadsheet."""

from collections.abc import Iterator, Sequence

from inventory.refs import write_refs
from inventory.sheets import BadOption, ColumnOut, SheetOut
from inventory.sheets.exports import Options
from inventory.sheets.grid import CellOut
from inventory.spec import Fit
from repairs.models import Job
from repairs.planning import Tier
from repairs.shortages import COUNTS, Row, shortages
from repairs.what_if import BadAssumption, suppose

_WANTED = (
    ColumnOut("Requirement", 34), ColumnOut("Kind", 11), ColumnOut("Number", 12), ColumnOut("Value", 9),
    *(ColumnOut(name.replace("_", " ").capitalize(), 10, text=False) for name in COUNTS),
    ColumnOut("Jobs that wait", 60),
)  # fmt: skip
_TAKEN = (
    ColumnOut("Requirement", 34), ColumnOut("Job", 24), ColumnOut("Quantity", 9, text=False),
    ColumnOut("From", 10), ColumnOut("Place", 30), ColumnOut("Ref", 9), ColumnOut("Lot", 8, text=False),
    ColumnOut("Grade", 10), ColumnOut("Why", 70),
)  # fmt: skip
_MISSED = (
    ColumnOut("Requirement", 34), ColumnOut("From", 10), ColumnOut("Place", 30), ColumnOut("Ref", 9),
    ColumnOut("Lot", 8, text=False), ColumnOut("Grade", 10), ColumnOut("Why", 70),
)  # fmt: skip


def shortage_sheets(options: Options) -> Sequence[SheetOut]:
    """The requirements, the pieces that the plan takes, and the nearest misses."""
    rows = _rows(options)
    return [
        SheetOut("Shortages", _WANTED, _wanted(rows)),
        SheetOut("Pieces to take", _TAKEN, _taken(rows)),
        SheetOut("Nearest misses", _MISSED, _missed(rows)),
    ]


def _rows(options: Options) -> Sequence[Row]:
    jobs, borrow, ask = jobs_in(options), truth_in(options, "borrow"), truth_in(options, "ask")
    said = options.get("assume")
    if not said:
        return shortages(jobs, borrow=borrow, ask=ask)
    try:
        return suppose(said, jobs, borrow=borrow, ask=ask).rows
    except BadAssumption as refused:
        raise BadOption("assume", str(refused)) from None


def _wanted(rows: Sequence[Row]) -> Iterator[Sequence[CellOut]]:
    for row in rows:
        waiting = (f"{job.name} {write_refs(job.refs)}".rstrip() for job in row.jobs if job.lacking)
        counts = (getattr(row, name) for name in COUNTS)
        spec = row.spec
        yield (spec.text, spec.kind, spec.number, spec.value_text, *counts, "; ".join(waiting))


def _taken(rows: Sequence[Row]) -> Iterator[Sequence[CellOut]]:
    for row in rows:
        names = {job.job: job.name for job in row.jobs}
        for piece, job, tier, quantity, fit in row.take:
            yield (
                row.spec.text, names.get(job, ""), quantity, _tier(tier), piece.place_name, piece.ref,
                piece.lot, fit.grade, _why(fit),
            )  # fmt: skip


def _missed(rows: Sequence[Row]) -> Iterator[Sequence[CellOut]]:
    for row in rows:
        for piece, tier, fit in row.refused:
            yield row.spec.text, _tier(tier), piece.place_name, piece.ref, piece.lot, fit.grade, _why(fit)


def _tier(tier: Tier) -> str:
    return tier.name.lower().replace("_", " ")


def _why(fit: Fit) -> str:
    return "; ".join(f"{reason.property}: {reason.rule}" for reason in fit.reasons)


def jobs_in(options: Options) -> list[int] | None:
    """The jobs that an export is asked for; None for all."""
    wanted = options.get("job")
    if not wanted:
        return None
    numbers = [int(text) for text in wanted if text.isascii() and text.isdigit() and len(text) < 19]
    known = set(Job.objects.filter(pk__in=numbers).values_list("id", flat=True))
    if len(numbers) < len(wanted) or not known.issuperset(numbers):
        raise BadOption("job", "want the numbers of jobs")
    return numbers


def truth_in(options: Options, name: str) -> bool:
    """An option that is true or false; left out it is false."""
    said = options.get(name, ["false"])
    if list(said) not in (["true"], ["false"]):
        raise BadOption(name, "want true or false")
    return list(said) == ["true"]
