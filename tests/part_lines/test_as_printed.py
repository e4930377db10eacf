"""What stands on a part, typed as it stands: the line of parts never reads less of it than the reader of markings.

The types are from makers' data books, from memory; 14D471K is the usual name of a varistor of 14 mm and 470 V at
1 mA (common practice, no source).
"""

import pytest

from inventory.part_lines import read_line


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("14D471K", "14D471K varistor"),
        ("RV1 14D471K", "14D471K varistor"),
        ("L293D", "L293 motor driver IC, D"),
        ("P8080A", "8080 cpu IC, A, Intel"),
        ("R6502P", "6502 cpu IC, P, Rockwell"),
        ("3N211", "3N211 transistor"),
    ],
)
def test_a_type_is_not_taken_for_the_value_that_its_letters_could_be(typed: str, text: str) -> None:
    line = read_line(typed)
    assert line.spec is not None
    assert line.spec.text == text
    assert line.unread == ()


@pytest.mark.parametrize("typed", ["RV1 10k", "RV1 10k lin", "VR1 4k7"])
def test_a_variable_resistor_is_still_one(typed: str) -> None:
    spec = read_line(typed).spec
    assert spec is not None
    assert spec.kind == "resistor"


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("4164-15", "4164 64K x 1 150 ns DRAM IC"),
        ("U3 41256-12", "41256 256K x 1 120 ns DRAM IC"),
        ("2764-25", "2764 8K x 8 250 ns EPROM IC"),
        ("4 x 6264-15", "6264 8K x 8 150 ns SRAM IC"),
    ],
)
def test_a_speed_behind_a_hyphen_is_read_with_its_type(typed: str, text: str) -> None:
    line = read_line(typed)
    assert line.spec is not None
    assert line.spec.text == text
    assert line.unread == ()
