"""Several lots or needs by one request: all of them, or none and which rows were refused and why."""

from typing import Any

import pytest

from inventory.models import Lot, Movement
from repairs import jobs
from repairs.models import Need
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, DesignFactory, JobFactory, PlaceFactory, spec

LOTS, NEEDS = "/api/v1/lots/several/", "/api/v1/needs/several/"
pytestmark = pytest.mark.django_db


def lots(*sizes: int, place: int) -> list[dict[str, Any]]:
    part = {"kind": "resistor", "value": "4k7"}
    return [{"part": part, "place": place, "quantity": size} for size in sizes]


def test_lots_come_in_together_in_the_order_that_they_were_sent(bench: Any) -> None:
    drawer = PlaceFactory()
    answer = bench.post(LOTS, {"rows": lots(3, 1, 2, place=drawer.pk)})
    assert answer.status_code == 201, answer.content
    assert [row["quantity"] for row in answer.json()["rows"]] == [3, 1, 2]
    one = answer.json()["rows"][1]
    assert bench.get(f"/api/v1/lots/{one['id']}/").json() == one


def test_every_row_that_is_not_accepted_is_named_and_none_is_kept(bench: Any) -> None:
    rows = lots(1, 0, 1, place=PlaceFactory().pk)
    rows[2]["part"] = {"kind": "resistor", "value": "4k7k"}
    rows.append({"part": {"kind": "lamp"}})
    body = refused(bench.post(LOTS, {"rows": rows}), 400)
    assert pointers(body) == {"#/rows/1/quantity", "#/rows/2/part/value"}
    # What only the making finds is named by its row as well.
    body = refused(bench.post(LOTS, {"rows": [rows[0], rows[3]]}), 400)
    assert pointers(body) == {"#/rows/1/holdings"}
    assert not Lot.objects.exists()
    assert not Movement.objects.exists()


@pytest.mark.parametrize(
    ("body", "pointer"),
    [({}, "#/rows"), ({"rows": []}, "#/rows"), ({"rows": {}}, "#/rows"), ([], "#/rows"),
     ({"rows": [7]}, "#/rows/0"), ({"rows": [{}] * 501}, "#/rows"), ({"rows": [{}], "place": 1}, "#/place")],
)  # fmt: skip
def test_what_is_no_list_of_rows_is_refused(bench: Any, body: Any, pointer: str) -> None:
    assert pointer in pointers(refused(bench.post(LOTS, body), 400))


def test_a_repeated_request_brings_them_in_once(bench: Any) -> None:
    rows = {"rows": lots(3, 1, place=PlaceFactory().pk)}
    first = bench.post(LOTS, rows, HTTP_IDEMPOTENCY_KEY="crate 7")
    again = bench.post(LOTS, rows, HTTP_IDEMPOTENCY_KEY="crate 7")
    assert first.json() == again.json()
    assert Lot.objects.count() == 2


def test_a_need_that_is_refused_takes_the_others_with_it(bench: Any) -> None:
    resistor = spec("resistor", "4k7")
    board = BoardFactory(design=DesignFactory(positions={"R1": resistor, "R2": resistor}))
    job, other = JobFactory(board=board), JobFactory()
    jobs.add_needs(job, ["R2"], by=None)
    rows = [{"job": job.pk, "ref": "R1"}, {"job": other.pk, "kind": "lamp"}, {"job": job.pk, "ref": "R2"}]
    body = refused(bench.post(NEEDS, {"rows": rows}), 409)
    assert (body["code"], body["errors"][0]["pointer"]) == ("need_exists", "#/rows/2")
    assert Need.objects.count() == 1
    made = bench.post(NEEDS, {"rows": rows[:2]})
    assert made.status_code == 201, made.content
    assert [row["job"] for row in made.json()["rows"]] == [job.pk, other.pk]
