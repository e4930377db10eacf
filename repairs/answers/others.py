"""Who else at this bench has what stays short, piece by piece: named so that they can be asked."""

from collections import Counter
from collections.abc import Collection, Iterator

from django.contrib.auth.models import User

from inventory.unchanged import while_unchanged
from repairs.answers.pieces import OtherMay, fitting, where
from repairs.friends.tier import FriendsTier
from repairs.planning import Plan
from repairs.supply_and_demand import SupplyAndDemand, planned, read_pieces


@while_unchanged
def could_be_asked() -> tuple[dict[int, int], dict[int, int]]:
    """By job, pieces that stay short and that others here could fill, and beyond that friends."""
    bench, plan = planned()
    here, lacking = Counter[int](), {each.id: each for each in plan.lacking(bench.demands)}
    for take in bench.of_others(plan).takes:
        here[take.demand.job] += take.quantity
        left = lacking[take.demand]
        lacking[take.demand] = left._replace(quantity=left.quantity - take.quantity)
    friends = Counter[int]()
    tier = FriendsTier.of([each for each in lacking.values() if each.quantity], bench.recorded)
    for demand, quantity in tier.given():
        friends[demand.job] += quantity
    return dict(here), dict(friends)


def others_may(
    bench: SupplyAndDemand, found: Plan, jobs: Collection[int] | None = None
) -> Iterator[tuple[int, OtherMay]]:
    """By requirement, the pieces of others that `of_others` found for these jobs, the sure ones first."""
    handed = [
        each
        for each in bench.handed_out([*found.takes, *found.asked])
        if jobs is None or each[0].demand.job in jobs
    ]
    pieces = read_pieces(holding for _, holding, _ in handed)
    names = dict(User.objects.values_list("id", "username")) if handed else {}
    for take, holding, quantity in handed:
        job = take.demand.job
        yield (
            take.demand.spec,
            OtherMay(
                **where(pieces[holding], take.tier, bench.text_of(take.supply)), **fitting(take.fit), job=job,
                job_name=bench.jobs[job][0], quantity=quantity, owner=names[take.supply.owner],
            ),
        )  # fmt: skip
