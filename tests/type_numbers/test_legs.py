"""What the legs of a type carry: data books of Motorola, National, Texas, Philips and SGS, from memory."""

import pytest

from inventory.spec import Spec, fits
from inventory.type_numbers import entry_of, facts_of, legs_of
from inventory.type_numbers.legs import CAN, CHIP, FLAT, POWER_CAN, PRINT, SURFACE, TAB_ABOVE
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
        ("regulator", "LM323", "IN OUT GND", POWER_CAN),
        ("regulator", "LM323K", "IN OUT GND", POWER_CAN),
        ("regulator", "78H05KC", "IN OUT GND", POWER_CAN),
        ("regulator", "LM78L05ACM", "OUT GND GND NC NC GND GND IN", CHIP),
        ("regulator", "LM350K", "ADJ IN OUT", POWER_CAN),
        ("regulator", "LM2940CT-5.0", "IN GND OUT", PRINT),
        ("regulator", "LM2576T-5.0", "IN OUT GND FB /ON", PRINT),
        ("regulator", "AMS1117-3.3", "GND OUT IN", TAB_ABOVE),
        ("regulator", "КР142ЕН5А", "IN GND OUT", PRINT),
        ("regulator", "KR142EN5A", "IN GND OUT", PRINT),
        ("regulator", "КР142ЕН18А", "ADJ IN OUT", PRINT),
        ("regulator", "UA723CN", "NC CL CS IN- IN+ VREF V- NC VZ OUT VC V+ COMP NC", CHIP),
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
        ("ic", "NE555P", "DIP-14"),  # it has eight
        ("ic", "LM555H", ""),  # a round can
        ("regulator", "LM723H", ""),  # a can of ten legs
        ("regulator", "LM723CH", ""),
        ("regulator", "UA723HC", ""),
        ("regulator", "LM2575N-5.0", ""),  # sixteen legs
        ("regulator", "LM2574M-5.0", ""),  # fourteen
        ("regulator", "LM2574M-5.0", "SO-14"),
        ("regulator", "LM2574-5.0", "SOIC"),
        ("regulator", "LM317H", ""),  # TO-39
        ("regulator", "LM309H", ""),
        ("regulator", "LP2950CDT-5.0", ""),  # TO-252
        ("regulator", "LM317LM", ""),  # small outline
        ("regulator", "LM2936M-5.0", ""),
        ("regulator", "LM2931M-5.0", ""),
        ("regulator", "TL431CD", ""),
        ("regulator", "LM317S", ""),  # makers mean different bodies by S
        ("regulator", "78L05", "DIP-14"),
        ("regulator", "LM723", "DIP-8"),
        ("regulator", "LM317", "TO-3P"),  # not a TO-3
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
        order = facts_of(row["kind"], row["number"], row["package"]).get("pin_order")
        assert order in (None, row["legs"].replace(" ", "-")), row
        entry = entry_of(row["kind"], row["number"]) or {}
        if entry.get("package") == row["package"] and "pin_order" in entry:
            assert entry["pin_order"] == row["legs"].replace(" ", "-"), row


@pytest.mark.parametrize(
    ("number", "package", "order"),
    [
        ("LM317", "", "ADJ-OUT-IN"),
        ("LM317T", "", "ADJ-OUT-IN"),
        ("LM317K", "", "ADJ-IN-OUT"),
        ("LM317", "TO-3", "ADJ-IN-OUT"),
        ("LM337K", "", "ADJ-OUT-IN"),
        ("LM317", "TO-220AB", "ADJ-OUT-IN"),
        ("LM317H", "", None),
        ("LM317", "TO-3P", None),
        ("78L05", "SO-8", None),  # eight legs are no order of three
    ],
)
def test_the_pin_order_of_a_spec_is_that_of_its_body(number: str, package: str, order: str | None) -> None:
    """National's data book, from memory."""
    spec = Spec("regulator", number=number, package=package)
    assert spec.known.get("pin_order") == order


def test_another_body_of_the_same_regulator_is_asked_about_for_its_legs() -> None:
    """The two legs of a TO-3 and its case, and the three of a TO-220 (National's data book, from memory)."""
    answer = fits(Spec("regulator", number="LM317K"), Spec("regulator", number="LM317T"))
    assert ("pin_order", "ask") in {(each.property, each.grade) for each in answer.reasons}


def test_every_type_with_a_pin_order_in_a_body_that_is_held_one_way_can_be_drawn() -> None:
    without = set()
    for kind, table in TYPES.items():
        for row in rows(table):
            if "pin_order" in row and "package" in row and legs_of(kind, row["number"]) is None:
                without.add(row["package"])
    assert without <= {"SO-55"}


@pytest.mark.parametrize(
    ("number", "package", "names"),
    [
        ("78L05", "TO-92", "OUT GND IN"),
        ("79L05", "TO-92", "GND IN OUT"),
        ("78L05", "SO-8", "OUT GND GND NC NC GND GND IN"),
        ("78M05", "TO-252", "IN GND OUT"),
        ("79M05", "TO-252", "GND IN OUT"),
        ("LM317", "SOT-223", "ADJ OUT IN"),
        ("LM337", "SOT-223", "ADJ IN OUT"),
        ("LM317", "TO-3", "ADJ IN OUT"),
        ("LM337", "TO-3", "ADJ OUT IN"),
    ],
)
def test_a_regulator_in_another_body_has_the_order_of_that_body(
    number: str, package: str, names: str
) -> None:
    """National, Texas and Motorola data books, from memory."""
    legs = legs_of("regulator", number, package)
    assert legs is not None
    assert " ".join(legs.names) == names


def test_of_nearly_every_regulator_that_is_listed_the_legs_are_known() -> None:
    numbers = [row["number"] for row in rows("regulators")]
    known = [number for number in numbers if legs_of("regulator", number)]
    assert len(known) >= 0.95 * len(numbers), sorted(set(numbers) - set(known))
