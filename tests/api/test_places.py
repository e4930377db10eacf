"""Places: a tree of drawers and trays, people, and what the bench keeps itself."""

from typing import Any

import pytest

from inventory.api.places import DEEPEST
from inventory.models import Place
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, PlaceFactory, stock

PLACES = "/api/v1/places/"


@pytest.fixture
def drawer(db: None) -> Place:
    """Cabinet A / Row 1 / Drawer 1."""
    row = PlaceFactory(name="Row 1", within=PlaceFactory(name="Cabinet A"))
    return PlaceFactory(name="Drawer 1", within=row)


def test_a_place_tells_its_path_and_what_lies_within(viewer: Any, drawer: Place) -> None:
    stock(10, place=drawer)
    stock(4, place=drawer)
    stock(5, place=drawer.within)
    result = viewer.get(f"{PLACES}{drawer.pk}/").json()
    assert (result["path"], result["lots"], result["pieces"]) == ("Cabinet A / Row 1 / Drawer 1", 2, 14)
    top = viewer.get(f"{PLACES}{drawer.within.within_id}/").json()
    assert (top["within"], top["lots"], top["pieces"]) == (None, 3, 19)


def test_the_tree_nests_what_lies_within(viewer: Any, drawer: Place) -> None:
    stock(10, place=drawer)
    tree = viewer.get(f"{PLACES}tree/").json()
    assert [branch["name"] for branch in tree] == ["Cabinet A", "outside", "scrap bin"]
    cabinet = tree[0]
    assert cabinet["pieces"] == 10
    assert cabinet["contents"][0]["contents"] == [
        {"id": drawer.pk, "name": "Drawer 1", "type": "drawer", "lots": 1, "pieces": 10, "contents": []}
    ]


def test_a_place_is_made_within_another(bench: Any, drawer: Place) -> None:
    answer = bench.post(PLACES, {"name": "Tray 2", "type": "tray", "within": drawer.pk})
    assert answer.status_code == 201
    assert answer.json()["path"] == "Cabinet A / Row 1 / Drawer 1 / Tray 2"


def test_two_places_side_by_side_have_different_names(bench: Any, drawer: Place) -> None:
    body = refused(bench.post(PLACES, {"name": "Drawer 1", "within": drawer.within_id}), 409)
    assert pointers(body) == {"#/name", "#/within"}
    assert bench.post(PLACES, {"name": "Drawer 1"}).status_code == 201


def test_a_place_never_comes_to_lie_within_itself(bench: Any, drawer: Place) -> None:
    cabinet = drawer.within.within
    for target in (cabinet, drawer.within, drawer):
        body = refused(bench.patch(f"{PLACES}{cabinet.pk}/", {"within": target.pk}), 409)
        assert (body["code"], pointers(body)) == ("loop", {"#/within"})
    cabinet.refresh_from_db()
    assert cabinet.within_id is None


def test_a_place_moves_with_all_that_is_in_it(bench: Any, drawer: Place) -> None:
    other = PlaceFactory(name="Cabinet B")
    answer = bench.patch(f"{PLACES}{drawer.within_id}/", {"within": other.pk})
    assert (answer.status_code, answer.json()["version"]) == (200, 2)
    assert bench.get(f"{PLACES}{drawer.pk}/").json()["path"] == "Cabinet B / Row 1 / Drawer 1"
    assert bench.patch(f"{PLACES}{drawer.pk}/", {"within": None}).json()["path"] == "Drawer 1"


def test_places_nest_only_as_deep_as_a_person_can_say(bench: Any) -> None:
    above = None
    for level in range(DEEPEST):
        above = bench.post(PLACES, {"name": f"box {level}", "within": above}).json()["id"]
    body = refused(bench.post(PLACES, {"name": "one more", "within": above}), 400)
    assert pointers(body) == {"#/within"}
    pair = PlaceFactory(name="inner", within=PlaceFactory(name="outer")).within
    ninth = Place.objects.get(name=f"box {DEEPEST - 2}")
    refused(bench.patch(f"{PLACES}{pair.pk}/", {"within": ninth.pk}), 400)


@pytest.mark.parametrize("kind", ["scrap", "outside", "board", "shelf", None, 3])
def test_what_the_bench_keeps_itself_is_not_made(bench: Any, kind: Any) -> None:
    assert pointers(refused(bench.post(PLACES, {"name": "x", "type": kind}), 400)) == {"#/type"}


@pytest.mark.parametrize("kept", ["scrap", "outside", "board"])
def test_what_the_bench_keeps_itself_is_not_renamed_moved_or_removed(owner: Any, kept: str) -> None:
    place = BoardFactory().place if kept == "board" else Place.objects.get(type=kept)
    here = f"{PLACES}{place.pk}/"
    for change in ({"name": "x"}, {"type": "drawer"}, {"within": PlaceFactory().pk}):
        assert refused(owner.patch(here, change), 409)["code"] == "kept_place"
    assert refused(owner.delete(here), 409)["code"] == "kept_place"
    assert owner.patch(here, {"note": "behind the door"}).status_code == 200


@pytest.mark.parametrize("kind", ["scrap", "outside", "board", "person"])
def test_places_lie_within_drawers_and_trays_only(bench: Any, kind: str) -> None:
    place = {
        "board": lambda: BoardFactory().place,
        "person": lambda: PlaceFactory(type="person"),
    }.get(kind, lambda: Place.objects.get(type=kind))()
    assert pointers(refused(bench.post(PLACES, {"name": "x", "within": place.pk}), 400)) == {"#/within"}


def test_a_drawer_becomes_a_tray_but_not_a_person(bench: Any, drawer: Place) -> None:
    here = f"{PLACES}{drawer.pk}/"
    assert bench.patch(here, {"type": "tray"}).json()["type"] == "tray"
    assert pointers(refused(bench.patch(here, {"type": "person"}), 400)) == {"#/type"}


@pytest.mark.parametrize("within", [999, "x", True, 1.5, [1], {"id": 1}, -1])
def test_a_place_within_nothing_known_is_refused(bench: Any, within: Any) -> None:
    assert pointers(refused(bench.post(PLACES, {"name": "x", "within": within}), 400)) == {"#/within"}


def test_an_owner_removes_an_empty_place_and_no_other(owner: Any, drawer: Place) -> None:
    assert refused(owner.delete(f"{PLACES}{drawer.within_id}/"), 409)["used_by"] == {"place": 1}
    assert owner.delete(f"{PLACES}{drawer.pk}/").status_code == 204
    held = stock(1)
    assert refused(owner.delete(f"{PLACES}{held.place_id}/"), 409)["code"] == "in_use"


def test_places_are_found_by_name_type_and_where_they_are(viewer: Any, drawer: Place) -> None:
    PlaceFactory(name="Robin", type="person")

    def names(query: str) -> list[str]:
        return [row["name"] for row in viewer.get(f"{PLACES}?{query}").json()["results"]]

    assert names("type=person") == ["Robin"]
    assert names(f"within={drawer.within_id}") == ["Drawer 1"]
    assert names("q=row") == ["Row 1"]
    assert set(names("top=true")) == {"outside", "scrap bin", "Cabinet A", "Robin"}
    assert names("ordering=-name&type=drawer") == ["Row 1", "Drawer 1", "Cabinet A"]
    refused(viewer.get(f"{PLACES}?within=999"), 400)


def test_a_list_of_places_takes_a_constant_number_of_queries(
    viewer: Any, drawer: Place, django_assert_max_num_queries: Any
) -> None:
    for number in range(30):
        stock(1, place=PlaceFactory(name=f"Box {number}", within=drawer))
    with django_assert_max_num_queries(7):
        viewer.get(PLACES)
    with django_assert_max_num_queries(6):
        viewer.get(f"{PLACES}tree/")
