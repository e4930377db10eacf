"""One of many is picked by a few letters; their names stand on the page once for all its boxes."""

from collections.abc import Callable

import pytest
from django.template import Context
from django.test import Client, RequestFactory
from django.urls import reverse

from inventory import ledger
from inventory.models import Place
from inventory.templatetags.bench import MANY, MANY_IN_EACH, pick
from repairs.loans import lend
from repairs.models import Job
from tests.factories import JobFactory, PartFactory, PersonFactory, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def test_of_few_jobs_one_is_picked_of_a_list(sign_in: Enter) -> None:
    job = JobFactory(name="Kittiwake")
    page = sign_in("bench").get(reverse("harvest")).content.decode()
    assert f'<option value="{job.pk}">Kittiwake</option>' in page
    assert "<datalist" not in page


def test_of_2000_jobs_one_is_found_by_its_name(sign_in: Enter) -> None:
    Job.objects.bulk_create([Job(name=f"Gannet {at}") for at in range(2000)])
    job = Job.objects.get(name="Gannet 1234")
    client = sign_in("bench")
    page = client.get(reverse("harvest"), {"job": f"{job.pk} · {job.name}"})
    assert page.context["job"] == job
    html = page.content.decode()
    assert html.count("<select") == 0
    assert html.count("<datalist") == 1
    assert f'name="job" value="{job.pk} · Gannet 1234"' in html


def test_forty_loans_ask_for_one_of_600_drawers_and_name_them_once(sign_in: Enter) -> None:
    Place.objects.bulk_create(
        [Place(name=f"Cabinet drawer {at}", type="drawer") for at in range(max(600, MANY + 1))]
    )
    client, person = sign_in("bench"), Place.objects.create(name="Ülo", type="person")
    for _loan in range(5):
        held = stock(1)
        lend(held.lot, ledger.spot_of(held.place), person, 1, by=PersonFactory(), reason="", due=None)
    html = client.get(reverse("loans")).content.decode()
    assert html.count("Cabinet drawer 599") == 1
    assert html.count('name="to"') == 5
    assert html.count("<datalist") == 1


def test_a_what_if_that_is_refused_keeps_the_job_that_was_picked_of_many(sign_in: Enter) -> None:
    Job.objects.bulk_create([Job(name=f"Gannet {at}") for at in range(MANY + 1)])
    job = Job.objects.get(name="Gannet 123")
    part = PartFactory()
    asked = {"park": f"{job.pk} · {job.name}", "part": part.pk, "pieces": 0}
    refused = sign_in("bench").get(reverse("what-if"), asked)
    assert refused.status_code == 400
    assert f'name="park" value="{job.pk} · Gannet 123"' in refused.content.decode()


def test_a_list_that_unfolds_leaves_the_names_to_the_box_that_needs_them() -> None:
    rows = [(at, f"Drawer {at}") for at in range(MANY_IN_EACH + 1)]
    context = Context({"request": RequestFactory().get("/")})
    few, many, again = (pick(context, "to", "to", rows, of=of) for of in ("", 7, 8))
    assert (few["few"], many["few"]) == (True, False)
    assert (many["first"], again["first"]) == (True, False)
