"""What may be asked of the shortages, and asking it."""

from collections.abc import Collection, Sequence

from repairs.answers.parameters import ASK, BORROW, JOBS, Parameter, PlanQuestion
from repairs.answers.shortages.answer import Shortages, sheets
from repairs.answers.shortages.rows import shortages
from repairs.answers.shortages.supposing import suppose

ASSUME = Parameter(
    "assume",
    "Suppose it, store nothing: `park:JOB`, `priority:JOB:1` (to 5), `borrow`, `strip:BOARD` (a donor, "
    "wholly), `buy:PART:4` (pieces). By number or exact name. Repeated, they hold together, in the order "
    "given.",
    tuple,
    pattern=r"^(park:.+|priority:.+:[1-5]|borrow|strip:.+|buy:.+:[0-9]{1,7})$",
    many=True,
)


def ask_shortages(
    jobs: Collection[int] | None = None,
    *,
    borrow: bool = False,
    ask: bool = False,
    assume: Sequence[str] = (),
) -> Shortages:
    """The shortages as they are or, under assumptions, as they would be.

    Unreadable: an assumption that cannot be.
    """
    if not assume:
        return Shortages.of(shortages(jobs, borrow=borrow, ask=ask))
    return suppose(assume, jobs, borrow=borrow, ask=ask)


SHORTAGES = PlanQuestion((JOBS, BORROW, ASK, ASSUME), ask_shortages, sheets)
