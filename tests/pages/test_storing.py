"""Drawers are made in rows, renamed and moved where they are seen; several lots are dealt with at once."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Holding, Lot, Movement, Place
from inventory.places import names_of_row
from tests.factories import JobFactory, NeedFactory, PartFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def make(client: Client, name: str, **more: object) -> int:
    sent = {"name": name, "type": "drawer", "within": "", **more}
    return client.post(reverse("make-place"), sent).status_code


def test_a_row_of_drawers_is_made_at_once_inside_a_cabinet(sign_in: Enter) -> None:
    cabinet = PlaceFactory(name="Cabinet")
    assert make(sign_in("bench"), "A1-A12", within=cabinet.pk) == 302
    made = Place.objects.filter(within=cabinet).order_by("id")
    assert [place.name for place in made] == [f"A{number}" for number in range(1, 13)]


@pytest.mark.parametrize(
    ("typed", "names"),
    [
        ("A1-3", ["A1", "A2", "A3"]),
        ("Drawer 09–11", ["Drawer 09", "Drawer 10", "Drawer 11"]),
        ("Tray 4", ["Tray 4"]),
        ("A1-B2", ["A1-B2"]),
        ("old-7", ["old-7"]),
    ],
)
def test_a_row_is_distinguished_from_a_name(typed: str, names: list[str]) -> None:
    assert names_of_row(typed) == names


@pytest.mark.parametrize("typed", ["A12-A1", "A1-A999"])
def test_a_row_that_is_none_makes_nothing(sign_in: Enter, typed: str) -> None:
    before = Place.objects.count()
    assert make(sign_in("bench"), typed) == 400
    assert Place.objects.count() == before


def test_one_name_of_a_row_that_is_there_already_makes_none_of_it(sign_in: Enter) -> None:
    PlaceFactory(name="A3")
    assert make(sign_in("bench"), "A1-A5") == 400
    assert not Place.objects.filter(name="A1").exists()


def test_a_drawer_is_renamed_and_moved_and_never_into_itself(sign_in: Enter) -> None:
    client, cabinet, drawer = sign_in("bench"), PlaceFactory(name="Cabinet"), PlaceFactory(name="Drwaer 1")
    address = reverse("change-place", args=[drawer.pk])
    assert "Drwaer 1" in client.get(address).content.decode()
    sent = {"name": "Drawer 1", "type": "drawer", "within": cabinet.pk, "note": "film"}
    assert client.post(address, sent).status_code == 302
    drawer.refresh_from_db()
    assert (drawer.name, drawer.within_id, drawer.note) == ("Drawer 1", cabinet.pk, "film")
    into_its_own = {"name": "Cabinet", "type": "drawer", "within": drawer.pk}
    assert client.post(reverse("change-place", args=[cabinet.pk]), into_its_own).status_code == 400
    a_person = {"name": "Drawer 1", "type": "person", "within": ""}
    assert client.post(address, a_person).status_code == 400


def test_an_empty_drawer_is_removed_by_an_owner_and_one_with_a_history_stays(sign_in: Enter) -> None:
    empty, used = PlaceFactory(name="Spare"), stock().place
    owner = sign_in("owner")
    assert sign_in("bench").post(reverse("remove-place", args=[empty.pk])).status_code == 403
    assert owner.post(reverse("remove-place", args=[empty.pk])).status_code == 302
    assert owner.post(reverse("remove-place", args=[used.pk])).status_code == 400
    assert list(Place.objects.filter(pk__in=[empty.pk, used.pk])) == [used]


def two() -> list[Holding]:
    tray = PlaceFactory(name="Tray 1", type="tray")
    return [stock(3, part=PartFactory(of=spec("resistor", value)), place=tray) for value in ("4k7", "10k")]


def ticked(client: Client, holdings: list[Holding], what: str, **more: object) -> int:
    sent = {"lot": [held.lot_id for held in holdings], "what": what, **more}
    return client.post(reverse("several"), sent).status_code


def test_ticked_lots_move_together_and_one_undo_brings_all_back(sign_in: Enter) -> None:
    client, holdings, drawer = sign_in("bench"), two(), PlaceFactory(name="Drawer 7")
    page = client.get(reverse("drawers"), {"place": holdings[0].place_id, "tick": 1}).content.decode()
    assert page.count('type="checkbox" name="lot"') == 2
    assert ticked(client, holdings, "move", to=drawer.pk) == 302
    assert {held.place_id for held in Holding.objects.filter(quantity__gt=0)} == {drawer.pk}
    last = client.session["last"]["lines"]
    client.post(reverse("undo"), {"line": last})
    assert {held.place_id for held in Holding.objects.filter(quantity__gt=0)} == {holdings[0].place_id}


def test_all_that_is_shown_is_ticked_by_one_press_in_rows_that_say_nothing_twice(sign_in: Enter) -> None:
    client, holdings = sign_in("bench"), two()
    Lot.objects.filter(pk=holdings[0].lot_id).update(marking=holdings[0].lot.part.spec.spec.value_text)
    asked = {"place": holdings[0].place_id, "tick": 1}
    page = client.get(reverse("drawers"), asked).content.decode()
    assert "Tick all 2" in page
    assert "tick=all" in page
    assert ", marked" not in page
    page = client.get(reverse("drawers"), {**asked, "tick": "all"}).content.decode()
    assert len(re.findall(r'name="lot" value="[0-9]+" checked', page)) == 2
    assert "Tick none" in page
    empty = client.get(reverse("drawers"), {"place": PlaceFactory().pk, "tick": 1}).content.decode()
    assert "With those ticked" not in empty


def test_ticked_lots_are_judged_scrapped_or_labelled_together(sign_in: Enter) -> None:
    client, holdings = sign_in("bench"), two()
    assert ticked(client, holdings, "suspect") == 302
    assert set(Lot.objects.values_list("condition", flat=True)) == {"suspect"}
    answer = client.post(reverse("several"), {"lot": [holdings[0].lot_id], "what": "print"})
    assert answer["Location"] == f"{reverse('print')}?lot={holdings[0].lot_id}"
    assert ticked(client, holdings, "scrap") == 302
    assert set(Holding.objects.filter(quantity__gt=0).values_list("place__type", flat=True)) == {"scrap"}


def test_where_one_is_refused_none_is_changed(sign_in: Enter) -> None:
    from repairs.reservations import reserve

    client, holdings = sign_in("bench"), two()
    need = NeedFactory(job=JobFactory(), of=spec("resistor", "10k"))
    reserve(need, holdings[1], 1, by=None)
    lines = Movement.objects.count()
    for what in ("faulty", "scrap", "sell", "move"):
        assert ticked(client, holdings, what) == 302, what
    assert set(Lot.objects.values_list("condition", flat=True)) == {"good"}
    assert Movement.objects.count() == lines
    assert ticked(sign_in("viewer"), holdings, "suspect") == 403
