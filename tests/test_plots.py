"""What the plots show: pieces over the edge of the drawers, money of what was bought and of what was not.

Pieces and prices are invented.
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory import ledger
from inventory.models import Lot, Movement, Part
from repairs.models import Purchase
from repairs.plots import MAX_BARS, plots
from tests.factories import BoardFactory, JobFactory, NeedFactory, PartFactory, PlaceFactory, spec, stock
from tests.pages.conftest import at_the_bench

pytestmark = pytest.mark.django_db


def test_what_is_moved_between_drawers_neither_comes_nor_goes() -> None:
    held, other = stock(7), PlaceFactory(name="Tray 9")
    here = ledger.Spot(held.place_id)
    ledger.move(held.lot, here, ledger.Spot(other.pk), 5, by=None)
    ledger.fit(held.lot, ledger.Spot(other.pk), BoardFactory(purpose="under_repair"), "R1", by=None)
    [today] = plots().moved
    assert (today.first, today.second) == (7, 1)


def test_what_was_undone_never_happened() -> None:
    held = stock(3)
    ledger.reverse(Movement.objects.get(lot=held.lot), by=None)
    assert plots().moved == ()


def test_bought_pieces_are_spent_and_fitted_salvage_is_saved() -> None:
    part = PartFactory(of=spec("resistor", "4k7"))
    Part.objects.filter(pk=part.pk).update(price=Decimal("0.25"))
    bought = stock(10, part=part, source=Lot.Source.BOUGHT)
    Purchase.objects.create(
        part=part, quantity=10, price=Decimal("0.20"), state=Purchase.State.RECEIVED, lot=bought.lot
    )
    board, salvaged = BoardFactory(purpose="under_repair"), stock(2, part=part, source=Lot.Source.DONATED)
    ledger.fit(bought.lot, ledger.Spot(bought.place_id), board, "R1", by=None)
    ledger.fit(salvaged.lot, ledger.Spot(salvaged.place_id), board, "R2", by=None)
    [today] = plots().money
    assert (today.first, today.second) == (Decimal("2.00"), Decimal("0.25"))


def test_what_has_no_price_is_counted_and_no_price_is_made_up() -> None:
    salvaged = stock(1)
    ledger.fit(
        salvaged.lot, ledger.Spot(salvaged.place_id), BoardFactory(purpose="under_repair"), "R1", by=None
    )
    found = plots()
    assert (found.money, found.unpriced) == ((), 1)


@pytest.mark.parametrize(("days", "step"), [(5, "day"), (100, "week"), (700, "month")])
def test_all_of_the_time_is_in_few_bars(monkeypatch: pytest.MonkeyPatch, days: int, step: str) -> None:
    then = timezone.now() - timedelta(days=days)
    with monkeypatch.context() as patched:
        patched.setattr(timezone, "now", lambda: then)
        stock(4)
    found = plots()
    assert found.step == step
    assert len(found.moved) <= MAX_BARS
    assert sum(each.first for each in found.moved) == 4


def test_the_job_that_is_short_of_most_comes_first() -> None:
    few, many = JobFactory(name="Lamp"), JobFactory(name="Echo sounder")
    NeedFactory(job=few, of=spec("capacitor", "100n"))
    for ref in ("R1", "R2"):
        NeedFactory(job=many, of=spec("resistor", "1M"), ref=ref)
    assert [(each.name, each.pieces) for each in plots().short] == [("Echo sounder", 2), ("Lamp", 1)]
    page = at_the_bench("viewer").get(reverse("plots")).content.decode()
    assert page.index("Echo sounder") < page.index("Lamp")
