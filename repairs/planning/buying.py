"""The buy list: what remains short, merged, in whole packs, and which jobs each set of lines completes.

One purchase serves every requirement that it fits as the same or better: a 50 V part the 16 V and the 35 V
need. Within a family of requirements that could share purchases the list has, in this order, the fewest
lines of unknown price, the lowest known price, the fewest lines, and the closest ratings: exactly so up to
six requirements, beyond that by taking again and again the part that serves the most for its price. A
requirement for which a priced part is known is not bought as something unpriced. Prices are what a person
entered; none is made up.

What a person wants to buy anyway serves first, job by job as it will once it is ordered.  One file: the order
above is one comparison, which every step here works towards.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from typing import Any, NamedTuple

from inventory.spec import Fit, Recorded, Spec, fits
from inventory.spec.recorded import Spot
from repairs.planning.candidates import Judge, Market, Offer
from repairs.planning.optimiser import Demand, Supply, Tier, plan

SERVES = ("same", "drop_in")
MAX_EXACT = 6
"""Requirements in one family up to which every way to buy is weighed."""
CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class OnSale:
    """A part that can be bought; `price` is for one pack, a guess that a person entered, or None."""

    id: Any
    spec: Spec
    price: Decimal | None = None
    pack_size: int = 1


@dataclass(frozen=True, slots=True)
class ServedDemand:
    """A short demand that a line serves; no fit where what it requires is bought as it stands."""

    demand: Demand
    fit: Fit | None


@dataclass(frozen=True, slots=True)
class BuyLine:
    """One thing to buy. `part` is the id of what is on sale, None where no known part serves.

    `wished` are the pieces that a person wants whatever jobs lack, `restock` those that the drawers are to
    hold beyond what jobs need.
    """

    part: Any
    spec: Spec
    serves: tuple[ServedDemand, ...]
    pack_size: int
    pack_price: Decimal | None
    postage: Decimal | None
    completes: tuple[Any, ...]
    """Jobs that this line alone completes, first in line first."""
    wished: int = 0
    restock: int = 0
    theirs: int = 0
    """Of `wished`, what one person alone wants and no job here needs: bought beside what jobs need."""

    @property
    def quantity(self) -> int:
        return sum(served.demand.quantity for served in self.serves)

    @property
    def packs(self) -> int:
        return -(-max(self.quantity + self.restock + self.theirs, self.wished) // self.pack_size)

    @property
    def for_stock(self) -> int:
        """Pieces beyond the need, because packs are whole, a person wants them or the drawers do."""
        return self.packs * self.pack_size - self.quantity

    @property
    def price(self) -> Decimal | None:
        return None if self.pack_price is None else self.packs * self.pack_price


@dataclass(frozen=True, slots=True)
class CompletingSet:
    """A smallest set of lines, by place in the list, and the jobs that lack nothing once it is bought."""

    lines: tuple[int, ...]
    price: Decimal | None
    jobs: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class BuyList:
    """Lines by kind and value; completions by number of lines, price and the jobs' rank. No price: None."""

    lines: tuple[BuyLine, ...]
    completions: tuple[CompletingSet, ...]
    price: Decimal | None
    postage: Decimal | None


def buy_list(
    short: Iterable[Demand],
    on_sale: Iterable[OnSale],
    *,
    postage: Decimal | None = None,
    wished: Mapping[Any, int] | None = None,
    wished_by: Mapping[Any, Mapping[Any, int]] | None = None,
    restock: Mapping[Any, int] | None = None,
    jobs: Collection[Any] | None = None,
    elsewhere: Collection[Any] = (),
    judge: Judge = fits,
    recorded: Recorded | None = None,
) -> BuyList:
    """Merge what is short into purchases.

    `short` are demands with the pieces that no plan could give them (`Plan.lacking`). `postage` for the
    whole order is shared by price, or evenly where no price is known. `wished` are pieces of what is on
    sale that a person wants anyway, `wished_by` how many of them for whom, whose jobs alone they serve,
    `restock` those that the drawers lack beyond all jobs. Of `jobs`, where they are named, only what
    these lack is listed; those `elsewhere` also wait for something that no line brings, and none
    completes them. `recorded` is what people found to serve, or not, as for `plan`.
    ValueError: a pack of less than one piece.
    """
    demands = sorted(
        (demand for demand in short if demand.quantity), key=lambda demand: (demand.rank, demand.id)
    )
    shelf = list(on_sale)
    if any(each.pack_size < 1 for each in shelf):
        raise ValueError("a pack holds at least one piece")
    wanted_anyway = [each for each in shelf if (wished or {}).get(each.id)]
    asked, demands = _asked(demands, wanted_anyway, wished or {}, wished_by or {}, judge, recorded)
    if jobs is not None:
        demands = [demand for demand in demands if demand.job in jobs]
        asked = [
            replace(line, serves=tuple(s for s in line.serves if s.demand.job in jobs)) for line in asked
        ]
        asked = [line for line in asked if line.serves]
    offers = _offered(shelf, demands)
    market = Market([Offer(each.spec, None) for each in offers], judge, recorded)
    wanted: defaultdict[Any, list[Demand]] = defaultdict(list)
    for demand in demands:
        wanted[demand.spec.key, market.recorded(demand.spec, demand.at)].append(demand)
    requirements = [_Required(members[0].spec, members[0].at, tuple(members)) for members in wanted.values()]
    chosen = [
        purchase
        for required, choices in _families(_choices(requirements, offers, market))
        for purchase in _cheapest(required, choices, requirements)
    ]
    purchases = _restocked(_merged([*asked, *chosen]), shelf, restock or {})
    purchases.sort(key=lambda purchase: (purchase.spec.kind, purchase.spec.value or 0, purchase.spec.key))
    needs: defaultdict[Any, set[int]] = defaultdict(set)
    for number, purchase in enumerate(purchases):
        for served in purchase.serves:
            if served.demand.job not in elsewhere:
                needs[served.demand.job].add(number)
    line_up = sorted(
        (served.demand for line in purchases for served in line.serves), key=lambda demand: demand.rank
    )
    completions = _completions(needs, purchases, [demand.job for demand in line_up if demand.job in needs])
    alone = {completion.lines: completion.jobs for completion in completions}
    shares = _shared(postage, [purchase.price for purchase in purchases])
    lines = [
        replace(purchase, postage=share, completes=alone.get((number,), ()))
        for number, (purchase, share) in enumerate(zip(purchases, shares, strict=True))
    ]
    return BuyList(tuple(lines), completions, _sum(line.price for line in lines), postage)


def _asked(
    demands: list[Demand],
    shelf: Sequence[OnSale],
    wished: Mapping[Any, int],
    wished_by: Mapping[Any, Mapping[Any, int]],
    judge: Judge,
    recorded: Recorded | None,
) -> tuple[list[BuyLine], list[Demand]]:
    """The lines that a person wants anyway, whose whole packs serve, and what is short beyond them.

    What is wanted for one person serves that person's jobs alone, and so stays beside what others need.
    """
    lines = {
        each.id: BuyLine(each.id, each.spec, (), each.pack_size, each.price, None, (), wished[each.id])
        for each in shelf
    }
    if not lines:
        return [], demands
    supplies = []
    for line in lines.values():
        own = wished_by.get(line.part, {})
        theirs = sum(own.values())
        lines[line.part] = replace(line, theirs=theirs)
        for owner, pieces in [*own.items(), (None, line.packs * line.pack_size - theirs)]:
            supplies.append(Supply((line.part, owner), line.spec, pieces, Tier.ON_ORDER, owner=owner))
    result = plan(demands, supplies, judge=judge, recorded=recorded)
    demand_of = {demand.id: demand for demand in demands}
    for take in result.takes:
        served = ServedDemand(demand_of[take.demand]._replace(quantity=take.quantity), take.fit)
        part, owner = take.supply
        line = lines[part]
        left = line.theirs - (take.quantity if owner is not None else 0)
        lines[part] = replace(line, serves=(*line.serves, served), theirs=left)
    return list(lines.values()), result.lacking(demands)


def _merged(lines: Iterable[BuyLine]) -> list[BuyLine]:
    """One line for each part on sale."""
    found: dict[Any, BuyLine] = {}
    for line in lines:
        key = line.spec.key if line.part is None else line.part
        first = found.get(key)
        found[key] = line if first is None else replace(first, serves=first.serves + line.serves)
    return list(found.values())


def _restocked(lines: list[BuyLine], shelf: Sequence[OnSale], restock: Mapping[Any, int]) -> list[BuyLine]:
    """The lines with what the drawers lack of their parts, and a line for each other part that they lack."""
    bought = {line.part for line in lines}
    return [
        *(replace(line, restock=restock.get(line.part, 0)) for line in lines),
        *(
            BuyLine(each.id, each.spec, (), each.pack_size, each.price, None, (), restock=restock[each.id])
            for each in shelf
            if each.id in restock and each.id not in bought
        ),
    ]


@dataclass(frozen=True, slots=True)
class _Required:
    """One requirement and the short demands that have it, all where the same was recorded."""

    spec: Spec
    at: Spot
    demands: tuple[Demand, ...]

    @property
    def quantity(self) -> int:
        return sum(demand.quantity for demand in self.demands)


@dataclass(frozen=True, slots=True)
class _Choice:
    """Something to buy, and how it fits each requirement that it serves, by index."""

    on_sale: OnSale
    fit_of: Mapping[int, Fit | None]


def _offered(shelf: Sequence[OnSale], demands: Iterable[Demand]) -> list[OnSale]:
    """What is on sale, and what is required as it stands where nothing on sale is just that."""
    known = {each.spec.key for each in shelf}
    as_drawn = {each.spec.key: each.spec for each in demands if each.spec.key not in known}
    return [*shelf, *(OnSale(None, spec) for spec in as_drawn.values())]


def _choices(requirements: Sequence[_Required], offers: list[OnSale], market: Market) -> list[_Choice]:
    serves = _serves(requirements, offers, market)
    priced = {
        r for each, fit_of in zip(offers, serves, strict=True) if each.price is not None for r in fit_of
    }
    return [
        _Choice(each, kept)
        for each, fit_of in zip(offers, serves, strict=True)
        if (kept := {r: fit for r, fit in fit_of.items() if each.price is not None or r not in priced})
    ]


def _serves(
    requirements: Sequence[_Required], offers: list[OnSale], market: Market
) -> list[dict[int, Fit | None]]:
    serves: list[dict[int, Fit | None]] = [{} for _ in offers]
    for number, required in enumerate(requirements):
        for fit, indices in market.offers(required.spec, required.at, serving=True):
            for index in indices:
                if fit.grade in SERVES:
                    serves[index][number] = fit
                elif offers[index].spec.key == required.spec.key:
                    serves[index][number] = None
    return serves


def _families(choices: list[_Choice]) -> Iterator[tuple[list[int], list[_Choice]]]:
    """Requirements that could share purchases, and what serves them."""
    family_of: dict[int, int] = {}
    families: dict[int, tuple[list[int], list[_Choice]]] = {}
    for number, choice in enumerate(choices):
        families[number] = (list(choice.fit_of), [choice])
        for joined in sorted({family_of[r] for r in choice.fit_of if r in family_of}):
            required, others = families.pop(joined)
            families[number][0].extend(required)
            families[number][1].extend(others)
        family_of.update(dict.fromkeys(families[number][0], number))
    for required, members in families.values():
        yield sorted(set(required)), members


class _Way(NamedTuple):
    """How good a way to buy is, least first, and what is bought for which requirements."""

    unpriced: int
    price: Decimal
    lines: int
    closeness: int
    picks: tuple[tuple[int, tuple[int, ...]], ...]


_NOTHING = _Way(0, Decimal(0), 0, 0, ())


def _cheapest(
    required: list[int], choices: list[_Choice], requirements: Sequence[_Required]
) -> Iterator[BuyLine]:
    way = (_exactly if len(required) <= MAX_EXACT else _greedily)(required, choices, requirements)
    for number, served in way.picks:
        choice = choices[number]
        yield BuyLine(
            part=choice.on_sale.id,
            spec=choice.on_sale.spec,
            serves=tuple(ServedDemand(d, choice.fit_of[r]) for r in served for d in requirements[r].demands),
            pack_size=choice.on_sale.pack_size,
            pack_price=choice.on_sale.price,
            postage=None,
            completes=(),
        )


def _and(
    way: _Way, number: int, choice: _Choice, served: tuple[int, ...], wanted: Sequence[_Required]
) -> _Way:
    """The way with one more purchase, for those requirements."""
    pieces = sum(wanted[r].quantity for r in served)
    packs = -(-pieces // choice.on_sale.pack_size)
    closeness = sum(fit.closeness * wanted[r].quantity for r in served if (fit := choice.fit_of[r]))
    return _Way(
        way.unpriced + (choice.on_sale.price is None),
        way.price + packs * (choice.on_sale.price or 0),
        way.lines + 1,
        way.closeness + closeness,
        (*way.picks, (number, served)),
    )


def _exactly(required: list[int], choices: list[_Choice], wanted: Sequence[_Required]) -> _Way:
    """The best way for every set of requirements, each built on the best for a smaller set."""
    best: dict[frozenset[int], _Way] = {frozenset(): _NOTHING}

    def ways(open_ones: frozenset[int]) -> Iterator[_Way]:
        first, *others = sorted(open_ones)
        for number, choice in enumerate(choices):
            if first in choice.fit_of:
                able = [r for r in others if r in choice.fit_of]
                for size in range(len(able) + 1):
                    for more in combinations(able, size):
                        served = (first, *more)
                        yield _and(best_for(open_ones.difference(served)), number, choice, served, wanted)

    def best_for(open_ones: frozenset[int]) -> _Way:
        if open_ones not in best:
            best[open_ones] = min(ways(open_ones))
        return best[open_ones]

    return best_for(frozenset(required))


def _greedily(required: list[int], choices: list[_Choice], wanted: Sequence[_Required]) -> _Way:
    way, open_ones = _NOTHING, set(required)
    while open_ones:
        steps = []
        for number, choice in enumerate(choices):
            if served := tuple(sorted(open_ones & choice.fit_of.keys())):
                step = _and(_NOTHING, number, choice, served, wanted)
                for_each = step.price / len(served)
                steps.append((step.unpriced, for_each, -len(served), step.closeness, number, served))
        *_, number, served = min(steps)
        way = _and(way, number, choices[number], served, wanted)
        open_ones.difference_update(served)
    return way


def _completions(
    needs: Mapping[Any, set[int]], purchases: Sequence[BuyLine], line_up: Iterable[Any]
) -> tuple[CompletingSet, ...]:
    """For each set of lines that some job waits for: every job that it completes."""
    in_line = list(dict.fromkeys(line_up))
    found = []
    for lines in {frozenset(needed) for needed in needs.values()}:
        numbers = tuple(sorted(lines))
        jobs = tuple(job for job in in_line if needs[job] <= lines)
        found.append(CompletingSet(numbers, _sum(purchases[number].price for number in numbers), jobs))
    rank = {job: place for place, job in enumerate(in_line)}

    def order(each: CompletingSet) -> tuple[Any, ...]:
        return len(each.lines), each.price is None, each.price or 0, -len(each.jobs), rank[each.jobs[0]]

    return tuple(sorted(found, key=order))


def _sum(prices: Iterable[Decimal | None]) -> Decimal | None:
    """None where one is not known."""
    known = list(prices)
    return None if None in known else sum((price for price in known if price is not None), Decimal(0))


def _shared(postage: Decimal | None, prices: Sequence[Decimal | None]) -> list[Decimal | None]:
    """Postage by price, to the cent; what rounding leaves goes to those that lost most by it."""
    if postage is None or not prices:
        return [None] * len(prices)
    weights = [price or Decimal(0) for price in prices]
    if not any(weights):
        weights = [Decimal(1)] * len(prices)
    exact = [Fraction(postage) * Fraction(weight) / Fraction(sum(weights)) for weight in weights]
    cents = [int(share * 100) for share in exact]
    left = int(Fraction(postage) * 100) - sum(cents)
    for number in sorted(range(len(exact)), key=lambda n: (cents[n] - exact[n] * 100, n))[:left]:
        cents[number] += 1
    return [Decimal(share) * CENT for share in cents]
