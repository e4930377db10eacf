"""Cautions where work can hurt someone, and what is not done at all."""

from decimal import Decimal

import pytest

from repairs.proving.cautions import DEFER, blocks, left_after, lifting, of_hazards, of_part, seconds_to_fall
from tests.proving.boards import part


# "Protection against residual voltage" (IEC 60204-1), sdev.dk 2011: V = V0 e^(-t/RC)
@pytest.mark.parametrize(("constants", "percent"), [(1, "36.79"), (2, "13.53"), (3, "4.98"), (5, "0.67")])
def test_what_is_left_after_so_many_time_constants(constants: int, percent: str) -> None:
    assert round(left_after(Decimal(constants)) * 100, 2) == Decimal(percent)


@pytest.mark.parametrize(("to", "seconds"), [("50", "0.906"), ("10", "1.685")])
def test_how_long_a_charged_capacitor_takes(to: str, seconds: str) -> None:
    """220 µF at 325 V through 2.2 kΩ (arithmetic; the 50 V threshold: electrotechnik.net 2009)."""
    took = seconds_to_fall(Decimal(325), Decimal(to), Decimal("0.00022"), Decimal(2200))
    assert round(took, 3) == Decimal(seconds)


def test_the_bleed_resistor_of_the_published_case() -> None:
    """4.4 µF at 373 V falls to 60 V in 5 s through at most 622 kΩ: IEEE safety list on IEC 61010-1."""
    farads = Decimal("0.0000044")
    assert seconds_to_fall(Decimal(373), Decimal(60), farads, Decimal(621_000)) < 5
    assert seconds_to_fall(Decimal(373), Decimal(60), farads, Decimal(623_000)) > 5


def test_nothing_to_wait_for_where_it_is_lower_already() -> None:
    assert seconds_to_fall(Decimal(12), Decimal(50), Decimal(1), Decimal(1)) == 0


@pytest.mark.parametrize("word", ["microwave", "sealed_high_voltage", "pcb_oil", "beryllia"])
def test_some_work_is_refused_not_advised_on(word: str) -> None:
    assert [caution.step for caution in blocks(["mains", word])] == [word]


def test_mains_is_a_caution_and_no_refusal() -> None:
    assert blocks(["mains", "lithium", "nicd", "crt"]) == ()
    told = of_hazards(["mains"])[0].text
    assert "not a screwdriver" in told
    assert "measure" in told


def test_a_hazard_that_nobody_knows_is_still_told() -> None:
    assert of_hazards(["radium_dial"])[0].step == "radium_dial"


def test_lifting_says_what_the_parts_ask() -> None:
    told = {caution.step for caution in lifting(["mains"], [part("capacitor", value="220u", volts="350")])}
    assert {"mains", "stored_charge", "soldering"} <= told
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
