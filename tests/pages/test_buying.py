"""The buy list: a line is ordered once, what came is in a drawer, and what cannot be read is kept."""

import re
from collections.abc import Callable
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from inventory.models import Holding, Place
from repairs.models import Purchase
from tests.sheets.books import saved

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def a_line(client: Client) -> dict:
    return client.get(reverse("buy")).context["items"][0]


def test_a_line_is_ordered_and_leaves_the_list(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    line = a_line(client)
    sent = {"line": line["line"], "quantity": 5, "price": "0,12", "bought_from": "the counter in Saltmarsh"}
    client.post(reverse("buy-order"), sent)
    ordered = Purchase.objects.filter(state="ordered").latest("id")
    assert (ordered.quantity, ordered.price) == (5, Decimal("0.12"))
    assert ordered.part.spec.spec == line["item"].spec
    assert line["line"] not in {each["line"] for each in client.get(reverse("buy")).context["items"]}
    assert "may have been ordered" in client.post(reverse("buy-order"), sent, follow=True).content.decode()
    assert Purchase.objects.filter(state="ordered", part=ordered.part).count() == 1


@pytest.mark.parametrize(
    "bad", [{"quantity": "0"}, {"quantity": "some"}, {"price": "cheap"}, {"price": "-1"}]
)
def test_what_cannot_be_read_is_kept_on_the_page(workshop: None, sign_in: Enter, bad: dict) -> None:
    client = sign_in("bench")
    orders = Purchase.objects.count()
    sent = {
        "line": a_line(client)["line"],
        "quantity": "7",
        "price": "0.3",
        "bought_from": "Wren & sons",
        **bad,
    }
    answer = client.post(reverse("buy-order"), sent)
    assert answer.status_code == 400
    assert "Wren &amp; sons" in answer.content.decode()
    assert Purchase.objects.count() == orders


def test_a_line_that_is_none_orders_nothing(workshop: None, sign_in: Enter) -> None:
    client, orders = sign_in("bench"), Purchase.objects.count()
    assert client.post(reverse("buy-order"), {"line": "nonsense", "quantity": 1}).status_code == 302
    assert Purchase.objects.count() == orders


def test_what_came_is_in_a_drawer_and_the_rest_on_its_way(workshop: None, sign_in: Enter) -> None:
    client, drawer = sign_in("bench"), Place.objects.filter(type="drawer").first()
    ordered = Purchase.objects.filter(state="ordered", quantity__gt=1).first()
    expected = ordered.quantity
    sent = {"quantity": 1, "to": drawer.pk}
    client.post(reverse("buy-receive", args=[ordered.pk]), sent)
    ordered.refresh_from_db()
    assert ordered.state == "received"
    assert Holding.objects.get(lot=ordered.lot).place == drawer
    assert Purchase.objects.get(part=ordered.part, state="ordered").quantity == expected - 1
    client.post(reverse("buy-receive", args=[ordered.pk]), sent)
    assert Holding.objects.get(lot=ordered.lot).quantity == 1


def test_how_many_came_is_a_number(workshop: None, sign_in: Enter) -> None:
    client, drawer = sign_in("bench"), Place.objects.filter(type="drawer").first()
    ordered = Purchase.objects.filter(state="ordered").first()
    for typed in ("", "0", "-3", "many"):
        client.post(reverse("buy-receive", args=[ordered.pk]), {"quantity": typed, "to": drawer.pk})
    ordered.refresh_from_db()
    assert ordered.state == "ordered"


def test_what_does_not_come_is_called_off(workshop: None, sign_in: Enter) -> None:
    ordered = Purchase.objects.filter(state="ordered").first()
    sign_in("bench").post(reverse("buy-cancel", args=[ordered.pk]))
    assert not Purchase.objects.filter(pk=ordered.pk).exists()


def test_the_list_is_taken_home_marked_and_imported_on_the_page_of_sheets(
    workshop: None, sign_in: Enter, settings: Any, tmp_path: Path
) -> None:
    settings.HOME = tmp_path
    client, orders = sign_in("bench"), Purchase.objects.count()
    assert "/api/v1/exports/buy.xlsx" in client.get(reverse("sheets")).content.decode()
    book = load_workbook(BytesIO(b"".join(client.get("/api/v1/exports/buy.xlsx").streaming_content)))
    sheet = book["Buy"]
    state = next(cell.column for cell in sheet[1] if cell.value == "State")
    sheet.cell(2, state, "ordered")
    marked = SimpleUploadedFile("buy.xlsx", saved(book).getvalue())
    preview = client.post(reverse("sheets"), {"as": "buy", "file": marked})
    assert preview.context["report"].created == 1
    assert Purchase.objects.count() == orders
    client.post(reverse("import-sheet"), {"kept": preview.context["kept"].word})
    assert Purchase.objects.count() == orders + 1
    sheet.cell(3, state, "perhaps")
    bad = client.post(
        reverse("sheets"), {"as": "buy", "file": SimpleUploadedFile("b.xlsx", saved(book).read())}
    )
    assert bad.status_code == 422
    assert "expected one of ordered, received" in bad.content.decode()


def test_a_viewer_buys_nothing(workshop: None, sign_in: Enter) -> None:
    client, orders = sign_in("viewer"), Purchase.objects.count()
    ordered = Purchase.objects.filter(state="ordered").first()
    sent = {"line": a_line(client)["line"], "quantity": 1}
    assert client.post(reverse("buy-order"), sent).status_code == 403
    for name in ("buy-receive", "buy-cancel"):
        assert client.post(reverse(name, args=[ordered.pk])).status_code == 403
    assert Purchase.objects.count() == orders


def test_a_line_that_was_mended_is_ordered_and_leads_back_to_the_list(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    line = client.get(reverse("buy")).context["items"][0]["line"]
    assert client.post(reverse("buy-order"), {"line": line, "quantity": "0"}).status_code == 400
    there = {"Referer": "http://testserver" + reverse("buy-order")}
    done = client.post(reverse("buy-order"), {"line": line, "quantity": "1"}, headers=there)
    assert done["Location"] == reverse("buy")


def test_what_came_is_taken_in_once_however_often_it_is_pressed(workshop: None, sign_in: Enter) -> None:
    client, drawer = sign_in("bench"), Place.objects.filter(type="drawer").first()
    ordered = Purchase.objects.filter(state="ordered", quantity__gt=1).first()
    expected = ordered.quantity
    page = client.get(reverse("buy")).content.decode()
    form = page[page.index(reverse("buy-receive", args=[ordered.pk])) :].partition("</form>")[0]
    token = re.search(r'name="once" value="(\w+)"', form).group(1)
    for _press in range(2):
        sent = {"quantity": 1, "to": drawer.pk, "once": token}
        client.post(reverse("buy-receive", args=[ordered.pk]), sent)
    left = Purchase.objects.filter(part=ordered.part, state="ordered")
    assert sum(each.quantity for each in left) == expected - 1


def test_what_came_goes_somewhere(workshop: None, sign_in: Enter) -> None:
    client, ordered = sign_in("bench"), Purchase.objects.filter(state="ordered").first()
    sent = {"quantity": 1, "to": "987654"}
    result = client.post(reverse("buy-receive", args=[ordered.pk]), sent, follow=True).content.decode()
    assert "Not found" in result
    ordered.refresh_from_db()
    assert ordered.state == "ordered"


def on_its_way() -> Purchase:
    ordered = Purchase.objects.filter(state="ordered").first()
    assert ordered is not None
    return ordered


@pytest.mark.parametrize("came", [1, 70_000])
def test_what_came_by_mistake_is_on_its_way_again_as_it_was(
    workshop: None, sign_in: Enter, came: int
) -> None:
    client, ordered, drawer = sign_in("bench"), on_its_way(), Place.objects.filter(type="drawer").first()
    assert drawer is not None
    before = sum(Purchase.objects.filter(state="ordered").values_list("quantity", flat=True))
    page = client.post(
        reverse("buy-receive", args=[ordered.pk]), {"quantity": came, "to": drawer.pk}, follow=True
    )
    ordered.refresh_from_db()
    assert (ordered.state, ordered.quantity) == ("received", came)
    line = re.search(r'name="line" value="(\d+)"', page.content.decode())
    assert line is not None, "the page offers to undo it"
    client.post(reverse("undo"), {"line": line[1]})
    assert sum(Purchase.objects.filter(state="ordered").values_list("quantity", flat=True)) == before


def test_how_many_came_stays_where_it_was_typed(workshop: None, sign_in: Enter) -> None:
    client, ordered = sign_in("bench"), on_its_way()
    drawer = Place.objects.filter(type="drawer").last()
    assert drawer is not None
    address = reverse("buy-receive", args=[ordered.pk])
    answer = client.post(address, {"quantity": "a few", "to": drawer.pk})
    assert answer.status_code == 400
    form = answer.content.decode().partition(f'action="{address}"')[2].partition("</form>")[0]
    assert 'value="a few"' in form
    assert "Give a whole number of pieces" in form
    assert f'name="to" value="{drawer.pk}' in form


def test_what_is_refused_on_a_filtered_list_stands_on_that_list_again(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    client.post(reverse("buy-order"), {"line": a_line(client)["line"], "quantity": 5, "price": "1"})
    ordered = Purchase.objects.filter(state="ordered").latest("id")
    address = reverse("buy-receive", args=[ordered.pk])
    page = client.get(reverse("buy"), {"friends": "first", "postage": "3", "page": "1"}).content.decode()
    assert f'action="{address}?friends=first&amp;postage=3"' in page
    filtered = f"{address}?friends=first&postage=3"
    refused = client.post(filtered, {"quantity": "0"})
    assert (refused.status_code, refused.context["friends"]) == (400, "first")
    drawer = Place.objects.filter(type="drawer").first()
    took = client.post(
        filtered, {"quantity": 5, "to": drawer.pk}, HTTP_REFERER=f"http://testserver{filtered}"
    )
    assert took["Location"] == f"{reverse('buy')}?friends=first&postage=3"
