"""People, keys and what Rehome says of itself."""

from collections.abc import Callable

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from inventory.keys import find, make_key
from inventory.models import AccessChange, AccessKey
from inventory.roles import give_role, role_of
from repairs.proving.cautions import DEFER, EVERY

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]
NEW = {"username": "wren", "password": "three-clipped-leads"}


def somebody(name: str = "wren", role: str = "bench") -> User:
    person = User.objects.create_user(name, password="three-clipped-leads")
    give_role(person, role)
    return person


def test_the_owner_lets_somebody_in_who_may_do_the_work_of_the_bench(sign_in: Enter) -> None:
    owner = sign_in("owner")
    page = owner.get(reverse("people")).content.decode()
    assert '<option value="bench" selected>' in page
    owner.post(reverse("people"), NEW)
    assert role_of(User.objects.get(username="wren")) == "bench"
    assert Client().post("/sign-in/", NEW).status_code == 302


@pytest.mark.parametrize(
    "wrong",
    [{"username": "page-owner"}, {"username": "Page-Owner"}, {"username": "two words"}, {"username": ""},
     {"username": "x" * 151}, {"password": "short"}, {"password": ""}, {"role": "king"}],
)  # fmt: skip
def test_who_cannot_be_let_in_is_reported_beside_what_was_typed(
    sign_in: Enter, wrong: dict[str, str]
) -> None:
    answer = sign_in("owner").post(reverse("people"), {**NEW, **wrong})
    assert answer.status_code == 400
    assert 'class="wrong"' in answer.content.decode()
    assert User.objects.count() == 1


@pytest.mark.parametrize("role", ["bench", "viewer"])
def test_people_are_the_owners_alone(sign_in: Enter, role: str) -> None:
    person = somebody()
    client = sign_in(role)
    for address in (reverse("people"), reverse("person", args=[person.pk])):
        assert client.get(address).status_code == 403
        assert client.post(address, {**NEW, "role": "owner", "active": "0"}).status_code == 403
    person.refresh_from_db()
    assert (role_of(User.objects.get(pk=person.pk)), person.is_active) == ("bench", True)
    assert reverse("people") not in client.get(reverse("more")).content.decode()


def test_the_list_says_who_may_do_what_when_they_were_seen_and_their_keys(sign_in: Enter) -> None:
    person = somebody()
    _made, key = make_key(person, "scales")
    owner = sign_in("owner")
    assert "never seen yet" in owner.get(reverse("people")).content.decode()
    Client(headers={"Authorization": f"Token {key}"}).get("/api/v1/lots/")
    page = " ".join(owner.get(reverse("people")).content.decode().split())
    row = page[page.index("wren") :]
    for result in (">bench<", "last seen", "1 key<"):
        assert result in row


def test_a_role_is_changed_and_changed_back(sign_in: Enter) -> None:
    person, owner = somebody(), sign_in("owner")
    for role in ("viewer", "owner", "bench"):
        owner.post(reverse("person", args=[person.pk]), {"role": role})
        assert role_of(User.objects.get(pk=person.pk)) == role


@pytest.mark.parametrize("sent", [{"role": "viewer"}, {"role": "bench"}, {"active": "0"}])
def test_the_bench_is_never_left_without_an_owner(sign_in: Enter, sent: dict[str, str]) -> None:
    owner = sign_in("owner")
    away = somebody("wren", "owner")
    away.is_active = False
    away.save(update_fields=["is_active"])  # an owner who cannot sign in owns nothing
    me = User.objects.get(username="page-owner")
    answer = owner.post(reverse("person", args=[me.pk]), sent, follow=True)
    assert "make somebody else owner first" in answer.content.decode()
    me = User.objects.get(pk=me.pk)
    assert (role_of(me), me.is_active) == ("owner", True)
    owner.post(reverse("person", args=[away.pk]), {"active": "1"})
    owner.post(reverse("person", args=[me.pk]), sent)
    me = User.objects.get(pk=me.pk)
    assert (role_of(me), me.is_active) != ("owner", True)


def test_who_is_shut_out_is_out_at_once_with_every_key_and_comes_back(sign_in: Enter) -> None:
    person, owner = somebody(), sign_in("owner")
    _made, key = make_key(person, "scales")
    theirs = Client()
    theirs.force_login(person)
    program = Client(headers={"Authorization": f"Token {key}"})
    assert (theirs.get("/").status_code, program.get("/api/v1/lots/").status_code) == (200, 200)
    owner.post(reverse("person", args=[person.pk]), {"active": "0"})
    assert (theirs.get("/").status_code, program.get("/api/v1/lots/").status_code) == (302, 401)
    assert Client().post("/sign-in/", NEW).status_code == 200
    assert "shut out" in owner.get(reverse("people")).content.decode()
    owner.post(reverse("person", args=[person.pk]), {"active": "1"})
    assert (Client().post("/sign-in/", NEW).status_code, program.get("/api/v1/lots/").status_code) == (
        302,
        200,
    )


def test_a_forgotten_password_is_given_anew(sign_in: Enter) -> None:
    person, owner = somebody(), sign_in("owner")
    short = owner.post(reverse("person", args=[person.pk]), {"password": "short"})
    assert (short.status_code, "too short" in short.content.decode()) == (400, True)
    owner.post(reverse("person", args=[person.pk]), {"password": "four-clipped-leads"})
    assert Client().post("/sign-in/", {**NEW, "password": "four-clipped-leads"}).status_code == 302
    me = User.objects.get(username="page-owner")
    owner.post(reverse("person", args=[me.pk]), {"password": "five-clipped-leads"})
    assert owner.get("/").status_code == 200  # whoever changes their own goes on


def test_one_changes_ones_own_password_knowing_the_old(sign_in: Enter) -> None:
    client = sign_in("viewer")
    me = User.objects.get(username="page-viewer")
    me.set_password("three-clipped-leads")
    me.save(update_fields=["password"])
    client.force_login(me)
    elsewhere = Client()
    elsewhere.force_login(me)
    address = reverse("own-password")
    for old, new in (("wrong", "four-clipped-leads"), ("three-clipped-leads", "short"), ("", "")):
        answer = client.post(address, {"old": old, "new": new})
        assert (answer.status_code, 'class="wrong"' in answer.content.decode()) == (400, True)
    client.post(address, {"old": "three-clipped-leads", "new": "four-clipped-leads"})
    assert User.objects.get(pk=me.pk).check_password("four-clipped-leads")
    assert (client.get("/").status_code, elsewhere.get("/").status_code) == (200, 302)


def test_a_key_is_shown_once_and_opens_until_it_is_revoked(sign_in: Enter) -> None:
    client = sign_in("viewer")
    answer = client.post(reverse("keys"), {"name": "the scales in the shed"})
    key = answer.context["key"]
    assert answer.headers["Cache-Control"] == "no-store"
    assert key in answer.content.decode()
    page = client.get(reverse("keys")).content.decode()
    assert "the scales in the shed" in page
    assert "never used" in page
    assert key not in page
    program = Client(headers={"Authorization": f"Token {key}"})
    assert program.get("/api/v1/lots/").status_code == 200
    assert "last used" in client.get(reverse("keys")).content.decode()
    client.post(reverse("revoke-key", args=[AccessKey.objects.get().pk]))
    assert program.get("/api/v1/lots/").status_code == 401


def test_two_keys_of_one_name_are_refused_and_so_is_none(sign_in: Enter) -> None:
    client = sign_in("bench")
    client.post(reverse("keys"), {"name": "scales"})
    for name in ("scales", "", "\0", "a\nb"):
        answer = client.post(reverse("keys"), {"name": name})
        assert (answer.status_code, 'class="wrong"' in answer.content.decode()) == (400, True)
    assert AccessKey.objects.count() == 1


def test_another_persons_key_is_revoked_by_an_owner_alone(sign_in: Enter) -> None:
    made, key = make_key(somebody(), "scales")
    assert sign_in("bench").post(reverse("revoke-key", args=[made.pk])).status_code == 403
    assert find(key)
    owner = sign_in("owner")
    assert "scales" in owner.get(reverse("person", args=[made.person_id])).content.decode()
    assert owner.post(reverse("revoke-key", args=[made.pk])).status_code == 302
    assert find(key) is None


def test_about_has_every_caution_and_where_the_data_lies(sign_in: Enter) -> None:
    from django.conf import settings
    from django.utils.html import escape

    page = sign_in("owner").get(reverse("about")).content.decode()
    for caution in EVERY:
        assert escape(caution.text) in page
    assert DEFER in page
    assert str(settings.HOME) in page
    assert str(settings.HOME) not in sign_in("viewer").get(reverse("about")).content.decode()


# The steps of the bench at which something hurts (common practice, no source).
STEPS = (
    "mains", "Picture tubes", "Microwave", "Soldering", "Solvents", "Lithium", "NiCd", "oil capacitors",
    "Mercury", "Asbestos", "Selenium", "Beryllia",
)  # fmt: skip


@pytest.mark.parametrize("step", STEPS)
def test_each_step_at_which_something_hurts_is_named(sign_in: Enter, step: str) -> None:
    assert step in sign_in("viewer").get(reverse("about")).content.decode()


def test_who_gave_whom_what_is_recorded_with_the_change(sign_in: Enter) -> None:
    owner = sign_in("owner")
    owner.post(reverse("people"), NEW, REMOTE_ADDR="192.0.2.7")
    wren = User.objects.get(username="wren")
    owner.post(reverse("person", args=[wren.pk]), {"role": "viewer"})
    owner.post(reverse("person", args=[wren.pk]), {"password": "four-bent-pins"})
    owner.post(reverse("person", args=[wren.pk]), {"active": "0"})
    made, key = make_key(wren, "scales")
    owner.post(reverse("revoke-key", args=[made.pk]))
    kept = list(AccessChange.objects.order_by("id").values_list("person", "what", "by", "address"))
    assert kept[0] == ("wren", "let in as bench, with a password", "page-owner", "192.0.2.7")
    assert [what for _person, what, *_ in kept[1:]] == [
        "viewer instead of bench", "a new password", "shut out", "the key scales was made",
        "the key scales was revoked",
    ]  # fmt: skip
    assert kept[4][2].startswith("command of ")
    page = owner.get(reverse("people")).content.decode()
    assert "viewer instead of bench" in page
    assert key not in page
    assert "four-bent-pins" not in page
