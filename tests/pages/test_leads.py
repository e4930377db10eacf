"""What was put away leads to the job that waits for it: one line, one link, and none where nothing waits."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Holding, Place
from repairs.models import Purchase
from repairs.reservations import reserve
from tests.factories import BoardFactory, DesignFactory, JobFactory, NeedFactory, PartFactory, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]
PART = spec("resistor", "4k7", tolerance_percent=Decimal(5), watts=Decimal("0.25"))


def tray() -> Place:
    return Place.objects.create(name="Tray 1", type="tray")


def donor() -> tuple[int, str]:
    board = BoardFactory(name="Hall", design=DesignFactory(positions={"R9": PART}))
    stock(1, part=PartFactory(of=PART), place=board.place, ref="R9")
    return board.pk, reverse("strip", args=[board.pk])


def received(client: Client) -> str:
    bought = Purchase.objects.create(part=PartFactory(of=PART), quantity=3, state="ordered")
    sent = {"quantity": 3, "to": tray().pk}
    return client.post(reverse("buy-receive", args=[bought.pk]), sent, follow=True).content.decode()


def test_what_came_leads_to_the_job_that_waits_for_it(sign_in: Enter) -> None:
    job = JobFactory(name="Kittiwake")
    for ref in ("R3", "R1", "R2"):
        NeedFactory(job=job, of=PART, ref=ref)
    page = received(sign_in("bench"))
    assert f'<a href="{reverse("job", args=[job.pk])}">Needed by Kittiwake R1-R3</a>' in page


def test_what_came_for_nobody_leads_nowhere(sign_in: Enter) -> None:
    NeedFactory(of=spec("capacitor", "100n"), ref="C1")
    parked = JobFactory(name="Kittiwake", status="parked")
    NeedFactory(job=parked, of=PART, ref="R1")
    page = received(sign_in("bench"))
    assert "Needed by" not in page
    assert "May serve" not in page


def test_a_long_list_of_positions_is_counted(sign_in: Enter) -> None:
    job = JobFactory(name="Kittiwake")
    for at in range(1, 40, 2):
        NeedFactory(job=job, of=PART, ref=f"R{at}")
    assert "Needed by Kittiwake, 20 positions</a>" in received(sign_in("bench"))


def test_what_comes_off_a_donor_leads_to_the_job_that_needs_it(sign_in: Enter) -> None:
    job = JobFactory(name="Kittiwake")
    NeedFactory(job=job, of=PART, ref="R7")
    client, (_board, strip) = sign_in("bench"), donor()
    sent = {"ref": "R9", "judge": "good", "tray": tray().pk}
    page = client.post(strip, sent, follow=True).content.decode()
    link = f'<a href="{reverse("job", args=[job.pk])}">'
    assert f"{link}Needed by Kittiwake R7</a>" in page
    assert link in client.get(reverse("drawers")).content.decode(), "it stays until the next action"
    assert f"{link}Needed" not in client.get(reverse("job", args=[job.pk])).content.decode(), "it is there"


def test_what_was_reserved_on_the_donor_leads_to_fetching_it(sign_in: Enter) -> None:
    client, (board, strip) = sign_in("bench"), donor()
    need = NeedFactory(job=JobFactory(name="Kittiwake"), of=PART, ref="R7")
    reserve(need, Holding.objects.get(place__board=board), 1, by=None)
    sent = {"ref": "R9", "judge": "untested", "tray": tray().pk}
    page = client.post(strip, sent, follow=True).content.decode()
    fetch = reverse("fetch", args=[need.job_id])
    assert f'<a href="{fetch}">Fetch and fit: Kittiwake R7</a>' in page
    assert '">Fetch and fit: Kittiwake R7' not in client.get(fetch).content.decode()


@pytest.mark.parametrize("judge", ["gone", "broken", "bad"])
def test_what_is_lost_leads_nowhere(sign_in: Enter, judge: str) -> None:
    NeedFactory(job=JobFactory(name="Kittiwake"), of=PART, ref="R7")
    client, (_board, strip) = sign_in("bench"), donor()
    page = client.post(strip, {"ref": "R9", "judge": judge, "tray": tray().pk}, follow=True).content.decode()
    assert "R9" in page
    assert "Kittiwake" not in page


def test_a_part_of_no_list_leads_to_the_job_that_needs_it(sign_in: Enter) -> None:
    NeedFactory(job=JobFactory(name="Kittiwake"), of=PART, ref="R7")
    board = BoardFactory(name="Hall")
    sent = {"line": "R12 4k7 5% 0.25W", "tray": tray().pk}
    page = sign_in("bench").post(reverse("found-on", args=[board.pk]), sent, follow=True).content.decode()
    assert "Needed by Kittiwake R7</a>" in page
