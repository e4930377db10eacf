"""The repairs' spreadsheets among the exports of `inventory.sheets`."""

from collections.abc import Sequence

from inventory.sheets import EXPORTS, Export, Option, SheetOut
from inventory.sheets.exports import Options


def offer() -> None:
    """Put the repairs' exports among those that there are."""
    EXPORTS["shortages"] = Export(
        _shortages,
        "What open jobs still lack, what the plan takes from where, and what just does not do.",
        {
            "job": Option("Only the jobs with these numbers.", many=True),
            "borrow": Option("`true`: also draw on working boards."),
            "ask": Option("`true`: also draw on pieces that a person must decide on."),
            "assume": Option("Suppose it, as at shortages/: `park:JOB`, `borrow` …", many=True),
        },
    )


def _shortages(options: Options) -> Sequence[SheetOut]:
    from repairs.shortage_sheets import shortage_sheets  # with the solver, which few commands need

    return shortage_sheets(options)
