"""Who has what we lack, whom we could help, and the parcels that would close the most jobs.

Who has it is `offered`'s to say.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, NamedTuple, Self

from pydantic import Field

from inventory.answers import Answer, Money, WholeAnswer, one_of
from inventory.spec import GRADES, fits
from repairs import explanations
from repairs.answers.pieces import GradeName, Why
from repairs.friends.giving import balances
from repairs.friends.offered import FriendsShelf, Has, Line
from repairs.friends.parcels import JobLack, Offered, Parcels, fewest
from repairs.friends.spare import spare_and_lacking
from repairs.planning import Demand
from repairs.planning.candidates import Market, Offer
from repairs.sharing_models import Friend, FriendLine
from repairs.supply_and_demand import planned

GOOD_ENOUGH = ("same", "drop_in", "with_note")


@dataclass
class FriendTold(Answer):
    """A workshop, and what its last list holds."""

    id: int
    name: str
    reach: str
    postage: Annotated[Money | None, Field(description="Of one parcel; null: not known.")]
    made: Annotated[date | None, Field(description="The day on its list.")]
    spare: Annotated[int, Field(description="Pieces on its list.")]
    lacking: int
    key: Annotated[str, Field(description="What it gives is signed by this one; blank: not known.")]
    signed_by: Annotated[str, Field(description="Whose signature its list has; blank: none.")]
    gave: Annotated[dict[str, int], Field(description="Pieces that came from it, by kind of part.")]
    got: Annotated[dict[str, int], Field(description="Pieces that it was given, by kind of part.")]
    version: int

    @property
    def swap(self) -> str:
        """How the swap stands, in words: `gave 3 (2 ic, 1 resistor), got 1 (1 diode)`; blank: nothing yet."""
        if not (self.gave or self.got):
            return ""
        return f"gave {_counted(self.gave)}, got {_counted(self.got)}"


def _counted(pieces: Mapping[str, int]) -> str:
    each = ", ".join(f"{count} {kind}" for kind, count in sorted(pieces.items()))
    return f"{sum(pieces.values())} ({each})" if each else "nothing"


@dataclass
class FriendHas(Answer):
    """Pieces of a friend that would fill what we lack; nothing is promised before they say yes."""

    line: Annotated[int, Field(description="By which it is asked for.")]
    friend: int
    friend_name: str
    quantity: int
    spec_text: str
    condition: Annotated[str, one_of(("good", "untested"))]
    marking: str
    requirement: int
    for_text: Annotated[str, Field(description="What we lack.")]
    job: int
    job_name: str
    short: int
    grade: GradeName
    why: Why

    @property
    def grade_words(self) -> str:
        return explanations.GRADE_LABELS[self.grade]


@dataclass
class FriendHelp(Answer):
    """What a friend lacks and we could spare."""

    friend: int
    friend_name: str
    wants_text: str
    wants: int
    lot: int
    spec_text: str
    spare: int
    condition: str
    grade: GradeName
    why: Why


@dataclass
class ParcelLine(Answer):
    line: int
    quantity: int
    spec_text: str
    requirement: int
    for_text: str
    job: int
    job_name: str


@dataclass
class Parcel(Answer):
    friend: int
    friend_name: str
    postage: Money | None
    lines: list[ParcelLine]


@dataclass
class Parcelled(Answer):
    """The fewest parcels, then the least postage, that close the most jobs."""

    closes: list[str]
    postage: Annotated[Money, Field(description="Of all parcels of which it is known.")]
    postage_unknown: int
    truncated: Annotated[bool, Field(description="The search was cut short: a better answer may exist.")]
    jobs_at_most: Annotated[int, Field(description="No choice of parcels closes more jobs.")]
    parcels_at_least: Annotated[int, Field(description="No fewer parcels close as many jobs.")]
    of_others: Annotated[
        int, Field(description="Pieces that others here could give: no parcel is planned for these.")
    ]
    parcels: list[Parcel]

    @property
    def how_far(self) -> str:
        """How far a search that was cut short may be from the best, as it has proven; blank: it is the best.

        `no choice closes more jobs; at most 1 more parcel than the fewest possible`.
        """
        if not self.truncated:
            return ""
        jobs, parcels = self.jobs_at_most - len(self.closes), len(self.parcels) - self.parcels_at_least
        closed = f"at most {jobs} more could be closed" if jobs else "no choice closes more jobs"
        if parcels:
            return f"{closed}; at most {parcels} more than the fewest parcels possible"
        return f"{closed}; as many jobs need no fewer parcels; another choice may need less postage"


@dataclass
class Friends(WholeAnswer):
    friends: list[FriendTold]
    have: list[FriendHas]
    help: list[FriendHelp]
    parcels: Parcelled

    @classmethod
    def example(cls) -> Self:
        name = "Lantern Street repair evening"
        line = ParcelLine(31, 1, "4116 ic", 12, "4116 ic", 2, "Mend the Tern")
        parcel = Parcel(3, name, Decimal("4.20"), [line])
        has = FriendHas(
            31, 3, name, 4, "4116 ic", "good", "4116-3", 12, "4116 ic", 2, "Mend the Tern", 1, "same", []
        )
        helped = FriendHelp(3, name, "4k7 resistor", 2, 7, "4k7 resistor", 4, "good", "same", [])
        friend = FriendTold(
            3,
            name,
            "post box 7",
            Decimal("4.20"),
            date(2026, 11, 20),
            40,
            2,
            "",
            "",
            {"ic": 2},
            {"resistor": 4},
            1,
        )
        return cls(
            [friend],
            [has],
            [helped],
            Parcelled(["Mend the Tern"], Decimal("4.20"), 0, False, 1, 1, 0, [parcel]),
        )


class Sent(NamedTuple):
    line: Line
    quantity: int
    demand: Demand


def friends() -> Friends:
    """The whole question, over all open jobs and every friend's last list."""
    bench, plan = planned()
    shelf = FriendsShelf.load(plan.lacking(bench.demands), bench.recorded)
    has = list(shelf.have(shelf.not_asked_for()))
    names = {job: name for job, (name, _priority, _due) in bench.jobs.items()}
    return Friends(
        _friends(),
        [_friend_has(each, names) for each in has],
        list(_helped()),
        _parcels(shelf, bench.after_others(plan, shelf.not_asked_for()), names),
    )


def _friend_has(has: Has, names: Mapping[int, str]) -> FriendHas:
    return FriendHas(
        has.row.pk, has.row.friend.pk, has.row.friend.name, has.row.left, has.spec.text, has.row.condition,
        has.row.marking, has.demand.id.spec, has.demand.spec.text, has.demand.job, names[has.demand.job],
        has.demand.quantity, has.fit.grade, explanations.reasons(has.fit),
    )  # fmt: skip


def _friends() -> list[FriendTold]:
    pieces: Counter[tuple[int, bool]] = Counter()
    for friend, line, quantity in FriendLine.objects.values_list("friend", "line", "quantity"):
        pieces[friend, bool(line)] += quantity
    stands = balances()
    return [
        FriendTold(
            each.pk, each.name, each.reach, each.postage, each.made, pieces[each.pk, True],
            pieces[each.pk, False], each.key, each.signed_by, stands[each.pk].gave,
            stands[each.pk].got, each.version,
        )
        for each in Friend.objects.order_by("name")
    ]  # fmt: skip


def _helped() -> Iterator[FriendHelp]:
    """What friends lack and we could spare, whether or not it is ticked yet."""
    wants = list(FriendLine.objects.filter(line="").select_related("friend", "spec").order_by("id"))
    if not wants:
        return
    ours = [line for line in spare_and_lacking().spare if line.spare]
    market = Market([Offer(line.spec, None) for line in ours], fits)
    for row in wants:
        worst = GRADES.index(row.accepts)
        for fit, same in market.offers(row.spec.spec):
            if GRADES.index(fit.grade) > worst:
                continue
            for index in same:
                line = ours[index]
                yield FriendHelp(
                    row.friend.pk, row.friend.name, row.spec.text, row.quantity, line.lot, line.spec_text,
                    line.spare, line.condition, fit.grade, explanations.reasons(fit),
                )  # fmt: skip


def fewest_parcels(shelf: FriendsShelf, wanted: Sequence[Demand]) -> tuple[Parcels, list[Sent]]:
    """The parcels for so much of what is lacking, and what is sent in them, line by line."""
    lacking = {demand.id: demand for demand in wanted}
    fills: dict[int, set[Any]] = defaultdict(set)
    for number, demand in enumerate(shelf.lacking):
        if demand.id in lacking:
            for fit, spec in shelf.serving.get(number, ()):
                if fit.grade in GOOD_ENOUGH:
                    fills[spec].add(demand.id)
    postage = {pk: _coins(each) for pk, each in Friend.objects.values_list("id", "postage")}
    filled = {spec: frozenset(names) for spec, names in fills.items()}
    found = fewest(
        [JobLack(demand.id, demand.job, demand.quantity) for demand in lacking.values()],
        [
            Offered((friend, spec), friend, pieces, filled[spec])
            for (friend, spec), pieces in shelf.by_friend(filled).items()
            if friend in postage
        ],
        postage,
    )  # fmt: skip
    lines = shelf.lines_of({give.offered for give in found.gives})
    gone: Counter[int] = Counter()
    sent = []
    for give in found.gives:
        left = give.quantity
        for line in lines[give.offered]:
            pieces = min(left, line.left - gone[line.pk])
            if pieces:
                gone[line.pk] += pieces
                left -= pieces
                sent.append(Sent(line, pieces, lacking[give.lack]))
    return found, sent


def _parcels(shelf: FriendsShelf, wanted: Sequence[Demand], names: Mapping[int, str]) -> Parcelled:
    """For what others here, who send no parcel, could not give."""
    found, sent = fewest_parcels(shelf, wanted)
    of_others = _pieces(shelf.not_asked_for()) - _pieces(wanted)
    parcels: dict[int, Parcel] = {}
    for line, quantity, demand in sent:
        friend = line.friend
        parcel = parcels.setdefault(friend.pk, Parcel(friend.pk, friend.name, friend.postage, []))
        parcel.lines.append(
            ParcelLine(
                line.pk, quantity, shelf.specs[line.spec_id].text, demand.id.spec, demand.spec.text,
                demand.job, names[demand.job],
            )
        )  # fmt: skip
    known = [each.postage for each in parcels.values() if each.postage is not None]
    return Parcelled(
        [names[job] for job in found.jobs], sum(known, Decimal(0)), len(parcels) - len(known),
        found.truncated, found.jobs_at_most, found.parcels_at_least, of_others, [*parcels.values()],
    )  # fmt: skip


def _pieces(demands: Sequence[Demand]) -> int:
    return sum(each.quantity for each in demands)


def _coins(postage: Decimal | None) -> int | None:
    return None if postage is None else int(postage * 100)
