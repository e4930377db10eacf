"""What the drawers lack beyond what jobs need, and which free pieces of donors would fill it.

What falls below its reorder level comes first. Then come pieces whose like the workshop's drawings ask for
often: of these the drawers are to keep as many as the board that takes most of them, up to a handful. A
requirement asked for at more positions goes first, then one by its key; for each the better grade, then good
before untested, then by id.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from inventory.spec import Spec, fits
from repairs.planning.candidates import Judge, Market, Offer
from repairs.planning.optimiser import Supply, Tier

SOUND = ("good", "untested")
OFTEN = 4
"""A requirement at so many positions of the workshop's drawings is asked for often."""
MAX_KEPT = 5
"""Of what is asked for often no more are suggested than make up so many in the drawers."""


@dataclass(frozen=True, slots=True)
class Wish:
    """So many pieces of a supply are worth having in the drawers; `because` of what, and in words."""

    supply: Any
    pieces: int
    because: Literal["reorder", "popular"]
    text: str


@dataclass(frozen=True, slots=True)
class Use:
    """How often drawings ask for one Spec: at how many positions in all, and at most on one board."""

    spec: Spec
    positions: int
    most_on_one: int


def is_sound(supply: Supply) -> bool:
    return supply.condition in SOUND and not supply.blocked


def below_level(levels: Mapping[Any, int], left: Iterable[tuple[Any, Supply]]) -> Iterator[Wish]:
    """Wishes for parts of which the drawers keep fewer than their level; `left` are (part, supply)."""
    there: Counter[Any] = Counter()
    spare: list[tuple[Any, Supply]] = []
    for part, supply in left:
        if part in levels and supply.tier == Tier.DRAWER:
            there[part] += supply.quantity
        elif part in levels and supply.tier == Tier.DONOR and is_sound(supply):
            spare.append((part, supply))
    lacking = {part: level - there[part] for part, level in levels.items()}
    spare.sort(key=lambda each: (each[0], SOUND.index(each[1].condition), each[1].id))
    for part, supply in spare:
        pieces = min(supply.quantity, lacking[part])
        if pieces > 0:
            lacking[part] -= pieces
            text = f"reorder at {levels[part]}, {there[part]} left in the drawers"
            yield Wish(supply.id, pieces, "reorder", text)


@dataclass(frozen=True, slots=True)
class Restock:
    """Pieces of a part to buy so that the drawers hold its reorder level again, and why in words."""

    pieces: int
    text: str


def restock(levels: Mapping[Any, int], left: Iterable[tuple[Any, Supply]]) -> dict[Any, Restock]:
    """What to buy of parts below their level; `left` are (part, supply) that no job needs, on order too."""
    there: Counter[Any] = Counter()
    coming: Counter[Any] = Counter()
    for part, supply in left:
        if part in levels and supply.tier in (Tier.DRAWER, Tier.ON_ORDER):
            (there if supply.tier == Tier.DRAWER else coming)[part] += supply.quantity
    return {
        part: Restock(
            level - there[part] - coming[part],
            f"reorder at {level}, {there[part]} left in the drawers"
            + (f", {coming[part]} on order" if coming[part] else ""),
        )
        for part, level in levels.items()
        if there[part] + coming[part] < level
    }


def popular(
    uses: Iterable[Use], left: Iterable[Supply], wished: Iterable[Wish] = (), *, judge: Judge = fits
) -> Iterator[Wish]:
    """Wishes for what drawings ask for often and the drawers lack, beyond what is `wished` for already.

    `left` are the pieces that no job needs.  Only what serves without a note counts.
    """
    often = [use for use in uses if use.positions >= OFTEN]
    if not often:
        return
    coming: Counter[Any] = Counter()
    for wish in wished:
        coming[wish.supply] += wish.pieces
    offers = [supply for supply in left if supply.tier in (Tier.DRAWER, Tier.DONOR) and is_sound(supply)]
    market = Market(
        [Offer(s.spec, s.measured, measured_tolerance=s.measured_tolerance) for s in offers], judge
    )
    for use in sorted(often, key=lambda use: (-use.positions, use.spec.key)):
        serving = [
            (("same", "drop_in").index(fit.grade), offers[index])
            for fit, indices in market.offers(use.spec)
            if fit.grade in ("same", "drop_in")
            for index in indices
        ]
        there = sum(supply.quantity for _, supply in serving if supply.tier == Tier.DRAWER)
        lacking = min(use.most_on_one, MAX_KEPT) - there - sum(coming[supply.id] for _, supply in serving)
        text = f"drawings ask for its like at {use.positions} positions, {there} left in the drawers"
        donors = [each for each in serving if each[1].tier == Tier.DONOR]
        donors.sort(key=lambda each: (each[0], SOUND.index(each[1].condition), each[1].id))
        for _, supply in donors:
            pieces = min(supply.quantity - coming[supply.id], lacking)
            if pieces > 0:
                lacking -= pieces
                coming[supply.id] += pieces
                yield Wish(supply.id, pieces, "popular", text)
