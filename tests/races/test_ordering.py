"""Two people order one line of the buy list at the same moment, in real processes: it is ordered once."""

import json
from collections import Counter

import pytest

from inventory.keys import make_key
from inventory.roles import give_role
from repairs.models import Purchase
from tests.factories import NeedFactory, PartFactory, PersonFactory, spec
from tests.races.test_races import race

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db(transaction=True, serialized_rollback=True)]

WANTED = spec("resistor", "4k7")


@pytest.fixture
def token(settings: object) -> str:
    person = PersonFactory()
    give_role(person, "bench")
    return make_key(person, "test")[1]


def ordering(token: str, part: int, press: str) -> tuple[object, ...]:
    body = json.dumps({"lines": [{"part": part, "quantity": 2}]})
    return ("post_one", token, "/api/v1/buy/order/", body, press)


def on_order() -> int:
    return sum(Purchase.objects.filter(state="ordered").values_list("quantity", flat=True))


def refusals(answers: list[str]) -> list[str]:
    return [json.loads(answer[4:])["code"] for answer in answers if answer.startswith("409")]


def test_control_who_does_not_lock_orders_twice() -> None:
    NeedFactory(of=WANTED, quantity=2)
    part = PartFactory(of=WANTED)
    assert race(*[("order_one_carelessly", part.pk, 2)] * 2) == ["ordered", "ordered"]
    assert on_order() == 4, "if the careless way did not order twice, the races below would prove nothing"


def test_one_line_is_ordered_once_and_the_other_is_refused(token: str) -> None:
    NeedFactory(of=WANTED, quantity=2)
    part = PartFactory(of=WANTED)
    answers = race(*(ordering(token, part.pk, f"press {n}") for n in range(3)))
    assert Counter(answer[:3] for answer in answers) == {"200": 1, "409": 2}
    assert refusals(answers) == ["not_on_the_list"] * 2
    assert on_order() == 2


def test_two_parts_that_serve_one_line_are_not_both_ordered(token: str) -> None:
    NeedFactory(of=WANTED, quantity=2)
    parts = [PartFactory(of=WANTED), PartFactory(of=spec("resistor", "4k7", make="Alder"))]
    answers = race(*(ordering(token, part.pk, f"press {part.pk}") for part in parts))
    assert Counter(answer[:3] for answer in answers) == {"200": 1, "409": 1}
    assert on_order() == 2


def test_what_was_wanted_is_ordered_once(token: str) -> None:
    part = PartFactory(of=WANTED)
    Purchase.objects.create(part=part, quantity=2, state="wanted")
    answers = race(*(ordering(token, part.pk, f"press {n}") for n in range(2)))
    assert Counter(answer[:3] for answer in answers) == {"200": 1, "409": 1}
    assert [(each.state, each.quantity) for each in Purchase.objects.all()] == [("ordered", 2)]


def test_a_press_that_is_sent_twice_orders_once(token: str) -> None:
    NeedFactory(of=WANTED, quantity=2)
    part = PartFactory(of=WANTED)
    answers = race(*[ordering(token, part.pk, "one press")] * 2)
    assert "200" in {answer[:3] for answer in answers}
    assert on_order() == 2
