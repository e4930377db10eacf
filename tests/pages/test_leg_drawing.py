"""Legs are drawn where they are known; what was found on the part goes before what its type says."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from inventory.pages.leg_drawing import legs_drawn
from inventory.spec import Spec
from tests.factories import PartFactory, stock


def words_at(svg: str) -> dict[str, tuple[float, float]]:
    found = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" text-anchor="\w+">([^<]*)</text>', svg)
    return {word: (float(x), float(y)) for x, y, word in found}


def test_a_chip_counts_down_the_left_and_up_the_right() -> None:
    """Texas Instruments, data sheet of the NE555: GND 1, RESET 4, CTRL 5, VCC 8 (from memory)."""
    drawn = legs_drawn(Spec(kind="ic", number="NE555P"))
    assert drawn is not None
    at = words_at(drawn.svg)
    assert at["GND"][0] < at["VCC"][0]
    assert at["GND"][1] == at["VCC"][1] < at["RESET"][1] == at["CTRL"][1]
    assert drawn.held.startswith("from above, notch")


def test_a_can_is_seen_from_below_clockwise_from_its_tab() -> None:
    """JEDEC TO-18 of the 2N2222: emitter by the tab, base, collector (Motorola data book, from memory)."""
    drawn = legs_drawn(Spec(kind="transistor", number="2N2222", package="TO-18"))
    assert drawn is not None
    at = words_at(drawn.svg)
    assert (
        at["1 E"][1] < at["2 B"][1] < at["3 C"][1]
    )  # the tab is at the upper left: clockwise is down the right
    assert at["2 B"][0] > at["1 E"][0]
    assert "from below" in drawn.held


def test_a_flat_body_reads_from_left_to_right() -> None:
    """TO-220 of the 7805: input, ground, output with the print towards one (data books, from memory)."""
    drawn = legs_drawn(Spec(kind="regulator", number="7805", package="TO-220"))
    assert drawn is not None
    at = words_at(drawn.svg)
    assert at["IN"][0] < at["GND"][0] < at["OUT"][0]


def test_what_was_found_on_the_part_goes_before_what_its_type_says() -> None:
    spec = Spec(kind="transistor", number="BC547", package="TO-92", traits={"pin_order": "E-B-C"})
    drawn = legs_drawn(spec)
    assert drawn is not None
    assert drawn.names == ("E", "B", "C")


@pytest.mark.parametrize(
    "spec",
    [
        Spec(kind="transistor", number="ZX99QQ"),
        Spec(kind="resistor", value=4700),
        Spec(kind="transistor", number="BC547", package="a shape of its own", traits={"pin_order": "E-B-C"}),
    ],
)
def test_where_nothing_is_known_nothing_is_drawn(spec: Spec) -> None:
    assert legs_drawn(spec) is None


@pytest.mark.django_db
def test_the_page_of_a_lot_shows_them_and_says_how_it_is_held(sign_in: type[Client]) -> None:
    held = stock(1, part=PartFactory(of=Spec(kind="ic", number="NE555P", package="DIP-8")))
    page = sign_in("viewer").get(reverse("lot", args=[held.lot_id])).content.decode()
    assert "DIP-8: 1 GND, 2 TRIG" in page
    assert "from above, notch or dot at the top" in page
