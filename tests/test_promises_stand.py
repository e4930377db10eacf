"""What was promised stays promised, whatever comes in and whoever asks after."""

import pytest

from inventory.models import Part, StoredSpec
from repairs.answers import shortages
from repairs.audit import audit
from repairs.models import Job, Reservation
from repairs.supply_and_demand import SupplyAndDemand
from tests.factories import BoardFactory, JobFactory, NeedFactory, stock
from tests.planning.benches import scatter

pytestmark = pytest.mark.django_db


def bench(seed: int) -> tuple[list[Job], list[Part]]:
    """Jobs that contend for pieces in drawers and on donors, by the judge of the bench."""
    demands, supplies = scatter(seed, demands=8, supplies=10)
    jobs: dict[object, Job] = {}
    for demand in demands:
        if demand.job not in jobs:
            jobs[demand.job] = JobFactory(priority=demand.priority, due=demand.due)
        NeedFactory(job=jobs[demand.job], of=demand.spec, quantity=demand.quantity)
    parts = []
    for number, supply in enumerate(supplies):
        spec = StoredSpec.keep(supply.spec)
        part, _ = Part.objects.get_or_create(spec=spec, defaults={"name": supply.spec.text})
        parts.append(part)
        if number % 3:
            stock(supply.quantity, part=part, condition=supply.condition)
        else:
            donor = BoardFactory()
            ref = f"X{number}"
            stock(part=part, place=donor.place, ref=ref, source="board", board=donor)
    return list(jobs.values()), parts


def promised() -> list[tuple[int, ...]]:
    return list(
        Reservation.objects.filter(status="held")
        .order_by("id")
        .values_list("id", "need", "holding", "quantity")
    )


@pytest.mark.parametrize("seed", range(6))
def test_neither_stock_nor_another_job_takes_a_promised_piece(seed: int) -> None:
    jobs, parts = bench(seed)
    for job in jobs[:2]:
        shortages.reserve(job, by=None)
    kept = promised()
    assert kept, "a bench on which nothing is promised proves nothing"
    had = {row.requirement: row.promised for row in shortages.shortages()}
    # More of everything, a job that goes before all others and one that comes after them.
    wanted = [need.spec.spec for need in jobs[0].needs.select_related("spec")]
    newcomers = [JobFactory(priority=priority) for priority in (1, 5)]
    for job in newcomers:
        for spec in wanted:
            NeedFactory(job=job, of=spec, quantity=9)
    stock(2, part=parts[0])
    for job in newcomers:
        shortages.reserve(job, by=None)
    assert promised()[: len(kept)] == kept
    now = {row.requirement: row.promised for row in shortages.shortages()}
    assert all(now[stored] >= pieces for stored, pieces in had.items())
    assert audit() == []


@pytest.mark.parametrize("seed", range(6))
def test_one_bench_read_twice_gives_one_plan(seed: int) -> None:
    bench(seed)
    first, second = (SupplyAndDemand.load() for _ in range(2))
    assert list(first.handed_out(first.plan().takes)) == list(second.handed_out(second.plan().takes))
