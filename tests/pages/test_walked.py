"""What a walk from an empty bench to a closed job stumbled over, each said or guarded where it is met."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory import ledger
from inventory.models import Board, Holding, Place
from repairs.models import Purchase
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


def test_drawers_are_made_where_they_are_looked_for(sign_in: Enter) -> None:
    client = sign_in("bench")
    assert reverse("make-place") in client.get(reverse("drawers")).content.decode()
    made = client.post(reverse("make-place"), {"name": "A1-A12", "type": "drawer"}, follow=True)
    assert made.redirect_chain[-1][0] == reverse("drawers")
    page = made.content.decode()
    assert "12 drawers are made: A1 to A12." in page
    assert "0 pieces in 0 lots" not in page
    assert page.count(">empty<") == 12 + 1  # and the scrap bin
    assert reverse("make-place") not in sign_in("viewer").get(reverse("drawers")).content.decode()


def test_the_shop_is_typed_once(sign_in: Enter) -> None:
    for value in ("1k", "2k2"):
        NeedFactory(of=spec("resistor", value), ref="R1", job=JobFactory(board=BoardFactory()))
    client = sign_in("bench")
    first, *_rest = client.get(reverse("buy")).context["items"]
    assert first["bought_from"] == ""
    client.post(reverse("buy-order"), {"line": first["line"], "quantity": 1, "bought_from": "Harbour Radio"})
    assert Purchase.objects.get().bought_from == "Harbour Radio"
    [other] = client.get(reverse("buy")).context["items"]
    assert other["bought_from"] == "Harbour Radio"


def test_a_piece_that_stands_in_for_another_says_so_as_it_is_fitted(sign_in: Enter) -> None:
    job = JobFactory(board=BoardFactory(purpose="under_repair"))
    need = NeedFactory(of=spec("diode", None, number="1N4001"), ref="D2", job=job)
    same = NeedFactory(of=spec("resistor", "4k7"), ref="R1", job=job)
    reserve(need, stock(part=PartFactory(of=spec("diode", None, number="1N4007"))), 1, by=None)
    reserve(same, stock(part=PartFactory(of=spec("resistor", "4k7"))), 1, by=None)
    client = sign_in("bench")
    page = client.get(reverse("fetch", args=[job.pk]))
    assert page.context["here"].need == need
    assert page.context["stands_in"][:2] == ("1N4001 diode", "drop-in")
    assert "In place of 1N4001 diode: <strong>drop-in</strong>" in page.content.decode()
    later = client.get(reverse("fetch", args=[job.pk]), {"skip": need.reservations.get().pk})
    assert later.context["stands_in"] is None
    assert "in place of 1N4001 diode" in later.content.decode()


def test_a_trial_is_the_next_action_after_which_nothing_before_is_undone(sign_in: Enter) -> None:
    held = stock(part=PartFactory(of=spec("resistor", "4k7")))
    drawer = Place.objects.create(name="Row 7", type="drawer")
    client = sign_in("bench")
    client.post(
        reverse("move-pieces", args=[held.pk]), {"what": "move", "to": drawer.pk, "quantity": held.quantity}
    )
    assert "last" in client.session
    client.post(reverse("try-lot", args=[held.lot_id]), {"method": "ohms", "reading": "4.7k"})
    assert "last" not in client.session


@pytest.mark.parametrize(("kind", "number", "offered"), [("ic", "555", True), ("diode", "1N4148", False)])
def test_supply_pins_are_asked_of_what_has_some(
    sign_in: Enter, kind: str, number: str, offered: bool
) -> None:
    held = stock(part=PartFactory(of=spec(kind, None, number=number)))
    html = sign_in("bench").get(reverse("try-lot", args=[held.lot_id])).content.decode()
    assert ("ohms between supply and ground" in html) == offered


def test_enter_in_a_note_says_neither_in_order_nor_wrong(workshop: None, sign_in: Enter) -> None:
    """The first button of a form is pressed by Enter; one that is disabled is not (HTML Living Standard)."""
    board = Board.objects.get(name="Tern C, bare board")
    html = sign_in("bench").get(reverse("safe", args=[board.pk])).content.decode()
    forms = re.findall(r'<form method="post"[^>]*/safe/(?:check|orientation)/.*?</form>', html, re.S)
    assert forms
    for form in forms:
        first = re.search(r"<button[^>]*>", form)
        assert first
        assert "disabled" in first[0]


def supply_with_a_chip() -> Board:
    chip = spec("ic", None, number="LM741", package="dip8", lead_style="dip")
    rail = {"name": "+12V", "nominal": "12", "order": 1, "protects": ["IC1"]}
    design = DesignFactory(positions={"IC1": chip}, rails=[rail], hazards=["mains", "stored_charge"])
    design.positions.update(socketed=True)
    board: Board = BoardFactory(design=design, purpose="under_repair")
    stock(part=PartFactory(of=chip), place=board.place, ref="IC1", condition="untested")
    return board


def states(client: Client, board: Board) -> dict[str, str]:
    page = client.get(reverse("safe", args=[board.pk]))
    checks = [*page.context["open"], *page.context["passed"]]
    return {check.item.check: check.item.state for check in checks}


def test_a_chip_that_was_out_while_the_rails_were_measured_is_still_what_was_accepted(sign_in: Enter) -> None:
    client, board = sign_in("bench"), supply_with_a_chip()
    seen = client.get(reverse("safe", args=[board.pk])).context["seen"]
    sent = {"check": "condition", "subject": "IC1", "why": "worked yesterday", "seen": seen}
    client.post(reverse("safe-accept", args=[board.pk]), sent)
    for way in ("out", "in"):
        client.post(reverse("safe-chips", args=[board.pk]), {"chips": way})
    found = states(client, board)
    assert found["condition"] == "pass"
    assert found["orientation"] == "open", "it went in again: which way round is looked at again"


def test_another_chip_is_not_what_was_accepted(sign_in: Enter) -> None:
    client, board = sign_in("bench"), supply_with_a_chip()
    seen = client.get(reverse("safe", args=[board.pk])).context["seen"]
    sent = {"check": "condition", "subject": "IC1", "why": "worked yesterday", "seen": seen}
    client.post(reverse("safe-accept", args=[board.pk]), sent)
    there = Holding.objects.get(place=board.place, ref="IC1")
    ledger.remove(board, "IC1", ledger.Spot(PlaceFactory(type="tray").pk), by=None)
    twin = stock(part=there.lot.part, condition="untested")
    ledger.fit(twin.lot, ledger.Spot(twin.place_id), board, "IC1", by=None)
    assert states(client, board)["condition"] == "open"


def test_what_can_hurt_is_named_in_words_and_said_once(sign_in: Enter) -> None:
    page = sign_in("bench").get(reverse("safe", args=[supply_with_a_chip().pk])).content.decode()
    assert "stored charge" in page
    assert "stored_charge" not in page
    cautions = page.partition("to know first")[2].partition("</ul>")[0]
    assert cautions.count("discharge through a resistor") == 1


def test_a_job_that_gets_nothing_is_told_which_job_comes_first(sign_in: Enter) -> None:
    client, wanted = sign_in("bench"), spec("resistor", "4k7")
    first, later = JobFactory(name="The amplifier", priority=1), JobFactory(name="The clock", priority=3)
    for job in (first, later):
        NeedFactory(of=wanted, job=job, quantity=2)
    stock(2, part=PartFactory(of=wanted))
    address = reverse("reserve-plan", args=[later.pk])
    page = client.post(address, follow=True).content.decode()
    assert "0 reserved for The clock. Still lacking 2. What is free goes to The amplifier first." in page
    client.post(reverse("reserve-plan", args=[first.pk]))
    page = client.post(address, follow=True).content.decode()
    assert "0 reserved for The clock. Still lacking 2." in page
    assert "goes to" not in page, "none is free any more"
