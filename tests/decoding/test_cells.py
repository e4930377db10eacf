"""Cells with their chemistry in words: sizes of IEC 60086 and of makers, from memory."""

from __future__ import annotations

import pytest

from inventory.decoding import Question, decode
from inventory.decoding.cells import LITHIUM, LITHIUM_ION, PRIMARY, RECHARGEABLE


@pytest.mark.parametrize(
    ("marking", "number", "caution"),
    [
        ("1/2AA 3.6V lithium", "1/2AA", LITHIUM), ("1/2AA lithium 3.6V", "1/2AA", LITHIUM),
        ("2/3A 3V lithium", "2/3A", LITHIUM), ("AA 3.6V lithium", "AA", LITHIUM),
        ("D 3.6V lithium", "D", LITHIUM), ("3V lithium", "", LITHIUM),
        ("CR2032 lithium 3V", "CR2032", LITHIUM), ("CR2032 3V lithium", "CR2032", LITHIUM),
        ("CR123A 3V lithium", "CR123A", LITHIUM), ("CR2 lithium", "CR2", LITHIUM),
        ("BR2325 lithium 3V", "BR2325", LITHIUM), ("ER14250 3.6V lithium", "ER14250", LITHIUM),
        ("SAFT LS14500 3.6V lithium", "LS14500", LITHIUM),
        ("ER14505 lithium thionyl 3.6V", "ER14505", LITHIUM),
        ("Li-ion 18650 3.7V", "18650", LITHIUM_ION), ("18650 3.7V Li-ion", "18650", LITHIUM_ION),
        ("LIR2032 rechargeable", "LIR2032", LITHIUM_ION),
        ("LR44 alkaline", "LR44", PRIMARY), ("AA 1.5V alkaline", "AA", PRIMARY),
        ("AAA alkaline", "AAA", PRIMARY), ("9V alkaline", "", PRIMARY),
        ("NiMH AA 1.2V", "AA", RECHARGEABLE), ("3.6V Ni-Cd", "", RECHARGEABLE),
    ],
)  # fmt: skip
def test_a_word_for_the_chemistry_makes_a_cell_with_its_caution(
    marking: str, number: str, caution: str
) -> None:
    reading = decode(Question(marking=marking)).readings[0]
    assert (reading.traits.get("device"), reading.number) == ("battery", number)
    assert caution in reading.cautions
