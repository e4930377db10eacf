"""Which drawer or tray a form offers first: that of sound pieces, not where chips or failed ones wait."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory.boards import survey
from inventory.ledger import Spot
from inventory.models import Part, Place
from repairs import reservations
from repairs.models import Purchase
from tests.factories import BoardFactory, DesignFactory, spec

pytestmark = pytest.mark.django_db


@pytest.fixture
def tray(db: None) -> Place:
    """Where a sound piece was put, before a chip was set aside and another part failed."""
    board = BoardFactory(
        design=DesignFactory(positions={ref: spec("resistor", "4k7") for ref in ("R1", "R2", "R3")}),
        purpose="under_repair",
    )
    survey(board, by=None)
    tray = Place.objects.create(name="Tray 1", type="tray")
    chips = Place.objects.create(name="Chips of it", type="tray")
    reservations.lift(board, ["R1"], Spot(tray.pk), by=None)
    reservations.remove(board, "R2", Spot(chips.pk), by=None)
    reservations.lift(board, ["R3"], Spot(Place.failed_tray().pk), by=None, condition="suspect")
    return tray


def test_what_came_goes_where_sound_pieces_go(tray: Place, sign_in: Callable[..., Client]) -> None:
    part = Part.of(spec("resistor", "10k"))
    Purchase.objects.create(part=part, quantity=1, state="ordered", bought_from="the market")
    html = sign_in("bench").get(reverse("buy")).content.decode()
    assert f'<option value="{tray.pk}" selected>Tray 1</option>' in html


def test_a_stripping_session_goes_on_into_the_tray_of_the_last_sound_piece(
    tray: Place, sign_in: Callable[..., Client]
) -> None:
    donor = BoardFactory(design=DesignFactory(positions={"R1": spec("resistor", "4k7")}))
    survey(donor, by=None)
    html = sign_in("bench").get(reverse("strip", args=[donor.pk])).content.decode()
    assert f'<option value="{tray.pk}" selected>Tray 1</option>' in html


def test_what_was_read_goes_where_sound_pieces_go(tray: Place, sign_in: Callable[..., Client]) -> None:
    html = sign_in("bench").get(reverse("read"), {"marking": "4k7"}).content.decode()
    assert f'<option value="{tray.pk}" selected>Tray 1</option>' in html
