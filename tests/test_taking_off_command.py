"""`manage.py take_off` takes a part off a board and says how it is."""

import io

import pytest
from django.core.management import CommandError, call_command

from inventory.models import Board, Lot
from repairs import reservations
from tests.factories import BoardFactory, DesignFactory, PartFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db
RESISTOR = spec("resistor", "4k7", tolerance_percent="5")


@pytest.fixture
def lot(db: None) -> Lot:
    board: Board = BoardFactory(
        design=DesignFactory(positions={"R1": RESISTOR}), name="Plover to mend", purpose="under_repair"
    )
    here = stock(part=PartFactory(of=RESISTOR))
    return reservations.fit(here.lot, reservations.Spot(here.place_id), board, "R1", by=None).lot


def output(*words: str) -> str:
    out = io.StringIO()
    call_command("take_off", "Plover to mend", "R1", *words, stdout=out)
    return out.getvalue().strip()


def test_it_comes_off_suspect_into_the_failed_tray(lot: Lot) -> None:
    assert output() == f"Plover to mend R1: lot {lot.pk}, suspect, is in Failed parts"


def test_it_goes_where_it_is_sent(lot: Lot) -> None:
    PlaceFactory(name="Tray 7", type="tray")
    assert output("--condition", "as-it-was", "--to", "Tray 7").endswith("good, is in Tray 7")


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--condition", "good"), "say where to put it"),
        (("--to", "Tray 99"), "no place is named Tray 99"),
        (("--by", "nobody"), "nobody is called"),
    ],
)
def test_what_cannot_be_done_is_reported(lot: Lot, words: tuple[str, ...], why: str) -> None:
    with pytest.raises(CommandError, match=why):
        output(*words)
