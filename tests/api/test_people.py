"""People, keys and the settings of the bench over the API."""

from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.utils import timezone

from inventory.bench_settings import settings_of_bench
from inventory.keys import find, make_key
from inventory.models import AccessKey, ApiCall, SecondFactor
from inventory.roles import give_role, role_of
from inventory.second_factor import offer
from tests.api.test_problems import refused
from tests.factories import PersonFactory

PEOPLE, KEYS, SETTINGS = "/api/v1/people/", "/api/v1/keys/", "/api/v1/settings/"
CHANGES = "/api/v1/access-changes/"


def with_key(client: Any, key: str) -> int:
    return int(client.get("/api/v1/lots/", headers={"Authorization": f"Token {key}"}).status_code)


def test_somebody_new_without_a_role_is_bench(owner: Any) -> None:
    answer = owner.post(PEOPLE, {"name": "wren", "password": "three-clipped-leads"})
    result = answer.json()
    assert (answer.status_code, result["role"], result["active"], result["keys"]) == (201, "bench", True, 0)
    assert "password" not in result
    wren = User.objects.get(username="wren")
    assert (role_of(wren), wren.check_password("three-clipped-leads")) == ("bench", True)


@pytest.mark.parametrize(
    ("sent", "pointer"),
    [({}, "#/name"), ({"name": "a b"}, "#/name"), ({"name": "OWNER"}, "#/name"),
     ({"name": "x" * 151}, "#/name"), ({"name": ["wren"]}, "#/name"),
     ({"name": "wren", "role": "king"}, "#/role"), ({"name": "wren", "password": "short"}, "#/password"),
     ({"name": "wren", "is_superuser": True}, "#/is_superuser")],
)  # fmt: skip
def test_who_cannot_be_is_refused_and_nobody_is_made(owner: Any, sent: dict[str, Any], pointer: str) -> None:
    assert refused(owner.post(PEOPLE, sent), 400)["errors"][0]["pointer"] == pointer
    assert User.objects.count() == 1


def test_a_person_is_changed_with_if_match_and_the_rest_stays(owner: Any) -> None:
    wren = PersonFactory(username="wren")
    give_role(wren, "bench")
    tag = owner.get(f"{PEOPLE}{wren.pk}/").headers["ETag"]
    first = owner.patch(f"{PEOPLE}{wren.pk}/", {"active": False}, headers={"If-Match": tag})
    assert (first.json()["active"], first.json()["role"]) == (False, "bench")
    refused(owner.patch(f"{PEOPLE}{wren.pk}/", {"role": "owner"}, headers={"If-Match": tag}), 412)
    assert role_of(User.objects.get(pk=wren.pk)) == "bench"
    assert [row["name"] for row in owner.get(f"{PEOPLE}?active=false").json()["results"]] == ["wren"]
    assert owner.patch(f"{PEOPLE}{wren.pk}/", {"active": True}).json()["active"]


def test_the_owner_sees_who_changed_what_and_from_where(owner: Any, bench: Any) -> None:
    owner.post(PEOPLE, {"name": "wren", "role": "viewer"})
    wren = User.objects.get(username="wren")
    owner.patch(f"{PEOPLE}{wren.pk}/", {"role": "bench"})
    owner.patch(f"{PEOPLE}{wren.pk}/", {"active": False})
    changes = owner.get(f"{CHANGES}?person=wren").json()
    assert changes["count"] == 3
    assert [(row["person"], row["by"], row["address"]) for row in changes["results"]] == [
        ("wren", owner.person.username, "127.0.0.1")
    ] * 3
    newest = changes["results"][0]
    assert owner.get(f"{CHANGES}{newest['id']}/").json() == newest
    assert owner.get(f"{CHANGES}?since={newest['at'].replace('+', '%2B')}&person=wren").json()["count"] == 1
    refused(owner.get(f"{CHANGES}?since=lately"), 400)
    refused(bench.get(CHANGES), 403)


def test_the_owner_turns_off_the_second_factor_of_another_and_turns_none_on(owner: Any) -> None:
    wren = PersonFactory(username="wren")
    give_role(wren, "bench")
    offer(wren)
    assert not owner.get(f"{PEOPLE}{wren.pk}/").json()["second_factor"]
    SecondFactor.objects.update(since=timezone.now())
    answer = owner.get(f"{PEOPLE}{wren.pk}/")
    assert answer.json()["second_factor"]
    errors = refused(owner.patch(f"{PEOPLE}{wren.pk}/", {"second_factor": True}), 400)["errors"]
    assert errors[0]["pointer"] == "#/second_factor"
    sent, tag = {"second_factor": False}, answer.headers["ETag"]
    assert not owner.patch(f"{PEOPLE}{wren.pk}/", sent, headers={"If-Match": tag}).json()["second_factor"]
    refused(owner.patch(f"{PEOPLE}{wren.pk}/", sent, headers={"If-Match": tag}), 412)
    assert owner.get(f"{CHANGES}?person=wren").json()["results"][0]["what"] == "no second factor any more"


@pytest.mark.parametrize("sent", [{"role": "bench"}, {"active": False}, {"role": "viewer", "active": False}])
def test_the_last_owner_is_neither_demoted_nor_shut_out(owner: Any, sent: dict[str, Any]) -> None:
    result = refused(owner.patch(f"{PEOPLE}{owner.person.pk}/", sent), 409)
    assert result["code"] == "last_owner"
    assert "make somebody else owner first" in result["detail"]
    assert role_of(User.objects.get(pk=owner.person.pk)) == "owner"


def test_a_new_password_with_a_refused_role_is_not_kept(owner: Any) -> None:
    sent = {"password": "three-clipped-leads", "role": "bench"}
    refused(owner.patch(f"{PEOPLE}{owner.person.pk}/", sent), 409)
    assert not User.objects.get(pk=owner.person.pk).check_password("three-clipped-leads")


def test_a_key_is_shown_once_opens_and_is_revoked(bench: Any, stranger: Any) -> None:
    made = bench.post(KEYS, {"name": "scales"})
    key, address = made.json()["key"], made.headers["Location"]
    assert with_key(stranger, key) == 200
    result = bench.get(address)
    assert (result.json()["name"], result.json()["person"]) == ("scales", "bench")
    assert result.json()["used_on"] == timezone.localdate().isoformat()
    assert key not in result.content.decode() + bench.get(KEYS).content.decode()
    assert bench.delete(address).status_code == 204
    assert with_key(stranger, key) == 401


def test_a_key_of_a_name_that_is_there_is_refused(bench: Any) -> None:
    bench.post(KEYS, {"name": "scales"})
    assert refused(bench.post(KEYS, {"name": "scales"}), 409)["code"] == "taken"
    for sent in ({}, {"name": ""}, {"name": "x" * 61}, {"name": None}, {"name": "x", "key": "mine"}):
        refused(bench.post(KEYS, sent), 400)
    assert bench.person.access_keys.count() == 2


def test_nobody_holds_more_keys_than_they_can_keep_track_of(bench: Any) -> None:
    for number in range(49):
        make_key(bench.person, str(number))
    assert refused(bench.post(KEYS, {"name": "one more"}), 409)["code"] == "too_many"


def test_one_sees_and_revokes_ones_own_keys_and_an_owner_everybodys(bench: Any, owner: Any) -> None:
    wren = PersonFactory(username="wren")
    made, key = make_key(wren, "scales")
    assert [row["person"] for row in bench.get(KEYS).json()["results"]] == ["bench"]
    refused(bench.delete(f"{KEYS}{made.pk}/"), 403)
    assert [row["name"] for row in owner.get(f"{KEYS}?person={wren.pk}").json()["results"]] == ["scales"]
    assert owner.delete(f"{KEYS}{made.pk}/").status_code == 204
    assert find(key) is None


def test_no_key_lies_in_the_database(bench: Any) -> None:
    made, key = make_key(bench.person, "scales")
    kept = AccessKey.objects.filter(pk=made.pk).values().get()
    assert not [text for text in map(str, kept.values()) if key in text or text in key[:40] and len(text) > 8]


def test_a_use_is_noted_once_a_day(bench: Any, django_assert_num_queries: Any) -> None:
    made, key = make_key(bench.person, "scales")
    with django_assert_num_queries(2):
        find(key)
    with django_assert_num_queries(1):
        find(key)
    AccessKey.objects.filter(pk=made.pk).update(used_on=timezone.localdate() - timedelta(days=1))
    find(key)
    made.refresh_from_db()
    assert made.used_on == timezone.localdate()


def test_the_owner_sets_the_bench_with_if_match(owner: Any, viewer: Any) -> None:
    before = viewer.get(SETTINGS)
    zone = {"time_zone": settings.TIME_ZONE}
    unset = {"name": "", "era": "", "labels": "", "address": "", "backups": "", "version": 1}
    assert before.json() == {**unset, **zone}
    tag = before.headers["ETag"]
    sent = {"name": "Saltmarsh", "era": "1984", "labels": "a4-3x7", "address": "http://10.0.0.7:8000/"}
    after = owner.patch(SETTINGS, sent, headers={"If-Match": tag})
    assert after.json() == {**sent, "address": "http://10.0.0.7:8000", "backups": "", "version": 2, **zone}
    refused(owner.patch(SETTINGS, {"era": "1979"}, headers={"If-Match": tag}), 412)
    assert owner.patch(SETTINGS, {"era": ""}).json()["name"] == "Saltmarsh"
    assert settings_of_bench().era == ""


@pytest.mark.parametrize(
    ("sent", "pointer"),
    [({"era": "long ago"}, "#/era"), ({"era": "84"}, "#/era"), ({"era": [1984]}, "#/era"),
     ({"labels": "a9"}, "#/labels"), ({"address": "the shed"}, "#/address"),
     ({"address": "javascript:alert(1)"}, "#/address"),
     ({"name": "x" * 61}, "#/name"), ({"name": None}, "#/name"), ({"name": "a\u2028b"}, "#/name"),
     ({"colour": "red"}, "#/colour"), ({"address": "http://[::1"}, "#/address")],
)  # fmt: skip
def test_what_cannot_be_set_is_refused_and_nothing_is(owner: Any, sent: dict[str, Any], pointer: str) -> None:
    result = refused(owner.patch(SETTINGS, {"name": "Saltmarsh", **sent}), 400)
    assert pointer in [error["pointer"] for error in result["errors"]]
    assert settings_of_bench().version == 1


def test_a_key_is_shown_again_to_whoever_lost_the_answer_and_is_not_stored_with_it(bench: Any) -> None:
    first = bench.post("/api/v1/keys/", {"name": "scales"}, HTTP_IDEMPOTENCY_KEY="k1").json()
    assert bench.post("/api/v1/keys/", {"name": "scales"}, HTTP_IDEMPOTENCY_KEY="k1").json() == first
    assert first["key"] not in str(ApiCall.objects.get(key="k1").body)


def test_who_is_shut_out_leaves_no_trace_of_use(bench: Any) -> None:
    AccessKey.objects.update(used_on=None)
    bench.person.is_active = False
    bench.person.save(update_fields=["is_active"])
    assert bench.get("/api/v1/parts/").status_code == 401
    assert AccessKey.objects.get().used_on is None
