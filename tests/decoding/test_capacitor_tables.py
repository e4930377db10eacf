"""Every row of the published capacitor code tables, read by the decoder. The source stands in each row."""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.decoding import Reading
from inventory.decoding.ratings import LETTER_VOLTS
from inventory.decoding.temperature import characteristic

from .published import matching, read, rows, units, values

PICOFARAD = 1000

THIRD = rows("capacitor_three_digit")
SPELLED = {
    "R as middle or first": ("R50", "0.5e-12"),
    "(two digits only)": ("33", "33e-12"),
    "(decimal number below 1)": (".1", "0.1e-6"),
    "(four digits)": ("1002", "10e-9"),
    "7 (old)": ("477", "0.047e-12"),
}


@pytest.mark.parametrize("row", THIRD, ids=[row["third_digit"] for row in THIRD])
def test_every_multiplier_of_the_capacitor_digit_code(row: dict[str, str]) -> None:
    marking, value = SPELLED.get(row["third_digit"], (f"47{row['third_digit']}", None))
    expected = units("capacitor", value) if value else int(47 * Decimal(row["factor"]) * PICOFARAD)
    assert expected in values(read(marking, kind="capacitor").readings, "capacitor"), row["source"]


LETTERS = rows("tolerance_letters")


def says(reading: Reading, row: dict[str, str]) -> bool:
    plus, minus = Decimal(row["plus"]), Decimal(row["minus"])
    if row["unit"] in ("pF", "nH"):
        return reading.tolerance_abs == int(plus * 1000)
    if row["symmetric"] == "yes":
        return reading.tolerance_percent == plus
    return (reading.tolerance_high_percent, reading.tolerance_low_percent) == (plus, -minus)


@pytest.mark.parametrize(
    "row", LETTERS, ids=[f"{row['letter']} {row['applies_to']} {row['plus']}" for row in LETTERS]
)
def test_every_tolerance_letter(row: dict[str, str]) -> None:
    letter, applies = row["letter"], row["applies_to"]
    if "judged an error" in row["note"]:
        assert not any(says(each, row) for each in read(f"4K7{letter}", kind="resistor").readings)
        return
    if applies.startswith("R"):
        assert any(says(each, row) for each in read(f"4K7{letter}", kind="resistor").readings), row["source"]
    if applies.startswith(("R; C", "C of 10")):
        answer = read(f"473{letter}", kind="capacitor")
        assert any(says(each, row) for each in answer.readings), row["source"]
    elif applies.startswith("C below"):
        assert any(says(each, row) for each in read(f"4R7{letter}", kind="capacitor").readings), row["source"]
    elif applies.startswith("ERIE"):
        assert any(
            says(each, row) for each in read(f"47{letter}C", kind="capacitor", body="tubular").readings
        ), row["source"]
    elif applies == "L":
        assert any(says(each, row) for each in read(f"102{letter}", kind="inductor").readings), row["source"]


VOLTS = rows("eia_voltage_codes")
PRINTED = [row for row in VOLTS if "not printed" not in row["note"] and row["family"] != "logic"]


@pytest.mark.parametrize("row", PRINTED, ids=[f"{row['family']} {row['code']}" for row in PRINTED])
def test_every_voltage_code(row: dict[str, str]) -> None:
    code, volts = row["code"], Decimal(row["volts"])
    if row["family"].startswith("single letter"):
        assert volts in LETTER_VOLTS[code], row["source"]
        assert matching(read(f"226{code}", kind="capacitor", body="tantalum"), volts=volts), row["source"]
    elif row["family"].startswith("tantalum order"):
        assert read(f"TAJB106K{code}", kind="capacitor").readings[0].volts == volts, row["source"]
    else:
        before = read(f"{code}104J", kind="capacitor")
        assert matching(before, volts=volts, value=100_000 * PICOFARAD), row["source"]
        if code[0].isdigit():
            after = read(f"104J{code}", kind="capacitor")
            assert matching(after, volts=volts, value=100_000 * PICOFARAD), row["source"]


def test_the_voltage_codes_follow_the_ten_step_series() -> None:
    # The "logic" row of the same table: digit = power of ten, letter = R10 number.
    for letter, figure in zip(
        "ABCDEFGHJK", ("1", "1.25", "1.6", "2", "2.5", "3.15", "4", "5", "6.3", "8"), strict=True
    ):
        assert matching(read(f"2{letter}104J", kind="capacitor"), volts=Decimal(figure) * 100)


@pytest.mark.parametrize(
    "row", [row for row in VOLTS if "not printed" in row["note"]], ids=lambda row: row["code"]
)
def test_order_digits_that_are_not_printed_are_not_read_as_volts(row: dict[str, str]) -> None:
    if row["code"].isdigit():
        assert not matching(read(f"104K{row['code']}", kind="capacitor"), volts=Decimal(row["volts"]))


CLASS1 = rows("eia_tempchar_class1")


@pytest.mark.parametrize(
    "row", CLASS1, ids=[f"{row['record']} {row['key']} {row['value']}" for row in CLASS1]
)
def test_every_row_of_the_class_one_table(row: dict[str, str]) -> None:
    record, key, value, source = row["record"], row["key"], row["value"], row["source"]
    if record == "significand letter":
        found = characteristic(f"{key}2G")
        assert found is not None
        assert found["ppm_per_kelvin"] == Decimal(value) * -100, source
    elif record == "multiplier digit":
        found = characteristic(f"S{key}G")
        assert found is not None
        assert found["ppm_per_kelvin"] == Decimal("3.3") * int(value), source
    elif record == "tolerance letter":
        found = characteristic(f"S2{key}")
        assert found is not None
        assert found["spread_ppm_per_kelvin"] == int(value), source
    elif record == "EIA to industry name":
        nearest = {"U1G": -75, "M7G": 100, "R2G": -220}.get(key, int(value))
        found = characteristic(key)
        named = characteristic(row["colour_or_alias"])
        assert found is not None
        assert named is not None
        assert found["ppm_per_kelvin"] == nearest, source
        assert named["ppm_per_kelvin"] == int(value), source
    elif record == "JIS name":
        found = characteristic(key)
        assert found is not None
        if key == "SL":
            assert (found["high_ppm_per_kelvin"], found["low_ppm_per_kelvin"]) == (350, -1000), source
        else:
            nominal, spread = value.split(" +-")
            assert (found["ppm_per_kelvin"], found["spread_ppm_per_kelvin"]) == (int(nominal), int(spread)), (
                source
            )
    elif record == "ERIE second letter":
        answer = read(f"47K{key}", kind="capacitor", body="tubular")
        slopes = [each.temperature.get("ppm_per_kelvin") for each in answer.readings]
        assert int(value) in slopes, source
    else:
        colour_slope(row)


def colour_slope(row: dict[str, str]) -> None:
    """A colour's slope is found on a banded tubular part or on a coloured end of a plate."""
    colours = row["key"].split("/")
    banded = (
        read(f"tubular ceramic: {row['key']} brown black brown white", kind="capacitor")
        if len(colours) == 1
        else None
    )
    end = read(f"ceramic end colour: {' '.join(colours)}", kind="capacitor")
    found = [*(banded.readings if banded else ()), *end.readings]
    slopes = [each.temperature.get("ppm_per_kelvin") for each in found]
    classes = [each.temperature.get("code") for each in found]
    assert (
        row["value"] in classes
        or row["value"].lstrip("+").lstrip("-").isdigit()
        and int(row["value"]) in slopes
    ), row["source"]


CLASS2 = rows("eia_tempchar_class2")


@pytest.mark.parametrize("row", CLASS2, ids=[row["symbol"] for row in CLASS2])
def test_every_row_of_the_class_two_table(row: dict[str, str]) -> None:
    symbol, source = row["symbol"], row["source"]
    code = {"1": f"{symbol}7R", "2": f"X{symbol}R", "3": f"X7{symbol}"}.get(row["position"][:1], symbol)
    found = characteristic(code)
    assert found is not None, source
    if row["position"].startswith("1"):
        assert found["low_celsius"] == int(row["low"]), source
    elif row["position"].startswith("2"):
        assert found["high_celsius"] == int(row["high"]), source
    elif row["position"].startswith("3"):
        assert (found["drift_low_percent"], found["drift_high_percent"]) == (
            Decimal(row["low"]),
            Decimal(row["high"]),
        ), source
    else:
        low, _, rest = row["meaning"].partition("..")
        high, _, change = rest.partition(" degC, ")
        assert (found["low_celsius"], found["high_celsius"]) == (int(low), int(high)), source
        upper, _, lower = change.removesuffix(" %").replace("+-", "+").partition("/")
        assert found["drift_high_percent"] == Decimal(upper), source
        assert found["drift_low_percent"] == Decimal(lower or -Decimal(upper)), source


def test_class_one_drift_is_worked_out_over_the_range() -> None:
    # Computed: -330 ppm/K, ±60, from 25 °C to -55 and to 125 °C (slope and spread: from memory, EIA-198).
    found = characteristic("S2H")
    assert found is not None
    assert found["drift_low_percent"] == Decimal("-3.9")
    assert found["drift_high_percent"] == Decimal("3.12")


# The jar (1/900 µF) is marked "skip" in the table and left out.
VINTAGE = [row for row in rows("vintage_notations") if row["written"] != "jar"]
MARKED = {
    "mmf, mmF, mmfd, MMF, MMFD": [("25 mmf", "25e-12"), ("250 mmF", "250e-12"), ("25 mmfd", "25e-12"),
    ("25MMF", "25e-12"), ("25 MMFD", "25e-12")],
    "uuf, uuF, µµF": [("25uuf", "25e-12"), ("25 uuF", "25e-12"), ("25 µµF", "25e-12")],
    "pfd": [("25 pfd", "25e-12")],
    "micromicrofarad": [("25 micromicrofarad", "25e-12")],
    "mfd, Mfd, MFD": [(".1 mfd", "0.1e-6"), ("50 Mfd", "50e-6"), (".005 MFD", "5e-9")],
    "mf, mF, MF": [(".1mf", "0.1e-6"), ("8 mF", "8e-6"), ("16 MF", "16e-6")],
    "kpF, KPF, Kpf": [("20kpF", "20e-9"), ("20 KPF", "20e-9"), ("20Kpf", "20e-9")],
    "K alone after digits on ceramic or film": [("1K", "1e-9"), ("10K", "10e-9")],
    ".01 .022 .1": [(".01", "10e-9"), (".022", "22e-9"), (".1", "100e-9")],
    "470 (old tubular or disc ceramic)": [("470", "470e-12"), ("470", "47e-12")],
    "M inside a UK capacitor marking": [("2M2", "2.2e-6")],
    "cm": [("500 cm", "5.56325e-10")],
    "8 µF, 16 µF, 0.2 µF": [("8 µF", "8e-6"), ("16 µF", "16e-6"), ("0.2 µF", "0.2e-6")],
}  # fmt: skip
OTHERWISE = {
    "mHy": [("5 mHy", "inductor", "5e-3")],
    "ohm sign as omega, w or Ohm": [
        ("470 ohm", "resistor", "470"),
        ("470w", "resistor", "470"),
        ("470Ω", "resistor", "470"),
    ],
    "BS 1852 4K7 form": [("4K7K", "resistor", "4700")],
    "k lower case": [("2k2", "resistor", "2200"), ("68kK", "resistor", "68000")],
    "body-tip-dot": [("body green, tip brown, dot yellow", "resistor", "510000")],
}


@pytest.mark.parametrize("row", VINTAGE, ids=[row["written"] for row in VINTAGE])
def test_every_vintage_way_of_writing(row: dict[str, str]) -> None:
    written = row["written"]
    for marking, value in MARKED.get(written, ()):
        assert units("capacitor", value) in values(
            read(marking, kind="capacitor", body="old").readings, "capacitor"
        ), row["source"]
    for marking, kind, value in OTHERWISE.get(written, ()):
        assert units(kind, value) in values(read(marking, kind=kind).readings, kind), row["source"]
    if written == "kc, mc":
        assert read("455 kc").readings[0].value == 455_000_000, row["source"]
        assert read("10.7 mc").readings[0].value == 10_700_000_000, row["source"]
    else:
        assert written in MARKED or written in OTHERWISE
