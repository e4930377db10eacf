"""What two or three free pieces of the bench can stand in for a missing resistor, capacitor or inductor.

Only pieces are used that the plan for all open jobs leaves over.  Each requirement is answered by itself: two
answers may count on the same pieces until one of them is promised or moved.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from inventory.models import Board
from inventory.spec import Spec, print_value, value_window
from repairs.hazards import hazards_of
from repairs.models import Need
from repairs.planning import Tier
from repairs.planning.combination import Joined
from repairs.planning.made_up import MadeUp, Pool, refused_place
from repairs.proving.cautions import Caution, lifting
from repairs.supply_and_demand import (
    NOT_MEASURED,
    Alike,
    Line,
    Piece,
    SupplyAndDemand,
    Wanting,
    planned,
    read_pieces,
)

MOST_WAYS = 5


class Part(NamedTuple):
    """One piece of a made-up value: where it is, and which share of each load of the whole it stands."""

    piece: Piece
    tier: Tier
    spec: Spec
    condition: str
    measured: int | None
    share: Mapping[str, Fraction]


@dataclass(frozen=True)
class Way:
    """One way to make the value: its parts in order of the arrangement, and the work step by step."""

    made: MadeUp
    parts: tuple[Part, ...]
    steps: tuple[str, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True)
class MakingUp:
    """The best few ways to make a requirement; `refused` says why nothing may be made up there, or "".

    `allowed` is how far below and above the required value is accepted, in percent.  `short` pieces of it
    are lacking, for the jobs in `waiting`.
    """

    spec: Spec
    refused: str
    ways: tuple[Way, ...]
    allowed: tuple[Fraction, Fraction] | None
    short: int = 0
    waiting: tuple[Wanting, ...] = ()


def made_up_for(spec: Spec, *, count: int = 3) -> MakingUp:
    """Ways to make any wanted Spec from what no job needs."""
    [found] = _Spare.load().make([_Request(spec)], count)
    return found


def made_up_for_need(need: Need, *, count: int = 3) -> MakingUp:
    """Ways to make what a need requires, whether or not it is open."""
    spare = _Spare.load()
    [found] = spare.make([spare.request(need.spec.spec, [Line(need.spec_id, need.job_id)])], count)
    return found


def made_up_for_short(jobs: Collection[int] | None = None, *, count: int = 1) -> list[MakingUp]:
    """Ways to make each requirement that is short and may be made up, of all open jobs or of those named.

    In order of kind and value.
    """
    spare = _Spare.load()
    lines: dict[int, list[Line]] = {}
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
    waiting: tuple[Wanting, ...] = ()


@dataclass(frozen=True)
class _Spare:
    """The bench, what its plan leaves short, and the pool of pieces that it leaves over."""

    bench: SupplyAndDemand
    short: Mapping[Line, int]
    taken: Counter[Alike]
    pool: Pool

    @classmethod
    def load(cls) -> "_Spare":
        bench, plan = planned()
        taken: Counter[Alike] = Counter()
        for take in plan.takes:
            taken[take.supply] += take.quantity
        return cls(bench, plan.short, taken, Pool(plan.spare(bench.supplies)))

    def request(self, spec: Spec, lines: Sequence[Line]) -> _Request:
        waiting = tuple(self.bench.lines[line] for line in lines if line in self.bench.lines)
        return _Request(spec, sum(self.short.get(line, 0) for line in lines), waiting)

    def make(self, requests: Sequence[_Request], count: int) -> list[MakingUp]:
        made = [self.pool.make(request.spec, min(count, MOST_WAYS)) for request in requests]
        holdings = {id(way): self._holdings(way) for ways in made for way in ways}
        pieces = read_pieces(holding for held in holdings.values() for holding in held)
        boards = {
            board.place_id: board
            for board in Board.objects.filter(
                place__in={piece.place for piece in pieces.values() if piece.place is not None}
            ).select_related("design")
        }
        return [
            MakingUp(
                request.spec,
                refused_place(request.spec),
                tuple(
                    told
                    for way in ways
                    if (told := self._told(request.spec, way, [pieces[h] for h in holdings[id(way)]], boards))
                ),
                None if refused_place(request.spec) else _allowed(request.spec),
                request.short,
                request.waiting,
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

    def _told(
        self, spec: Spec, way: MadeUp, pieces: Sequence[Piece], boards: Mapping[int, Board]
    ) -> Way | None:
        """None where a piece sits on a board, or is of a sort, that is not worked on at all."""
        specs = [self.bench.specs[self.bench.spec_of[alike.part]] for alike in way.supplies]
        donors = {board.pk: board for piece in pieces if piece.place and (board := boards.get(piece.place))}
        cautions = lifting([word for board in donors.values() for word in hazards_of(board)], specs)
        if any(caution.blocked for caution in cautions):
            return None
        loads = dict.fromkeys(way.stands, Fraction(1))
        parts = tuple(
            Part(
                piece,
                Tier(alike.tier),
                offered,
                alike.condition,
                None if alike.measured == NOT_MEASURED else alike.measured,
                share,
            )
            for piece, alike, offered, share in zip(
                pieces, way.supplies, specs, way.arrangement.shares(loads), strict=True
            )
        )
        return Way(way, parts, tuple(_steps(spec, way, parts)), cautions)


def _allowed(spec: Spec) -> tuple[Fraction, Fraction]:
    wanted = spec.value
    assert wanted is not None  # only what has a value is made up
    low, high = value_window(spec) or (wanted, wanted)
    return Fraction(100 * (wanted - low), wanted), Fraction(100 * (high - wanted), wanted)


def _steps(spec: Spec, way: MadeUp, parts: Sequence[Part]) -> Iterator[str]:
    """The work, one thing after the other."""
    for part in parts:
        what, where = part.spec.text, part.piece.place_name
        if part.tier == Tier.DONOR:
            yield f"lift {part.piece.ref} ({what}) off {where}"
        else:
            yield f"take {what} from {where}"
    if any(part.condition == "untested" for part in parts):
        yield "test each part"
    yield from _joining(way.arrangement)
    assert spec.value is not None  # else the place is refused
    below, above = _allowed(spec)
    low, high = (
        print_value(spec.kind, round(spec.value * (1 + percent / 100))) for percent in (-below, above)
    )
    yield f"measure the whole: want {low} to {high}"


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
