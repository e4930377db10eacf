"""A bench that has no drawer yet takes the first piece all the same: into a tray that is made for it."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory.boards import survey
from inventory.models import Holding, Place
from tests.factories import BoardFactory, DesignFactory, spec

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def test_the_first_piece_that_is_lifted_lies_in_a_tray_of_its_own(sign_in: Enter) -> None:
    client = sign_in("bench")
    donor = BoardFactory(design=DesignFactory(positions={"R1": spec(), "R2": spec()}), purpose="donor")
    survey(donor, by=None)
    Place.objects.filter(type__in=["drawer", "tray"], holdings=None).delete()
    page = reverse("strip", args=[donor.pk])
    assert "Tray 1, a new one" in client.get(page).content.decode()
    for ref in ("R1", "R2"):
        client.post(page, {"ref": ref, "judge": "good", "tray": client.get(page).context["trays"][0][0]})
    [tray] = Place.objects.filter(type__in=["drawer", "tray"])
    assert (tray.name, tray.type) == ("Tray 1", "tray")
    assert Holding.objects.filter(place=tray).count() == 2


def test_where_there_are_drawers_one_of_them_is_picked(sign_in: Enter) -> None:
    client = sign_in("bench")
    donor = BoardFactory(design=DesignFactory(positions={"R1": spec()}), purpose="donor")
    survey(donor, by=None)
    Place.objects.create(name="A1", type="drawer")
    sent = {"ref": "R1", "judge": "good", "tray": 0}
    page = reverse("strip", args=[donor.pk])
    refused = client.post(page, sent, HTTP_REFERER=f"http://testserver{page}", follow=True).content.decode()
    assert "Into which drawer or tray? Pick one." in refused
    assert not Place.objects.filter(name="Tray 1").exists()


def test_one_that_is_not_on_the_list_asks_into_what_where_nothing_was_lifted_yet(sign_in: Enter) -> None:
    client = sign_in("bench")
    donor = BoardFactory(design=DesignFactory(positions={"R1": spec()}), purpose="donor")
    survey(donor, by=None)
    drawer = Place.objects.create(name="A1", type="drawer")
    page, found_on = reverse("strip", args=[donor.pk]), reverse("found-on", args=[donor.pk])

    def form() -> str:
        html = client.get(page).content.decode()
        return html[html.index(found_on) :].partition("</form>")[0]

    assert f'<option value="{drawer.pk}">A1</option>' in form()
    client.post(found_on, {"line": "R12 4k7 5%", "tray": 0}, HTTP_REFERER=f"http://testserver{page}")
    refused = form()
    assert "Into which drawer or tray?" in refused
    assert 'value="R12 4k7 5%"' in refused
    client.post(found_on, {"line": "R12 4k7 5%", "tray": drawer.pk})
    assert Holding.objects.filter(place=drawer).count() == 1
    assert f'<input type="hidden" name="tray" value="{drawer.pk}">' in form()
