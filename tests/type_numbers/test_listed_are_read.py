"""A type that our own tables list is read as what they say of it, on a line and as a marking.

What the tables say is from the makers' data books, as each table names them.
"""

import pytest

from inventory.part_lines import read_line
from inventory.type_numbers import entry_of
from inventory.type_numbers.tables import rows

TABLES = {"diode": "diodes", "transistor": "transistors", "regulator": "regulators"}
OF_SEVERAL_MEANINGS = ("M1", "M2", "M3", "M4", "M5", "M6", "M7", "S1G", "S1J", "S1K", "S1M")
"""Also a chip resistor of 100k and the like, and temperature characteristics of EIA-198."""


@pytest.mark.parametrize("kind", TABLES)
def test_a_listed_type_is_read_as_its_kind(kind: str) -> None:
    numbers = {row["number"] for row in rows(TABLES[kind])} - set(OF_SEVERAL_MEANINGS)
    read = {number: read_line(number).spec for number in numbers}
    assert not {number for number, spec in read.items() if spec is None or spec.kind != kind}


def test_a_listed_diode_does_what_its_table_says() -> None:
    """By their letters alone a BAT46 is a signal diode, a BYV26C a slow rectifier."""
    wrong = set()
    for row in rows("diodes"):
        spec = read_line(row["number"]).spec
        said = spec.traits.get("function") if spec and spec.kind == "diode" else None
        if said and said != (entry_of("diode", row["number"]) or {})["function"]:
            wrong.add((row["number"], said))
    assert not wrong


@pytest.mark.parametrize(
    ("typed", "function"),
    [  # makers' letters: Texas, Motorola, SGS-Thomson data books, from memory
        ("TIC206M", "triac"), ("MAC15A8", "triac"), ("Z0409MF", "triac"), ("T410-600", "triac"),
        ("TIC106D", "thyristor"), ("MCR100-6", "thyristor"), ("TYN612", "thyristor"),
        ("BT145", None),  # Pro Electron's T is for either
        ("TAG8-600", None),
    ],
)  # fmt: skip
def test_a_triac_is_no_thyristor(typed: str, function: str | None) -> None:
    spec = read_line(typed).spec
    assert spec is not None
    assert (spec.kind, spec.traits.get("function")) == ("diode", function)
