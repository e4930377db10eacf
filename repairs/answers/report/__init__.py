"""The report of a repair: what was done, with which parts, at what cost, what was measured and accepted."""

from repairs.answers.report.answer import RepairReport
from repairs.answers.report.reporting import isolated, report

__all__ = ["RepairReport", "isolated", "report"]
