"""The tables of types: complete for their kind, plausible, and agreeing with the naming systems.

Sources: the letters of Pro Electron and JIS C 7012 as named in tests/decoding/test_semiconductors.py; steps
of zener series are E24 (IEC 60063) or the JEDEC registrations that run between; the rest is common practice.
"""

from collections import Counter
from decimal import Decimal

import pytest

from inventory.spec import Spec
from inventory.type_numbers import (
    entry_of,
    facts_of,
    linear_table,
    logic_table,
    memory_table,
    pinout_of,
    type_number,
)
from inventory.type_numbers.tables import Row, expanded, lines, rows
from tests.decoding import published

TABLES = (
    "transistors", "diodes", "regulators", "logic", "cmos", "memories", "chips", "op_amps", "eastern",
    "eastern_devices",
)  # fmt: skip
KIND = {"transistors": "transistor", "diodes": "diode", "regulators": "regulator"}
COMPLETE = {
    "transistors": {"number", "device", "material"},
    "diodes": {"number", "function", "material"},
    "regulators": {"number", "polarity", "words"},
    "logic": {"number", "pins", "words"},
    "cmos": {"number", "pins", "words"},
    "memories": {"number", "function", "organisation"},
    "chips": {"number", "function", "words"},
    "op_amps": {"number", "gbw_mhz", "supply_max_volts"},
    "eastern": {"number", "series", "kind", "words"},
    "eastern_devices": {"number", "kind", "material"},
}
FIGURES_OF = {  # what each type of this sort must say
    "rectifier": {"volts", "amps"},
    "schottky": {"volts"},
    "bridge": {"volts"},
    "thyristor": {"volts", "amps"},
    "triac": {"volts", "amps"},
    "zener": {"zener_volts"},
}


def types_of(table: str) -> list[Row]:
    return list(rows(table))


@pytest.mark.parametrize("table", TABLES)
def test_every_row_is_complete_for_its_kind(table: str) -> None:
    for row in types_of(table):
        assert COMPLETE[table] <= row.keys(), row
        if table == "transistors" and row["device"] != "unijunction":
            assert "polarity" in row, row
        if table == "regulators":
            assert ("output_volts" in row) != ("adjustable" in row), row
        if table == "diodes":
            assert FIGURES_OF.get(row["function"], set()) <= row.keys(), row


@pytest.mark.parametrize("table", TABLES)
def test_no_type_stands_twice_and_every_section_says_where_it_is_from(table: str) -> None:
    numbers = Counter(row.get("series", "") + row["number"] for row in types_of(table))
    assert not [number for number, times in numbers.items() if times > 1]
    text = (lines.__globals__["_FOLDER"] / f"{table}.csv").read_text(encoding="utf-8")
    assert text.splitlines()[1].startswith("#")  # before the first row


FIELDS = ("volts", "amps", "watts", "speed_ns", "tolerance_percent")


@pytest.mark.parametrize("table", KIND)
def test_every_row_makes_a_valid_spec_and_is_found_by_its_number(table: str) -> None:
    kind = KIND[table]
    for row in types_of(table):
        facts = dict(facts_of(kind, row["number"]))
        entry = entry_of(kind, row["number"])
        assert entry is not None, row
        assert entry["number"] == row["number"]
        fields = {name: facts.pop(name) for name in FIELDS if name in facts}
        Spec.from_dict({"kind": kind, "number": row["number"], **fields, "traits": facts})


def test_polarity_agrees_with_the_jis_class_and_material_with_the_first_letter_of_pro_electron() -> None:
    classes = {"2SA": "pnp", "2SB": "pnp", "2SC": "npn", "2SD": "npn", "2SJ": "p_channel", "2SK": "n_channel"}
    for row in types_of("transistors"):
        if row["number"][:3] in classes:
            assert row["polarity"] == classes[row["number"][:3]], row
        if row["number"][:2] in ("AC", "AD", "AF", "AS", "AU"):
            assert row["material"] == "germanium", row
        if row["number"][:2] in ("BC", "BD", "BF", "BS", "BU"):
            assert row["material"] == "silicon", row
    second = {"B": "varicap", "Z": "zener"}
    for row in types_of("diodes"):
        number = row["number"]
        if number[:1] in "AB" and number[1:2] in second and number[2:3].isalpha():
            assert row["function"] == second[number[1]], row
        if number.startswith(("AA", "OA")):
            assert row["material"] == "germanium" or number in ("OA200", "OA202"), row


def test_legs_carry_what_such_a_device_has() -> None:
    letters = {"bipolar": "BCE", "darlington": "BCE", "jfet": "DGS", "mosfet": "DGS"}
    for row in types_of("transistors"):
        if "pin_order" in row:
            assert sorted(row["pin_order"].split("-")) == sorted(letters[row["device"]]), row


def test_figures_are_such_as_parts_have() -> None:
    bounds = {
        "volts": (10, 1600), "amps": ("0.01", 120), "watts": ("0.1", 300), "gain_min": (4, 30000),
        "gain_max": (40, 15000), "ft_mhz": (1, 1000), "zener_volts": (2, 270), "speed_ns": (4, 500),
        "surge_amps": (5, 400), "gate_ma": ("0.1", 100), "input_max_volts": (15, 40), "dropout": ("0.3", 2),
    }  # fmt: skip
    for table in KIND:
        for row in types_of(table):
            for name, (least, most) in bounds.items():
                if name in row:
                    assert Decimal(least) <= Decimal(row[name]) <= Decimal(most), row
            if "gain_min" in row and "gain_max" in row:
                assert Decimal(row["gain_min"]) < Decimal(row["gain_max"]), row


def test_op_amps_are_listed_chips_and_their_figures_such_as_op_amps_have() -> None:
    for row in types_of("op_amps"):
        assert linear_table.LINEARS[row["number"]].function.endswith("op_amp"), row
        assert Decimal("0.05") <= Decimal(row["gbw_mhz"]) <= 100, row
        assert Decimal(row.get("supply_min_volts", "1")) < Decimal(row["supply_max_volts"]) <= 48, row
        facts = dict(facts_of("ic", row["number"]))
        assert facts.items() >= {name: cell for name, cell in row.items() if name != "number"}.items()
        Spec.from_dict({"kind": "ic", "number": row["number"], "traits": facts})


def test_a_later_letter_of_a_series_stands_no_less() -> None:
    """TIP31, A, B, C; BDX33, A, B, C: JEDEC and the makers give the better part the later letter."""
    rated = {row["number"]: Decimal(row["volts"]) for row in types_of("transistors") if "volts" in row}
    for number, volts in rated.items():
        parts = type_number("transistor", number)
        if parts.grade in ("A", "B", "C") and parts.base in rated:
            assert volts >= rated[parts.base], number


def test_zener_series_run_in_steps_of_e24() -> None:
    steps = {int(row["value"]) for row in published.rows("e_series") if row["series"] == "E24"}
    for row in types_of("diodes"):
        if row["function"] == "zener" and row["number"].startswith(("BZ", "ZPD", "ZPY", "1N47")):
            volts = Decimal(row["zener_volts"])
            assert volts.scaleb(1 - volts.adjusted()) in steps, row


@pytest.mark.parametrize(
    ("kind", "number", "facts"),
    [
        # 1N4004 and 1N4007: Vishay data sheet, document 88503; the rest from memory of data sheets
        ("diode", "1N4004", {"volts": "400", "function": "rectifier"}),
        ("diode", "1N4007G", {"volts": "1000", "amps": "1"}),
        ("diode", "BZX79C5V1", {"zener_volts": "5.1", "watts": "0.5"}),
        ("diode", "1N4733A", {"zener_volts": "5.1", "watts": "1"}),
        ("diode", "ZPD5.1", {"zener_volts": "5.1"}),
        ("diode", "BT151-500R", {"gate_ma": "15", "function": "thyristor"}),
        ("diode", "C106D", {"gate_ma": "0.2"}),
        ("diode", "BTA16-600B", {"gate_ma": "50", "function": "triac"}),
        ("diode", "OA91", {"material": "germanium", "function": "detector"}),
        ("diode", "BZX70-C15", {"zener_volts": "15", "function": "zener"}),  # no row: the number says it
        ("transistor", "BC547B", {"polarity": "npn", "gain_min": "200", "gain_max": "450"}),
        ("transistor", "BC547", {"gain_min": "110", "gain_max": "800", "pin_order": "C-B-E"}),
        ("transistor", "TIP31C", {"volts": "100"}),
        ("transistor", "C1815GR", {"polarity": "npn", "gain_min": "200", "pin_order": "E-C-B"}),
        ("transistor", "2N3055", {"volts": "60", "amps": "15", "watts": "115"}),
        ("transistor", "AC999", {"material": "germanium"}),  # no row: the first letter says it
        ("transistor", "2SB999", {"polarity": "pnp"}),
        ("regulator", "L7805CV", {"output_volts": "5", "pin_order": "IN-GND-OUT"}),
        ("regulator", "MC79L12ACP", {"output_volts": "-12", "amps": "0.1"}),
        ("regulator", "LM317T", {"adjustable": True, "polarity": "positive"}),
        ("ic", "TL072CP", {"function": "dual_op_amp"}),
    ],
)
def test_what_a_number_says(kind: str, number: str, facts: dict[str, str]) -> None:
    found = facts_of(kind, number)
    assert {name: found.get(name) for name in facts} == facts


def test_what_is_sold_with_two_pin_orders_has_none() -> None:
    """2N2222A in a can is E-B-C and from some makers in plastic C-B-E; 2N3819 likewise differs by maker."""
    for number in ("2N2222A", "2N2907A", "2N3819", "BF245A", "MJE13003"):
        assert "pin_order" not in facts_of("transistor", number)


@pytest.mark.parametrize(
    "line",
    [
        {"number": "A1 A2", "volts": "1 2 3"},
        {"number": "A1", "volts": "1 2"},
    ],
)
def test_a_cell_with_neither_one_value_nor_one_for_each_is_refused(line: Row) -> None:
    with pytest.raises(ValueError, match="of volts for"):
        list(expanded(line))


def test_numbers_count_up_and_zeners_are_named_by_their_volts() -> None:
    counted = [row["number"] for row in expanded({"number": "1N4728..1N4730", "zener_volts": "3.3 3.6 3.9"})]
    assert counted == ["1N4728", "1N4729", "1N4730"]
    named = [row["number"] for row in expanded({"number": "BZX79-*", "zener_volts": "4.7 10"})]
    assert named == ["BZX79-4V7", "BZX79-10"]


def test_a_pinout_has_a_name_for_every_leg_and_one_pair_of_supply_legs() -> None:
    listed = {**memory_table.MEMORIES, **logic_table.LOGIC, **logic_table.CMOS_4000, **linear_table.LINEARS}
    for row in rows("pinouts"):
        legs = row["legs"].split()
        assert len(legs) == listed[row["number"]].pins, row
        assert len({"GND", "VSS", "V-"} & set(legs)) in (1, 2), row
        assert {"VCC", "VDD", "V+", "COM"} & set(legs), row
        fed = [leg for leg in legs if leg in ("VCC", "GND", "VDD", "VSS")]
        assert len(fed) == len(set(fed)), row


@pytest.mark.parametrize(
    ("number", "leg", "name"),
    [
        # pins 1, 8, 9 of 4116 and 4164: cctech 2009; the rest from memory of data books
        ("TMS4116-20", 1, "VBB"),
        ("4116", 8, "VDD"),
        ("4116", 9, "VCC"),
        ("4164", 8, "VCC"),
        ("HM4864-2", 9, "A7"),
        ("SN74LS00N", 14, "VCC"),
        ("SN54LS74J", 2, "1D"),
        ("LM358N", 8, "V+"),
        ("NE555P", 8, "VCC"),
        ("LM324", 4, "V+"),
    ],
)
def test_what_a_leg_carries(number: str, leg: int, name: str) -> None:
    assert pinout_of(number)[leg - 1] == name


def test_families_with_other_legs_have_no_pinout_here() -> None:
    assert pinout_of("74L00") == ()
    assert pinout_of("XR9999") == ()
