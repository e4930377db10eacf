"""The work of the bench through plain forms, without any script."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Board, Holding, Lot, Movement, Place
from repairs.models import Reservation

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def test_a_part_is_lifted_judged_and_put_back(workshop: None, sign_in: Enter) -> None:
    client, donor = sign_in("bench"), Board.objects.filter(purpose="donor").first()
    here = Holding.objects.filter(place=donor.place, quantity=1, promised=0).exclude(ref="").first()
    tray = Place.objects.filter(type="tray").first()
    client.post(reverse("strip", args=[donor.pk]), {"ref": here.ref, "judge": "bad", "tray": tray.pk})
    line = Movement.objects.latest("id")
    assert (line.kind, line.from_ref, line.to_place) == ("lift", here.ref, tray)
    assert Lot.objects.get(pk=line.lot_id).condition == "faulty"
    client.post(reverse("undo"), {"line": line.pk})
    assert Holding.objects.get(place=donor.place, ref=here.ref).quantity == 1


def test_a_reading_is_put_in_the_drawer(workshop: None, sign_in: Enter) -> None:
    client, tray = sign_in("bench"), Place.objects.filter(type="tray").first()
    result = client.get(reverse("read"), {"marking": "4k7"}).context["readings"]
    which = next(i for i, each in enumerate(result, 1) if each.value == "4k7")
    sent = {
        f"spec{which}": result[which - 1].spec,
        "put": str(which),
        "tray": tray.pk,
        "marking": "4k7",
        "quantity": 3,
    }
    client.post(reverse("put-away"), sent)
    lot = Lot.objects.latest("id")
    assert (lot.part.spec.value, lot.marking, lot.holdings.get().quantity) == (4_700_000_000, "4k7", 3)


@pytest.mark.parametrize(
    "sent", ["", "[]", "{}", '{"kind": "resistor", "value": "0"', '{"kind": "nothing"}', '"x"']
)
def test_a_reading_that_is_none_puts_nothing_away(workshop: None, sign_in: Enter, sent: str) -> None:
    client, lots = sign_in("bench"), Lot.objects.count()
    tray = Place.objects.filter(type="tray").first()
    answer = client.post(reverse("put-away"), {"spec1": sent, "put": "1", "tray": tray.pk})
    assert answer.status_code == 302
    assert Lot.objects.count() == lots


def test_two_people_who_want_the_last_part_get_a_clear_answer(workshop: None, sign_in: Enter) -> None:
    promise = Reservation.objects.filter(status="held", need__job__status="open", holding__ref="").first()
    first, second = sign_in("bench", "robin-1"), sign_in("bench", "wren-1")
    fit = reverse("release", args=[promise.pk])
    first.post(fit)
    answer = second.post(fit, follow=True)
    assert "already" in answer.content.decode()
    promise.refresh_from_db()
    assert promise.status == "released"


def test_a_shortage_is_promised_from_the_job(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    from repairs.models import Job

    job = Job.objects.filter(status="open").order_by("priority").first()
    before = Reservation.objects.filter(need__job=job, status="held").count()
    client.post(reverse("reserve-plan", args=[job.pk]))
    assert Reservation.objects.filter(need__job=job, status="held").count() >= before


def test_a_link_and_an_inspection_are_written_down(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    board = next(
        board for board in Board.objects.select_related("design") if board.design and board.design.links
    )
    link = board.design.links[0]
    setting = link["settings"][0] if isinstance(link["settings"], list) else next(iter(link["settings"]))
    client.post(reverse("safe-link", args=[board.pk]), {"link": link["name"], "setting": setting})
    client.post(reverse("safe-check", args=[board.pk]), {"check": "inspection", "right": "no"})
    assert board.link_settings.latest("id").setting == setting
    assert client.get(reverse("safe", args=[board.pk])).context["state"] == "stop"


@pytest.mark.parametrize("reading", ["", "five", "1 V, 2 V", "9" * 30 + " V", "OL"])
def test_what_is_no_reading_is_refused_on_the_page(workshop: None, sign_in: Enter, reading: str) -> None:
    client = sign_in("bench")
    board = next(
        board for board in Board.objects.select_related("design") if board.design and board.design.rails
    )
    sent = {"rail": board.design.rails[0]["name"], "stage": "chips_out", "reading": reading}
    answer = client.post(reverse("safe-rail", args=[board.pk]), sent, follow=True)
    assert answer.status_code == 409
    assert not board.rail_readings.filter(stage="chips_out").exists()


def test_a_drawer_is_made(sign_in: Enter) -> None:
    sign_in("bench").post(reverse("make-place"), {"name": "Drawer 9", "type": "drawer", "within": ""})
    assert Place.objects.get(name="Drawer 9").type == "drawer"
