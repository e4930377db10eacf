"""What two or three free pieces of the bench can stand in for a missing resistor, capacitor or inductor.

Only pieces are used that the plan for all open jobs leaves over.  Each requirement is answered by itself: two
answers may count on the same pieces until one of them is reserved or moved.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from inventory.models import Board, StoredSpec
from inventory.refs import write_refs
from inventory.spec import Spec, plain_value, print_value, value_window
from repairs.answers.lifting import caution
from repairs.answers.make_up.answer import MadeUpPart, MadeUpValue, WayToMake, figure
from repairs.answers.others import others_may
from repairs.answers.pieces import FriendMay, OtherMay, where
from repairs.friends.tier import FriendsTier
from repairs.hazards import hazards_of
from repairs.models import Need
from repairs.planning import Supply
from repairs.planning.combination import Joined
from repairs.planning.made_up import MadeUp, Pool, refused_place
from repairs.proving.cautions import lifting
from repairs.supply_and_demand import (
    NOT_MEASURED,
    Alike,
    DemandKey,
    FreePieces,
    JobDemand,
    SupplyAndDemand,
    planned,
    read_pieces,
)

MAX_WAYS = 5


def made_up_for(spec: Spec, *, count: int = 3) -> MadeUpValue:
    """Ways to make any wanted Spec from what no job needs."""
    [value] = _Spare.load().make([_Request(spec)], count)
    return value


def made_up_for_required(required: StoredSpec, *, count: int = 3) -> MadeUpValue:
    """Ways to make what a row of the shortages requires, for the jobs that are short of it."""
    spare = _Spare.load()
    lines = [line for line in spare.short if line.spec == required.pk]
    [value] = spare.make([spare.request(required.spec, lines)], count)
    return value


def made_up_for_need(need: Need, *, count: int = 3) -> MadeUpValue:
    """Ways to make what a need requires, whether or not it is open."""
    spare = _Spare.load()
    [value] = spare.make([spare.request(need.spec.spec, [DemandKey(need.spec_id, need.job_id)])], count)
    return value


def made_up_for_short(jobs: Collection[int] | None = None, *, count: int = 1) -> list[MadeUpValue]:
    """Ways to make each requirement that is short and may be made up, of all open jobs or of those named.

    In order of kind and value.
    """
    spare = _Spare.load()
    lines: dict[int, list[DemandKey]] = {}
    for line in spare.short:
        if jobs is None or line.job in jobs:
            lines.setdefault(line.spec, []).append(line)
    specs = spare.bench.specs
    wanted = [spec for spec in lines if not refused_place(specs[spec])]
    wanted.sort(key=lambda spec: (specs[spec].kind, specs[spec].value or 0, specs[spec].key))
    return spare.make([spare.request(specs[spec], lines[spec]) for spec in wanted], count)


class _Request(NamedTuple):
    """What is to be made; how many are short, and for whom."""

    spec: Spec
    short: int = 0
    waiting: tuple[JobDemand, ...] = ()
    friends: Sequence[FriendMay] = ()
    others: Sequence[OtherMay] = ()
    owner: int | None = None
    """Of the jobs that wait, where all are one person's."""


@dataclass(frozen=True)
class _Spare:
    """The bench, what its plan leaves short, and the pool of pieces that it leaves over."""

    bench: SupplyAndDemand
    short: Mapping[DemandKey, int]
    friends: Mapping[int, Sequence[FriendMay]]
    taken: Counter[Alike]
    others: Mapping[int, Sequence[OtherMay]]
    left: Sequence[Supply]
    pools: dict[int | None, Pool] = field(default_factory=dict)

    @classmethod
    def load(cls) -> "_Spare":
        bench, plan = planned()
        taken: Counter[Alike] = Counter()
        for take in plan.takes:
            taken[take.supply] += take.quantity
        friends: dict[int, list[FriendMay]] = {}
        lacking = bench.after_others(plan, plan.lacking(bench.demands))
        for requirement, may in FriendsTier.of(lacking, bench.recorded).may():
            friends.setdefault(requirement, []).append(may)
        others: dict[int, list[OtherMay]] = {}
        for requirement, other in others_may(bench, bench.of_others(plan)):
            others.setdefault(requirement, []).append(other)
        return cls(bench, plan.short, friends, taken, others, plan.spare(bench.supplies))

    def pool_for(self, owner: int | None) -> Pool:
        """What is everybody's, and this owner's own: of others nothing is made up."""
        if owner not in self.pools:
            self.pools[owner] = Pool(each for each in self.left if each.owner in (None, owner))
        return self.pools[owner]

    def request(self, spec: Spec, lines: Sequence[DemandKey]) -> _Request:
        waiting = tuple(self.bench.lines[line] for line in lines if line in self.bench.lines)
        friends = [may for row in {line.spec for line in lines} for may in self.friends.get(row, ())]
        jobs = {line.job for line in lines}
        others = [
            each
            for row in {line.spec for line in lines}
            for each in self.others.get(row, ())
            if each.job in jobs
        ]
        owners = {self.bench.owners.get(line.job) for line in lines}
        owner = owners.pop() if len(owners) == 1 else None
        return _Request(spec, sum(self.short.get(line, 0) for line in lines), waiting, friends, others, owner)

    def make(self, requests: Sequence[_Request], count: int) -> list[MadeUpValue]:
        made = [self.pool_for(request.owner).make(request.spec, min(count, MAX_WAYS)) for request in requests]
        holdings = {id(way): self._holdings(way) for ways in made for way in ways}
        pieces = read_pieces(holding for held in holdings.values() for holding in held)
        boards = {
            board.place_id: board
            for board in Board.objects.filter(
                place__in={piece.place for piece in pieces.values() if piece.place is not None}
            ).select_related("design")
        }
        return [
            _answer(
                request,
                [
                    way
                    for each in ways
                    if (way := self._way(request.spec, each, [pieces[h] for h in holdings[id(each)]], boards))
                ],
            )
            for request, ways in zip(requests, made, strict=True)
        ]

    def _holdings(self, way: MadeUp) -> list[int | None]:
        """Where the first pieces that the plan leaves over lie; each piece is used once."""
        used: Counter[Alike] = Counter()
        held = []
        for alike in way.supplies:
            held.append(self.bench.shelves[alike].after(self.taken[alike] + used[alike]))
            used[alike] += 1
        return held

    def _way(
        self, spec: Spec, made: MadeUp, pieces: Sequence[FreePieces], boards: Mapping[int, Board]
    ) -> WayToMake | None:
        """None where a piece sits on a board, or is of a sort, that is not worked on at all."""
        specs = [self.bench.specs[self.bench.spec_of[alike.part]] for alike in made.supplies]
        donors = {board.pk: board for piece in pieces if piece.place and (board := boards.get(piece.place))}
        cautions = lifting([word for board in donors.values() for word in hazards_of(board)], specs)
        if any(each.blocked for each in cautions):
            return None
        shares = made.arrangement.shares(dict.fromkeys(made.stands, Fraction(1)))
        parts = [
            MadeUpPart(
                **where(piece, alike.tier, offered.text),
                condition=alike.condition,
                measured=None
                if alike.measured == NOT_MEASURED
                else print_value(offered.kind, alike.measured),
                share_percent={name: figure(each * 100) for name, each in share.items()},
            )
            for piece, alike, offered, share in zip(pieces, made.supplies, specs, shares, strict=True)
        ]
        value = round(made.arrangement.value)
        return WayToMake(
            str(made.arrangement),
            plain_value(spec.kind, value),
            print_value(spec.kind, value),
            figure(made.error * 100),
            None if made.low is None else figure(made.low * 100),
            None if made.high is None else figure(made.high * 100),
            {name: None if most is None else figure(most, 4) for name, most in made.stands.items()},
            parts,
            list(made.notes),
            [*_steps(spec, made, parts)],
            [caution(each) for each in cautions],
        )


def _answer(request: _Request, ways: list[WayToMake]) -> MadeUpValue:
    spec, refused = request.spec, refused_place(request.spec)
    low, high = (None, None) if refused else (figure(each) for each in _allowed(spec))
    waiting = [f"{each.name} {write_refs(each.refs)}".rstrip() for each in request.waiting]
    jobs = sorted({each.job for each in request.waiting})
    return MadeUpValue(
        spec,
        spec.text,
        request.short,
        jobs,
        refused,
        low,
        high,
        ways,
        waiting,
        [*request.friends],
        [*request.others],
    )


def _allowed(spec: Spec) -> tuple[Fraction, Fraction]:
    """How far below and above the required value is accepted, in percent."""
    wanted = spec.value
    assert wanted is not None  # only what has a value is made up
    low, high = value_window(spec) or (wanted, wanted)
    return Fraction(100 * (wanted - low), wanted), Fraction(100 * (high - wanted), wanted)


def _steps(spec: Spec, made: MadeUp, parts: Sequence[MadeUpPart]) -> Iterator[str]:
    """The work, one thing after the other."""
    for part in parts:
        if part.tier == "donor":
            yield f"lift {part.ref} ({part.spec_text}) off {part.place_name}"
        else:
            yield f"take {part.spec_text} from {part.place_name}"
    if any(part.condition == "untested" for part in parts):
        yield "test each part"
    yield from _joining(made.arrangement)
    assert spec.value is not None  # else the place is refused
    below, above = _allowed(spec)
    low, high = (
        print_value(spec.kind, round(spec.value * (1 + percent / 100))) for percent in (-below, above)
    )
    yield f"measure the whole: expect {low} to {high}"


def _joining(whole: Joined) -> Iterator[str]:
    names = []
    for part in whole.parts:
        if isinstance(part, Joined):
            yield from _joining(part)
            names.append("that")
        else:
            names.append(str(part))
    *first, last = names
    yield f"join {', '.join(first)} and {last} in {whole.join}"
