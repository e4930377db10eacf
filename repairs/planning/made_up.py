"""Made-up values: two or three free parts that stand in for a missing resistor, capacitor or inductor.

The closest pair in series and in parallel is found, with others near it, among values of which some piece
stands its share. A third part is looked for only where too few pairs come within the allowed tolerance, and
among the values that are most plentiful. Values are exact throughout: whole units, and fractions of them.

What comes first: the error in tenths of the allowed tolerance, since a finer difference is lost in the
parts' own spread; then fewer pieces; then the exact error; then less rating to waste; then by name and id.
"""

from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from heapq import nsmallest
from typing import Any

from inventory.spec import GRADES, Spec, fits, is_safety_part, value_window
from inventory.spec.kinds import KINDS
from repairs.planning.candidates import Judge
from repairs.planning.closest import Recipe, pairs, triples
from repairs.planning.combination import RATINGS, Join, Joined, Leaf
from repairs.planning.optimiser import Supply, Tier

MAX_THIRDS = 60
"""So many values, the most plentiful, are tried where a third part is needed."""
KEEPS_TIME = ("timing", "oscillator", "tuned")
ELECTROLYTIC = ("aluminium", "aluminium_polymer", "tantalum", "niobium")


@dataclass(frozen=True)
class MadeUp:
    """Parts that together make the value. Errors are fractions of the required value, signed.

    `low` and `high` are the worst that the parts' tolerances allow, None where one is not known; `stands` is
    what the whole carries at most (watts, volts or amps), None where a part's rating is not known.
    """

    arrangement: Joined
    supplies: tuple[Any, ...]
    error: Fraction
    low: Fraction | None
    high: Fraction | None
    stands: Mapping[str, Fraction | None]
    notes: tuple[str, ...]


def refused_place(requirement: Spec) -> str:
    """Why nothing may be made up here, or ""."""
    known = requirement.known
    use = known.get("use", "")
    if requirement.kind not in RATINGS or not requirement.value:
        return "only resistors, capacitors and inductors of a stated value are made up"
    if is_safety_part(requirement):
        return "never in a safety place"
    if use in ("rf", "surge"):
        return f"never in a place for {use}: leads and sharing matter there"
    if use in KEEPS_TIME and requirement.kind != "capacitor":
        return "never in a place that keeps time, unless of C0G capacitors"
    if "value" in known.get("exact", ()):
        return "this place takes no other value"
    return ""


class Pool:
    """Free pieces that no plan needs, laid out to be combined. Suspect and faulty ones are left out."""

    def __init__(self, free: Iterable[Supply], *, judge: Judge = fits) -> None:
        self._judge = judge
        self._sorts: defaultdict[str, dict[tuple[Any, ...], list[Supply]]] = defaultdict(dict)
        self._shelves: dict[tuple[str, bool], _PiecesByValue] = {}
        for supply in free:
            sound = supply.condition in ("good", "untested") and supply.tier in (Tier.DRAWER, Tier.DONOR)
            if sound and supply.quantity and supply.spec.kind in RATINGS and _value(supply):
                self._sorts[supply.spec.kind].setdefault(_sort(supply.spec), []).append(supply)

    def make(self, requirement: Spec, count: int = 3) -> tuple[MadeUp, ...]:
        """The best few ways to make the requirement, best first; none in a place that takes none.

        Each requirement is answered by itself: two answers may count on the same pieces.
        """
        if refused_place(requirement):
            return ()
        wanted = _TargetValue.of(requirement)
        shelf = self._shelf(requirement)
        ways = _ways(shelf, wanted, 3 * count, thirds=False)
        if len(ways) < count:
            ways += _ways(shelf, wanted, 3 * count, thirds=True)
        return tuple(sorted(ways, key=wanted.rank)[:count])

    def _shelf(self, requirement: Spec) -> "_PiecesByValue":
        """Every piece that suits the place in all but value and rating."""
        keeps_time = requirement.known.get("use") in KEEPS_TIME
        place = _but_for_value(requirement)
        shelf = self._shelves.get((place.key, keeps_time))
        if shelf is None:
            suitable = [
                supply
                for supplies in self._sorts[requirement.kind].values()
                if self._judge(place, _but_for_value(supplies[0].spec)).grade in GRADES[:3]
                if not keeps_time or supplies[0].spec.dielectric == "c0g"
                for supply in supplies
            ]
            shelf = self._shelves[place.key, keeps_time] = _PiecesByValue(requirement.kind, suitable)
        return shelf


def _value(supply: Supply) -> int | None:
    return supply.spec.value if supply.measured is None else supply.measured


def _sort(spec: Spec) -> tuple[Any, ...]:
    """What makes parts alike but for value and rating."""
    return (
        spec.dielectric, spec.lead_style, spec.package, spec.pitch_mm, spec.polarised, spec.safety_class,
        spec.number, spec.make, spec.speed_ns, repr(spec.traits),
    )  # fmt: skip


def _but_for_value(spec: Spec) -> Spec:
    traits = {name: kept for name, kept in spec.traits.items() if not name.startswith("tolerance_")}
    return replace(spec, value=None, tolerance_percent=None, watts=None, volts=None, amps=None, traits=traits)


def _exact(rating: Decimal | Fraction | None) -> int:
    """A rating in billionths, which is as fine as ratings are kept; what is not known counts as nothing."""
    return int((rating or 0) * 10**9)


def _ratings(supply: Supply) -> tuple[int, ...]:
    return tuple(_exact(getattr(supply.spec, name)) for name in RATINGS[supply.spec.kind])


class _PiecesByValue:
    """Suitable pieces by value, smallest first; under each value the least rated first."""

    def __init__(self, kind: str, supplies: Iterable[Supply]) -> None:
        self.kind = kind
        self.by_value: defaultdict[int, list[Supply]] = defaultdict(list)
        for supply in supplies:
            self.by_value[_value(supply) or 0].append(supply)
        self.values = sorted(self.by_value)
        self.pieces = {value: sum(each.quantity for each in held) for value, held in self.by_value.items()}
        for held in self.by_value.values():
            held.sort(key=lambda supply: (*_ratings(supply), supply.tier, supply.condition, supply.id))
        self.best = {
            name: {
                v: max(_exact(getattr(each.spec, name)) for each in held) for v, held in self.by_value.items()
            }
            for name in RATINGS[kind]
        }

    def join(self, *, adds: bool) -> Join:
        return "series" if adds is (self.kind != "capacitor") else "parallel"

    def able(self, wanted: "_TargetValue", *, adds: bool) -> list[int]:
        """Values that may be one of a pair: not too far, and some piece stands the share it would have."""
        values = self.values
        if adds:
            values = values[: bisect_left(values, wanted.high)]
        else:
            values = values[bisect_right(values, wanted.low) :]
        common = "volts" if self.join(adds=adds) == "parallel" else "amps"
        for name, load in wanted.load.items():
            best, least = self.best[name], _exact(load)
            if name == common:
                values = [value for value in values if best[value] >= least]
            elif adds:
                over, under = wanted.high.as_integer_ratio()
                values = [value for value in values if best[value] * over >= least * value * under]
            else:
                over, under = wanted.low.as_integer_ratio()
                values = [value for value in values if best[value] * value * under >= least * over]
        return values


@dataclass(frozen=True)
class _TargetValue:
    """The value, the window about it, in units, and what the whole must stand."""

    value: int
    low: Fraction
    high: Fraction
    load: Mapping[str, Fraction]

    @classmethod
    def of(cls, requirement: Spec) -> "_TargetValue":
        assert requirement.value is not None
        low, high = value_window(requirement) or (requirement.value, requirement.value)
        return cls(
            requirement.value,
            Fraction(low),
            Fraction(high),
            {
                name: Fraction(requirement.known[name])
                for name in RATINGS[requirement.kind]
                if name in requirement.known
            },
        )

    def share_of_allowed(self, value: Fraction) -> Fraction:
        """The error against what is allowed on that side; more than 1 is outside."""
        allowed = self.high - self.value if value > self.value else self.value - self.low
        return abs(value - self.value) / allowed if allowed else Fraction(value != self.value)

    def rank(self, way: MadeUp) -> tuple[Any, ...]:
        share = self.share_of_allowed(way.arrangement.value)
        spare = [stood / self.load[name] for name, stood in way.stands.items() if stood and name in self.load]
        return (
            int(share * 10),
            len(way.supplies),
            share,
            max(spare, default=0),
            str(way.arrangement),
            way.supplies,
        )


def _recipes(shelf: _PiecesByValue, wanted: _TargetValue, most: int, *, thirds: bool) -> Iterator[Recipe]:
    window = Fraction(wanted.value), wanted.low, wanted.high
    if thirds:
        plenty = nsmallest(MAX_THIRDS, shelf.values, key=lambda value: (-shelf.pieces[value], value))
        yield from triples(sorted(plenty), window, pieces=shelf.pieces, most=most)
    else:
        for adds in (True, False):
            able = shelf.able(wanted, adds=adds)
            yield from pairs(able, window, adds=adds, pieces=shelf.pieces, most=most)


def _ways(shelf: _PiecesByValue, wanted: _TargetValue, most: int, *, thirds: bool) -> list[MadeUp]:
    """The recipes with the least error for which there are pieces that stand their share."""
    found = []
    recipes = [(wanted.share_of_allowed(r.total), r) for r in _recipes(shelf, wanted, most, thirds=thirds)]
    for _, recipe in nsmallest(most, recipes):
        way = _filled(recipe, shelf, wanted)
        if way is not None:
            found.append(way)
    return found


def _filled(recipe: Recipe, shelf: _PiecesByValue, wanted: _TargetValue) -> MadeUp | None:
    """Choose the least rated piece that stands its share for each part of a recipe."""
    bare = _built(recipe, shelf, [Leaf(shelf.kind, Fraction(value)) for value in recipe.values])
    chosen: list[Supply] = []
    taken: Counter[Any] = Counter()
    for leaf, share in zip(bare.leaves, bare.shares(wanted.load), strict=True):
        for supply in shelf.by_value[int(leaf.value)]:
            rated = {name: getattr(supply.spec, name) for name in share}
            stands = all(rated[name] is not None and rated[name] >= least for name, least in share.items())
            if stands and taken[supply.id] < supply.quantity:
                taken[supply.id] += 1
                chosen.append(supply)
                break
        else:
            return None
    parts = [
        Leaf(shelf.kind, leaf.value, _tolerance(supply), supply.id)
        for leaf, supply in zip(bare.leaves, chosen, strict=True)
    ]
    arrangement = _built(recipe, shelf, parts)
    in_series = Counter(join for join in _joins(arrangement))["series"]
    electrolytic = [supply.spec for supply in chosen if supply.spec.dielectric in ELECTROLYTIC]
    if in_series and electrolytic and len({supply.spec.key for supply in chosen}) > 1:
        return None
    low, high = arrangement.at_worst(-1), arrangement.at_worst(1)
    return MadeUp(
        arrangement=arrangement,
        supplies=tuple(supply.id for supply in chosen),
        error=arrangement.value / wanted.value - 1,
        low=None if low is None else low / wanted.value - 1,
        high=None if high is None else high / wanted.value - 1,
        stands={name: _stands(arrangement, chosen, name) for name in RATINGS[shelf.kind]},
        notes=tuple(_notes(shelf.kind, chosen, wanted, low, high, balanced=bool(in_series and electrolytic))),
    )


def _built(recipe: Recipe, shelf: _PiecesByValue, leaves: list[Leaf]) -> Joined:
    outer, inner = shelf.join(adds=recipe.adds), shelf.join(adds=recipe.pair_adds)
    if len(leaves) == 3 and outer != inner:
        return Joined(shelf.kind, outer, (Joined(shelf.kind, inner, tuple(leaves[:2])), leaves[2]))
    return Joined(shelf.kind, outer, tuple(leaves))


def _joins(part: Leaf | Joined) -> Iterator[Join]:
    if isinstance(part, Joined):
        yield part.join
        for inner in part.parts:
            yield from _joins(inner)


def _tolerance(supply: Supply) -> Decimal | None:
    """A measured piece is what it measures, as near as the meter tells."""
    if supply.measured is None:
        return supply.spec.tolerance_percent
    own = supply.measured_tolerance
    return KINDS[supply.spec.kind].meter_percent if own is None else own


def _stands(arrangement: Joined, chosen: Sequence[Supply], name: str) -> Fraction | None:
    """What the whole carries until the first part reaches its rating; None where a rating is not known."""
    rated = [getattr(supply.spec, name) for supply in chosen]
    if None in rated:
        return None
    shares = arrangement.shares({name: Fraction(1)})
    return min(Fraction(most) / share[name] for most, share in zip(rated, shares, strict=True))


def _notes(
    kind: str,
    chosen: Sequence[Supply],
    wanted: _TargetValue,
    low: Fraction | None,
    high: Fraction | None,
    *,
    balanced: bool,
) -> Iterator[str]:
    yield f"{len(chosen)} parts where one was: check the room"
    if low is None or high is None:
        yield "a tolerance is not known: measure the whole"
    elif low < wanted.low or high > wanted.high:
        yield "outside the tolerance at worst: measure the whole"
    if any(supply.condition == "untested" for supply in chosen):
        yield "test each part first"
    if balanced:
        yield "electrolytics in series: same type, a balancing resistor across each, joined by like polarity"
    if kind == "inductor":
        yield "keep the windings apart or at right angles: coupling changes the value"
