"""Confirmations hold for the piece that was there, even where another bench swaps it at the same moment."""

from typing import Any

import pytest

from inventory import ledger
from inventory.ledger import Spot
from inventory.models import Board, Holding
from repairs import bringing_up, readiness
from tests.factories import BoardFactory, DesignFactory, PartFactory, PlaceFactory, spec, stock

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db]
CHIP = spec("ic", None, number="4116", package="dip16", lead_style="dip")


@pytest.fixture
def board() -> Board:
    made: Board = BoardFactory(design=DesignFactory(positions={"U1": CHIP}), purpose="under_repair")
    stock(part=PartFactory(of=CHIP), place=made.place, ref="U1")
    return made


def swap(board: Board) -> None:
    """Another bench takes the chip out and puts its twin in."""
    ledger.remove(board, "U1", Spot(PlaceFactory().pk), by=None)
    twin = stock(part=PartFactory(of=CHIP))
    ledger.fit(twin.lot, Spot(twin.place_id), board, "U1", by=None)


def state(board: Board) -> str:
    return next(item.state for item in readiness.judge(board).items if item.check == "orientation")


def test_a_confirmation_holds_while_nothing_is_moved(board: Board) -> None:
    bringing_up.confirm_orientation(board, ["U1"], by=None, right=True)
    assert state(board) == "pass"


def test_a_swap_between_looking_and_writing_opens_it_again(board: Board, monkeypatch: Any) -> None:
    look = readiness.facts_of

    def look_while_another_swaps(of: Board) -> Any:
        seen = look(of)
        monkeypatch.setattr(readiness, "facts_of", look)
        swap(board)
        return seen

    monkeypatch.setattr(readiness, "facts_of", look_while_another_swaps)
    bringing_up.confirm_orientation(board, ["U1"], by=None, right=True)
    assert Holding.objects.filter(place=board.place, ref="U1", quantity=1).count() == 1
    assert state(board) == "open"


def test_the_same_piece_put_back_is_looked_at_again(board: Board) -> None:
    bringing_up.confirm_orientation(board, ["U1"], by=None, right=True)
    there = Holding.objects.get(place=board.place, ref="U1", quantity=1)
    tray = PlaceFactory()
    ledger.remove(board, "U1", Spot(tray.pk), by=None)
    ledger.fit(there.lot, Spot(tray.pk), board, "U1", by=None)
    assert state(board) == "open"


def test_a_count_that_finds_what_was_there_opens_it_too(board: Board) -> None:
    """Somebody had it in hand: a stock-take is a movement like any other."""
    bringing_up.confirm_orientation(board, ["U1"], by=None, right=True)
    there = Holding.objects.get(place=board.place, ref="U1", quantity=1)
    ledger.count(there.lot, Spot(board.place_id, "U1"), 1, by=None)
    assert state(board) == "open"
