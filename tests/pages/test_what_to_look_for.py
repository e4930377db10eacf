"""What a page says to look for: the marking that such a body mostly carries, that first.

Bands on resistors: IEC 60062.  What stands on cans, diodes and cement bodies: common practice, no source.
"""

import pytest

from inventory.part_lines import read_line
from inventory.spec import Spec
from repairs.pages.need_rows import look


def words_of(line: str) -> str:
    spec = read_line(line).spec
    assert spec is not None
    return look(spec).words


@pytest.mark.parametrize(
    ("line", "begins"),
    [
        ("4k7 5% 0.25W", "yellow violet red gold"),
        ("R47 5W wirewound", "R47"),
        ("10uF 25V radial aluminium", "10µF 25V"),
        ("10u 16V tantalum", "10µF 16V"),
        ("100n 275V X2 film", "104 275V"),
        ("1N4007", "1N4007"),
        ("BC309 transistor", "BC309"),
    ],
)
def test_the_usual_marking_comes_first(line: str, begins: str) -> None:
    assert words_of(line).startswith(begins)


@pytest.mark.parametrize("line", ["10uF 25V radial aluminium", "2.2uF 63V aluminium", "10u 16V tantalum"])
def test_no_r_stands_for_the_point_of_microfarads(line: str) -> None:
    assert "R" not in words_of(line)


@pytest.mark.parametrize("line", ["1N4007", "1N5349B", "100n 275V X2 film", "47u 25V aluminium"])
def test_no_bands_are_looked_for_on_what_is_printed(line: str) -> None:
    assert not {"yellow", "brown", "green"} & set(words_of(line).split())
    spec = read_line(line).spec
    assert spec is not None
    assert "brown" not in look(spec).drawing


def test_colours_that_were_written_down_are_looked_for_on_any_part() -> None:
    spec = read_line("1N4148").spec
    assert spec is not None
    assert look(spec, "yellow brown yellow grey").words == "yellow brown yellow grey"


@pytest.mark.parametrize("name", ["lithium cell, Li-SOCl2", "relay, 1 change-over 5 A"])
def test_a_description_is_no_marking(name: str) -> None:
    assert look(Spec(kind="other", number=name)).words == ""
