"""Every page answers whoever may see it, whatever the address says, and a viewer changes nothing."""

import re
from collections.abc import Callable
from itertools import cycle

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Board, Holding, Lot, Movement
from repairs.models import Job

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]
TOP = (
    "now",
    "read",
    "drawers",
    "boards",
    "jobs",
    "shortages",
    "harvest",
    "buy",
    "what-if",
    "add-many",
    "sheets",
    "more",
)


def every_address() -> list[str]:
    found = [reverse(name) for name in TOP]
    for board in Board.objects.all():
        found += [reverse(name, args=[board.pk]) for name in ("board", "strip", "safe")]
    found += [reverse("job", args=[job.pk]) for job in Job.objects.all()]
    return found + [reverse("lot", args=[lot.pk]) for lot in Lot.objects.all()[:10]]


@pytest.mark.parametrize("role", ["bench", "viewer"])  # what an owner sees, a browser shows: tests/browser
def test_each_role_sees_every_page_of_a_workshop(workshop: None, sign_in: Enter, role: str) -> None:
    """And the browser is ordered to run nothing inside it."""
    client = sign_in(role)
    for address in every_address():
        answer = client.get(address)
        assert answer.status_code == 200, address
        assert "script-src 'self'" in answer.headers["Content-Security-Policy"], address
        page = answer.content.decode()
        for inside in ("style=", "<style", "onclick"):
            assert inside not in page, address


@pytest.mark.parametrize("name", TOP)
def test_an_empty_bench_has_every_page(sign_in: Enter, name: str) -> None:
    assert sign_in("bench").get(reverse(name)).status_code == 200


def test_an_empty_bench_opens_on_three_choices(sign_in: Enter) -> None:
    page = sign_in("bench").get("/").content.decode()
    assert page.count('class="label"') == 3


@pytest.mark.parametrize("name", TOP)
def test_a_stranger_is_asked_to_sign_in(client: Client, db: None, name: str) -> None:
    assert client.get(reverse(name)).headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("name", ["board", "strip", "safe", "job", "lot"])
def test_what_is_not_there_is_not_found(sign_in: Enter, name: str) -> None:
    client = sign_in("bench")
    for pk in (0, 987654, 10**30):
        assert client.get(reverse(name, args=[pk])).status_code == 404


def test_where_nothing_is_the_bench_still_is(sign_in: Enter) -> None:
    """Neither a wrong address nor that of a form leaves anybody on a bare page."""
    client = sign_in("bench")
    for address in ("/lots/987654/", "/nothing/", reverse("undo"), reverse("buy-order")):
        answer = client.get(address)
        assert answer.status_code == (405 if address in (reverse("undo"), reverse("buy-order")) else 404)
        page = answer.content.decode()
        assert 'href="/drawers/"' in page, address  # the tabs
        assert 'name="q"' in page, address


def test_a_form_without_its_token_says_how_to_go_on(sign_in: Enter) -> None:
    client = sign_in("bench")
    client.handler.enforce_csrf_checks = True
    page = client.post(reverse("boards"), {"name": "smuggled", "purpose": "donor"}).content.decode()
    assert "Nothing was changed" in page
    assert "<style" not in page


def test_a_fault_is_shown_on_a_page_of_ours(sign_in: Enter, monkeypatch: pytest.MonkeyPatch) -> None:
    client = sign_in("viewer")
    client.raise_request_exception = False

    def broken(*_: object) -> None:
        raise RuntimeError("a plug fell out")

    monkeypatch.setattr("inventory.pages.drawers.paths", broken)
    answer = client.get(reverse("drawers"))
    assert answer.status_code == 500
    assert "Go back with the browser" in answer.content.decode()


def test_undo_on_the_page_of_a_refused_form_leads_to_a_page(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    refused = client.post(reverse("buy-order"), {"line": "x"}, headers={"Referer": "/shortages/buy/"})
    assert refused["Location"] == "/shortages/buy/#refused"
    here = "http://testserver" + reverse("buy-order")
    after = client.post(reverse("undo"), {}, headers={"Referer": here})
    assert client.get(after["Location"]).status_code == 200


HOSTILE = (
    "",
    "%00",
    "-1",
    "1e9",
    "9" * 40,
    "%F0%9F%92%A5",
    "'%20OR%201=1",
    "%3Cscript%3E",
    "[",
    "?",
    "%FF%FE",
    "x" * 500,
)
QUESTIONS = (
    "q",
    "place",
    "page",
    "condition",
    "marking",
    "band",
    "measured",
    "kind",
    "body",
    "tray",
    "borrow",
    "ref",
    "skip",
)


@pytest.mark.parametrize("name", ["drawers", "read", "shortages", "strip"])
def test_no_question_breaks_a_page(workshop: None, sign_in: Enter, name: str) -> None:
    """Each question once with one thing that nobody means, and all of them at once with each."""
    client = sign_in("bench")
    address = reverse(name, args=[Board.objects.first().pk] if name == "strip" else [])
    asked = [
        f"{question}={hostile}&marking=4k7&q=4k7"
        for question, hostile in zip(QUESTIONS, cycle(HOSTILE), strict=False)
    ]
    asked += ["&".join(f"{question}={hostile}" for question in QUESTIONS) for hostile in HOSTILE]
    for question in asked:
        assert client.get(f"{address}?{question}").status_code < 500, question


def test_what_is_typed_is_never_markup(sign_in: Enter) -> None:
    page = sign_in("bench").get("/drawers/?q=<script>alert(1)</script>").content
    assert b"<script>alert" not in page


def test_a_viewer_changes_nothing(workshop: None, sign_in: Enter) -> None:
    here = Holding.objects.filter(quantity__gt=1, place__type="drawer").first()
    lines = Movement.objects.count()
    answer = sign_in("viewer").post(reverse("move-pieces", args=[here.pk]), {"what": "scrap", "quantity": 1})
    assert answer.status_code == 403
    assert Movement.objects.count() == lines


@pytest.mark.parametrize(
    ("address", "button"),
    [("/read/?marking=4k7", 'name="put"'), ("/shortages/", "Reserve "),
     ("/shortages/buy/", "Mark as ordered"), ("/shortages/buy/", "Mark as received")],
)  # fmt: skip
def test_a_viewer_is_offered_nothing_that_would_be_refused(
    workshop: None, sign_in: Enter, address: str, button: str
) -> None:
    assert re.search(f"<button[^>]*>?[^<]*{button}", sign_in("bench").get(address).content.decode())
    page = sign_in("viewer").get(address).content.decode()
    assert not re.search(f"<button[^>]*>?[^<]*{button}", page)


def test_a_form_without_its_token_is_refused(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    client.handler.enforce_csrf_checks = True
    assert client.post(reverse("boards"), {"name": "smuggled", "purpose": "donor"}).status_code == 403
    assert not Board.objects.filter(name="smuggled").exists()


def test_nothing_is_changed_by_looking(workshop: None, sign_in: Enter) -> None:
    here = Holding.objects.first()
    assert sign_in("bench").get(reverse("move-pieces", args=[here.pk])).status_code == 405


@pytest.mark.parametrize("address", ["/drawers/?q=4k7", "/drawers/?condition=good", "/drawers/"])
def test_more_lots_take_no_more_questions_of_the_database(
    workshop: None, sign_in: Enter, address: str
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client = sign_in("bench")
    client.get(address)
    with CaptureQueriesContext(connection) as few:
        client.get(address)
    some = Lot.objects.filter(condition="good", holdings__quantity__gt=0).first()
    from inventory.ledger import Arrival, Origin, Spot, receive

    place = Holding.objects.filter(place__type="drawer").first().place
    for _each in range(30):
        receive(
            Arrival(
                part=some.part,
                quantity=1,
                to=Spot(place.pk),
                origin=Origin(source="unknown"),
                condition="good",
            ),
            by=None,
        )
    with CaptureQueriesContext(connection) as many:
        client.get(address)
    assert len(many) == len(few)
