"""Cautions where work can hurt someone, and what is not done at all."""

import pytest

from repairs.proving.cautions import DEFER, blocks, lifting, of_hazards, of_part
from tests.proving.boards import part


@pytest.mark.parametrize("word", ["microwave", "sealed_high_voltage", "pcb_oil", "beryllia"])
def test_some_work_is_refused_not_advised_on(word: str) -> None:
    assert [caution.step for caution in blocks(["mains", word])] == [word]


def test_mains_is_a_caution_and_no_refusal() -> None:
    assert blocks(["mains", "lithium", "nicd", "crt"]) == ()
    answer = of_hazards(["mains"])[0].text
    assert "not a screwdriver" in answer
    assert "measure" in answer


def test_a_hazard_that_nobody_knows_is_still_shown() -> None:
    assert of_hazards(["radium_dial"])[0].step == "radium_dial"


def test_lifting_says_what_the_parts_ask() -> None:
    answer = {caution.step for caution in lifting(["mains"], [part("capacitor", value="220u", volts="350")])}
    assert {"mains", "stored_charge", "soldering"} <= answer
    assert of_part(part("capacitor", value="100n", volts="63")) == ()
    assert [caution.step for caution in of_part(part("diode", traits={"material": "selenium"}))] == [
        "selenium"
    ]
    assert [caution.step for caution in of_part(part("other", number="lithium cell, Li-SOCl2"))] == [
        "lithium"
    ]


def test_licensed_practice_comes_first() -> None:
    assert "local codes" in DEFER
    assert "licensed" in DEFER
