"""Several jobs reserve the plan at the same moment, in real processes: no piece is promised twice."""

import json
from typing import Any

import pytest
from django.db import connection, transaction

from inventory.keys import make_key
from inventory.models import Holding
from inventory.roles import give_role
from repairs.answers.shortages.reserving import reserve
from repairs.audit import audit
from repairs.models import Job, Need, Reservation
from repairs.supply_and_demand import bench
from tests.factories import JobFactory, NeedFactory, PartFactory, PersonFactory, spec, stock
from tests.races.test_races import race

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db(transaction=True, serialized_rollback=True)]

VALUES = ("1k", "2k2", "4k7")


@pytest.fixture
def token(settings: object) -> str:
    person = PersonFactory()
    give_role(person, "bench")
    return make_key(person, "test")[1]


def reserving(token: str, job: Job) -> tuple[object, ...]:
    return ("post_one", token, f"/api/v1/jobs/{job.pk}/reserve/", "{}", f"press {job.pk}")


def wanting(priority: int, quantity: int) -> Job:
    job = JobFactory(priority=priority)
    for ohms in VALUES:
        NeedFactory(job=job, of=spec("resistor", ohms), quantity=quantity)
    return job


def pieces(job: Job) -> int:
    return sum(Reservation.objects.filter(need__job=job, status="held").values_list("quantity", flat=True))


def test_jobs_that_reserve_together_share_out_what_there_is(token: str) -> None:
    jobs = [wanting(priority, 4) for priority in (1, 2, 3)]
    for ohms in VALUES:
        for _ in range(3):
            stock(2, part=PartFactory(of=spec("resistor", ohms)))
    answers = race(*(reserving(token, job) for job in jobs))
    assert [answer[:3] for answer in answers] == ["200"] * 3
    assert [pieces(job) for job in jobs] == [12, 6, 0], "each gets what the plan over all jobs gives it"
    assert audit() == []


@pytest.mark.skipif(connection.vendor == "sqlite", reason="on SQLite nobody writes beside a transaction")
def test_a_job_that_reserves_while_the_bench_is_being_read_for_another_takes_nothing_from_it(
    token: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second query of a transaction sees what was committed since the first (PostgreSQL, 13.2.1)."""
    first, second = (wanting(priority, 4) for priority in (1, 2))
    for ohms in VALUES:
        for _ in range(3):
            stock(2, part=PartFactory(of=spec("resistor", ohms)))
    needs_read = bench.read_lines

    def then_the_first_reserves(*asked: Any) -> Any:
        found = needs_read(*asked)
        monkeypatch.setattr(bench, "read_lines", needs_read)
        assert race(reserving(token, first))[0].startswith("200")
        return found

    monkeypatch.setattr(bench, "read_lines", then_the_first_reserves)
    with transaction.atomic():
        reserve(second, by=None)
    assert (pieces(first), pieces(second)) == (12, 6)


def test_a_reserving_job_and_people_who_promise_by_hand_never_promise_a_piece_twice(token: str) -> None:
    job, other = wanting(5, 10), JobFactory(priority=1)
    drawers = [stock(8, part=PartFactory(of=spec("resistor", ohms))) for ohms in VALUES]
    answers = race(
        reserving(token, job),
        *(("promise_many", other.pk, drawer.pk, 6) for drawer in drawers),
    )
    assert answers[0][:3] == "200"
    result = json.loads(answers[0][4:])
    assert sum(each["quantity"] for each in result["promised"]) == pieces(job)
    held = Holding.objects.filter(pk__in=[drawer.pk for drawer in drawers])
    assert sum(held.values_list("promised", flat=True)) == pieces(job) + pieces(other)
    assert audit() == []


def test_reserving_and_releasing_do_not_deadlock(token: str) -> None:
    job = wanting(3, 4)
    for ohms in VALUES:
        stock(4, part=PartFactory(of=spec("resistor", ohms)))
    assert race(reserving(token, job))[0].startswith("200")
    needs = Need.objects.filter(job=job)
    promises = list(Reservation.objects.filter(need__in=needs).values_list("id", flat=True))
    outcomes = race(
        ("post_one", token, f"/api/v1/jobs/{job.pk}/reserve/", "{}", "again"),
        *(("release_one", promise) for promise in promises),
    )
    assert outcomes[0].startswith("200")
    assert outcomes[1:] == ["released"] * len(promises)
    assert audit() == []
