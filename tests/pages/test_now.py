"""Now: what can be finished tonight is there at once, overdue debts come first, each line leads on."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory import ledger
from inventory.ledger import Spot
from repairs.models import Job, Loan
from tests.factories import JobFactory, NeedFactory, PartFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def test_what_can_be_finished_tonight_is_there_without_a_tap(sign_in: Enter) -> None:
    ready, waiting = JobFactory(name="Lamp that hums"), JobFactory(name="Lamp that is dark")
    NeedFactory(job=ready, of=spec("resistor", "4k7"))
    NeedFactory(job=waiting, of=spec("capacitor", "100n"))
    stock(1, part=PartFactory(of=spec("resistor", "4k7")))
    page = sign_in("viewer").get("/")
    assert [each.job for each in page.context["tonight"]] == [ready]
    assert "You can finish tonight" in page.content.decode()


def test_overdue_debts_come_first(workshop: None, sign_in: Enter) -> None:
    today = timezone.localdate()
    loans = list(Loan.objects.filter(movement__borrow=True))
    late = loans[-1]
    Loan.objects.filter(pk=late.pk).update(due=today - timedelta(days=3))
    page = sign_in("bench").get("/")
    assert page.context["owed"][0] == late
    assert page.context["overdue"] == 1
    assert "overdue since" in page.content.decode()


def test_each_next_step_leads_to_a_page(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    JobFactory(name="Nothing said yet")
    steps = [each.next_step for each in client.get("/").context["standings"]]
    assert len(steps) == Job.objects.filter(status="open").count()
    assert {client.get(address).status_code for _words, address in steps} == {200}
    assert any("fetch" in address for _words, address in steps)


def test_a_job_without_a_board_is_closed_when_all_is_in_place(sign_in: Enter) -> None:
    job = JobFactory()
    NeedFactory(job=job, quantity=1, fitted=1)
    stock(1)
    [standing] = sign_in("bench").get("/").context["standings"]
    assert standing.next_step[1] == reverse("job-close", args=[job.pk])


def test_untested_is_what_lies_in_drawers_and_trays_now(sign_in: Enter) -> None:
    here, lent = stock(3, condition="untested"), stock(2, condition="untested")
    person = PlaceFactory(type="person")
    ledger.move(lent.lot, Spot(lent.place_id), Spot(person.pk), 2, by=None)
    ledger.move(here.lot, Spot(here.place_id), Spot(PlaceFactory().pk), 1, by=None)
    assert sign_in("viewer").get("/").context["untested"] == 1
