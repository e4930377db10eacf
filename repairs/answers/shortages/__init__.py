"""What open jobs still lack after the best use of everything free, or would lack; and promising that plan."""

from repairs.answers.shortages.answer import COUNTS, Difference, JobDifference, Row, Shortages, counts, totals
from repairs.answers.shortages.reserving import ROUNDS, LackingNeed, Reserved, reserve, reserve_requirement
from repairs.answers.shortages.rows import questions_of, rows_of, shortages
from repairs.answers.shortages.supposing import GRAMMAR, BadAssumption, suppose

__all__ = [
    "COUNTS", "GRAMMAR", "ROUNDS", "BadAssumption", "Difference", "JobDifference", "LackingNeed", "Reserved",
    "Row", "Shortages", "counts", "questions_of", "reserve", "reserve_requirement", "rows_of", "shortages",
    "suppose", "totals",
]  # fmt: skip
