"""What friends have that open jobs lack: the tier of the plan behind donors and orders, before buying.

Judged as one's own pieces are, each distinct pair of Specs once.  Nothing of it is promised: a friend's piece
is theirs until they say yes.  From then on it is on its way (`supply_and_demand`), and no longer told here.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, Self

from django.db.models import F, Q, QuerySet, Sum, Window
from django.db.models.functions import RowNumber

from inventory.chunks import chunks
from inventory.spec import GRADES, Fit, Recorded, Spec, fits
from repairs.friends.exchange import OPEN
from repairs.planning import Demand, Supply, Tier, plan
from repairs.planning.candidates import Market, Offer
from repairs.sharing_models import Friend, FriendAsk, FriendLine
from repairs.supply_and_demand import CHUNK, read_specs

ALL_LINES = 200_000
"""So many lines that may serve are read; of more, of each Spec those that come first, by postage."""
FIRST_LINES = 20
"""So many lines of a Spec are read in any case, to choose from."""


class Line(NamedTuple):
    """A line of a friend's list, and how much of it nobody asked for yet."""

    pk: int
    friend: Friend
    name: str
    spec_id: int
    left: int
    condition: str
    marking: str


class Has(NamedTuple):
    """A line that would fill what a job lacks, and how well."""

    row: Line
    spec: Spec
    demand: Demand
    fit: Fit


class Gives(NamedTuple):
    """So many pieces of a line that the tier of friends would take for what a job lacks."""

    row: Line
    spec: Spec
    demand: Demand
    quantity: int
    fit: Fit


@dataclass(frozen=True)
class OpenAsks:
    """What was asked for and is neither here nor called off, read once.

    `spoken_for` is what of each line may not be asked for again; `waiting` what jobs wait to hear of: it is
    neither promised nor on its way.
    """

    spoken_for: Mapping[tuple[int, str], int]
    waiting: Mapping[tuple[int | None, int | None], int]

    @classmethod
    def load(cls) -> Self:
        spoken_for: Counter[tuple[int, str]] = Counter()
        waiting: Counter[tuple[int | None, int | None]] = Counter()
        asks = FriendAsk.objects.filter(state__in=OPEN)
        columns = "friend_id", "line", "job_id", "required_id", "quantity", "state"
        for friend, line, job, required, quantity, state in asks.values_list(*columns):
            spoken_for[friend, line] += quantity
            if state == FriendAsk.State.ASKED:
                waiting[job, required] += quantity
        return cls(spoken_for, waiting)


@dataclass(frozen=True)
class FriendsShelf:
    """What friends can spare of what is lacking, and nobody asked for yet.

    Judged by distinct Spec before any line is read: of a great many lists only the lines that may serve are,
    and of a great many of those as many of each Spec as could be used: a plan sees no difference between
    friends, so that the rest would change nothing in it.
    """

    lacking: Sequence[Demand]
    recorded: Recorded
    serving: Mapping[int, Sequence[tuple[Fit, int]]]
    """By the place of a demand in `lacking`: the Specs that may serve it, the better first."""
    specs: Mapping[int, Spec]
    lines: Mapping[int, Line]
    of_spec: Mapping[int, Sequence[Line]]
    asks: OpenAsks
    complete: bool
    """Whether every line that may serve was read."""

    @classmethod
    def load(cls, lacking: Sequence[Demand], recorded: Recorded) -> Self:
        asks = OpenAsks.load()
        offered = FriendLine.objects.exclude(line="")
        specs = read_specs(set(offered.order_by().values_list("spec_id", flat=True).distinct()))
        serving = _serving(lacking, specs, recorded) if specs else {}
        friends = Friend.objects.in_bulk() if serving else {}
        wanted = {spec for found in serving.values() for _, spec in found}
        lines: dict[int, Line] = {}
        of_spec: dict[int, list[Line]] = defaultdict(list)
        columns = "id", "friend_id", "line", "spec_id", "quantity", "condition", "marking"
        count = sum(offered.filter(spec__in=chunk).count() for chunk in chunks(sorted(wanted)))
        most = sum(asks.spoken_for.values()) + most_used(serving, lacking)
        for chunk in chunks(sorted(wanted)):
            rows = offered.filter(spec__in=chunk)
            read = _first_of(rows, most) if count > ALL_LINES else rows
            cells = read.order_by("id").values_list(*columns)
            for pk, friend, name, spec, quantity, condition, marking in cells.iterator(chunk_size=CHUNK):
                left = quantity - asks.spoken_for.get((friend, name), 0)
                if left > 0 and friend in friends:  # not one that was added since
                    lines[pk] = line = Line(pk, friends[friend], name, spec, left, condition, marking)
                    of_spec[spec].append(line)
        return cls(lacking, recorded, serving, specs, lines, of_spec, asks, count <= ALL_LINES)

    def by_friend(self, specs: Collection[int]) -> Mapping[tuple[int, int], int]:
        """(friend, Spec's row) -> pieces of these Specs that each friend has, on all lists."""
        found: Counter[tuple[int, int]] = Counter()
        if self.complete:
            for spec in specs:
                for line in self.of_spec.get(spec, ()):
                    found[line.friend.pk, spec] += line.left
            return found
        for chunk in chunks(sorted(specs)):
            rows = FriendLine.objects.exclude(line="").filter(spec__in=chunk).order_by()
            pieces = rows.values_list("friend_id", "spec_id").annotate(Sum("quantity"))
            found.update({(f, spec): n for f, spec, n in pieces.iterator(chunk_size=CHUNK)})
        for (friend, name), spoken_for in self.asks.spoken_for.items():
            row = FriendLine.objects.filter(friend=friend, line=name, spec__in=specs).first()
            if row is not None:
                found[friend, row.spec_id] -= min(spoken_for, row.quantity)
        return found

    def lines_of(self, pairs: Collection[tuple[int, int]]) -> Mapping[tuple[int, int], Sequence[Line]]:
        """The lines of these friends and Specs, each (friend, Spec's row)."""
        found: dict[tuple[int, int], list[Line]] = defaultdict(list)
        if self.complete:
            for spec in {spec for _, spec in pairs}:
                for line in self.of_spec.get(spec, ()):
                    found[line.friend.pk, spec].append(line)
            return found
        friends = Friend.objects.in_bulk({friend for friend, _ in pairs})
        rows = FriendLine.objects.exclude(line="").filter(
            friend__in=friends, spec__in={spec for _, spec in pairs}
        )
        for row in rows.order_by("id"):
            left = row.quantity - self.asks.spoken_for.get((row.friend_id, row.line), 0)
            if left > 0:
                found[row.friend_id, row.spec_id].append(
                    Line(
                        row.pk, friends[row.friend_id], row.line, row.spec_id, left, row.condition,
                        row.marking,
                    )
                )  # fmt: skip
        return found

    def asked(self) -> dict[object, int]:
        """How much of each demand waits for a friend's answer, by the id of the demand."""
        waiting = Counter(self.asks.waiting)
        found: dict[object, int] = {}
        if not waiting:
            return found
        for demand in self.lacking:
            covered = min(demand.quantity, waiting[demand.job, demand.id.spec])
            if covered:
                waiting[demand.job, demand.id.spec] -= covered
                found[demand.id] = covered
        return found

    def not_asked_for(self) -> list[Demand]:
        """What is lacking beside what waits for an answer: nothing is asked for twice."""
        asked = self.asked()
        left = (each.of(each.quantity - asked.get(each.id, 0)) for each in self.lacking)
        return [demand for demand in left if demand.quantity]

    def have(self, lacking: Sequence[Demand]) -> Iterator[Has]:
        """Each line that serves, or may, for each of these that are lacking: the better first."""
        place = {demand.id: number for number, demand in enumerate(self.lacking)}
        for demand in lacking:
            for fit, spec in self.serving.get(place[demand.id], ()):
                for line in self.of_spec.get(spec, ()):
                    yield Has(line, self.specs[spec], demand, fit)

    def plan(self) -> list[Gives]:
        """The best use of friends' pieces for what was not asked for, by the optimiser, first jobs first.

        Only what serves without a question; no piece is counted on twice.
        """
        lacking = self.not_asked_for()
        if not self.lines or not lacking:
            return []
        supplies = [
            Supply(line.pk, self.specs[line.spec_id], line.left, Tier.ON_ORDER, line.condition)
            for line in self.lines.values()
        ]
        demands = {demand.id: demand for demand in lacking}
        return [
            Gives(row, self.specs[row.spec_id], demands[take.demand], take.quantity, take.fit)
            for take in plan(lacking, supplies, recorded=self.recorded, misses=0).takes
            for row in [self.lines[take.supply]]
        ]


def most_used(serving: Mapping[int, Sequence[tuple[Fit, int]]], lacking: Sequence[Demand]) -> int:
    """The most pieces of any one Spec that could be used."""
    used: Counter[int] = Counter()
    for number, found in serving.items():
        used.update(dict.fromkeys({spec for _, spec in found}, lacking[number].quantity))
    return max(used.values(), default=0)


def _first_of(rows: QuerySet[FriendLine], most: int) -> QuerySet[FriendLine]:
    """Of each Spec, in each condition, the lines that have `most` pieces together, those of the least
    postage first, and `FIRST_LINES` in any case."""
    alike: dict[str, Any] = {
        "partition_by": [F("spec"), F("condition")],
        "order_by": [F("friend__postage").asc(nulls_last=True), F("id").asc()],
    }
    counted = rows.annotate(
        place=Window(RowNumber(), **alike), so_far=Window(Sum("quantity"), **alike),
    )  # fmt: skip
    return counted.filter(Q(place__lte=FIRST_LINES) | Q(so_far__lt=most + F("quantity")))


def _serving(
    lacking: Sequence[Demand], specs: Mapping[int, Spec], recorded: Recorded
) -> dict[int, list[tuple[Fit, int]]]:
    """Which of these Specs may serve each demand: each distinct pair is judged once."""
    distinct = list(specs)
    market = Market([Offer(specs[each], None) for each in distinct], fits, recorded)
    found = {}
    for number, demand in enumerate(lacking):
        offers = (
            (fit, distinct[index])
            for fit, same in market.offers(demand.spec, demand.at)
            if fit.grade != "no"
            for index in same
        )
        found[number] = sorted(offers, key=lambda each: (GRADES.index(each[0].grade), each[1]))
    return found
