"""What friends have that open jobs lack, judged as one's own pieces are, each distinct pair of Specs once.

It is never planned: a friend's piece is theirs until they say yes.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from inventory.spec import GRADES, Fit, Recorded, Spec, fits
from repairs.friends.exchange import OPEN
from repairs.planning import Demand
from repairs.planning.candidates import Market, Offer
from repairs.sharing_models import FriendAsk, FriendLine
from repairs.supply_and_demand import read_specs


class Has(NamedTuple):
    """A line that would fill what a job lacks, and how well; `left` of it was not asked for yet."""

    row: FriendLine
    spec: Spec
    left: int
    demand: Demand
    fit: Fit


def not_asked_for(lacking: Sequence[Demand]) -> list[Demand]:
    """What is lacking beside what was asked for already: nothing is asked for twice."""
    coming: Counter[tuple[int | None, int | None]] = Counter()
    for each in FriendAsk.objects.filter(state__in=OPEN):
        coming[each.job_id, each.required_id] += each.quantity
    left = []
    for demand in lacking:
        key = demand.job, demand.id.spec
        covered = min(demand.quantity, coming[key])
        coming[key] -= covered
        if demand.quantity > covered:
            left.append(demand._replace(quantity=demand.quantity - covered))
    return left


def friends_have(lacking: Sequence[Demand], recorded: Recorded) -> Iterator[Has]:
    """Each line that serves, or may, for each demand: the better first."""
    lines = list(FriendLine.objects.exclude(line="").select_related("friend").order_by("id"))
    if not lines or not lacking:
        return
    gone: Counter[tuple[int, str]] = Counter()
    for each in FriendAsk.objects.filter(state__in=OPEN):
        gone[each.friend_id, each.line] += each.quantity
    of_spec: dict[int, list[tuple[FriendLine, int]]] = defaultdict(list)
    for row in lines:
        left = row.quantity - gone[row.friend_id, row.line]
        if left > 0:
            of_spec[row.spec_id].append((row, left))
    specs = read_specs(set(of_spec))
    distinct = list(specs)
    market = Market([Offer(specs[each], None) for each in distinct], fits, recorded)
    for demand in lacking:
        found = [(fit, index) for fit, same in market.offers(demand.spec, demand.at) for index in same]
        for fit, index in sorted(found, key=lambda each: GRADES.index(each[0].grade)):
            if fit.grade != "no":
                for row, left in of_spec[distinct[index]]:
                    yield Has(row, specs[distinct[index]], left, demand, fit)
