"""What Rehome says of a part is read back as that part: nobody copies a line of its own in vain."""

from __future__ import annotations

import pytest
from hypothesis import assume, given

from inventory.part_lines import read_line, with_unsaid
from inventory.spec import Spec
from inventory.spec.kinds import KINDS

from .said import said


@given(said())
def test_what_is_said_of_a_part_is_read_back_as_that_part(spec: Spec) -> None:
    assume(spec.text not in (spec.kind, KINDS[spec.kind].noun))
    line = read_line(spec.text)
    assert line.spec is not None
    assert (line.quantity, [word.text for word in line.unread]) == (None, [])
    assert spec.facts.items() <= with_unsaid(spec, line.spec).facts.items()


@pytest.mark.parametrize(
    ("line", "text"),
    [
        ("4-pole 2-way switch", "4-pole 2-way switch"),
        ("2-pole relay", "2-pole relay"),
        ("red LED, 5 mm", "red LED, 5 mm"),
        ("R22 5 % resistor", "R22 5 % resistor"),  # no reference: nothing else says how many ohms
        ("5V1 zener", "5.1 V zener diode"),
        ("fuse 1A 5x20mm", "1 A fuse, 5x20"),
        ("regulator -12V TO-220", "-12 V regulator, TO-220"),
        ("mains transformer 230V 15V + 9V", "15 V + 9 V mains transformer"),
    ],
)
def test_words_for_what_parts_are_are_known(line: str, text: str) -> None:
    read = read_line(line)
    assert read.spec is not None
    assert (read.spec.text, read.unread) == (text, ())


def test_a_taper_letter_is_a_law_and_is_asked_about() -> None:
    # Common practice, no source: A and B stood for the other law on some old European parts.
    read = read_line("B10K pot")
    assert read.spec is not None
    assert (read.spec.text, read.spec.traits["taper"]) == ("10k lin potentiometer", "linear")
    assert any("old European" in each for each in read.doubts)
    assert not read_line("10k lin pot").doubts
