"""Which memory stands in for which, by number (from memory: data sheets, where nothing else is named)."""

from typing import Any

import pytest

from inventory.spec import Spec, fits


def chip(number: str, **traits: Any) -> Spec:
    return Spec("ic", number=number, traits=traits)


def grade(required: Spec, offered: Spec) -> str:
    return fits(required, offered).grade


def test_a_6514_for_a_2114_is_a_question_for_the_data_sheets() -> None:
    """One keeps its address from the select edge on, the other follows it."""
    for required in (chip("2114", function="sram"), chip("2114", organisation="1Kx4"), chip("2114")):
        fit = fits(required, chip("6514", function="sram"))
        assert fit.grade == "ask"
        assert (fit.reasons[0].property, fit.reasons[0].settled_by) == ("number", "data_sheet")
        assert "latches the address" in fit.reasons[0].rule


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        # makers' own numbers for one memory
        ("4164", "TMS4164-15NL", "same"),
        ("4164", "HM4864-2", "drop_in"),
        ("4164", "MCM6665AL20", "drop_in"),
        ("4116", "µPD416C-2", "drop_in"),
        ("2114", "MM2114N-L", "same"),
        ("2114", "TMS4045", "drop_in"),
        ("HM6264LP-15", "MB8464-15", "drop_in"),
        ("HM6264LP-15", "MB8464", "ask"),  # how fast is not said
        # one size, other pins or supplies
        ("2716", "TMS2716", "no"),
        ("2716", "TMS2516", "drop_in"),
        ("2732", "2532", "ask"),
        ("2708", "2716", "no"),
        ("4116", "4164", "no"),
        ("6116", "6264", "no"),
        # a number that no list has
        ("2114", "4334", "ask"),
    ],
)
def test_a_memory_by_its_number(required: str, offered: str, expected: str) -> None:
    assert grade(chip(required), chip(offered, function=chip(required).known["function"])) == expected


def test_figures_that_mean_another_chip_without_the_makers_letters() -> None:
    assert grade(chip("4016"), chip("CD4016BE")) == "same"
    assert grade(chip("TMS4016"), chip("CD4016BE")) == "no"


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        ("2716", "2732", "with_note"),
        ("2764", "27C128", "with_note"),
        ("27128", "2764", "no"),
        ("2732", "2764", "no"),
    ],
)
def test_a_larger_eprom_reads_the_part_that_its_extra_pins_select(
    required: str, offered: str, expected: str
) -> None:
    assert grade(chip(required), chip(offered)) == expected


def test_a_larger_eprom_of_which_the_legs_are_not_known_is_looked_at() -> None:
    small, large = (chip("", function="eprom", organisation=size) for size in ("8Kx8", "16Kx8"))
    fit = fits(small, large)
    assert (fit.grade, fit.reasons[0].settled_by) == ("ask", "look")
