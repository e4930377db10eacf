"""Which offers are worth judging for a requirement, and how they were judged: never every pair, none twice.

Offers are shelved by kind; kinds with a value by value, the others by type number and by the one fact in
which they must agree. What the shelf gives includes every offer that the judge lets through, and those with
a question, except a part of another type number where either side states too few figures to judge it by:
that question ("compare the data sheets") is true of every part in the drawer and helps nobody. Which facts
the shelf goes by follows the judge's rules; the tests compare it with judging every pair.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import cached_property, lru_cache
from typing import Any, NamedTuple, Protocol

from inventory.spec import (
    UNITS,
    Fit,
    Recorded,
    Spec,
    SubstitutionRecord,
    search_window,
    serving_window,
)
from inventory.spec.kinds import KINDS
from inventory.spec.recorded import Spot, first_of
from inventory.spec.values import ValueWindow, spread

NEIGHBOUR_PERCENT = 25
"""How far a nearest miss may be from the required value."""
MAX_FITS_KEPT = 100_000

MUST_AGREE = {name: kind.must_agree for name, kind in KINDS.items() if kind.must_agree}
"""Kind without a value -> the fact in which another is refused."""
READ_ONLY_MEMORIES = ("rom", "prom", "eprom", "eeprom")


class Judge(Protocol):
    """`inventory.spec.fits`, or a pure function that stands in for it."""

    def __call__(
        self,
        requirement: Spec,
        offer: Spec,
        *,
        measured: int | None = None,
        measured_tolerance: Decimal | None = None,
        recorded: SubstitutionRecord | None = None,
        same_position: bool = False,
    ) -> Fit: ...

    def __hash__(self) -> int: ...


class Offer(NamedTuple):
    """A part as offered: its Spec and, where it was measured, the reading that stands in for its value
    (and what its meter may be off, in per cent; None: as is usual).

    `origin` is the spot that it came off, where that matters.
    """

    spec: Spec
    measured: int | None
    origin: Spot = ()
    measured_tolerance: Decimal | None = None

    @property
    def key(self) -> "_Key":
        return self.spec.key, self.measured, self.origin, self.measured_tolerance


_Key = tuple[str, int | None, Spot, Decimal | None]
"""What makes two offers alike."""


class Market:
    """Everything on offer: each offer is known by its index, and like offers are judged once."""

    def __init__(self, offers: Sequence[Offer], judge: Judge, recorded: Recorded | None = None) -> None:
        self._judge = judge
        self._known = _fits_of(judge)
        self._recorded = recorded or Recorded()
        self._alike: defaultdict[_Key, list[int]] = defaultdict(list)
        distinct: dict[_Key, Offer] = {}
        for index, offer in enumerate(offers):
            key = offer.key
            distinct.setdefault(key, offer)
            self._alike[key].append(index)
        self._shelf = _OfferIndex(list(distinct.values()))
        self._origins = {offer.origin for offer in distinct.values() if offer.origin}

    def recorded(self, requirement: Spec, at: Spot = ()) -> tuple[SubstitutionRecord, ...]:
        """What was recorded of this requirement there, the most telling first: () for most."""
        return self._recorded.at(requirement, at) if self._recorded else ()

    def origin(self, at: Spot) -> Spot:
        """The spot itself where something on offer came off just that position, else ()."""
        return at if at in self._origins else ()

    def offers(
        self, requirement: Spec, at: Spot = (), *, neighbours: bool = False, serving: bool = False
    ) -> Iterator[tuple[Fit, list[int]]]:
        """Every offer worth judging: how well it fits there, and the indices under which it is offered.

        `serving`: only those that may serve without a note, where nothing on offer was measured.
        """
        record = self.recorded(requirement, at)
        near = (
            self._shelf.serving(requirement)
            if serving
            else self._shelf.near(requirement, neighbours=neighbours)
        )
        if record:
            named = [each for each in self._shelf.all(requirement.kind) if first_of(record, each.spec)]
            near = iter(dict.fromkeys([*near, *named]))
        for offer in near:
            same_position = bool(at) and offer.origin == at
            fit = self._fit(requirement, offer, first_of(record, offer.spec), same_position)
            yield fit, self._alike[offer.key]

    def _fit(
        self, requirement: Spec, offer: Offer, record: SubstitutionRecord | None, same_position: bool
    ) -> Fit:
        pair = (
            requirement.key, offer.spec.key, offer.measured, offer.measured_tolerance, record, same_position
        )  # fmt: skip
        fit = self._known.get(pair)
        if fit is None:
            if len(self._known) >= MAX_FITS_KEPT:
                self._known.clear()
            more: dict[str, Any] = {"same_position": True} if same_position else {}
            if offer.measured_tolerance is not None:
                more["measured_tolerance"] = offer.measured_tolerance
            fit = self._judge(requirement, offer.spec, measured=offer.measured, recorded=record, **more)
            self._known[pair] = fit
        return fit


@lru_cache(maxsize=4)
def _fits_of(judge: Judge) -> dict[tuple[Any, ...], Fit]:
    """What this judge said before in this process: it is pure, so that holds for good."""
    return {}


class _OfferIndex:
    """Distinct offers of each kind, laid out by value, or by type number and the fact that must agree."""

    def __init__(self, offers: Sequence[Offer]) -> None:
        self._kind: defaultdict[str, list[Offer]] = defaultdict(list)
        self._meter: dict[str, Decimal] = {}  # what the worst of the meters may be off, where it was said
        self._by_value: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
        self._by_mark: defaultdict[tuple[str, Any], list[int]] = defaultdict(list)
        self._unmarked: defaultdict[str, list[int]] = defaultdict(list)
        for offer in offers:
            spec = offer.spec
            place = len(self._kind[spec.kind])
            self._kind[spec.kind].append(offer)
            if spec.kind in UNITS:
                marks: list[Any] = [value for value in {spec.value, offer.measured} if value is not None]
                self._by_value[spec.kind] += [(value, place) for value in marks]
                if offer.measured_tolerance is not None:
                    usual = KINDS[spec.kind].meter_percent
                    known = self._meter.get(spec.kind, usual)
                    self._meter[spec.kind] = max(known, offer.measured_tolerance)
            else:
                number, group = _type_number(spec), _group(spec)
                marks = [mark for mark in (number, group) if mark is not None]
                for mark in marks:
                    self._by_mark[spec.kind, mark].append(place)
                if number is None:
                    self._by_mark[spec.kind, (group, "no number")].append(place)
            if not marks:
                self._unmarked[spec.kind].append(place)
        for pairs in self._by_value.values():
            pairs.sort()

    @cached_property
    def _by_tolerance(self) -> dict[str, dict[ValueWindow | None, list[tuple[int, int]]]]:
        """Values and places of each kind by how far off they may be; plans that take any grade need none."""
        found: dict[str, dict[ValueWindow | None, list[tuple[int, int]]]] = {}
        for kind in UNITS:
            of_kind = found.setdefault(kind, {})
            for place, offer in enumerate(self._kind.get(kind, ())):
                if offer.spec.value is not None:
                    of_kind.setdefault(spread(offer.spec.known), []).append((offer.spec.value, place))
            for pairs in of_kind.values():
                pairs.sort()
        return found

    def all(self, kind: str) -> Sequence[Offer]:
        """Every distinct offer of a kind."""
        return self._kind.get(kind, [])

    def near(self, requirement: Spec, *, neighbours: bool = False) -> Iterator[Offer]:
        """Offers worth judging, in the order they were shelved; `neighbours` adds what just misses."""
        offers = self._kind.get(requirement.kind, [])
        found = self._near(requirement, neighbours)
        return iter(offers) if found is None else (offers[place] for place in sorted(found))

    def serving(self, requirement: Spec) -> Iterator[Offer]:
        """Those of them that their marked value, at its tolerance, lets serve without a note."""
        kind = requirement.kind
        if kind not in UNITS or serving_window(requirement, None) is None:
            return self.near(requirement)
        found = set(self._unmarked.get(kind, ()))
        for own, pairs in self._by_tolerance[kind].items():
            low, high = serving_window(requirement, own) or (0, 0)
            first, last = bisect_left(pairs, (low, 0)), bisect_right(pairs, (high, len(self._kind[kind])))
            found.update(place for _, place in pairs[first:last])
        return (self._kind[kind][place] for place in sorted(found))

    def _near(self, requirement: Spec, neighbours: bool) -> set[int] | None:
        """Places on the kind's shelf; None for all of it."""
        kind = requirement.kind
        known = requirement.known
        indifferent = known.get("any", ())
        found = set(self._unmarked.get(kind, ()))
        if kind in UNITS:
            if requirement.value is None or "value" in indifferent:
                return None
            low, high = _window(requirement, neighbours, self._meter.get(kind))
            pairs = self._by_value.get(kind, [])
            first, last = bisect_left(pairs, (low, 0)), bisect_right(pairs, (high, len(self._kind[kind])))
            found.update(place for _, place in pairs[first:last])
            return found
        number = _type_number(requirement)
        group = None if MUST_AGREE.get(kind) in indifferent else _group(requirement)
        core = KINDS[kind].core(known)
        if (
            number is None
            or "number" in indifferent
            or (core is not None and all(fact in known for fact in core))
        ):
            if group is None:
                return None
            found.update(self._by_mark.get((kind, group), ()))
        found.update(self._by_mark.get((kind, number), ()))
        found.update(self._by_mark.get((kind, (group, "no number")), ()))
        return found


def _type_number(spec: Spec) -> str | None:
    """Letters and figures of the type number, in capitals."""
    return "".join(filter(str.isalnum, spec.number)).upper() or None


def _group(spec: Spec) -> tuple[str, Any] | None:
    """The fact in which an offer must agree; None for kinds with no such fact and where it is not known."""
    name = MUST_AGREE.get(spec.kind)
    fact = spec.known.get(name) if name else None
    if fact is None:
        return None
    return ("group", "rom" if fact in READ_ONLY_MEMORIES else fact)


def _window(requirement: Spec, neighbours: bool, meter_percent: Decimal | None) -> tuple[int, int]:
    """Lowest and highest value (units) worth judging: what the judge does not refuse as such."""
    wanted = requirement.value
    assert wanted is not None
    low, high = search_window(requirement, meter_percent) or (wanted, wanted)
    if neighbours:
        aside = wanted * NEIGHBOUR_PERCENT // 100 + 1
        low, high = min(low, wanted - aside), max(high, wanted + aside)
    return low, high
