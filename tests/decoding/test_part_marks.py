"""Fuses, varistors, thermistors, relays, cells, sockets and codes of small bodies: what is printed on them.

Sources: fuse letters and currents of IEC 60127-1 and -2; cell designations of IEC 60086; resistance letters
of IEC 60062; the rest from memory of makers' data sheets.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.decoding import Question, Reading, decode, spec_of
from inventory.type_numbers.tables import rows


def best(marking: str, body: str = "") -> Reading:
    return decode(Question(marking=marking, body=body)).readings[0]


@pytest.mark.parametrize(
    ("marking", "number", "traits", "volts"),
    [
        ("T2A 250V", "T2A250V", {"amps": "2", "speed": "slow"}, 250),
        ("T2AL250V", "T2AL250V", {"amps": "2", "speed": "slow"}, 250),
        ("F500mA H 250V", "F500mAH250V", {"amps": "0.5", "speed": "fast", "breaking": "1500"}, 250),
        ("FF 6.3A", "FF6.3A", {"amps": "6.3", "speed": "very_fast"}, None),
        ("TT 1.25A 250 V", "TT1.25A250V", {"amps": "1.25", "speed": "very_slow"}, 250),
        ("F2A", "F2A", {"amps": "2", "speed": "fast"}, None),
        ("T0,4A 250V", "T400mA250V", {"amps": "0.4", "speed": "slow"}, 250),
    ],
)
def test_a_fuse_says_how_fast_and_at_what_current_it_blows(
    marking: str, number: str, traits: dict[str, str], volts: int | None
) -> None:
    reading = best(marking, "glass fuse")
    assert (reading.kind, reading.number, dict(reading.traits)) == ("fuse", number, traits)
    assert reading.volts == (Decimal(volts) if volts else None)
    assert "same amps, speed and breaking capacity" in " ".join(reading.cautions)


def test_the_spec_of_a_fuse_knows_its_amps() -> None:
    spec = spec_of(best("T630mA L 250V", "fuse"))
    assert spec is not None
    assert spec.known["amps"] == Decimal("0.63")
    assert spec.known["volts"] == 250


def test_what_no_fuse_carries_is_none() -> None:
    for marking in ("T9999A", "F0A", "M4"):
        assert all(reading.kind != "fuse" or not reading.traits for reading in
                   decode(Question(marking=marking)).readings)  # fmt: skip


@pytest.mark.parametrize(
    ("marking", "function"),
    [
        ("20D431K", "430 V at 1 mA, disc of 20 mm"),
        ("ZNR 14K391", "390 V at 1 mA, disc of 14 mm"),
        ("07D390K", "39 V at 1 mA, disc of 7 mm"),
        ("S10K275", "275 V of alternating current, disc of 10 mm"),
        ("V130LA10", "130 V of alternating current"),
    ],
)
def test_a_varistor_is_no_passive_of_that_value(marking: str, function: str) -> None:
    reading = best(marking, "varistor")
    assert (reading.kind, reading.value) == ("other", None)
    assert function in reading.function


@pytest.mark.parametrize(
    ("marking", "ohms", "use"),
    [
        ("10D-11", 10, "inrush"),
        ("NTC 2.5D-13", "2.5", "inrush"),
        ("SCK 054", 5, "inrush"),
        ("MF52-103", 10000, "sense"),
    ],
)
def test_an_ntc_is_read_by_its_ohms_when_cold(marking: str, ohms: object, use: str) -> None:
    reading = best(marking, "thermistor")
    assert (reading.kind, reading.value) == ("thermistor", int(Decimal(str(ohms)) * 10**6))
    assert reading.traits["curve"] == "ntc"
    assert reading.traits["use"] == use


@pytest.mark.parametrize(
    ("marking", "number", "volts"),
    [
        ("G5LE-1 DC12V", "G5LE-1", 12),
        ("G6B-1114P-US 24VDC", "G6B-1114P-US", 24),
        ("SRD-05VDC-SL-C", "SRD-05VDC-SL-C", 5),
        ("JQX-15F 24VDC", "JQX-15F", 24),
        ("TQ2-5V", "TQ2-5V", None),
    ],
)
def test_a_relay_by_its_series_and_its_coil(marking: str, number: str, volts: int | None) -> None:
    reading = best(marking, "relay")
    assert (reading.kind, reading.number) == ("other", number)
    assert reading.volts == volts


@pytest.mark.parametrize(
    ("marking", "function", "lithium"),
    [
        ("CR2025 3V", "lithium manganese dioxide cell, 3 V, 20 mm by 2.5 mm", True),
        ("BR1225", "lithium carbon monofluoride cell, 3 V, 12 mm by 2.5 mm", True),
        ("LR44", "alkaline cell, 1.5 V", False),
        ("SR626SW", "silver oxide cell, 1.55 V", False),
        ("6LR61", "battery of 6: alkaline cell, 9.0 V", False),
        ("ER14505 3.6V", "lithium thionyl chloride cell, 3.6 V", True),
    ],
)
def test_a_cell_by_its_chemistry_and_shape(marking: str, function: str, lithium: bool) -> None:
    reading = best(marking, "cell")
    assert (reading.kind, reading.value) == ("other", None)
    assert function in reading.function
    assert any("Lithium" in each for each in reading.cautions) == lithium


def test_six_ohms_are_not_a_cell_unless_the_body_is() -> None:
    assert "cell" not in best("R6").function
    assert "zinc carbon" in best("R6", "battery").function


def test_a_socket_says_how_many_ways() -> None:
    for marking, ways in (("AUGAT 40 DIP", "40"), ("DIL-16", "16"), ("TEXTOOL 28-PIN DIP", "28")):
        reading = best(marking, "socket")
        assert (reading.kind, reading.traits["ways"]) == ("socket", ways)


@pytest.mark.parametrize(
    ("marking", "numbers"),
    [
        ("1F", {"BC847B"}),
        ("p1F", {"BC847B"}),  # p: made in Hong Kong
        ("5C", {"BC807-40"}),
        ("Y1", {"SS8050", "BZX84-11"}),
        ("2F", {"BC850B", "MMBT2907A"}),
    ],
)
def test_a_code_of_a_small_body_gives_every_type_that_makers_mean_by_it(
    marking: str, numbers: set[str]
) -> None:
    readings = decode(Question(marking=marking, body="sot-23")).readings
    assert numbers <= {reading.number for reading in readings}
    assert readings[0].number in numbers
    assert any("different types" in each for each in readings[0].cautions)


@pytest.mark.parametrize("marking", ["1F", "2T", "p1F"])
def test_a_code_is_sure_only_on_a_body_that_bears_codes(marking: str) -> None:
    # Common practice, no source: two characters that nobody saw on anything may be anything.
    assert best(marking, "sot-23").score > 0.9
    assert best(marking).score <= 0.5


def test_every_code_names_types_and_no_code_stands_twice_for_one_kind() -> None:
    listed = [(row["number"], row["kind"]) for row in rows("smd_codes")]
    assert len(listed) == len(set(listed))
    assert all(row["types"].split() and row["kind"] in ("transistor", "diode") for row in rows("smd_codes"))


@pytest.mark.parametrize(
    ("marking", "volts"),
    [("MTZJ6.2B", "6.2"), ("RD12EB2", "12"), ("UZ-5.1B", "5.1"), ("02CZ5.6", "5.6"), ("HZ9C1", None)],
)
def test_a_zener_of_a_makers_own_series(marking: str, volts: str | None) -> None:
    reading = best(marking, "glass")
    assert (reading.kind, reading.traits["function"]) == ("diode", "zener")
    assert reading.traits.get("zener_volts") == volts


def test_a_led_by_its_makers_series() -> None:
    for marking in ("TIL220", "HLMP-3301", "CQX10"):
        reading = best(marking, "led")
        assert (reading.kind, reading.traits["function"]) == ("diode", "led")


NEVER_CHARGE, CHARGER, FIND_OUT = "never charge", "in a charger for", "find it out before charging"


@pytest.mark.parametrize(
    "marking",
    [
        "ALKALINE 1.5V 2000mAh", "LITHIUM 3V 600MAH", "ENERGIZER LITHIUM 1.5V 3000mAh",
        "LITHIUM THIONYL 3.6V 2400MAH", "CR2032 3V 220mAh", "CR2032 3V", "CR2032 220mAh",
        "LITHIUM CR123A 3V 1500mAh", "ER14505 3.6V 2400mAh", "LR6 1.5V 2000mAh", "R6 1.5V 1100mAh",
        "LITHIUM 3.0 V 600 mAh", "NON-RECHARGEABLE LITHIUM 3V 1500mAh", "LR44", "6LR61",
    ],
)  # fmt: skip
def test_a_primary_cell_is_never_to_be_charged(marking: str) -> None:
    # IEC 60086 codes and makers' prints, from memory; the caution is common practice, no source.
    reading = best(marking)
    said = " ".join(reading.cautions)
    assert reading.traits["device"] == "battery"
    assert NEVER_CHARGE in said
    assert CHARGER not in said
    assert "rechargeable" not in reading.function


@pytest.mark.parametrize(
    "marking",
    [
        "NI-CD 3.6V 60mAh", "NICD 1.2V 600mAh", "NI-MH 1.2V 2000mAh", "NIMH 1.2V 2000mAh",
        "LI-ION 3.7V 2600MAH", "LITHIUM ION 3.7V 2000mAh", "LI-PO 3.7V 500mAh", "LI-POLYMER 3.7V 1000mAh",
        "LEAD ACID 12V 7.2AH", "RECHARGEABLE 1.2V 600mAh", "AKKU-PACK 3.6V 600mAh",
    ],
)  # fmt: skip
def test_cells_are_rechargeable_by_whole_words(marking: str) -> None:
    # From memory of makers' prints.
    reading = best(marking)
    said = " ".join(reading.cautions)
    assert "rechargeable" in reading.function
    assert CHARGER in said
    assert NEVER_CHARGE not in said
    assert ("Lithium" in said) == marking.startswith("LI")


@pytest.mark.parametrize(
    "marking",
    ["UNITED 12V 7.2AH", "POLICE 3V 600MAH", "UNIONS 3V 600mAh", "ALKALINE RECHARGEABLE 1.5V 800mAh"],
)
def test_cells_of_unknown_chemistry_are_not_to_be_charged_before_it_is_found_out(marking: str) -> None:
    reading = best(marking)
    said = " ".join(reading.cautions)
    assert reading.function == "cells"
    assert FIND_OUT in said
    assert CHARGER not in said


@pytest.mark.parametrize(
    ("marking", "ohms"),
    [("SCK10 4R7", "4.7"), ("MF72 2R5", "2.5"), ("B57364 2R5", "2.5"), ("SCK10 5R", "5"), ("NTC 10R", "10"),
     ("SCK10 2,5 OHM", "2.5")],
)  # fmt: skip
def test_figures_behind_the_r_of_an_ntc_are_tenths(marking: str, ohms: str) -> None:
    # IEC 60062, the letter at the decimal point; series from memory.
    reading = best(marking, "ntc thermistor")
    assert (reading.kind, reading.value) == ("thermistor", int(Decimal(ohms) * 10**6))


@pytest.mark.parametrize(
    ("marking", "ohms"), [("S102J 10R", "10"), ("S102 100R", "100"), ("S273 4R7", "4.7")]
)
def test_a_number_behind_an_s_is_no_series_of_thermistors(marking: str, ohms: str) -> None:
    # From memory: S102J is a foil resistor.
    readings = decode(Question(marking=marking)).readings
    assert (readings[0].kind, readings[0].value) == ("resistor", int(Decimal(ohms) * 10**6))
    assert not any(each.kind == "thermistor" for each in readings)


def test_of_one_maker_s_numbers_only_groups_of_ntcs_are_read() -> None:
    # From memory of Philips' numbers: 2322 640 to 645 are NTCs, 2322 66. PTCs.
    reading = best("2322 640 63103")
    assert (reading.kind, reading.value, reading.traits["curve"]) == ("thermistor", 10_000 * 10**6, "ntc")
    readings = decode(Question(marking="2322 661 11211")).readings
    assert not any(each.kind == "thermistor" and each.value for each in readings)
