"""What was done lately: everything of every job, and what no job asked for, newest first."""

import pytest
from django.urls import reverse

from inventory import ledger
from inventory.models import Lot
from repairs.benchlog import Lately, lately
from repairs.models import Trial
from repairs.proving_models import BenchEntry
from tests.factories import JobFactory, PlaceFactory, stock
from tests.pages.conftest import at_the_bench

pytestmark = pytest.mark.django_db


def test_it_is_shown_newest_first_and_no_more_than_was_asked_for() -> None:
    held = stock(3)
    ledger.move(held.lot, ledger.Spot(held.place_id), ledger.Spot(PlaceFactory(name="Tray 9").pk), 2, by=None)
    Trial.objects.create(lot=held.lot, method="look", verdict=Lot.Condition.GOOD)
    job = JobFactory(name="Echo sounder")
    BenchEntry.objects.create(job=job, kind="note", text="hums")
    lines = lately(10)
    assert [line.kind for line in lines] == ["note", "opened", "trial", "move", "receive"]
    assert lines[0].text == "Echo sounder: hums"
    assert "to Tray 9" in lines[3].text
    assert lately(2) == lines[:2]


def test_the_page_tells_it_by_day() -> None:
    stock(3)
    page = at_the_bench("viewer").get(reverse("lately")).content.decode()
    assert page.count("<h2>") == 1
    assert "came in" in page


def test_pages_of_it_hold_each_line_once() -> None:
    held = stock(120)
    tray = ledger.Spot(PlaceFactory(name="Tray 9").pk)
    for _one in range(95):
        ledger.move(held.lot, ledger.Spot(held.place_id), tray, 1, by=None)
    every = Lately()
    assert len(every) == 96
    answer = [(line.kind, line.row) for start in range(0, 120, 40) for line in every[start : start + 40]]
    assert len(answer) == len(set(answer)) == 96
    assert answer == [(line.kind, line.row) for line in lately(200)]


def test_the_page_leads_to_what_was_done_before() -> None:
    held = stock(120)
    tray = ledger.Spot(PlaceFactory(name="Tray 9").pk)
    for _one in range(45):
        ledger.move(held.lot, ledger.Spot(held.place_id), tray, 1, by=None)
    client = at_the_bench("viewer")
    first = client.get(reverse("lately")).content.decode()
    assert "page 1 of 3" in first
    assert "came in" not in first
    assert "came in" in client.get(f"{reverse('lately')}?page=3").content.decode()
