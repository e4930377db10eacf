"""The repairs' spreadsheets among those of `inventory.sheets`: out, and the buy list in."""

from collections.abc import Iterator, Sequence
from typing import Any

from inventory.sheets import EXPORTS, IMPORTS, Export, Import, Option, SheetOut, main_table
from inventory.sheets.exports import Options
from repairs.buy_table import BUY, SETS


def offer() -> None:
    """Put the repairs' spreadsheets among those that there are."""
    EXPORTS["shortages"] = Export(
        _shortages,
        "What open jobs still lack, what the plan takes from where, and what just does not do.",
        {
            "job": Option("Only the jobs with these numbers.", many=True),
            "borrow": Option("`true`: also draw on working boards."),
            "ask": Option("`true`: also draw on pieces that a person must decide on."),
            "assume": Option("Suppose it, as at shortages/: `park:JOB`, `borrow` …", many=True),
        },
        title="What open jobs still lack",
    )
    of_plan = {
        "job": Option("Only the jobs with these numbers.", many=True),
        "borrow": Option("`true`: also draw on working boards."),
        "ask": Option("`true`: also draw on pieces that a person must decide on."),
    }
    EXPORTS["buy"] = Export(
        _buy,
        "What is left to buy and what is on order; goes back in as `buy`, its lines marked.",
        {**of_plan, "postage": Option("For the whole order, such as `3.50`: shared over the lines.")},
        title="What to buy",
    )
    EXPORTS["harvest"] = Export(
        _harvest,
        "What to lift off which donor, in lifting order.",
        {"job": of_plan["job"]},
        title="What to lift",
    )
    EXPORTS["transfer"] = Export(
        _transfer,
        "What of a donor goes where on the board of a job.",
        {
            "job": Option("Which: the number of a job.", needed=True, offers=_jobs_on_boards),
            "from": Option("The donor: the number of a board.", needed=True, offers=_donors),
        },
        title="From a donor to the board of a job",
    )
    IMPORTS["buy"] = Import((BUY,), main_table(_buy_in), "Buy", (SETS,))


def _buy_in(*args: Any, **how: Any) -> None:
    from repairs.buy_import import land  # with the solver, which few commands need

    land(*args, **how)


def _jobs_on_boards() -> Iterator[tuple[str, str]]:
    from repairs.models import Job  # the apps are not ready when this module is read

    for job in Job.objects.filter(status=Job.Status.OPEN).exclude(board=None).order_by("priority", "id"):
        yield str(job.pk), job.name


def _donors() -> Iterator[tuple[str, str]]:
    from inventory.models import Board

    for board in Board.objects.filter(purpose=Board.Purpose.DONOR).order_by("name"):
        yield str(board.pk), board.name


def _shortages(options: Options) -> Sequence[SheetOut]:
    from repairs.shortage_sheets import shortage_sheets  # with the solver

    return shortage_sheets(options)


def _buy(options: Options) -> Sequence[SheetOut]:
    from repairs.plan_sheets import buy_sheets

    return buy_sheets(options)


def _harvest(options: Options) -> Sequence[SheetOut]:
    from repairs.plan_sheets import harvest_sheets

    return harvest_sheets(options)


def _transfer(options: Options) -> Sequence[SheetOut]:
    from repairs.plan_sheets import transfer_sheets

    return transfer_sheets(options)
