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
    assert client.post(reverse("strip", args=[donor.pk]), sent).status_code == 404
    assert not Place.objects.filter(name="Tray 1").exists()
