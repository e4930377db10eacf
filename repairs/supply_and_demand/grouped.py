"""The keys by which needs and pieces are grouped, and what is grouped by them.  Pure."""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

from inventory.spec.recorded import Spot

CHUNK = 5000
NOT_MEASURED = -1
EVERYBODY = 0
"""Stands for the owner of what is nobody's own."""
USUAL_METER = Decimal(-1)
"""Stands for a reading of which nobody said what the meter may be off."""


Declined = tuple[int, int, int | None]
"""A requirement, a job and a lot whose owner refused it."""


class DemandKey(NamedTuple):
    """What one job requires of one Spec: the key of a demand.

    `at` is where, as (design, reference), only for needs of which something was recorded at a place, and
    where a free piece came off just that position.
    """

    spec: int
    job: int
    at: Spot = ()


class Alike(NamedTuple):
    """Pieces between which a plan sees no difference: the key of a supply."""

    tier: int
    part: int
    condition: str
    measured: int
    blocked: bool = False
    origin: Spot = ()
    measured_tolerance: Decimal = USUAL_METER
    owner: int = EVERYBODY

    @property
    def reading(self) -> tuple[int | None, Decimal | None]:
        """What it reads and what the meter may be off, each as the judge takes it."""
        return (
            None if self.measured == NOT_MEASURED else self.measured,
            None if self.measured_tolerance == USUAL_METER else self.measured_tolerance,
        )


@dataclass(slots=True)
class JobDemand:
    """One job's share of a requirement, in pieces."""

    job: int
    name: str
    refs: tuple[str, ...] = ()
    needed: int = 0
    fitted: int = 0
    promised: int = 0
    open: tuple[tuple[str, int], ...] = ()
    """Needs that are not filled, in the order in which they are given pieces: the reference of each ("" where
    it is loose) and how many it lacks."""

    @property
    def lacking(self) -> int:
        return self.needed - self.fitted - self.promised

    @property
    def lacking_refs(self) -> tuple[str, ...]:
        if len(self.open) == 1 and self.refs == (self.open[0][0],):
            return self.refs  # the usual line is one need: what it says stands once in memory
        return tuple(ref for ref, _ in self.open if ref)

    def short_refs(self, short: int) -> tuple[str, ...]:
        """The references that lack a piece still when all but `short` of what is lacking is given out."""
        if not short:
            return ()
        if short == self.lacking:
            return self.lacking_refs
        left = self.lacking - short
        found = []
        for ref, lacks in self.open:
            if left < lacks and ref:
                found.append(ref)
            left = max(left - lacks, 0)
        return tuple(found)


@dataclass(slots=True)
class Shelf:
    """Alike pieces: their holdings, oldest first, and in step how many are free at each; none on order."""

    free: int = 0
    holdings: list[int] = field(default_factory=list)
    pieces: list[int] = field(default_factory=list)

    def after(self, taken: int) -> int | None:
        """The holding of the next piece when so many are taken."""
        for holding, pieces in zip(self.holdings, self.pieces, strict=True):
            if taken < pieces:
                return holding
            taken -= pieces
        return None


class FreePieces(NamedTuple):
    """Free pieces of one lot at one place, named from the top: `Cabinet A / Drawer 7`; no lot and no place
    where they are still on order."""

    holding: int | None
    lot: int | None
    place: int | None
    place_name: str
    ref: str
