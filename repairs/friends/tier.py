"""The tier of friends, as answers tell it: who has what stays short, and how much of it they could fill."""

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Self

from inventory.spec import Recorded
from inventory.unchanged import while_unchanged
from repairs.answers.pieces import FriendMay, fitting
from repairs.friends.offered import FriendsShelf, Gives
from repairs.planning import Demand
from repairs.supply_and_demand import planned


@dataclass(frozen=True)
class FriendsTier:
    """What is lacking, what of it waits for a friend's answer, and what friends would give of the rest.

    Planned over all that is lacking, whoever's of it is shown: a job that comes first is served first.
    """

    shelf: FriendsShelf
    gives: Sequence[Gives]

    @classmethod
    def of(cls, lacking: Sequence[Demand], recorded: Recorded) -> Self:
        shelf = FriendsShelf.load(lacking, recorded)
        return cls(shelf, shelf.plan())

    def given(self) -> Iterator[tuple[Demand, int]]:
        """Pieces of each demand that friends could fill."""
        return ((each.demand, each.quantity) for each in self.gives)

    def waiting(self) -> Iterator[tuple[Demand, int]]:
        """Pieces of each demand that were asked for and not answered."""
        asked = self.shelf.asked()
        return ((demand, asked[demand.id]) for demand in self.shelf.lacking if demand.id in asked)

    def may(self, jobs: Collection[int] | None = None) -> Iterator[tuple[int, FriendMay]]:
        """By requirement, each line that serves or may, the better first; of these jobs, where named."""
        shown = [each for each in self.shelf.lacking if jobs is None or each.job in jobs]
        would: Counter[tuple[int, int]] = Counter()
        for each in self.gives:
            if jobs is None or each.demand.job in jobs:
                would[each.demand.id.spec, each.row.pk] += each.quantity
        named: set[tuple[int, int]] = set()
        for has in self.shelf.have(shown):
            key = has.demand.id.spec, has.row.pk
            if key not in named:
                named.add(key)
                yield (
                    has.demand.id.spec,
                    FriendMay(
                        **fitting(has.fit), line=has.row.pk, friend=has.row.friend.pk,
                        friend_name=has.row.friend.name, quantity=has.row.left, would=would[key],
                        spec_text=has.spec.text, condition=has.row.condition,
                    ),
                )  # fmt: skip


@while_unchanged
def could_be_asked() -> tuple[dict[int, int], dict[int, int]]:
    """By job, pieces that stay short and that others here could fill, and beyond that friends."""
    bench, plan = planned()
    here = Counter[int]()
    for take in bench.of_others(plan).takes:
        here[take.demand.job] += take.quantity
    friends = Counter[int]()
    tier = FriendsTier.of(bench.after_others(plan, plan.lacking(bench.demands)), bench.recorded)
    for demand, quantity in tier.given():
        friends[demand.job] += quantity
    return dict(here), dict(friends)
