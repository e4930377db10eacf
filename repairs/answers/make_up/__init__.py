"""What free pieces can stand in for a missing value."""

from repairs.answers.make_up.answer import MadeUpValue, MadeUpValues
from repairs.answers.make_up.plan import MAX_WAYS, made_up_for, made_up_for_need, made_up_for_short

__all__ = [
    "MAX_WAYS",
    "MadeUpValue",
    "MadeUpValues",
    "made_up_for",
    "made_up_for_need",
    "made_up_for_short",
]
