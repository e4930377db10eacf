"""A retried POST happens once.  After the IETF draft on the Idempotency-Key header, version 7."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from inventory.api.once import KEPT, SWEPT_AT_ONCE
from inventory.models import ApiCall, Holding, Lot, Movement, Part
from inventory.roles import give_role
from tests.api.test_problems import refused
from tests.factories import PersonFactory, PlaceFactory

LOTS, PARTS = "/api/v1/lots/", "/api/v1/parts/"


def key(text: str) -> dict[str, dict[str, str]]:
    return {"headers": {"Idempotency-Key": text}}


@pytest.fixture
def five(db: None) -> dict[str, Any]:
    return {"part": {"kind": "resistor", "value": "4k7"}, "place": PlaceFactory().pk, "quantity": 5}


def test_a_second_press_does_nothing_and_gets_the_first_answer(bench: Any, five: dict[str, Any]) -> None:
    first = bench.post(LOTS, five, **key("a1"))
    second = bench.post(LOTS, five, **key("a1"))
    assert first.status_code == second.status_code == 201
    assert first.json() == second.json()
    for name in ("Location", "ETag"):
        assert first.headers[name] == second.headers[name]
    assert (Lot.objects.count(), Movement.objects.count(), Holding.objects.get().quantity) == (1, 1, 5)


def test_without_a_key_a_second_press_counts(bench: Any, five: dict[str, Any]) -> None:
    bench.post(LOTS, five)
    bench.post(LOTS, five)
    assert Lot.objects.count() == 2


def test_the_first_answer_is_given_even_when_things_have_changed(bench: Any, five: dict[str, Any]) -> None:
    first = bench.post(LOTS, five, **key("a1")).json()
    bench.patch(f"{LOTS}{first['id']}/", {"note": "moved on"})
    assert bench.post(LOTS, five, **key("a1")).json() == first


def test_quoted_and_bare_keys_are_the_same(bench: Any, five: dict[str, Any]) -> None:
    bench.post(LOTS, five, **key('"a1"'))
    bench.post(LOTS, five, **key("a1"))
    assert Lot.objects.count() == 1


def test_another_body_under_the_same_key_is_422(bench: Any, five: dict[str, Any]) -> None:
    bench.post(LOTS, five, **key("a1"))
    assert refused(bench.post(LOTS, {**five, "quantity": 6}, **key("a1")), 422)["code"] == "key_reused"
    assert Lot.objects.count() == 1


def test_another_address_under_the_same_key_is_422(bench: Any) -> None:
    bench.post(PARTS, {"kind": "lamp"}, **key("a1"))
    refused(bench.post(LOTS, {"kind": "lamp"}, **key("a1")), 422)


def test_two_people_may_use_the_same_key(bench: Any, owner: Any, five: dict[str, Any]) -> None:
    bench.post(LOTS, five, **key("a1"))
    owner.post(LOTS, five, **key("a1"))
    assert Lot.objects.count() == 2


def test_a_refused_request_leaves_no_key_behind(bench: Any, five: dict[str, Any]) -> None:
    refused(bench.post(LOTS, {**five, "place": 999}, **key("a1")), 400)
    refused(bench.post(LOTS, {**five, "ref": "R1"}, **key("a1")), 409)
    assert not ApiCall.objects.exists()
    assert bench.post(LOTS, five, **key("a1")).status_code == 201


def test_a_key_is_kept_for_a_day_and_then_forgotten(bench: Any, five: dict[str, Any]) -> None:
    assert timedelta(hours=24) == KEPT
    bench.post(LOTS, five, **key("a1"))
    ApiCall.objects.update(at=timezone.now() - KEPT + timedelta(minutes=1))
    bench.post(LOTS, five, **key("a1"))
    assert Lot.objects.count() == 1
    ApiCall.objects.update(at=timezone.now() - KEPT - timedelta(minutes=1))
    bench.post(LOTS, five, **key("a1"))
    assert Lot.objects.count() == 2
    assert ApiCall.objects.count() == 1


def test_old_keys_go_faster_than_new_ones_come(bench: Any, five: dict[str, Any]) -> None:
    person = bench.person
    ApiCall.objects.bulk_create(
        ApiCall(user=person, key=f"old{n}", fingerprint="", status=201) for n in range(30)
    )
    ApiCall.objects.update(at=timezone.now() - KEPT * 2)
    bench.post(LOTS, five, **key("new"))
    assert ApiCall.objects.count() == 30 - SWEPT_AT_ONCE + 1


@pytest.mark.parametrize("text", ["", '""', " ", "k" * 256, "clé", "a\tb"])
def test_a_key_that_is_none_is_refused(bench: Any, five: dict[str, Any], text: str) -> None:
    refused(bench.post(LOTS, five, **key(text)), 400)
    assert not Part.objects.exists()


def test_a_key_does_not_open_a_door(viewer: Any, stranger: Any, five: dict[str, Any]) -> None:
    refused(viewer.post(LOTS, five, **key("a1")), 403)
    refused(stranger.post(LOTS, five, **key("a1")), 401)
    assert not ApiCall.objects.exists()


def at_once(person: Any, keys: list[str], body: dict[str, Any]) -> list[Any]:
    """The same POST from as many connections at the same moment; their answers."""
    from concurrent.futures import ThreadPoolExecutor
    from threading import Barrier

    from django.db import connections
    from rest_framework.test import APIClient

    gate = Barrier(len(keys))

    def press(text: str) -> Any:
        client = APIClient()
        client.force_authenticate(person)
        gate.wait(timeout=10)
        try:
            return client.post(PARTS, body, **key(text))
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(keys)) as pool:
        return list(pool.map(press, keys))


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_twins_at_the_same_moment_make_one_part_and_get_one_answer() -> None:
    person = PersonFactory()
    give_role(person, "bench")
    answers = at_once(person, ["a1"] * 6, {"kind": "lamp", "number": "E10"})
    assert [answer.status_code for answer in answers] == [201] * 6
    assert {answer.content for answer in answers} == {answers[0].content}
    assert Part.objects.count() == 1


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_control_with_a_key_each_only_one_of_them_is_first() -> None:
    person = PersonFactory()
    give_role(person, "bench")
    answers = at_once(person, [f"a{n}" for n in range(6)], {"kind": "lamp", "number": "E10"})
    assert sorted(answer.status_code for answer in answers) == [201] + [409] * 5
