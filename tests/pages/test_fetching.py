"""What is alike in a fetch list, the same part from the same place, is one row and one tap."""

from collections.abc import Callable
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Holding, Place
from repairs.models import Job, Reservation
from repairs.reservations import reserve
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    spec,
    stock,
)

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]
PART = spec("resistor", "4k7")


@pytest.fixture
def job() -> Job:
    """R1 to R4 of one bag in A1, R5 of the same part in B1, C1 in A1."""
    board = BoardFactory(name="Hall", purpose="under_repair")
    made = JobFactory(name="Kittiwake", board=board)
    of = PartFactory(of=PART)
    near, far = PlaceFactory(name="A1"), PlaceFactory(name="B1")
    cap = stock(1, part=PartFactory(of=spec("capacitor", "100n")), place=near)
    reserve(NeedFactory(job=made, ref="C1", of=spec("capacitor", "100n")), cap, 1, by=None)
    bag, other = stock(4, part=of, place=near), stock(1, part=of, place=far)
    for at in range(1, 5):
        reserve(NeedFactory(job=made, ref=f"R{at}", of=PART), bag, 1, by=None)
    reserve(NeedFactory(job=made, ref="R5", of=PART), other, 1, by=None)
    return made


def rows_of(client: Client, job: Job, **asked: object) -> list[str]:
    context = client.get(reverse("fetch", args=[job.pk]), asked).context
    return [each.refs for each, _lift in context["later"]]


def promises(job: Job, *refs: str) -> list[int]:
    return [Reservation.objects.get(need__job=job, need__ref=ref).pk for ref in refs]


def on_board(job: Job) -> set[str]:
    assert job.board is not None
    return set(Holding.objects.filter(place=job.board.place, quantity__gt=0).values_list("ref", flat=True))


def test_like_parts_from_one_drawer_are_one_row(sign_in: Enter, job: Job) -> None:
    client = sign_in("bench")
    assert rows_of(client, job) == ["R1-R4", "R5"], "C1 is the next one"
    html = unescape(client.get(reverse("fetch", args=[job.pk])).content.decode())
    assert html.count("A1</strong>: 4 pieces") == 1
    assert html.count("All 4 fitted") == 1


def test_one_tap_fits_all_of_a_row_and_one_takes_all_back(sign_in: Enter, job: Job) -> None:
    client, address = sign_in("bench"), reverse("fetch", args=[job.pk])
    form = client.get(address).content.decode().partition(reverse("fit-several", args=[job.pk]))[2]
    sent = {"reservation": promises(job, "R1", "R2", "R3", "R4"), "next": address}
    assert all(f'name="reservation" value="{pk}"' in form for pk in sent["reservation"])
    page = client.post(reverse("fit-several", args=[job.pk]), sent, follow=True)
    assert on_board(job) == {"R1", "R2", "R3", "R4"}
    assert "R1-R4 are fitted." in page.content.decode()
    client.post(reverse("undo"), {"line": client.session["last"]["lines"]})
    assert on_board(job) == set()
    assert rows_of(client, job) == ["R1-R4", "R5"]


def test_the_next_one_is_fitted_with_its_like_or_alone(sign_in: Enter, job: Job) -> None:
    client, address = sign_in("bench"), reverse("fetch", args=[job.pk])
    skip = promises(job, "C1")
    page = client.get(address, {"skip": skip})
    assert page.context["here"].need.ref == "R1"
    assert page.context["with_it"].refs == "R1-R4"
    assert "All 4: R1-R4" in page.content.decode()
    client.post(reverse("fit-reserved", args=promises(job, "R1")))
    assert on_board(job) == {"R1"}
    assert client.get(address, {"skip": skip}).context["with_it"].refs == "R2-R4"


def test_a_position_that_still_holds_its_old_part_is_not_among_them(sign_in: Enter, job: Job) -> None:
    assert job.board is not None
    stock(1, part=PartFactory(of=PART), place=job.board.place, ref="R3", condition="faulty")
    client = sign_in("bench")
    assert rows_of(client, job) == ["R1, R2, R4", "R3", "R5"]
    sent = {"reservation": promises(job, "R1", "R3"), "next": reverse("fetch", args=[job.pk])}
    page = client.post(reverse("fit-several", args=[job.pk]), sent, follow=True).content.decode()
    assert 'role="alert"' in page
    assert on_board(job) == {"R3"}, "all of them or none"


def test_what_goes_in_one_way_round_is_fitted_one_by_one(sign_in: Enter, job: Job) -> None:
    """Each position has its own line on which way round it goes."""
    polarised = spec("capacitor", "10u", dielectric="aluminium", polarised=True)
    assert job.board is not None
    job.board.design = DesignFactory(positions={"C8": polarised, "C9": polarised})
    job.board.save(update_fields=["design"])
    bag = stock(2, part=PartFactory(of=polarised), place=PlaceFactory(name="A0"))
    for ref in ("C8", "C9"):
        reserve(NeedFactory(job=job, ref=ref, of=polarised), bag, 1, by=None)
    context = sign_in("bench").get(reverse("fetch", args=[job.pk])).context
    assert context["here"].need.ref == "C8"
    assert context["fitting"]
    assert context["with_it"] is None


def test_what_goes_in_one_way_round_has_no_tap_for_all_further_down_either(sign_in: Enter, job: Job) -> None:
    polarised = spec("capacitor", "10u", dielectric="aluminium", polarised=True)
    bag = stock(2, part=PartFactory(of=polarised), place=PlaceFactory(name="C9"))
    for ref in ("C8", "C9"):
        reserve(NeedFactory(job=job, ref=ref, of=polarised), bag, 1, by=None)
    html = unescape(sign_in("bench").get(reverse("fetch", args=[job.pk])).content.decode())
    assert "One by one: each goes in one way round" in html
    assert "All 4 fitted" in html
    assert "All 2 fitted" not in html


def test_like_parts_of_which_something_else_is_noted_are_one_row_too(sign_in: Enter, job: Job) -> None:
    for need in job.needs.filter(ref__in=["R1", "R2"]):
        need.note = f"pull-up of {need.ref}"
        need.save(update_fields=["note"])
    client = sign_in("bench")
    assert rows_of(client, job) == ["R1-R4", "R5"]
    html = unescape(client.get(reverse("fetch", args=[job.pk])).content.decode())
    assert "pull-up of R1" in html
    assert "pull-up of R2" in html


@pytest.mark.parametrize("sent", [[], ["999999"], ["x"]])
def test_what_is_not_reserved_any_more_is_fitted_by_nobody(sign_in: Enter, job: Job, sent: list[str]) -> None:
    asked = {"reservation": [*promises(job, "R1"), *sent] if sent != [] else [], "next": "/now/"}
    if sent == ["x"]:
        asked["reservation"] = sent
    page = sign_in("bench").post(reverse("fit-several", args=[job.pk]), asked, follow=True).content.decode()
    assert "Not all of them are reserved any more" in page
    assert on_board(job) == set()


def test_which_one_of_a_row_was_fitted_meanwhile_is_named(sign_in: Enter, job: Job) -> None:
    client, sent = sign_in("bench"), {"reservation": promises(job, "R1", "R2", "R3"), "next": "/now/"}
    for ref in ("R1", "R3"):
        client.post(reverse("fit-reserved", args=promises(job, ref)))
    page = client.post(reverse("fit-several", args=[job.pk]), sent, follow=True).content.decode()
    assert "Not all of them are reserved any more: R1, R3. Nothing was fitted: look again." in page
    assert on_board(job) == {"R1", "R3"}


def test_another_jobs_reservation_is_not_fitted_here(sign_in: Enter, job: Job) -> None:
    sent = {"reservation": promises(job, "R1"), "next": "/now/"}
    sign_in("bench").post(reverse("fit-several", args=[JobFactory().pk]), sent)
    assert on_board(job) == set()


def test_a_viewer_fits_nothing(sign_in: Enter, job: Job) -> None:
    sent = {"reservation": promises(job, "R1", "R2")}
    assert sign_in("viewer").post(reverse("fit-several", args=[job.pk]), sent).status_code == 403
    assert on_board(job) == set()


def test_like_parts_on_one_donor_are_lifted_in_one_walk(sign_in: Enter, job: Job) -> None:
    donor, of = BoardFactory(name="Gull", purpose="donor"), PartFactory(of=spec("resistor", "22k"))
    for at in (8, 9):
        held = stock(1, part=of, place=donor.place, ref=f"R{at}")
        reserve(NeedFactory(job=job, ref=f"R2{at}", of=spec("resistor", "22k")), held, 1, by=None)
    assert not Place.objects.filter(name="Tray 1").exists()
    html = unescape(sign_in("bench").get(reverse("fetch", args=[job.pk])).content.decode())
    assert "Gull R8, R9</strong>: lift them first" in html
    assert f'{reverse("strip", args=[donor.pk])}?only=R8&only=R9&fetch={job.pk}"' in html
