"""`manage.py trial` writes a reading of a lot down."""

import io
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command

from inventory.models import Lot
from tests.factories import PartFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db
RESISTOR = spec("resistor", "4k7", tolerance_percent=Decimal(5))


def output(*words: str) -> str:
    out = io.StringIO()
    call_command("trial", *words, stdout=out)
    return out.getvalue()


def test_a_reading_is_judged_and_one_piece_of_several_is_put_apart() -> None:
    here = stock(3, part=PartFactory(of=RESISTOR), condition="untested")
    answer = output(str(here.lot_id), "ohms", "4.68k", "--measured-tolerance", "0.2")
    apart = Lot.objects.get(split_from=here.lot)
    assert f"good; lot {apart.pk}" in answer
    assert "inside" in answer
    assert (apart.condition, apart.measured_tolerance) == ("good", Decimal("0.2"))
    assert Lot.objects.get(pk=here.lot_id).condition == "untested"


def test_a_verdict_may_be_given_instead() -> None:
    here = stock(part=PartFactory(of=RESISTOR), condition="untested")
    assert "suspect" in output(str(here.lot_id), "looked at", "--verdict", "suspect", "--at", str(here.place))


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("0", "ohms", "4.7k"), "no lot has the number 0"),
        (("LOT", "ohms", "4.7k", "--measured-tolerance", "60"), "per cent from 0 to 50"),
        (("LOT", "ohms", "4.7k", "--pieces", "no"), "expected how many"),
        (("LOT", "ohms", "4.7k", "--pieces", "9"), "held"),
        (("LOT", "ohms", "not ok"), "no figure"),
        (("LOT", "looked at"), "verdict"),
        (("LOT", "ohms", "4.7k", "--at", "Elsewhere"), "is not in Elsewhere"),
    ],
)
def test_what_is_wrong_is_reported_and_nothing_is_written(words: tuple[str, ...], message: str) -> None:
    PlaceFactory(name="Elsewhere", type="tray")
    here = stock(part=PartFactory(of=RESISTOR), condition="untested")
    with pytest.raises(CommandError, match=message):
        output(*(str(here.lot_id) if word == "LOT" else word for word in words))
    assert not here.lot.trials.exists()
