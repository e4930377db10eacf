"""What the legs of a type carry: data books of Motorola, National, Texas, Philips and SGS, from memory."""

import pytest

from inventory.type_numbers import facts_of, legs_of
from inventory.type_numbers.legs import CAN, CHIP, FLAT, POWER_CAN, PRINT, SURFACE
from inventory.type_numbers.tables import rows

TYPES = {"transistor": "transistors", "regulator": "regulators", "diode": "diodes"}


@pytest.mark.parametrize(
    ("kind", "number", "names", "held"),
    [
        ("transistor", "BC547B", "C B E", FLAT),
        ("transistor", "BC557C", "C B E", FLAT),
        ("transistor", "BC337-40", "C B E", FLAT),
        ("transistor", "2N3904", "E B C", FLAT),
        ("transistor", "2N3906", "E B C", FLAT),
        ("transistor", "BC107B", "E B C", CAN),
        ("transistor", "2N2222A", "E B C", CAN),
        ("transistor", "PN2222A", "E B C", FLAT),
        ("transistor", "BD139-16", "E C B", PRINT),
        ("transistor", "TIP31C", "B C E", PRINT),
        ("transistor", "2N3055", "B E C", POWER_CAN),
        ("transistor", "2SC1815", "E C B", FLAT),
        ("transistor", "IRF540N", "G D S", PRINT),
        ("transistor", "BC847B", "B E C", SURFACE),
        ("transistor", "BS170", "D G S", FLAT),
        ("transistor", "2N7000", "S G D", FLAT),
        ("regulator", "L7805CV", "IN GND OUT", PRINT),
        ("regulator", "LM7912CT", "GND IN OUT", PRINT),
        ("regulator", "78L05", "OUT GND IN", FLAT),
        ("regulator", "MC79L12ACP", "GND IN OUT", FLAT),
        ("regulator", "LM7805K", "IN OUT GND", POWER_CAN),
        ("regulator", "LM317T", "ADJ OUT IN", PRINT),
        ("regulator", "LM337T", "ADJ IN OUT", PRINT),
        ("regulator", "LM317LZ", "ADJ OUT IN", FLAT),
        ("regulator", "TL431CLP", "REF A K", FLAT),
        ("diode", "BT151-500R", "K A G", PRINT),
        ("diode", "MCR100-6", "K G A", FLAT),
        ("ic", "LM35DZ", "V+ OUT GND", FLAT),
        ("ic", "NE555P", "GND TRIG OUT RESET CTRL THRES DISCH VCC", CHIP),
        ("ic", "SN74LS00N", "1A 1B 1Y 2A 2B 2Y GND 3Y 3A 3B 4Y 4A 4B VCC", CHIP),
    ],
)
def test_what_the_legs_of_the_commonest_types_carry(kind: str, number: str, names: str, held: str) -> None:
    legs = legs_of(kind, number)
    assert legs is not None
    assert (" ".join(legs.names), legs.held) == (names, held)


@pytest.mark.parametrize(
    ("kind", "number", "package"),
    [
        ("transistor", "BC547", "SOT-23"),  # no such type
        ("transistor", "2N2222A", "TO-92"),  # in plastic two makers differ
        ("regulator", "LM7805K", "TO-220"),
        ("ic", "NE555P", "TO-99"),
        ("ic", "XR9999", ""),
        ("resistor", "BC547", ""),
    ],
)
def test_legs_that_are_not_known_for_certain_are_not_given(kind: str, number: str, package: str) -> None:
    assert legs_of(kind, number, package) is None


def test_a_chip_has_as_many_legs_as_its_body() -> None:
    for row in rows("pinouts"):
        legs = legs_of("ic", f"SN74{row['number']}N" if row["number"].isdigit() else row["number"])
        assert legs is None or legs.package == f"DIP-{len(legs.names)}"


def test_every_row_of_further_bodies_is_found_and_no_spec_takes_it_for_granted_against_its_own() -> None:
    for row in rows("legs"):
        legs = legs_of(row["kind"], row["number"], row["package"])
        assert legs is not None, row
        assert " ".join(legs.names) == row["legs"]
        order = facts_of(row["kind"], row["number"]).get("pin_order", row["legs"].replace(" ", "-"))
        assert sorted(str(order).split("-")) == sorted(row["legs"].split())


def test_every_type_with_a_pin_order_in_a_body_that_is_held_one_way_can_be_drawn() -> None:
    without = set()
    for kind, table in TYPES.items():
        for row in rows(table):
            if "pin_order" in row and "package" in row and legs_of(kind, row["number"]) is None:
                without.add(row["package"])
    assert without <= {"SO-55"}
