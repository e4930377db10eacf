"""The form by which a part comes off a board asks how it is: suspect, unless something else is said."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Board, Lot, Place
from repairs import jobs, reservations
from repairs.models import Job
from tests.factories import BoardFactory, DesignFactory, PartFactory, PlaceFactory, stock
from tests.parts import RESISTOR

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


@pytest.fixture
def board(db: None) -> Board:
    made: Board = BoardFactory(
        design=DesignFactory(positions={"R1": RESISTOR}), name="Plover to mend", purpose="under_repair"
    )
    return made


@pytest.fixture
def lot(board: Board) -> Lot:
    here = stock(part=PartFactory(of=RESISTOR))
    return reservations.fit(here.lot, reservations.Spot(here.place_id), board, "R1", by=None).lot


@pytest.fixture
def job(board: Board, lot: Lot) -> Job:
    return jobs.open_job(name="Mend the Plover", board=board, refs="all", by=None)


def take_off(client: Client, board: Board, **sent: object) -> str:
    address = reverse("remove", args=[board.pk])
    return client.post(address, {"ref": "R1", **sent}, follow=True).content.decode()


def where(lot: Lot) -> tuple[str, str]:
    lot.refresh_from_db()
    return lot.condition, lot.holdings.get(quantity__gt=0).place.name


def test_the_forms_ask_how_it_is_and_offer_the_failed_tray_and_scrap(
    sign_in: Enter, board: Board, job: Job
) -> None:
    client = sign_in("bench")
    for address in (
        reverse("need", args=[job.needs.get().pk]),
        reverse("board", args=[board.pk]) + "?ref=R1",
    ):
        page = client.get(address).content.decode()
        first, *_others = page.split('name="condition">')[1].split("</option>")
        assert 'value="suspect"' in first, address
        assert '<option value="scrap">' in page


def test_it_comes_off_suspect_unless_something_else_is_given(sign_in: Enter, board: Board, lot: Lot) -> None:
    message = take_off(sign_in("bench"), board)
    assert where(lot) == ("suspect", "Failed parts")
    assert "R1 is in Failed parts, suspect." in message


def test_a_faulty_one_goes_to_the_scrap_bin_where_that_is_chosen(
    sign_in: Enter, board: Board, lot: Lot
) -> None:
    take_off(sign_in("bench"), board, condition="faulty", to="scrap")
    assert where(lot) == ("faulty", Place.scrap().name)


def test_a_sound_one_goes_to_the_tray_that_is_chosen(sign_in: Enter, board: Board, lot: Lot) -> None:
    tray = PlaceFactory(name="Tray 7", type="tray")
    take_off(sign_in("bench"), board, condition="", to=tray.pk)
    assert where(lot) == ("good", "Tray 7")


def test_a_sound_one_goes_where_the_form_says_that_sound_ones_go(
    sign_in: Enter, board: Board, lot: Lot
) -> None:
    client, usual = sign_in("bench"), Place.objects.get(type="drawer")
    form = client.get(reverse("board", args=[board.pk]), {"ref": "R1"}).content.decode()
    assert f"what is sound, {usual.name}" in form
    take_off(client, board, condition="good", to="")
    assert where(lot) == ("good", usual.name)


def test_a_sound_one_stays_on_where_none_was_ever_put_away_and_nothing_is_picked(
    sign_in: Enter, board: Board
) -> None:
    lot = stock(place=board.place, ref="R1", part=PartFactory(of=RESISTOR)).lot
    take_off(sign_in("bench"), board, condition="good", to="")
    assert where(lot) == ("good", "Plover to mend")


def test_a_condition_that_is_none_is_refused_and_it_stays_on(sign_in: Enter, board: Board, lot: Lot) -> None:
    take_off(sign_in("bench"), board, condition="splendid")
    assert where(lot) == ("good", "Plover to mend")


def test_a_stripping_session_of_a_board_under_repair_puts_what_failed_apart(
    sign_in: Enter, board: Board, lot: Lot
) -> None:
    tray = PlaceFactory(name="Tray 7", type="tray")
    body = {"ref": "R1", "judge": "failed", "tray": tray.pk}
    sign_in("bench").post(reverse("strip", args=[board.pk]), body)
    assert where(lot) == ("suspect", "Failed parts")
