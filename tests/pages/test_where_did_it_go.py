"""Where did it go: a part's life from the donor to now, a donor's pieces, and what is on a target."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory import boards, ledger
from inventory.ledger import Spot
from inventory.models import Board, Lot, Movement, Place
from inventory.pages.life import SHOWN, flow
from repairs import reservations
from tests.factories import BoardFactory, DesignFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


@pytest.fixture
def donor() -> Board:
    design = DesignFactory(positions={ref: spec("resistor", "4k7") for ref in ("R1", "R2", "R3", "R4")})
    return boards.register(name="Tern donor 9", purpose="donor", design=design, surveyed=True, by=None)


@pytest.fixture
def target(donor: Board) -> Board:
    """R1 of the donor went over a drawer to this board's R2; R2 lies in the drawer; R3 and R4 never moved."""
    made = boards.register(name="Tern 5", purpose="under_repair", design=donor.design, by=None)
    drawer = PlaceFactory(name="Drawer 7")
    lines = reservations.lift(donor, ["R1", "R2"], Spot(drawer.pk), by=None)
    reservations.fit(lines[0].lot, Spot(drawer.pk), made, "R2", by=None)
    return made


def test_a_life_runs_from_the_donor_through_each_station_to_now(target: Board, sign_in: Enter) -> None:
    lot = Lot.objects.get(origin_ref="R1")
    page = sign_in("viewer").get(reverse("lot", args=[lot.pk]))
    stations = [(each.what, each.target) for each in page.context["life"].stations]
    assert stations == [("came in", "Tern donor 9 R1"), ("lifted", "Drawer 7"), ("fitted", "Tern 5 R2")]
    assert page.context["life"].origin == "came off Tern donor 9 R1"
    assert "1 in Tern 5 R2" in page.content.decode()


def test_a_station_that_was_taken_back_says_so(target: Board, sign_in: Enter) -> None:
    lot = Lot.objects.get(origin_ref="R1")
    reservations.reverse(Movement.objects.get(kind="fit"), by=None)
    page = sign_in("viewer").get(reverse("lot", args=[lot.pk]))
    assert [each.what for each in page.context["life"].stations if each.undone] == ["fitted"]
    assert "taken back later" in page.content.decode()


def test_a_part_of_a_lot_knows_the_lot_it_was_put_with(sign_in: Enter) -> None:
    here = stock(5)
    line = ledger.split(here.lot, Spot(here.place_id), 2, condition="suspect", by=None)
    page = sign_in("viewer").get(reverse("lot", args=[line.to_lot_id])).content.decode()
    assert reverse("lot", args=[here.lot_id]) in page


def test_a_donor_tells_what_came_off_and_where_each_is(target: Board, donor: Board, sign_in: Enter) -> None:
    page = sign_in("viewer").get(reverse("board", args=[donor.pk]))
    assert {each.name: each.pieces for each in page.context["went"].streams} == {"Drawer 7": 1, "Tern 5": 1}
    assert page.context["came"].pieces == 0


def test_a_target_tells_what_is_on_it_and_where_that_came_from(target: Board, sign_in: Enter) -> None:
    page = sign_in("viewer").get(reverse("board", args=[target.pk]))
    assert [(each.name, each.pieces) for each in page.context["came"].streams] == [("Tern donor 9", 1)]
    assert "came off Tern donor 9 R1" in page.content.decode()


def test_a_piece_that_no_place_holds_is_missing_and_never_in_missing(donor: Board, sign_in: Enter) -> None:
    here = donor.place.holdings.get(ref="R3")
    ledger.count(here.lot, Spot(donor.place_id, "R3"), 0, by=None)
    page = sign_in("viewer").get(reverse("board", args=[donor.pk]))
    assert [each.name for each in page.context["went"].streams] == ["missing"]
    assert "now in" not in page.content.decode()


def test_every_piece_is_in_the_flow_or_counted_beside_it() -> None:
    made = flow([(f"Drawer {drawer}", "") for drawer in range(12) for _piece in range(drawer + 1)])
    assert len(made.streams) == SHOWN
    assert sum(each.pieces for each in made.streams) + made.others == made.pieces == 78
    assert [each.pieces for each in made.streams] == list(range(12, 4, -1))


def test_more_pieces_take_no_more_questions(donor: Board, target: Board, sign_in: Enter) -> None:
    client, address = sign_in("viewer"), reverse("board", args=[donor.pk])
    client.get(address)
    with CaptureQueriesContext(connection) as few:
        client.get(address)
    reservations.lift(donor, ["R3"], Spot(PlaceFactory(name="Drawer 8").pk), by=None)
    other = BoardFactory(name="Tern 6", purpose="under_repair")
    reservations.fit(
        Lot.objects.get(origin_ref="R2"), Spot(Place.objects.get(name="Drawer 7").pk),
        other, "", by=None,
    )  # fmt: skip
    with CaptureQueriesContext(connection) as many:
        client.get(address)
    assert len(many) == len(few)
