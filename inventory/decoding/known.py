"""What a reader is given beside the words: what is known of the part, and how much work is left."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from .candidates import Candidate
from .shapes import Budget


class Known(NamedTuple):
    """`kind` "" when it is not known; `lone_year`: the person said that a lone letter is a year; `weigh`: how
    much speaks for a candidate (scoring.py), for readers that cannot keep all they find.
    """

    kind: str
    era: int | None
    lone_year: bool
    budget: Budget
    weigh: Callable[[Candidate], float]

    def asks(self, kind: str) -> bool:
        """Whether a reading of this kind is asked for."""
        return self.kind in ("", kind)
