"""A refused form comes back as it was typed, with its reason in it, also where no script runs.

What a form sends, and how boxes of one name follow each other: HTML Living Standard, 4.10.21.4
"Constructing the entry list" (whatwg.org), from memory.
"""

from collections.abc import Callable
from html.parser import HTMLParser

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inventory.models import Holding
from inventory.pages.frame import KEPT_FOR, MAX_KEPT
from inventory.pages.refilled import refilled
from tests.factories import stock

Enter = Callable[..., Client]

PAGE = """<main><details><summary>More</summary><form method="post" action="/move/">
<input type="hidden" name="csrfmiddlewaretoken" value="new"><input type="hidden" name="pk" value="7">
<input name="pieces" value="1"><input name="ref" value=""><input name="ref" value="">
<input type="checkbox" name="works" checked><input type="radio" name="how" value="a" checked>
<input type="radio" name="how" value="b"><input type="password" name="word">
<textarea name="note">
old</textarea>
<select name="to"><option>Tray &amp; bin</option><option value="2" selected>Two</option></select>
</form></details><input name="far" form="elsewhere"></main>"""
TYPED = {
    "pk": ["7"], "pieces": ["a lot"], "ref": ["R1", "R2"],
    "how": ["b"], "note": ["\n<b>"], "to": ["Tray & bin"],
}  # fmt: skip


def test_a_fold_within_the_form_is_open_where_something_was_typed_in_it_and_nowhere_else() -> None:
    """Closed, it would hide what each of the other buttons sends along."""
    page = """<main><form method="post" action="/">
<details><summary>Other</summary><input name="line"></details>
<details><summary>Note</summary><textarea name="note">
old</textarea></details></form></main>"""
    html = refilled(page, "/", {"line": ["1N4007 odd"], "note": ["old"]}, "Not understood.")
    assert "<details open><summary>Other" in html
    assert "<details><summary>Note" in html
    assert "<details open><summary>Note" in refilled(page, "/", {"line": [""], "note": ["mine"]}, "No.")


def test_each_box_holds_what_was_typed_and_the_fold_is_open() -> None:
    html = refilled(PAGE, "/move/", TYPED | {"word": ["secret"]}, "How many?")
    assert '<p class="refused" role="alert" id="refused">How many?</p>' in html
    assert "<details open>" in html
    assert '<input name="pieces" value="a lot">' in html
    assert '<input name="ref" value="R1"><input name="ref" value="R2">' in html
    assert '<input type="checkbox" name="works">' in html
    assert '<input type="radio" name="how" value="b" checked>' in html
    assert '<input type="radio" name="how" value="a">' in html
    assert '<textarea name="note">\n\n&lt;b&gt;</textarea>' in html
    assert '<option selected>Tray &amp; bin</option><option value="2">' in html
    assert "secret" not in html
    assert 'value="new"' in html


def test_a_form_of_the_same_address_for_another_thing_is_left_alone() -> None:
    html = refilled(PAGE, "/move/", TYPED | {"pk": ["8"]}, "How many?")
    assert html == PAGE.replace("<main>", '<main><p class="refused" role="alert" id="refused">How many?</p>')


def test_the_reason_that_a_page_gives_over_all_moves_to_its_form() -> None:
    page = (
        '<main><p class="refused" role="alert">No <a href="/">way</a>.</p>'
        '<form method="post"><input name="a"></form></main>'
    )
    assert refilled(page, "/", {"a": ["1"]}) == (
        '<main><form method="post"><p class="refused" role="alert">No <a href="/">way</a>.</p>'
        '<input name="a" value="1"></form></main>'
    )


def test_a_box_outside_belongs_to_the_form_that_it_names() -> None:
    page = '<main><form method="post" id="f" action="/x/"></form><input name="a" form="f"></main>'
    assert '<input name="a" form="f" value="1">' in refilled(page, "/x/", {"a": ["1"]})


@pytest.mark.parametrize("kind", ["one-time-code", "current-password", "section-a New-Password"])
def test_a_code_or_password_is_never_put_back(kind: str) -> None:
    page = f'<main><form method="post"><input name="a" autocomplete="{kind}"></form></main>'
    assert refilled(page, "/", {"a": ["123456"]}) == page


def test_of_several_forms_on_one_address_it_is_the_one_whose_boxes_and_buttons_were_sent() -> None:
    forms = ('<input name="role">', '<input name="note">', '<button name="active" value="0"></button>')
    page = "".join(f'<form method="post">{form}</form>' for form in forms)
    why = '<p class="refused" role="alert" id="refused">No.</p>'
    assert refilled(f"<main>{page}</main>", "/", {"note": ["x"]}, "No.") == (
        f"<main>{page}</main>".replace('<input name="note">', f'{why}<input name="note" value="x">')
    )
    assert f'{why}<button name="active"' in refilled(f"<main>{page}</main>", "/", {"active": ["0"]}, "No.")


def test_a_hidden_box_of_the_same_name_takes_its_turn() -> None:
    page = (
        '<form method="post"><input type="hidden" name="a" value="1"><input name="a"><input name="a"></form>'
    )
    shown = refilled(page, "/", {"a": ["1", "2", "3"]})
    assert shown.endswith('<input name="a" value="2"><input name="a" value="3"></form>')


def test_a_list_of_which_nothing_was_picked_stays_empty() -> None:
    page = '<form method="post"><select name="a" multiple><option selected>1</option></select></form>'
    assert "selected" not in refilled(page, "/", {"b": ["2"]})


def test_a_word_that_counts_the_work_does_not_make_it_another_form() -> None:
    page = '<form method="post"><input type="hidden" name="watch" value="of now"><input name="a"></form>'
    assert 'value="x"' in refilled(page, "/", {"watch": ["of then"], "a": ["x"]})


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=60))
def test_whatever_is_typed_is_text_and_nothing_else(typed: str) -> None:
    met: list[tuple[str, str | None]] = []

    class Read(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            met.append((tag, dict(attrs).get("value")))

    Read().feed(refilled('<main><form method="post"><input name="a"></form></main>', "/", {"a": [typed]}))
    assert met == [("main", None), ("form", None), ("input", typed)]


@pytest.mark.django_db
def test_what_is_refused_by_leading_back_is_filled_once(sign_in: Enter) -> None:
    client = sign_in("bench")
    held = stock(3)
    page = reverse("lot", args=[held.lot_id])
    typed = {"person": "Ülo 🐦", "quantity": "9999", "reason": "x" * 5000, "due": "2027-01-15"}
    answer = client.post(reverse("lend", args=[held.pk]), {"next": page, **typed})
    assert answer.status_code == 302
    assert answer.headers["Location"] == f"{page}#refused"
    shown = client.get(page).content.decode()
    assert 'id="refused"' in shown
    assert "Ülo 🐦" in shown
    assert "x" * 5000 in shown
    assert "Ülo" not in client.get(page).content.decode()


@pytest.mark.django_db
def test_a_link_of_a_refused_form_leads_to_the_page_that_it_stood_on(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    address = reverse("buy-order")
    assert client.get(f"{address}?page=2").status_code == 405
    line = client.get(reverse("buy")).context["items"][0]["line"]
    came_from = {"HTTP_REFERER": f"http://testserver{reverse('buy')}"}
    refused = client.post(address, {"line": line, "quantity": "some", "price": "1"}, **came_from)
    assert refused.status_code == 400
    assert 'name="quantity" min="1" value="some"' in refused.content.decode()
    for _press in range(2):
        assert client.get(f"{address}?page=2").headers["Location"] == f"{reverse('buy')}?page=2"


def refuse_a_loan(client: Client, page: str, held: Holding, reason: str = "to try") -> None:
    typed = {"person": "Wren", "quantity": "9999", "reason": reason}
    assert client.post(reverse("lend", args=[held.pk]), {"next": page, **typed}).status_code == 302


WHY = 'id="refused">'


@pytest.mark.django_db
def test_why_it_was_refused_is_said_on_the_page_that_one_was_led_on_to(sign_in: Enter) -> None:
    client, held = sign_in("bench"), stock(3)
    page = reverse("lot", args=[held.lot_id])
    refuse_a_loan(client, page, held)
    other = client.get(reverse("drawers")).content.decode()
    assert WHY in other
    assert "Wren" not in other
    assert WHY not in client.get(page).content.decode()


@pytest.mark.django_db
def test_a_redirect_or_a_missing_page_does_not_swallow_it(sign_in: Enter) -> None:
    client, held = sign_in("bench"), stock(3)
    refuse_a_loan(client, reverse("lot", args=[999_999]), held)
    assert client.get(reverse("lot", args=[999_999])).status_code == 404
    assert WHY in client.get(reverse("drawers")).content.decode()


@pytest.mark.django_db
def test_what_was_refused_is_forgotten_after_ten_minutes(sign_in: Enter) -> None:
    client, held = sign_in("bench"), stock(3)
    page = reverse("lot", args=[held.lot_id])
    refuse_a_loan(client, page, held)
    kept = client.session
    kept["refused"] = {**kept["refused"], "at": kept["refused"]["at"] - KEPT_FOR - 1}
    kept.save()
    assert WHY not in client.get(page).content.decode()
    assert "refused" not in client.session


@pytest.mark.django_db
def test_a_form_that_is_too_long_to_wait_still_says_why(sign_in: Enter) -> None:
    client, held = sign_in("bench"), stock(3)
    page = reverse("lot", args=[held.lot_id])
    refuse_a_loan(client, page, held, reason="x" * MAX_KEPT)
    assert "refused" not in client.session
    assert "It was too long to be kept here." in client.get(page).content.decode()
