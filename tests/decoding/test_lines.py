"""Whole marking lines as found on parts: which characters gave what, and which gave nothing.

Lines are put together from codes of IEC 60062, EIA-198 and the tables in data/; the way of putting them
together is common practice, no source, except where named.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.decoding import Reading

from .published import read, units, values


def best(marking: str, **more: object) -> Reading:
    return read(marking, **more).readings[0]


def test_a_ceramic_line_gives_value_tolerance_volts_and_date() -> None:
    reading = best("µPx 104K 100V 8213")
    assert (reading.kind, reading.value) == ("capacitor", units("capacitor", "100e-9"))
    assert (reading.tolerance_percent, reading.volts, reading.date) == (10, 100, "1982-W13")
    assert reading.used == (
        ("µPx", ""),
        ("10", "figures"),
        ("4", "x10^4 pF"),
        ("K", "±10 %"),
        ("100V", "100 V"),
        ("8213", "1982 week 13"),
    )


LINES = [
    # marking, kind, value, tolerance, volts
    ("104 X7R 50V", "capacitor", "100e-9", None, 50),
    ("X7R104K", "capacitor", "100e-9", 10, None),
    ("104K100V", "capacitor", "100e-9", 10, 100),
    ("104K100", "capacitor", "100e-9", 10, 100),
    ("47n250V", "capacitor", "47e-9", None, 250),
    ("47n/250V", "capacitor", "47e-9", None, 250),
    ("0.1µF 250V~ X2", "capacitor", "0.1e-6", None, 250),
    ("103 1KV Z5U", "capacitor", "10e-9", None, 1000),
    ("C0G 101J 2KV", "capacitor", "100e-12", 5, 2000),
    ("220J 2A", "capacitor", "22e-12", 5, 100),
    ("1500pF±10%", "capacitor", "1.5e-9", 10, None),
    ("47µF 25V 85°C", "capacitor", "47e-6", None, 25),
    ("22 µF 16 V", "capacitor", "22e-6", None, 16),
    ("22µ35", "capacitor", "22e-6", None, 35),
    ("10 6V", "capacitor", "10e-6", None, 6),
    ("2.2 50V", "capacitor", "2.2e-6", None, 50),
    ("4u7K 63", "capacitor", "4.7e-6", 10, 63),
    (".047 M 250", "capacitor", "47e-9", 20, 250),
    ("100 16V", "capacitor", "100e-6", None, 16),
    ("103M DC50V", "capacitor", "10e-9", 20, 50),
    ("2n2 J 630", "capacitor", "2.2e-9", 5, 630),
    ("4k7 5%", "resistor", "4700", 5, None),
    ("1/4W 4k7±5%", "resistor", "4700", 5, None),
    ("5W 10R J", "resistor", "10", 5, None),
    ("10W0.22ΩJ", "resistor", "0.22", 5, None),
    ("22nK100", "capacitor", "22e-9", 10, 100),
    ("u1K 250", "capacitor", "0.1e-6", 10, 250),
    ("224 J 1 KV", "capacitor", "220e-9", 5, 1000),
    ("47 25V", "capacitor", "47e-6", None, 25),
    ("220 16", "capacitor", "220e-6", None, 16),
    ("CBB22 104J 400V", "capacitor", "100e-9", 5, 400),
    ("107 16V", "capacitor", "100e-6", None, 16),
    ("2W104J", "capacitor", "100e-9", 5, 450),
    ("2,2k", "resistor", "2200", None, None),
    ("4.7 kΩ", "resistor", "4700", None, None),
    ("330uH", "inductor", "330e-6", None, None),
    ("10 mH", "inductor", "10e-3", None, None),
    ("2a474j", "capacitor", "470e-9", 5, 100),
]


@pytest.mark.parametrize(
    ("marking", "kind", "value", "tolerance", "volts"), LINES, ids=[each[0] for each in LINES]
)
def test_lines_as_printed(
    marking: str, kind: str, value: str, tolerance: int | None, volts: int | None
) -> None:
    reading = best(marking)
    assert (reading.kind, reading.value) == (kind, units(kind, value))
    assert (reading.tolerance_percent, reading.volts) == (tolerance, volts)


def test_a_makers_letter_before_the_code_is_passed_over() -> None:
    reading = best("C104K", kind="capacitor")
    assert (reading.value, reading.tolerance_percent) == (units("capacitor", "100e-9"), 10)
    assert reading.used[0] == ("C", "")


def test_an_uneven_tolerance_is_kept_with_its_signs() -> None:
    reading = best("10n +80/-20%", kind="capacitor")
    assert (reading.tolerance_low_percent, reading.tolerance_high_percent) == (-20, 80)
    assert best("103Z", kind="capacitor").tolerance_low_percent == -20


def test_tolerance_below_ten_picofarads_is_an_amount() -> None:
    # Chip-capacitor maker's sheet, IEC 60062.
    assert best("6p8D").tolerance_abs == 500
    # At exactly 10 pF tables differ, so both are listed.
    found = read("10pD", kind="capacitor").readings
    assert {each.tolerance_abs for each in found} == {500, None}
    assert Decimal("0.5") in [each.tolerance_percent for each in found]


def test_a_mains_capacitor_says_that_it_is_a_safety_part() -> None:
    reading = best("0.1µF 250V~ X2")
    assert reading.traits["safety_class"] == "X2"
    assert any("safety parts" in caution for caution in reading.cautions)


def test_the_temperature_characteristic_comes_with_its_drift() -> None:
    # TI application note SLAA701B.
    temperature = best("104 Z5U 50V").temperature
    assert (temperature["low_celsius"], temperature["high_celsius"]) == (10, 85)
    assert (temperature["drift_low_percent"], temperature["drift_high_percent"]) == (-56, 22)


def test_a_class_one_slope_is_read_from_its_industry_name() -> None:
    assert best("N750", kind="capacitor").temperature["ppm_per_kelvin"] == -750


@pytest.mark.parametrize(
    ("marking", "kind", "value"),
    [
        ("RN60D1002F", "resistor", "10000"),  # MIL-R-10509 style, from memory
        ("RC07GF103J", "resistor", "10000"),  # MIL-R-39008 style, from memory
        ("CK05BX104K", "capacitor", "100e-9"),  # MIL-C-11015 style, from memory
        ("ECA1HM101", "capacitor", "100e-6"),  # form of the electrolytic maker's part numbers in X337
        ("EEUFK1V182L", "capacitor", "1800e-6"),  # X337
        ("UVR1H4R7MDD", "capacitor", "4.7e-6"),  # same form
        ("293D107X9010", "capacitor", "100e-6"),  # X340
    ],
)
def test_order_codes_carry_their_value_inside(marking: str, kind: str, value: str) -> None:
    assert best(marking).value == units(kind, value)


def test_a_can_with_several_sections_names_the_others() -> None:
    reading = best("50-50 MFD 150V")
    assert (reading.value, reading.volts) == (units("capacitor", "50e-6"), 150)
    assert reading.traits["further_sections"] == "-50"


def test_old_and_modern_meanings_of_a_unit_are_both_given() -> None:
    found = values(read("8 mF", kind="capacitor").readings, "capacitor")
    assert found[:2] == [units("capacitor", "8e-6"), units("capacitor", "8e-3")]


def test_a_comma_may_part_thousands() -> None:
    found = values(read("1,000 mfd", kind="capacitor").readings, "capacitor")
    assert {units("capacitor", "1e-6"), units("capacitor", "1000e-6")} <= set(found)


def test_farads_and_henries_behind_a_prefix_are_units_and_no_tolerance() -> None:
    assert [each.tolerance_percent for each in read("100nF", kind="capacitor").readings][:1] == [None]
    assert [each.tolerance_percent for each in read("330uH", kind="inductor").readings] == [None]


def test_a_crystal_says_its_frequency() -> None:
    reading = best("32.768 kHz")
    assert (reading.kind, reading.value) == ("crystal", 32_768_000)


def test_notes_in_round_brackets_are_no_part_of_the_marking() -> None:
    assert best("100 (0402 RF series)", kind="inductor").value == units("inductor", "10e-9")
    assert best("100", kind="inductor").value == units("inductor", "10e-6")


def test_the_json_shape_holds_plain_text() -> None:
    answer = best("104K 100V", kind="capacitor").to_dict()
    assert answer["value"] == "0.0000001"
    assert answer["value_text"] == "100n"
    assert (answer["tolerance_percent"], answer["volts"]) == ("10", "100")
    assert answer["used"][2] == {"characters": "K", "meaning": "±10 %"}
    assert best("6p8D").to_dict()["tolerance_abs"] == "0.0000000000005"


def test_of_two_ratings_that_disagree_the_second_is_set_aside() -> None:
    reading = best("104K 100V 50V 63V")
    assert (reading.value, reading.volts) == (units("capacitor", "100e-9"), 100)
    assert reading.used[-1] == ("63V", "")


def test_a_doubtful_first_figure_stays_with_its_volts() -> None:
    """What a recogniser gives of `104K 100V`: a 1 that may be an I, a 7 or a stroke."""
    for marking in ("104K [1I7]00V", "104K [1I7/]00V"):
        best = read(marking, kind="capacitor").readings[0]
        assert (best.value, best.volts) == (100_000_000, 100), marking


def test_a_small_letter_among_doubtful_ones_may_be_its_capital() -> None:
    """What a recogniser gives of `104K 100V`: k, K and X look alike when small."""
    best = read("104[kX] 100V", kind="capacitor").readings[0]
    assert (best.value, best.tolerance_percent, best.volts) == (100_000_000, 10, 100)
