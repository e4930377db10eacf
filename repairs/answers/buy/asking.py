"""Friends before the shop: what is asked of them in place of buying it, and what that saves."""

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from inventory.spec import GRADES
from repairs.answers.buy.answer import ANYWAY, COST, AskFriend
from repairs.answers.pieces import fitting
from repairs.friends.offered import FriendsShelf, Gives
from repairs.friends.parcels import Buyable, CostLack, Offered, cheapest
from repairs.friends.tier import FriendsTier
from repairs.planning import Demand, Plan
from repairs.planning.buying import BuyList
from repairs.supply_and_demand import DemandKey, SupplyAndDemand

COINS = 10_000
"""To the smallest price that is kept: four places."""
ListOf = Callable[[Sequence[Demand], Collection[int]], BuyList]
"""What to buy for these, and the jobs that wait for something else besides."""


@dataclass(frozen=True)
class Asking:
    """The list that remains, what is asked of friends instead, what waits for their answer, the saving."""

    result: BuyList
    tier: FriendsTier
    gives: Sequence[Gives]
    waiting: int
    saved: Decimal | None
    truncated: bool = False
    gone: Counter[int] = field(default_factory=Counter)
    """Pieces of each line of a friend that are asked for in place of buying, for whichever job."""
    of_others: Mapping[DemandKey, int] = field(default_factory=dict)
    """Pieces of each demand that others here could give in place of the shop."""


def ask_friends(
    friends: str, bench: SupplyAndDemand, plan: Plan, short: Sequence[Demand], list_of: ListOf,
    jobs: Collection[int] | None, postage: Decimal | None,
) -> Asking:  # fmt: skip
    """What to ask of friends, by `friends`: first, anyway (they are only named), or where that costs less.

    Others here come before them, who send no parcel: friends are asked for what those could not fill, and
    what those could is left off the list with what friends could, to be asked of them.
    """
    after = bench.after_others(plan, short)
    tier = FriendsTier.of(after, bench.recorded)
    left = {each.id: each.quantity for each in after}
    would = {each.id: pieces for each in short if (pieces := each.quantity - left.get(each.id, 0))}
    of_others = {key: pieces for key, pieces in would.items() if jobs is None or key.job in jobs}
    if friends == ANYWAY:
        return Asking(list_of(short, ()), tier, _of_jobs(tier.gives, jobs), 0, None, of_others=of_others)
    rest = tier.shelf.not_asked_for()
    waits = {each.job for each, _ in tier.waiting()} | {key.job for key in would}
    whole = list_of(rest, waits)
    gives, proven = (
        (tier.gives, True) if friends != COST else _cheapest(rest, tier.shelf, bench, whole, postage)
    )
    given: Counter[object] = Counter()
    gone: Counter[int] = Counter()
    for each in gives:
        given[each.demand.id] += each.quantity
        gone[each.row.pk] += each.quantity
    bought = [each._replace(quantity=each.quantity - given[each.id]) for each in rest]
    result = list_of(
        [demand for demand in bought if demand.quantity], waits | {each.demand.job for each in gives}
    )
    shown = _of_jobs(gives, jobs)
    saved = _saved(whole, result, shown, postage)
    if not proven and saved is not None and saved < 0:  # the best that was found in time is dearer
        result, shown, saved, gone = whole, [], Decimal(0), Counter()
    waiting = sum(quantity for each, quantity in tier.waiting() if jobs is None or each.job in jobs)
    return Asking(result, tier, shown, waiting, saved, not proven, gone, of_others)


def _of_jobs(gives: Sequence[Gives], jobs: Collection[int] | None) -> Sequence[Gives]:
    return [each for each in gives if jobs is None or each.demand.job in jobs]


def asked_of(asking: Asking, bench: SupplyAndDemand) -> list[AskFriend]:
    """As they are answered, by friend."""
    return [
        AskFriend(
            **fitting(each.fit), line=each.row.pk, friend=each.row.friend.pk,
            friend_name=each.row.friend.name, quantity=each.quantity, spec_text=each.spec.text,
            condition=each.row.condition, requirement=each.demand.id.spec, for_text=each.demand.spec.text,
            job=each.demand.job, job_name=bench.jobs[each.demand.job][0],
        )
        for each in sorted(asking.gives, key=_by_friend)
    ]  # fmt: skip


def _by_friend(each: Gives) -> tuple[Any, ...]:
    return each.row.friend.name, each.row.pk, each.demand.rank


def _cheapest(
    short: Sequence[Demand], shelf: FriendsShelf, bench: SupplyAndDemand, whole: BuyList,
    postage: Decimal | None,
) -> tuple[list[Gives], bool]:  # fmt: skip
    """What friends give where all that is paid is least, as `whole` has what is bought."""
    line_of = {served.demand.id: number for number, line in enumerate(whole.lines) for served in line.serves}
    short = [demand for demand in short if demand.id in line_of]  # what stands on order otherwise is bought
    fills: dict[int, set[object]] = defaultdict(set)
    best = {}
    for has in shelf.have(short):
        if has.fit.grade in GRADES[:3]:
            fills[has.row.pk].add(has.demand.id)
            best[has.row.pk, has.demand.id] = has
    gives, proven = cheapest(
        [CostLack(demand.id, demand.quantity, line_of[demand.id]) for demand in short],
        [
            Buyable(
                number, line.pack_size, _coins(line.pack_price), -(-line.wished // line.pack_size),
                line.restock + line.theirs,
            )
            for number, line in enumerate(whole.lines)
        ],
        [
            Offered(pk, shelf.lines[pk].friend.pk, shelf.lines[pk].left, frozenset(wanted))
            for pk, wanted in sorted(fills.items())
        ],
        {line.friend.pk: _coins(line.friend.postage) for line in shelf.lines.values()},
        _coins(postage) or 0,
    )  # fmt: skip
    found = ((best[each.offered, each.lack], each.quantity) for each in gives)
    proven = proven and shelf.complete
    return [Gives(has.row, has.spec, has.demand, quantity, has.fit) for has, quantity in found], proven


def _saved(whole: BuyList, rest: BuyList, gives: Sequence[Gives], postage: Decimal | None) -> Decimal | None:
    """What asking saves, every parcel's postage and that of the order paid; None where a price is missing."""
    parcels = {each.row.friend.pk: each.row.friend.postage for each in gives}
    paid = [each for each in parcels.values() if each is not None]
    before, after = _cost(whole, postage), _cost(rest, postage)
    if before is None or after is None or len(paid) < len(parcels):
        return None
    return before - after - sum(paid, Decimal(0))


def _cost(answer: BuyList, postage: Decimal | None) -> Decimal | None:
    if not answer.lines or answer.price is None:
        return None if answer.lines else Decimal(0)
    return answer.price + (postage or 0)


def _coins(money: Decimal | None) -> int | None:
    return None if money is None else int(money * COINS)
