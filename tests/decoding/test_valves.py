"""Valves by their types, said with the caution that goes with them.

Heater letters, systems and bases as in Mullard's valve type nomenclature; what the American and Soviet types
are, from memory of valve handbooks.
"""

import pytest

from inventory.decoding import Question, Reading, decode
from inventory.part_lines import read_line


def best(marking: str, body: str = "") -> Reading:
    return decode(Question(marking=marking, body=body)).readings[0]


@pytest.mark.parametrize(
    ("marking", "words"),
    [
        ("ECC83", "valve: double triode, heater 6.3 V"),
        ("EL84", "valve: output tetrode or pentode, heater 6.3 V"),
        ("PCL86", "valve: triode and output tetrode or pentode, heater 300 mA"),
        ("DY87", "valve: half-wave rectifier, heater 1.4 V"),
        ("E88CC", "valve: double triode, heater 6.3 V"),
        ("GZ34", "valve: full-wave rectifier, heater 5 V"),
        ("12AX7", "valve, heater about 12 V"),
        ("6SN7GT", "valve, heater about 6 V"),
        ("OB2", "valve: gas-filled voltage stabiliser"),
        ("6П14П", "valve"),
    ],
)
def test_a_valve_is_said_to_be_one_with_its_volts(marking: str, words: str) -> None:
    reading = best(marking)
    assert (reading.kind, reading.traits["device"], reading.function) == ("other", "valve", words)
    assert any("hundreds of volts" in caution for caution in reading.cautions)
    line = read_line(f"3 x {marking}")
    assert line.spec is not None
    assert (line.quantity, line.spec.traits["device"], line.unread) == (3, "valve", ())


def test_a_valve_at_its_place_on_a_board() -> None:
    # V is an electron tube's letter (IEEE 315-1975 clause 22, from memory), and in Europe a transistor's.
    assert read_line("V1 EL84").spec == read_line("EL84").spec
    transistor = read_line("V2 BC547B").spec
    assert transistor is not None
    assert transistor.kind == "transistor"


@pytest.mark.parametrize(
    ("marking", "kind"),
    [
        ("6K8", "resistor"),
        ("1R5", "resistor"),
        ("5V6", "diode"),
        ("EL817", "ic"),
        ("PC817", "ic"),
        ("UF4004", "diode"),
        ("DF06M", "diode"),
        ("2SC9", "transistor"),
        ("KC508", "transistor"),
    ],
)
def test_what_looks_like_a_valve_is_none(marking: str, kind: str) -> None:
    readings = decode(Question(marking=marking)).readings
    assert "valve" not in {each.traits.get("device") for each in readings if each.score > 0.2}
    assert kind in {each.kind for each in readings}
