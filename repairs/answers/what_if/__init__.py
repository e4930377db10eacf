"""What would be short under assumptions: an answer as that of shortages, with what differs from now."""

from repairs.answers.what_if.supposing import GRAMMAR, BadAssumption, suppose

__all__ = ["GRAMMAR", "BadAssumption", "suppose"]
