"""What is due, as other programs' calendars fetch it: RFC 5545, read back by its reference reader."""

from collections.abc import Callable
from datetime import date
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.contrib.auth.models import User
from django.test import Client
from icalendar import Calendar

from inventory.ledger import Spot
from repairs import loans
from repairs.models import Job
from tests.factories import BoardFactory, JobFactory, PlaceFactory, stock

pytestmark = pytest.mark.django_db


def address(client: Any) -> str:
    return urlsplit(client.get("/api/v1/calendar/").json()["address"]).path


def events(client: Client, path: str) -> dict[str, Any]:
    answer = client.get(path)
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert b"\r\n" in answer.content, "lines end so (RFC 5545, 3.1)"
    read = Calendar.from_ical(answer.content)
    found = {str(event["uid"]): event for event in read.walk("VEVENT")}
    assert all("dtstamp" in event for event in found.values()), "required (RFC 5545, 3.6.1)"
    return found


def test_open_jobs_with_a_day_and_loans_still_out_are_in_it(viewer: Any, client: Client) -> None:
    job = JobFactory(name="Tern, the grey one; rebuild", due=date(2027, 3, 1))
    JobFactory(due=None)
    JobFactory(due=date(2027, 3, 2), status=Job.Status.DONE)
    here = stock(5)
    wren = PlaceFactory(name="Wren", type="person")
    loans.lend(here.lot, Spot(here.place_id), wren, 1, by=None, due=date(2027, 4, 30))
    found = events(client, address(viewer))
    assert len(found) == 2
    due = found[f"job-{job.pk}@rehome"]
    assert (str(due["summary"]), due["dtstart"].dt) == ("Due: Tern, the grey one; rebuild", date(2027, 3, 1))
    assert str(due["url"]).endswith(f"/jobs/{job.pk}/")
    [lent] = [event for uid, event in found.items() if uid.startswith("loan-")]
    assert str(lent["summary"]).startswith("Back from Wren: ")
    assert lent["dtstart"].dt == date(2027, 4, 30)


def test_a_borrowed_piece_says_where_it_goes_back(viewer: Any, client: Client) -> None:
    lender = BoardFactory(name="Tern 2", purpose="working")
    piece = stock(place=lender.place, ref="R7")
    loans.borrow(lender, ["R7"], Spot(PlaceFactory().pk), by=None, due=date(2027, 5, 1))
    [event] = events(client, address(viewer)).values()
    assert str(event["summary"]) == f"Give back {piece.lot.part.spec.text} to Tern 2 R7"


def test_an_address_that_was_guessed_or_has_ended_opens_nothing(bench: Any, client: Client) -> None:
    path = address(bench)
    assert client.get(path).status_code == 200
    assert client.get(path.replace("-", "-f")[: len(path)]).status_code == 404
    assert client.get("/calendar/1.ics").status_code == 404
    User.objects.filter(pk=bench.person.pk).update(is_active=False)
    assert client.get(path).status_code == 404
    User.objects.filter(pk=bench.person.pk).update(is_active=True)
    bench.person.set_password("three-clipped-leads")
    bench.person.save()
    assert client.get(path).status_code == 404
    assert client.get(address(bench)).status_code == 200


def test_the_page_shows_ones_own_address(sign_in: Callable[..., Client]) -> None:
    page = sign_in("viewer").get("/calendar/").content.decode()
    assert "/calendar/" in page
    assert ".ics" in page
