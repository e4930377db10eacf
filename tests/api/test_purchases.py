"""Purchases: wanted, ordered, received; what is received becomes a lot."""

from typing import Any

import pytest

from inventory.models import Lot, Movement, Part, Place
from repairs.models import Purchase
from tests.api.asking import ids
from tests.api.test_problems import pointers, refused
from tests.factories import PlaceFactory

pytestmark = pytest.mark.usefixtures("adds_up")
PURCHASES = "/api/v1/purchases/"
CHIP = {"kind": "ic", "number": "74LS245", "package": "dip-20"}


@pytest.fixture
def drawer(db: None) -> Place:
    return PlaceFactory(name="Drawer 7")


def bought(client: Any, **body: Any) -> dict[str, Any]:
    answer = client.post(PURCHASES, {"part": CHIP, "quantity": 4, **body})
    assert answer.status_code == 201, answer.content
    purchase: dict[str, Any] = answer.json()
    assert client.get(answer.headers["Location"]).json() == purchase
    return purchase


def changed(client: Any, purchase: dict[str, Any], **body: Any) -> dict[str, Any]:
    answer = client.patch(f"{PURCHASES}{purchase['id']}/", body)
    assert answer.status_code == 200, answer.content
    result: dict[str, Any] = answer.json()
    return result


def test_what_is_to_be_bought_is_wanted_first(bench: Any) -> None:
    purchase = bought(bench, **{"from": "Harbour Radio"}, price="0.8500")
    assert (purchase["state"], purchase["quantity"], purchase["from"]) == ("wanted", 4, "Harbour Radio")
    assert (purchase["price"], purchase["lot"], purchase["place"]) == ("0.85", None, None)
    assert purchase["part"] == Part.objects.get().pk
    assert not Lot.objects.exists()


def test_what_arrives_becomes_a_lot_that_says_from_whom(bench: Any, drawer: Place) -> None:
    purchase = bought(bench, **{"from": "Harbour Radio"}, state="ordered")
    result = changed(bench, purchase, state="received", to=drawer.pk)
    assert (result["state"], result["quantity"], result["place"]) == ("received", 4, drawer.pk)
    lot = bench.get(f"/api/v1/lots/{result['lot']}/").json()
    assert (lot["part"], lot["quantity"]) == (purchase["part"], 4)
    assert (lot["origin"]["source"], lot["origin"]["from"]) == ("bought", "Harbour Radio")
    assert Movement.objects.get().kind == "receive"


def test_of_fewer_than_ordered_the_rest_stays_on_order(bench: Any, drawer: Place) -> None:
    purchase = bought(bench, state="ordered")
    assert changed(bench, purchase, state="received", to=drawer.pk, quantity=3)["quantity"] == 3
    [rest] = bench.get(f"{PURCHASES}?state=ordered").json()["results"]
    assert (rest["quantity"], rest["part"]) == (1, purchase["part"])


def test_what_came_at_once_is_received_at_once(bench: Any, drawer: Place) -> None:
    purchase = bought(bench, state="received", to=drawer.pk)
    assert Lot.objects.get().pk == purchase["lot"]


def test_what_was_received_is_not_received_again_or_changed(owner: Any, drawer: Place) -> None:
    purchase = bought(owner, state="received", to=drawer.pk)
    address = f"{PURCHASES}{purchase['id']}/"
    for change in (
        {"state": "received", "to": drawer.pk},
        {"state": "ordered"},
        {"quantity": 9},
        {"part": {"kind": "lamp"}},
    ):
        problem = refused(owner.patch(address, change), 409)
        assert (problem["code"], problem["lot"]) == ("received_already", purchase["lot"])
    assert refused(owner.delete(address), 409)["lot"] == purchase["lot"]
    assert changed(owner, purchase, price="1.20", note="dear")["price"] == "1.2"
    assert Lot.objects.count() == 1


def test_pieces_are_put_in_a_place_that_keeps_pieces(bench: Any) -> None:
    purchase = bought(bench, state="ordered")
    address = f"{PURCHASES}{purchase['id']}/"
    outside = refused(bench.patch(address, {"state": "received", "to": Place.outside().pk}), 409)
    assert outside["code"] == "outside"
    assert pointers(refused(bench.patch(address, {"state": "received"}), 400)) == {"#/to"}
    assert pointers(refused(bench.patch(address, {"to": PlaceFactory().pk}), 400)) == {"#/to"}
    assert bench.get(address).json()["state"] == "ordered"


def test_what_is_not_wanted_any_more_is_taken_off_the_list(owner: Any, bench: Any) -> None:
    purchase = bought(bench)
    refused(bench.delete(f"{PURCHASES}{purchase['id']}/"), 403)
    assert owner.delete(f"{PURCHASES}{purchase['id']}/").status_code == 204
    assert not Purchase.objects.exists()


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({}, {"#/part", "#/quantity"}),
        ({"part": {"kind": "resistor", "value": "lots"}, "quantity": 0}, {"#/part/value", "#/quantity"}),
        ({"part": 10**30, "quantity": 10**10}, {"#/part", "#/quantity"}),
        ({"part": CHIP, "quantity": 1, "price": "-1"}, {"#/price"}),
        ({"part": CHIP, "quantity": 1, "price": "cheap"}, {"#/price"}),
        ({"part": CHIP, "quantity": 1, "price": "NaN"}, {"#/price"}),
        ({"part": CHIP, "quantity": 1, "state": "lost"}, {"#/state"}),
        ({"part": CHIP, "quantity": 1, "state": "received"}, {"#/to"}),
        ({"part": CHIP, "quantity": 1, "from": "x" * 201, "colour": "red"}, {"#/from", "#/colour"}),
    ],
)
def test_what_cannot_be_read_is_named(bench: Any, body: dict[str, Any], wrong: set[str]) -> None:
    assert pointers(refused(bench.post(PURCHASES, body), 400)) == wrong
    assert not Purchase.objects.exists()
    assert not Part.objects.exists()


def test_the_version_is_kept_up(bench: Any, drawer: Place) -> None:
    purchase = bought(bench)
    address = f"{PURCHASES}{purchase['id']}/"
    assert bench.patch(address, {"state": "ordered"}, headers={"If-Match": '"1"'}).headers["ETag"] == '"2"'
    refused(bench.patch(address, {"state": "received", "to": drawer.pk}, headers={"If-Match": '"1"'}), 412)
    assert not Lot.objects.exists()


def test_purchases_are_found_by_state_part_and_words(bench: Any) -> None:
    chip = bought(bench, state="ordered")
    film = bought(bench, part={"kind": "capacitor", "value": "100n"}, **{"from": "Harbour Radio"})

    def found(query: str) -> list[int]:
        return ids(bench, f"{PURCHASES}?{query}")

    assert found("state=ordered") == [chip["id"]]
    assert found(f"part={film['part']}") == found("value=0.1uF") == found("q=harbour") == [film["id"]]
    assert found("number=74ls245") == [chip["id"]]
    assert found("ordering=-id") == [film["id"], chip["id"]]
    for query in ("state=lost", "part=x", "value=lots", "colour=red"):
        refused(bench.get(f"{PURCHASES}?{query}"), 400)


def test_a_viewer_buys_nothing(viewer: Any) -> None:
    refused(viewer.post(PURCHASES, {"part": CHIP, "quantity": 1}), 403)
    assert not Purchase.objects.exists()
