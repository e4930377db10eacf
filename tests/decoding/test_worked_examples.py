"""Published worked examples: the stated meaning comes first, and where a second reading is legal it is there
too.

Each row of data/worked_examples.csv carries its own source; it is printed when a row fails.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.decoding import Question, Reading, decode

from .published import read, rows, units

# What a person holding the part would see and say; the marking alone does not carry it.
BODY = {
    "ERIE tubular": "old tubular ceramic",
    "kilo-pF": "old film",
    "electrolytic": "electrolytic",
    "electrolytic maker code": "electrolytic",
    "tantalum": "tantalum",
    "eia198 two-character": "chip",
    "smd milliohm": "current-sense shunt",
    "smd3": "chip",
    "smd4": "chip",
    "eia96": "chip",
    "vintage": "old",
}
EXAMPLES = rows("worked_examples")


def question_for(example: dict[str, str]) -> Question:
    kind = example["kind"] if example["kind"] != "date code" else ""
    body = BODY.get(example["notation"], "") + (" underlined" if "underlined" in example["meaning"] else "")
    if example["notation"] == "bands":
        return Question(bands=tuple(example["marking"].split("-")), kind=kind, body=body)
    return Question(marking=example["marking"], kind=kind, body=body)


def agrees(reading: Reading, example: dict[str, str]) -> bool:
    kind = example["kind"]
    if example["value_si"] and reading.value != units(kind, example["value_si"]):
        return False
    if example["volts"] and reading.volts != Decimal(example["volts"]):
        return False
    if example["tol_abs_pF"] and reading.tolerance_abs != units("capacitor", f"{example['tol_abs_pF']}e-12"):
        return False
    if "/" in example["tol_pct"]:
        high, low = (Decimal(each) for each in example["tol_pct"].split("/"))
        if (reading.tolerance_high_percent, reading.tolerance_low_percent) != (high, low):
            return False
    elif example["tol_pct"] and reading.tolerance_percent != Decimal(example["tol_pct"]):
        return False
    code = example["tempchar"].replace("NP0", "C0G")
    if (
        code
        and reading.temperature.get("code") != code
        and reading.temperature.get("name") != example["tempchar"]
    ):
        return False
    if example["tcr_ppm_per_K"] and kind == "resistor":
        return bool(reading.temperature.get("ppm_per_kelvin") == int(example["tcr_ppm_per_K"]))
    if kind == "diode":
        return reading.number == example["meaning"]
    if kind == "date code":
        if example["meaning"].startswith("week 45"):
            return reading.date.endswith("8-W45")
        return f"date: {example['meaning']}" in reading.reasons
    return True


@pytest.mark.parametrize("example", EXAMPLES, ids=[f"{each['id']} {each['marking']}" for each in EXAMPLES])
def test_the_published_meaning_comes_first(example: dict[str, str]) -> None:
    answer = decode(question_for(example))
    assert answer.readings, example["source"]
    assert agrees(answer.readings[0], example), (answer.readings[0], example["source"])


def legal(marking: str, kind: str, value: str, **more: object) -> tuple[str, str, str, dict[str, object]]:
    return marking, kind, value, more


# The alt_reading column of the same table, row by row, as values.
SECOND_READINGS = {
    "X022": legal("brown-red-black-black-brown", "resistor", "10000"),
    "X090 capacitor": legal("1R0", "capacitor", "1e-12"),
    "X090 inductor": legal("1R0", "inductor", "1e-6"),
    "X161": legal("R681", "resistor", "680"),
    "X168": legal("1M50", "resistor", "1.5e6"),
    "X184": legal("14R", "resistor", "1.37"),
    "X196": legal("66S", "resistor", "47.5"),
    "X198": legal("96H", "resistor", "9.76e9"),
    "X243 rotated": legal("681G", "capacitor", "1.8e-12"),
    "X263": legal("R068", "capacitor", "0.068e-12"),
    "X299": legal("1m0", "capacitor", "1e-6"),
    "X303": legal("470", "capacitor", "47e-12", body="old tubular ceramic"),
    "X304": legal("1K", "resistor", "1000"),
    "X306 ten pF": legal("100K", "capacitor", "10e-12"),
    "X306 ohms": legal("100K", "resistor", "100000"),
    "X307": legal("100", "capacitor", "10e-12", body="old tubular ceramic"),
    "X328": legal("1R5", "capacitor", "1.5e-12", body="electrolytic"),
    "X332": legal("471", "capacitor", "470e-12", body="electrolytic"),
    "X397": legal("red-yellow-brown-black", "inductor", "240e-6"),
    "X403": legal("101", "inductor", "100e-9"),
    "X405": legal("100", "inductor", "10e-6"),
    "X417": legal("C5", "capacitor", "0.12e-6"),
}


@pytest.mark.parametrize("row", SECOND_READINGS.values(), ids=SECOND_READINGS)
def test_a_second_legal_reading_is_shown_too(row: tuple[str, str, str, dict[str, object]]) -> None:
    marking, kind, value, more = row
    answer = read(marking.replace("-", " "), **more)
    assert units(kind, value) in [each.value for each in answer.readings if each.kind == kind]


def test_a_grey_tolerance_band_lists_what_it_meant_before_and_after_2016() -> None:
    # X054: 0.01 % on the Vishay card after IEC 60062; 0.05 % and, at high voltage, 10 % from memory.
    answer = read("brown black blue grey", kind="resistor")
    assert [
        str(each.tolerance_percent) for each in answer.readings if each.value == units("resistor", "1e7")
    ][:3] == [
        "10",
        "0.05",
        "0.01",
    ]


def test_a_military_fifth_band_may_also_be_a_tolerance() -> None:
    # X055: US Army ordnance training text.
    answer = read("brown black orange gold yellow", kind="resistor")
    assert answer.readings[0].traits["failure_rate_percent_per_1000_h"] == "0.001"
    assert (units("resistor", "10.3"), Decimal("0.02")) in [
        (each.value, each.tolerance_percent) for each in answer.readings
    ]


@pytest.mark.parametrize(
    ("marking", "dates"),
    [
        ("1208", {"2012-W08", "2008-W12"}),  # X415
        ("C5", {"2012-05", "1992-05"}),  # X417
        ("K6", {"1998-06", "2018-06", "1978-06"}),  # X434, memory
        ("845", {"1978-W45", "1988-W45", "1998-W45"}),  # X433, memory
        ("R (year letter)", {"2003", "1983"}),  # X418
        ("D (year letter)", {"2013", "1993"}),  # X426
    ],
)
def test_every_year_that_fits_a_date_code_is_shown(marking: str, dates: set[str]) -> None:
    assert dates <= {each.date for each in read(marking).readings}
