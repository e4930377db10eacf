"""Who gets in: a limit on guessing, the first person of a new bench, the settings and the demo."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from inventory.bench_settings import settings_of_bench
from inventory.guessing import MAX_FAILURES_OF_A_NAME, MAX_FAILURES_OF_AN_ADDRESS
from inventory.models import Board, Place
from inventory.pages import entrance
from inventory.people import add_person
from inventory.roles import role_of

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]
SIGN_IN = "/sign-in/"


def guess(client: Client, name: str, password: str, address: str = "192.0.2.7") -> int:
    return client.post(SIGN_IN, {"username": name, "password": password}, REMOTE_ADDR=address).status_code


def test_too_many_wrong_passwords_must_wait_and_nobody_else_is_kept_out(client: Client) -> None:
    for name in ("robin", "wren"):
        User.objects.create_user(name, password="three-clipped-leads")
    for _guess in range(MAX_FAILURES_OF_A_NAME):
        assert guess(client, "robin", "wrong") == 200
    assert guess(client, "Robin", "wrong") == 429  # however it is written
    assert guess(client, "robin", "three-clipped-leads") == 429
    assert guess(Client(), "wren", "three-clipped-leads") == 302
    assert guess(Client(), "robin", "three-clipped-leads", address="192.0.2.8") == 302


@pytest.mark.parametrize("typed", [" robin", "robin  ", "ｒｏｂｉｎ", "ROBIN", "\u3000robin"])
def test_a_name_counts_as_the_one_that_it_signs_in_with(client: Client, typed: str) -> None:
    """NFKC and spaces as Django's own form takes them: full-width letters are the same letters."""
    for _guess in range(MAX_FAILURES_OF_A_NAME // 2):
        assert guess(client, "robin", "wrong") == 200
        assert guess(client, typed, "wrong") == 200
    assert guess(client, "robin", "wrong") == 429
    assert guess(client, typed, "wrong") == 429


def test_an_address_has_a_limit_whatever_the_names(client: Client) -> None:
    User.objects.create_user("robin", password="three-clipped-leads")
    for number in range(MAX_FAILURES_OF_AN_ADDRESS):
        assert guess(client, f"somebody-{number}", "wrong") == 200
    assert guess(client, "robin", "three-clipped-leads") == 429
    assert guess(Client(), "robin", "three-clipped-leads", address="192.0.2.8") == 302


def test_the_word_of_a_new_bench_cannot_be_guessed_at_leisure(client: Client, word: str) -> None:
    sent = {"word": "0000-0000-0000", "username": "robin", "password": "three-clipped-leads"}
    for _guess in range(MAX_FAILURES_OF_A_NAME):
        assert client.post(reverse("first-person"), sent).status_code == 400
    answer = client.post(reverse("first-person"), {**sent, "word": word})
    assert answer.status_code == 429
    assert "wait 10 minutes" in answer.content.decode()


@pytest.mark.parametrize(
    "password", [" " * 8, "robin1234", "Robin-1", "aaaaaaaaaaaa", "2026112911", "abababab"]
)
def test_a_password_that_is_guessed_at_once_is_refused(password: str) -> None:
    with pytest.raises(ValidationError):
        add_person("robin", password=password)
    assert not User.objects.exists()


def test_the_right_password_clears_the_count(client: Client) -> None:
    User.objects.create_user("robin", password="three-clipped-leads")
    for _guess in range(MAX_FAILURES_OF_A_NAME - 1):
        guess(client, "robin", "wrong")
    assert guess(client, "robin", "three-clipped-leads") == 302
    assert guess(Client(), "robin", "wrong") == 200


@pytest.mark.parametrize("name", ["", "\0", "x" * 5000, "<script>"])
def test_no_name_breaks_the_entrance(client: Client, name: str) -> None:
    User.objects.create_user("robin", password="three-clipped-leads")
    assert guess(client, name, "wrong") == 200


@pytest.fixture
def word(settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """What the server printed when it was started on a bench that nobody owns."""
    monkeypatch.setattr(entrance, "WORD", tmp_path / "first-word")
    return entrance.first_word()


def test_the_first_person_owns_the_bench_and_nobody_after(client: Client, word: str) -> None:
    assert client.get(SIGN_IN)["Location"] == reverse("first-person")
    sent = {"word": word.upper(), "username": "robin", "password": "three-clipped-leads"}
    assert client.post(reverse("first-person"), sent)["Location"] == "/"
    assert role_of(User.objects.get()) == "owner"
    assert client.get("/").status_code == 200
    Client().post(reverse("first-person"), {**sent, "username": "wren"})
    assert User.objects.count() == 1
    assert not entrance.WORD.exists()


def test_the_first_page_says_where_the_setup_code_is(client: Client, word: str) -> None:
    page = client.get(reverse("first-person")).content.decode()
    wrong = client.post(reverse("first-person"), {"word": "no"}).content.decode()
    assert "Setup code" in page
    assert "the server showed it as it started, in its terminal or its log" in page
    assert "That is not the setup code." in wrong
    assert "window" not in page


@pytest.mark.parametrize("from_where", [{"REMOTE_ADDR": "127.0.0.1"}, {"HTTP_X_FORWARDED_FOR": "127.0.0.1"}])
@pytest.mark.parametrize("typed", ["", "0000-0000-0000", "é"])
def test_nobody_is_first_without_the_word_wherever_they_come_from(
    client: Client, word: str, typed: str, from_where: dict[str, str]
) -> None:
    sent = {"word": typed, "username": "robin", "password": "three-clipped-leads"}
    answer = client.post(reverse("first-person"), sent, **from_where)
    assert answer.status_code == 400
    assert word not in answer.content.decode()
    assert not User.objects.exists()


def test_where_no_server_printed_a_word_nobody_is_first(
    client: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(entrance, "WORD", tmp_path / "first-word")
    assert client.get(reverse("first-person"))["Location"] == reverse("sign-in")
    assert client.get(SIGN_IN).status_code == 200


def test_the_word_is_the_same_however_often_the_server_starts_and_only_its_owner_reads_it(word: str) -> None:
    assert entrance.first_word() == word
    assert entrance.WORD.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    "sent",
    [{}, {"username": "robin", "password": "short"}, {"password": "long-enough-1"}, {"username": "a b"}],
)
def test_a_first_person_who_cannot_be_sees_why(client: Client, word: str, sent: dict[str, str]) -> None:
    answer = client.post(reverse("first-person"), {"word": word, **sent})
    assert answer.status_code == 400
    assert 'role="alert"' in answer.content.decode()
    assert not User.objects.exists()


def test_the_owner_sets_the_bench_and_pages_bear_its_name(sign_in: Enter) -> None:
    owner = sign_in("owner")
    sent = {"name": "Saltmarsh", "era": "1982", "labels": "a4-3x7", "address": "http://10.0.0.7:8000/"}
    owner.post(reverse("bench-settings"), sent)
    kept = settings_of_bench()
    assert (kept.name, kept.era, kept.labels, kept.address) == (
        "Saltmarsh", "1982", "a4-3x7", "http://10.0.0.7:8000",
    )  # fmt: skip
    assert "– Saltmarsh</title>" in owner.get("/drawers/").content.decode()
    assert owner.get(reverse("print")).context["stock"].name == "a4-3x7"
    assert 'value="1982"' in owner.get(reverse("read")).content.decode()


@pytest.mark.parametrize("sent", [{"era": "long ago"}, {"address": "the shed"}, {"labels": "a9"}])
def test_a_setting_that_is_none_is_refused_in_its_field(sign_in: Enter, sent: dict[str, str]) -> None:
    answer = sign_in("owner").post(reverse("bench-settings"), sent)
    assert answer.status_code == 400
    assert "wrong" in answer.content.decode()
    assert settings_of_bench().name == ""


@pytest.mark.parametrize("name", ["bench-settings", "load-demo"])
def test_only_the_owner_sets_the_bench_or_loads_the_demo(sign_in: Enter, name: str) -> None:
    assert sign_in("bench").post(reverse(name), {"name": "mine"}).status_code == 403


def test_the_demo_comes_into_an_empty_bench_only(sign_in: Enter) -> None:
    owner = sign_in("owner")
    drawer = Place.objects.create(name="My drawer", type="drawer")
    answer = owner.post(reverse("load-demo"), follow=True)
    assert "empty bench only" in answer.content.decode()
    assert not Board.objects.exists()
    drawer.delete()
    owner.post(reverse("load-demo"))
    boards = Board.objects.count()
    assert boards
    owner.post(reverse("load-demo"))
    assert Board.objects.count() == boards
