"""Who else at this bench has what stays short, piece by piece: named so that they can be asked."""

from collections.abc import Collection, Iterator

from django.contrib.auth.models import User

from repairs.answers.pieces import OtherMay, fitting, where
from repairs.planning import Plan
from repairs.supply_and_demand import SupplyAndDemand, read_pieces


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
                job_name=bench.jobs[job][0], quantity=quantity, owner=names[bench.owner_of(take.supply)],
            ),
        )  # fmt: skip
