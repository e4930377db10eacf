"""Why a need was given what it was given, who has what it wants, and what would change it."""

from repairs.answers.why.answer import Why
from repairs.answers.why.explaining import explain

__all__ = ["Why", "explain"]
