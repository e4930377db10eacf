"""Soviet and GDR types. Sources: the standards and handbooks named in the module, from memory."""

import pytest

from inventory.type_numbers import eastern_type, facts_of
from inventory.type_numbers.tables import rows
from tests.decoding.published import read


@pytest.mark.parametrize(
    ("number", "kind", "facts"),
    [
        ("К155ЛА3", "ic", {"function": "00", "family": "std"}),
        ("КР1533ЛА3", "ic", {"function": "00", "family": "als"}),
        ("К555ИЕ7", "ic", {"function": "193", "family": "ls"}),
        ("К561ЛА7", "ic", {"function": "4011", "family": "cmos_4000"}),
        ("К176ИЕ8", "ic", {"function": "4017", "family": "cmos_4000"}),
        ("К140УД7", "ic", {"function": "op_amp"}),
        ("КР142ЕН5А", "regulator", {"output_volts": "5", "polarity": "positive"}),
        ("KR142EN5A", "regulator", {"output_volts": "5", "polarity": "positive"}),  # by sound
        ("КР142ЕН18А", "regulator", {"polarity": "negative"}),
        ("КТ315Б", "transistor", {"polarity": "npn", "material": "silicon"}),
        ("КТ361Г", "transistor", {"polarity": "pnp", "material": "silicon"}),
        ("МП42Б", "transistor", {"polarity": "pnp", "material": "germanium"}),
        ("КП303Е", "transistor", {"polarity": "n_channel", "device": "jfet"}),
        ("КТ999", "transistor", {"material": "silicon"}),  # no row: the first letter says it
        ("КД522Б", "diode", {"function": "signal", "material": "silicon"}),
        ("Д9Б", "diode", {"function": "detector", "material": "germanium"}),
        ("Д814А", "diode", {"function": "zener", "zener_volts": "8"}),
        ("КС156А", "diode", {"function": "zener", "zener_volts": "5.6"}),
        ("КС210Б", "diode", {"zener_volts": "10"}),
        ("КУ202Н", "diode", {"function": "thyristor"}),
        ("SC236D", "transistor", {"polarity": "npn", "material": "silicon"}),
        ("GC301", "transistor", {"polarity": "pnp", "material": "germanium"}),
        ("SY320", "diode", {"function": "rectifier"}),
        ("D100D", "ic", {"function": "00", "family": "std"}),
        ("D192D", "ic", {"function": "192"}),
        ("DL074D", "ic", {"function": "74", "family": "ls"}),
        ("V4011D", "ic", {"function": "4011", "family": "cmos_4000"}),
        ("U2164D", "ic", {"organisation": "64Kx1"}),
        ("SZX21/5,1", "diode", {"function": "zener", "zener_volts": "5.1"}),
    ],
)
def test_what_an_eastern_number_says(number: str, kind: str, facts: dict[str, str]) -> None:
    found = facts_of(kind, number)
    assert {name: found.get(name) for name in facts} == facts


def test_latin_letters_are_taken_for_cyrillic_ones_only_where_such_a_type_is_listed() -> None:
    assert eastern_type("KT315Б") is not None
    assert eastern_type("KT315") is not None
    assert eastern_type("KT999") is None
    assert eastern_type("K2996") is None


def test_every_listed_twin_is_known() -> None:
    for row in rows("eastern"):
        if row["series"] == "whole" and row.get("like"):
            assert facts_of(row["kind"], row["like"]) or row["like"].startswith(
                ("TBA", "TDA", "TCA", "UAA", "MC", "Z80", "80", "82", "2708")
            ), row


@pytest.mark.parametrize(
    ("marking", "body", "kind"),
    [
        ("U855D", "dip", "ic"),
        ("A277D", "dip", "ic"),
        ("B260D", "dip", "ic"),
        ("КТ315Б", "", "transistor"),
        ("КР142ЕН5А", "to-220", "regulator"),
        ("КД522", "", "diode"),
        ("SY320", "plastic axial", "diode"),
    ],
)
def test_eastern_types_are_read(marking: str, body: str, kind: str) -> None:
    reading = read(marking, body=body).readings[0]
    assert (reading.kind, reading.number) == (kind, marking)


@pytest.mark.parametrize(
    ("marking", "number"),
    [("D100D", "7400"), ("К155ЛА3", "7400"), ("КР1533ЛА3", "74ALS00"), ("К561ЛА7", "4011"),
     ("DL074D", "74LS74"), ("U2164D", "4164"), ("MH7400", "7400"), ("UCY7404N", "7404")],
)  # fmt: skip
def test_logic_and_memories_go_by_the_number_that_all_makers_share(marking: str, number: str) -> None:
    reading = read(marking, body="dip").readings[0]
    assert (reading.kind, reading.number) == ("ic", number)


def test_values_in_cyrillic_stay_values() -> None:
    for marking in ("15Н", "М47", "2К7", "П33"):
        assert read(marking, body="ceramic disc").readings[0].kind != "transistor"
