"""Who may do what across the inventory, as a table: a missing row fails the last test of the file."""

from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group

from inventory.keys import make_key
from inventory.models import AccessChange, Board, Part
from inventory.roles import ROLES, give_role, may_act_as, role_of
from tests.api.test_problems import refused
from tests.api.who_may import May, assert_may
from tests.factories import (
    BoardFactory,
    DesignFactory,
    PartFactory,
    PersonFactory,
    PlaceFactory,
    attachment,
    photo,
    spec,
    stock,
)

MAY: list[May] = [
    ("get", "/healthz", None, (200, 200, 200, 200)),
    ("get", "/api/v1/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/changes/?changed_since=start", None, (200, 200, 200, 401)),
    ("get", "/api/v1/openapi.json", None, (200, 200, 200, 401)),
    ("get", "/api/v1/docs/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/parts/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/parts/", {"kind": "lamp"}, (201, 201, 403, 401)),
    ("get", "/api/v1/parts/{part}/", None, (200, 200, 200, 401)),
    ("put", "/api/v1/parts/{part}/", {"kind": "lamp"}, (200, 200, 403, 401)),
    ("patch", "/api/v1/parts/{part}/", {"note": "x"}, (200, 200, 403, 401)),
    ("delete", "/api/v1/parts/{part}/", None, (204, 403, 403, 401)),
    ("get", "/api/v1/places/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/places/", {"name": "Tray 9"}, (201, 201, 403, 401)),
    ("get", "/api/v1/places/tree/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/places/{place}/", None, (200, 200, 200, 401)),
    ("put", "/api/v1/places/{place}/", {"name": "Tray 9"}, (200, 200, 403, 401)),
    ("patch", "/api/v1/places/{place}/", {"note": "x"}, (200, 200, 403, 401)),
    ("delete", "/api/v1/places/{place}/", None, (204, 403, 403, 401)),
    ("get", "/api/v1/lots/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/lots/", {"part": {"kind": "lamp"}, "place": "{place}"}, (201, 201, 403, 401)),
    ("post", "/api/v1/lots/several/", {"rows": []}, (400, 400, 403, 401)),
    ("get", "/api/v1/lots/{lot}/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/lots/{lot}/", {"note": "x"}, (200, 200, 403, 401)),
    ("put", "/api/v1/lots/{lot}/", {"note": "x"}, (405, 405, 403, 401)),
    ("delete", "/api/v1/lots/{lot}/", None, (405, 403, 403, 401)),
    ("get", "/api/v1/labels.pdf?lot={lot}", None, (200, 200, 200, 401)),
    ("get", "/api/v1/lots/{lot}/trace/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/designs/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/designs/", {"name": "Dunlin"}, (201, 201, 403, 401)),
    ("get", "/api/v1/designs/{design}/", None, (200, 200, 200, 401)),
    ("put", "/api/v1/designs/{design}/", {"name": "Dunlin"}, (200, 200, 403, 401)),
    ("patch", "/api/v1/designs/{design}/", {"note": "x"}, (200, 200, 403, 401)),
    ("delete", "/api/v1/designs/{design}/", None, (204, 403, 403, 401)),
    ("get", "/api/v1/designs/{design}/compare/?with={design}", None, (200, 200, 200, 401)),
    ("get", "/api/v1/boards/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/boards/", {"name": "Dunlin 1", "purpose": "donor"}, (201, 201, 403, 401)),
    ("get", "/api/v1/boards/{board}/", None, (200, 200, 200, 401)),
    ("put", "/api/v1/boards/{board}/", {"name": "Dunlin 1", "purpose": "donor"}, (200, 200, 403, 401)),
    ("patch", "/api/v1/boards/{board}/", {"note": "x"}, (200, 200, 403, 401)),
    ("delete", "/api/v1/boards/{board}/", None, (204, 403, 403, 401)),
    ("get", "/api/v1/boards/{board}/trace/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/photos/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/photos/", {}, (415, 415, 403, 401)),
    ("get", "/api/v1/photos/{photo}/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/photos/{photo}/", {"note": "x"}, (200, 200, 403, 401)),
    ("post", "/api/v1/photos/{photo}/", {}, (405, 405, 403, 401)),
    ("put", "/api/v1/photos/{photo}/", {"note": "x"}, (405, 405, 403, 401)),
    ("delete", "/api/v1/photos/{photo}/", None, (204, 403, 403, 401)),
    ("get", "/api/v1/photos/{photo}/image", None, (200, 200, 200, 401)),
    ("get", "/api/v1/photos/{photo}/enlarge.png", None, (200, 200, 200, 401)),
    ("get", "/api/v1/photos/{photo}/enlarge.jpg", None, (200, 200, 200, 401)),
    ("get", "/api/v1/photos/{photo}/bands/?x1=1&y1=20&x2=60&y2=20", None, (200, 200, 200, 401)),
    ("get", "/api/v1/attachments/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/attachments/", {}, (415, 415, 403, 401)),
    ("get", "/api/v1/attachments/{attachment}/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/attachments/{attachment}/", {"name": "x"}, (200, 200, 403, 401)),
    ("put", "/api/v1/attachments/{attachment}/", {"name": "x"}, (405, 405, 403, 401)),
    ("delete", "/api/v1/attachments/{attachment}/", None, (204, 403, 403, 401)),
    ("get", "/api/v1/attachments/{attachment}/file", None, (200, 200, 200, 401)),
    ("get", "/api/v1/backups/", None, (200, 403, 403, 401)),
    ("post", "/api/v1/backups/", {}, (201, 403, 403, 401)),
    ("get", "/api/v1/backups/dated-20261128T031700Z.backup/", None, (404, 403, 403, 401)),
    ("get", "/api/v1/people/", None, (200, 403, 403, 401)),
    ("post", "/api/v1/people/", {"name": "wren"}, (201, 403, 403, 401)),
    ("get", "/api/v1/people/{person}/", None, (200, 403, 403, 401)),
    ("get", "/api/v1/access-changes/", None, (200, 403, 403, 401)),
    ("post", "/api/v1/access-changes/", {}, (405, 403, 403, 401)),
    ("get", "/api/v1/access-changes/{access-change}/", None, (200, 403, 403, 401)),
    ("patch", "/api/v1/people/{person}/", {"active": False}, (200, 403, 403, 401)),
    ("post", "/api/v1/people/{person}/hand-over/", {"to": None}, (200, 403, 403, 401)),
    ("put", "/api/v1/people/{person}/", {"name": "x"}, (405, 403, 403, 401)),
    ("delete", "/api/v1/people/{person}/", None, (405, 403, 403, 401)),
    ("get", "/api/v1/keys/", None, (200, 200, 200, 401)),
    ("post", "/api/v1/keys/", {"name": "scales"}, (201, 201, 201, 401)),
    ("get", "/api/v1/keys/{key}/", None, (200, 404, 404, 401)),
    ("delete", "/api/v1/keys/{key}/", None, (204, 403, 403, 401)),
    ("get", "/api/v1/settings/", None, (200, 200, 200, 401)),
    ("patch", "/api/v1/settings/", {"era": "1984"}, (200, 403, 403, 401)),
    ("get", "/api/v1/decode/?marking=104", None, (200, 200, 200, 401)),
    ("post", "/api/v1/decode/", {}, (405, 405, 403, 401)),
    ("get", "/api/v1/decode/schemes/", None, (200, 200, 200, 401)),
    ("get", "/api/v1/appearance/?kind=resistor&value=4k7", None, (200, 200, 200, 401)),
    ("get", "/api/v1/appearance.svg?kind=resistor&value=4k7", None, (200, 200, 200, 401)),
    ("get", "/api/v1/nothing/", None, (404, 404, 404, 401)),
    ("post", "/api/v1/nothing/", {}, (404, 404, 403, 401)),
]  # fmt: skip


@pytest.fixture
def there(db: None) -> dict[str, int]:
    """One of each, none of which anything hangs on."""
    return {
        "part": PartFactory(of=spec("ic", None, number="7400")).pk,
        "place": PlaceFactory().pk,
        "lot": stock(3).lot_id,
        "design": DesignFactory().pk,
        "board": BoardFactory().pk,
        "photo": photo().pk,
        "attachment": attachment().pk,
        "person": PersonFactory().pk,
        "access-change": AccessChange.objects.create(by="robin", person="wren", what="let in").pk,
        "key": make_key(PersonFactory(), "another's")[0].pk,
    }


def test_each_person_may_do_what_the_table_says(
    request: pytest.FixtureRequest, there: dict[str, int]
) -> None:
    assert_may(request, MAY, there)


def test_nobody_else_changes_anything(viewer: Any, there: dict[str, int]) -> None:
    refused(viewer.patch(f"/api/v1/parts/{there['part']}/", {"name": "mine"}), 403)
    assert Part.objects.get(pk=there["part"]).name != "mine"
    refused(viewer.delete(f"/api/v1/boards/{there['board']}/"), 403)
    assert Board.objects.filter(pk=there["board"]).exists()


def test_a_person_without_a_role_looks_on(bench: Any) -> None:
    bench.person.groups.clear()
    assert bench.get("/api/v1/parts/").status_code == 200
    refused(bench.post("/api/v1/parts/", {"kind": "lamp"}), 403)


def test_a_refusal_says_whose_work_it_is(bench: Any, there: dict[str, int]) -> None:
    detail = refused(bench.delete(f"/api/v1/parts/{there['part']}/"), 403)["detail"]
    assert "owner" in detail
    assert "bench" in detail


@pytest.mark.parametrize(
    "header", ["Token", "Token a b", "Token nonsense", "Bearer x", "Token é", "Basic eDp5"]
)
def test_a_wrong_key_is_401_and_says_how_to_sign_in(stranger: Any, db: None, header: str) -> None:
    answer = stranger.get("/api/v1/parts/", headers={"Authorization": header})
    refused(answer, 401)
    assert answer.headers["WWW-Authenticate"] == "Token"


def test_a_person_who_left_is_401(bench: Any) -> None:
    bench.person.is_active = False
    bench.person.save(update_fields=["is_active"])
    refused(bench.get("/api/v1/parts/"), 401)


@pytest.mark.django_db
def test_the_three_roles_are_there_from_the_start() -> None:
    assert set(Group.objects.values_list("name", flat=True)) >= set(ROLES)


@pytest.mark.django_db
def test_a_new_role_takes_the_place_of_the_old_one() -> None:
    person = PersonFactory()
    assert role_of(person) == "viewer"
    for role in ROLES:
        give_role(person, role)
        assert role_of(get_user_model().objects.get(pk=person.pk)) == role_of(person) == role
    assert person.groups.count() == 1
    with pytest.raises(ValueError, match="owner, bench, viewer"):
        give_role(person, "king")


@pytest.mark.django_db
def test_each_role_may_do_what_the_next_may() -> None:
    person = PersonFactory()
    may = {}
    for role in ROLES:
        give_role(person, role)
        may[role] = [may_act_as(person, least) for least in ROLES]
    assert may == {
        "owner": [True, True, True],
        "bench": [False, True, True],
        "viewer": [False, False, True],
    }


@pytest.mark.django_db
def test_a_superuser_is_an_owner() -> None:
    assert role_of(PersonFactory(is_superuser=True)) == "owner"


def test_a_person_signs_in_on_the_page_and_out_again(bench: Any, client: Any) -> None:
    bench.person.set_password("tide and table")
    bench.person.save(update_fields=["password"])
    page = client.get("/sign-in/")
    assert page.status_code == 200
    wrong = client.post("/sign-in/", {"username": "bench", "password": "no"})
    assert b'role="alert"' in wrong.content
    right = client.post("/sign-in/?next=/api/v1/parts/", {"username": "bench", "password": "tide and table"})
    assert (right.status_code, right.headers["Location"]) == (302, "/api/v1/parts/")
    assert client.get("/api/v1/parts/").status_code == 200
    assert client.post("/sign-out/").status_code == 302
    assert client.get("/api/v1/parts/").status_code == 401


def test_sign_in_does_not_send_people_elsewhere(bench: Any, client: Any) -> None:
    bench.person.set_password("tide and table")
    bench.person.save(update_fields=["password"])
    form = {"username": "bench", "password": "tide and table"}
    answer = client.post("/sign-in/?next=https://elsewhere.example/", form)
    assert answer.headers["Location"] == "/"


def test_a_session_needs_its_csrf_token_to_write(bench: Any) -> None:
    from rest_framework.test import APIClient

    browser = APIClient(enforce_csrf_checks=True)
    browser.force_login(bench.person)
    refused(browser.post("/api/v1/parts/", {"kind": "lamp"}), 403)
    browser.get("/sign-in/")
    assert not Part.objects.exists()


@pytest.mark.parametrize("form", [{}, {"username": "a\x00b", "password": "\x00"}, {"username": "x" * 9000}])
def test_a_hostile_sign_in_is_the_page_again(client: Any, db: None, form: dict[str, str]) -> None:
    answer = client.post("/sign-in/", form)
    assert answer.status_code == 200
    assert b'role="alert"' in answer.content


def test_a_browser_that_asks_for_the_docs_is_sent_to_sign_in(client: Any, db: None) -> None:
    answer = client.get("/api/v1/docs/", headers={"Accept": "text/html"})
    assert (answer.status_code, answer.headers["Location"]) == (302, "/sign-in/?next=%2Fapi%2Fv1%2Fdocs%2F")


def test_every_address_of_the_inventory_is_in_the_table() -> None:
    from inventory.api.urls import router

    listed = {(method, path.split("?")[0]) for method, path, *_rest in MAY}
    for prefix, viewset, basename in router.registry:
        for route in router.get_routes(viewset):
            lookup = f"{{{basename}}}"
            path = f"/api/v1/{route.url[1:-1].format(prefix=prefix, lookup=lookup, trailing_slash='/')}"
            for method in router.get_method_map(viewset, route.mapping):
                if method in viewset.http_method_names:
                    assert (method, path) in listed
