"""What a need could be given by hand: every free piece of the bench that serves it, the best first."""

from dataclasses import dataclass

from inventory.models import Lot
from inventory.spec import GRADES, Fit, fits
from repairs.models import Need
from repairs.planning import Tier
from repairs.planning.refusals import ANOTHERS, SUSPECT, lowered
from repairs.substitutions import spot_of
from repairs.supply_and_demand import EVERYBODY, Alike, FreePieces, SupplyAndDemand, read_pieces, the_bench

MAX_OFFERS = 40
OFFERED = GRADES[:4]
"""All but `no`: what must be asked about is for a person to decide, and here is one."""


@dataclass(frozen=True)
class OfferedPieces:
    """Free pieces of one lot at one place; `quantity` of them."""

    piece: FreePieces
    tier: Tier
    text: str
    condition: str
    quantity: int
    fit: Fit
    owner: int | None = None
    """Whose they are, where they are asked for; None where they can be reserved."""


def offers(need: Need, *, most: int = MAX_OFFERS) -> list[OfferedPieces]:
    """Free pieces at hand, on donors and in working boards; by grade, nearness, closeness, condition."""
    bench = the_bench(borrow=True)
    judged = [
        (alike, shelf, fit)
        for alike, shelf in bench.shelves.items()
        if shelf.holdings
        and bench.specs[bench.spec_of[alike.part]].kind == need.spec.kind  # kinds never serve each other
        and (fit := _judge(need, alike, bench)).grade in OFFERED
    ]
    judged.sort(key=lambda each: _best_first(each[0], each[2]))
    found = [
        (alike, holding, pieces, fit)
        for alike, shelf, fit in judged
        for holding, pieces in zip(shelf.holdings, shelf.pieces, strict=True)
    ][:most]
    pieces = read_pieces(holding for _, holding, _, _ in found)
    return [_offer(pieces[holding], alike, count, fit, bench) for alike, holding, count, fit in found]


def _judge(need: Need, alike: Alike, bench: SupplyAndDemand) -> Fit:
    required, offered = need.spec.spec, bench.specs[bench.spec_of[alike.part]]
    measured, percent = alike.reading
    at = spot_of(need.job, need.ref)
    record = bench.recorded.find(required, offered, at) if bench.recorded else None
    doubtful = alike.condition == Lot.Condition.SUSPECT and measured is None
    same_position = bool(at) and alike.origin == at
    fit = fits(
        required, offered, measured=measured, measured_tolerance=percent, recorded=record,
        same_position=same_position,
    )  # fmt: skip
    anothers = alike.owner not in (EVERYBODY, need.job.owner_id)
    return lowered(lowered(fit, SUSPECT if doubtful else None), ANOTHERS if anothers else None)


def _best_first(alike: Alike, fit: Fit) -> tuple[int, int, int, int, Alike]:
    condition = ("good", "untested", "suspect").index(alike.condition)
    return GRADES.index(fit.grade), alike.tier, fit.closeness, condition, alike


def _offer(piece: FreePieces, alike: Alike, quantity: int, fit: Fit, bench: SupplyAndDemand) -> OfferedPieces:
    text = bench.specs[bench.spec_of[alike.part]].text
    asked = alike.owner if ANOTHERS in fit.reasons else None
    return OfferedPieces(piece, Tier(alike.tier), text, alike.condition, quantity, fit, asked)
