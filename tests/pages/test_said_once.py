"""What is the same for many is said once: a state, how parts come off, whose a board is."""

import re
from collections.abc import Callable
from urllib.parse import quote_plus

import pytest
from django.test import Client
from django.urls import reverse

from inventory.boards import survey
from repairs.models import Reservation
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PersonFactory,
    PlaceFactory,
    spec,
)

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def seen(html: str) -> str:
    """What stands on the page for whoever looks, without what is said to a screen reader alone."""
    main = html.partition("<main")[2].partition("</main>")[0]
    return re.sub(r'<span class="out-of-sight">[^<]*</span>', "", main)


def test_a_board_without_a_picture_says_of_its_positions_once_that_they_are_empty(sign_in: Enter) -> None:
    design = DesignFactory(positions={f"R{at}": spec(value=str(at)) for at in range(1, 19)})
    board = BoardFactory(design=design, purpose="under_repair")
    answer = sign_in("bench").get(reverse("board", args=[board.pk]))
    words = re.findall(r"\bempty\b", re.sub(r"<[^>]*>", " ", seen(answer.content.decode())), re.I)
    assert len(words) == 2, "over the grid, and over the table of positions"
    assert answer.context["map"].loose_by_state == [("empty", [f"R{at}" for at in range(1, 19)])]
    for at in range(1, 19):
        assert f'data-pin="R{at}"' in answer.content.decode()


def test_positions_of_each_state_stand_together_in_order(sign_in: Enter) -> None:
    design = DesignFactory(positions={f"R{at}": spec() for at in (1, 2, 10)})
    donor = BoardFactory(design=design, purpose="donor")
    survey(donor, by=None)
    client = sign_in("bench")
    client.post(reverse("strip", args=[donor.pk]), {"ref": "R2", "judge": "gone"})
    shown = client.get(reverse("board", args=[donor.pk])).context["map"].loose_by_state
    assert dict(shown)["untested"] == ["R1", "R10"]
    assert [ref for _state, refs in shown for ref in refs if ref == "R2"] == ["R2"]


def test_how_parts_come_off_is_said_with_the_first_and_where_it_changes(sign_in: Enter) -> None:
    design = DesignFactory(
        positions={f"R{at}": spec() for at in (1, 2, 3)} | {"IC1": spec("ic", None, number="4116")}
    )
    design.positions.filter(ref="IC1").update(socketed=True)
    donor = BoardFactory(design=design, purpose="donor")
    survey(donor, by=None)
    client, address = sign_in("bench"), reverse("strip", args=[donor.pk])

    told = ""

    def openly(ref: str) -> list[str]:
        """As the forms of the page before say what was told; another tab knows nothing of it."""
        nonlocal told
        html = client.get(address, {"ref": ref, "told": told}).content.decode()
        [told] = set(re.findall(r'name="told" value="([^"]*)"', html))
        return re.findall(r'<p class="hint">([^<]*never lever[^<]*)</p>', html)

    assert len(openly("R1")) == 1
    assert openly("R2") == []
    folded = client.get(address, {"ref": "R3", "told": told}).content.decode().partition("Take care")[2]
    assert "never lever it off the board" in folded.partition("</details>")[0]
    assert "extractor" in openly("IC1")[0]
    assert len(openly("R2")) == 1
    sent = {"ref": "R2", "judge": "skip", "told": told}
    assert f"told={quote_plus(told)}" in client.post(address, sent).url
    told = ""
    assert len(openly("R3")) == 1


def test_a_tray_that_is_none_is_refused_once_on_the_stripping_page(sign_in: Enter) -> None:
    design = DesignFactory(positions={"R1": spec()})
    donor = BoardFactory(design=design, purpose="donor")
    survey(donor, by=None)
    PlaceFactory(type="tray")
    html = sign_in("bench").get(reverse("strip", args=[donor.pk]), {"tray": "99999"}).content.decode()
    assert html.count("Not found.") == 1


def test_what_to_lift_says_once_of_a_stage_how_it_comes_off(sign_in: Enter) -> None:
    design = DesignFactory(positions={f"R{at}": spec() for at in (1, 2, 3)})
    donor = BoardFactory(name="Hall", design=design, purpose="donor")
    survey(donor, by=None)
    job = JobFactory(board=BoardFactory(design=design, purpose="under_repair"))
    for at in (1, 2, 3):
        NeedFactory(job=job, of=spec(), ref=f"R{at}")
    assert not Reservation.objects.exists()
    page = sign_in("bench").get(reverse("harvest"))
    [section] = page.context["boards"]
    [said] = {lift.stage_words for lift in section["shown"]}
    assert len(section["shown"]) == 3
    assert page.content.decode().lower().count(said.lower()) == 1
    assert f"{said}:" not in page.content.decode().lower(), "it has a colon of its own"


@pytest.mark.parametrize("purpose", ["donor", "working"])
def test_a_board_says_once_whose_it_is(sign_in: Enter, purpose: str) -> None:
    wren = PersonFactory(username="wren")
    design = DesignFactory(positions={"R1": spec()})
    board = BoardFactory(design=design, purpose=purpose, owner=wren)
    survey(board, by=None)
    html = seen(sign_in("bench").get(reverse("board", args=[board.pk])).content.decode())
    assert html.count("<strong>wren's</strong>") == 1
    assert "what you need of it is asked for" not in html
    assert "only wren lifts or lends what is on it" in html
