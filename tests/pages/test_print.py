"""Labels at the page: which, on what sheet, from where on; and what the code on them opens."""

import io
from collections.abc import Callable

import pytest
import segno
from django.test import Client
from django.urls import reverse

from inventory.labels import STOCKS, Label, sheets
from inventory.models import Lot
from tests.factories import BoardFactory, PlaceFactory, stock

Enter = Callable[..., Client]
A4, LETTER = (210, 297), (215.9, 279.4)  # ISO 216; ANSI/ASME Y14.1 size A, 8.5 x 11 inches


@pytest.mark.parametrize("name", STOCKS)
def test_a_sheet_of_labels_lies_on_its_paper_with_the_same_margins(name: str) -> None:
    """Sheets of labels are cut with equal margins (common practice, no source)."""
    each = STOCKS[name]
    if each.on_a_sheet == 1:  # of a roll the paper is the label
        assert (each.left, each.top, each.gap) == (0, 0, 0)
        assert str(each.height) in each.paper
        return
    width, height = LETTER if each.paper == "US Letter" else A4
    wide = each.across * each.width + (each.across - 1) * each.gap
    assert float(wide + 2 * each.left) == pytest.approx(width, abs=0.5)
    assert float(each.down * each.height + 2 * each.top) == pytest.approx(height, abs=0.5)


def label(value: str = "4k7") -> Label:
    return Label(
        value, "4k7 resistor", "came off Tern donor 1 R7", "good", "lot 7", "http://10.0.0.7:8000/lots/7/"
    )


@pytest.mark.parametrize(("start", "first"), [(1, 24), (5, 20), (24, 1), (99, 1), (0, 24)])
def test_a_sheet_that_was_begun_is_used_up(start: int, first: int) -> None:
    made = sheets([label()] * 30, STOCKS["a4-3x8"], start)
    assert sum(cell is not None for cell in made[0]) == first
    assert sum(cell is not None for sheet in made for cell in sheet) == 30
    assert all(len(sheet) <= 24 for sheet in made)


def test_the_code_is_the_address_and_nothing_else() -> None:
    """The drawing of the label against segno's own rendering of the address."""
    out = io.BytesIO()
    segno.make("http://10.0.0.7:8000/lots/7/", error="m", micro=False).save(
        out, kind="svg", xmldecl=False, svgns=False, nl=False, omitsize=True, svgclass="qr"
    )
    assert label().code == out.getvalue().decode()


# --- the page


@pytest.mark.django_db
def test_bags_of_a_drawer_and_all_inside_it_are_labelled(sign_in: Enter) -> None:
    cabinet = PlaceFactory(name="Cabinet A")
    donor = BoardFactory(name="Tern donor 9")
    stock(3, place=cabinet, condition="good")
    inside = PlaceFactory(within=cabinet)
    lifted = stock(1, place=inside, source="board", board=donor, condition="untested").lot
    Lot.objects.filter(pk=lifted.pk).update(origin_ref="R7")
    stock(1)
    page = sign_in("viewer").get(reverse("print"), {"what": "bags", "place": cabinet.pk})
    made = page.context["labels"]
    assert [(each.value, each.where, each.condition) for each in made] == [
        ("4k7", "nobody knows where it came from", "good"), ("4k7", "came off Tern donor 9 R7", "untested"),
    ]  # fmt: skip
    assert made[0].address == f"http://testserver{reverse('lot', args=[Lot.objects.earliest('id').pk])}"


@pytest.mark.django_db
def test_drawers_are_labelled_with_what_they_are_called_and_where_they_stand(sign_in: Enter) -> None:
    cabinet = PlaceFactory(name="Cabinet A")
    for number in (10, 7):
        PlaceFactory(name=f"Drawer {number}", within=cabinet)
    page = sign_in("viewer").get(reverse("print"), {"what": "drawers", "place": cabinet.pk})
    assert [(each.value, each.what) for each in page.context["labels"]] == [  # as one walks past them
        ("Cabinet A", "drawer"), ("Drawer 7", "Cabinet A / Drawer 7"), ("Drawer 10", "Cabinet A / Drawer 10"),
    ]  # fmt: skip


@pytest.mark.django_db
def test_the_code_opens_where_the_phone_finds_the_server(sign_in: Enter) -> None:
    lot = stock().lot
    page = sign_in("viewer").get(reverse("print"), {"lot": lot.pk, "address": "http://10.0.0.7:8000/"})
    assert page.context["labels"][0].address == f"http://10.0.0.7:8000/lots/{lot.pk}/"
    at_home = sign_in("viewer", "wren").get(
        reverse("print"), {"lot": lot.pk, "address": "http://localhost:8000"}
    )
    assert "No phone finds" in at_home.content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "asked",
    [
        {"address": "javascript:alert(1)"}, {"address": "10.0.0.7"}, {"address": "http://"},
        {"address": "http://[::1"}, {"start": "25"}, {"start": "0"},
    ],
)  # fmt: skip
def test_what_does_not_do_is_reported_and_kept_and_nothing_is_printed(
    sign_in: Enter, asked: dict[str, str]
) -> None:
    page = sign_in("viewer").get(reverse("print"), {"lot": stock().lot.pk, **asked})
    assert page.status_code == 400
    assert page.context["sheets"] == []
    name, text = next(iter(asked.items()))
    assert str(page.context[name]) == text


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["lot", "place", "start", "copies", "stock", "what", "address"])
def test_nothing_asked_breaks_the_page(sign_in: Enter, name: str) -> None:
    client, place = sign_in("viewer"), stock().place
    for hostile in ("", "%00", "-1", "9" * 40, "x", "💥", "<script>"):
        answer = client.get(reverse("print"), {"place": place.pk, name: hostile})
        assert answer.status_code in (200, 400), hostile
        assert "<script>" not in answer.content.decode().replace('<script src="', "")


@pytest.mark.django_db
def test_a_lot_and_a_drawer_lead_to_their_labels(workshop: None, sign_in: Enter) -> None:
    client, lot = sign_in("viewer"), Lot.objects.first()
    assert f"{reverse('print')}?lot={lot.pk}" in client.get(reverse("lot", args=[lot.pk])).content.decode()
