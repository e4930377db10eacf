"""Several people answer, take back and reserve at once, in real processes: one yes, one promise."""

import json
from typing import NamedTuple

import pytest
from django.contrib.auth.models import User

from inventory import ownership
from inventory.keys import make_key
from inventory.models import Holding
from inventory.people import add_person
from repairs import asks
from repairs.audit import audit
from repairs.models import PieceAsk, Reservation
from tests.factories import JobFactory, NeedFactory, stock
from tests.races.test_races import race

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db(transaction=True, serialized_rollback=True)]


class Someone(NamedTuple):
    person: User
    token: str

    def posts(self, path: str, **body: object) -> tuple[object, ...]:
        return ("post_one", self.token, f"/api/v1/{path}", json.dumps(body), f"{path} {body}")


def someone(name: str) -> Someone:
    person = add_person(name)
    return Someone(person, make_key(person, "test")[1])


@pytest.fixture
def merle(settings: object) -> Someone:
    return someone("merle")


@pytest.fixture
def wren(settings: object) -> Someone:
    return someone("wren")


@pytest.fixture
def last_piece(merle: Someone) -> Holding:
    here = stock(1)
    ownership.give_lots([here.lot_id], merle.person, by=merle.person)
    return here


def asked(last_piece: Holding, by: Someone) -> PieceAsk:
    return asks.ask(NeedFactory(job=JobFactory(owner=by.person)), last_piece.lot, 1, by=by.person)


def statuses(answers: list[str]) -> list[str]:
    return sorted(answer[:3] for answer in answers)


def test_the_control_says_yes_twice(last_piece: Holding, wren: Someone) -> None:
    one = asked(last_piece, wren)
    assert race(("agree_carelessly", one.pk), ("agree_carelessly", one.pk)) == ["agreed", "agreed"]
    assert Reservation.objects.count() == 2, "else the test would prove nothing"


def test_two_yeses_to_two_jobs_give_the_last_piece_once(
    last_piece: Holding, merle: Someone, wren: Someone
) -> None:
    both = [asked(last_piece, wren) for _job in range(2)]
    answers = race(*(merle.posts(f"asks/{each.pk}/answer/", yes=True) for each in both))
    assert statuses(answers) == ["200", "409"]
    assert sorted(PieceAsk.objects.values_list("state", flat=True)) == ["agreed", "asked"]
    assert (Reservation.objects.count(), audit()) == (1, [])


def test_of_a_yes_a_no_and_a_taking_back_one_counts(
    last_piece: Holding, merle: Someone, wren: Someone
) -> None:
    one = asked(last_piece, wren)
    answers = race(
        merle.posts(f"asks/{one.pk}/answer/", yes=True),
        merle.posts(f"asks/{one.pk}/answer/", yes=True, note="again"),
        merle.posts(f"asks/{one.pk}/answer/", yes=False),
        wren.posts(f"asks/{one.pk}/withdraw/"),
    )
    assert statuses(answers) == ["200", "409", "409", "409"]
    one.refresh_from_db()
    assert Reservation.objects.filter(status="held").count() == (one.state == "agreed")
    assert audit() == []


def test_a_yes_and_the_owners_own_job_want_the_last_piece(
    last_piece: Holding, merle: Someone, wren: Someone
) -> None:
    one = asked(last_piece, wren)
    own = NeedFactory(job=JobFactory(owner=merle.person))
    answers = race(
        merle.posts(f"asks/{one.pk}/answer/", yes=True),
        merle.posts("reservations/", need=own.pk, lot=last_piece.lot_id),
    )
    assert sum(answer[:2] == "20" for answer in answers) == 1
    assert (Reservation.objects.count(), audit()) == (1, [])


def test_what_is_reserved_while_it_becomes_somebodys_has_a_yes_behind_it(
    merle: Someone, wren: Someone
) -> None:
    held = [stock(1) for _lot in range(3)]
    needs = [NeedFactory(job=JobFactory(owner=wren.person)) for _lot in held]
    own = [("give_one", merle.person.pk, here.lot_id) for here in held]
    take = [
        wren.posts("reservations/", need=need.pk, lot=here.lot_id)
        for need, here in zip(needs, held, strict=True)
    ]
    answers = race(*own, *take)
    assert answers[:3] == ["given"] * 3
    assert {answer[:3] for answer in answers[3:]} <= {"201", "409"}
    assert audit() == []
    made = Reservation.objects.count()
    assert made == sum(answer.startswith("201") for answer in answers)
