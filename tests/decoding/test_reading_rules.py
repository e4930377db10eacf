"""The published rules for reading bodies, one by one (body_and_reading_rules.csv; the rule's number is
named).
"""

from __future__ import annotations

from .published import matching, read, read_bands, units, values

OHM = 10**6


def test_gold_or_silver_at_the_first_end_means_the_other_end_was_meant() -> None:
    # R03, R04: gold and silver are never digits.
    best = read_bands("gold red violet yellow", kind="resistor").readings[0]
    assert best.value == 4700 * OHM
    assert any("other end" in caution for caution in best.cautions)


def test_gold_and_silver_in_the_third_band_multiply_below_one() -> None:
    # R04.
    assert read_bands("yellow violet gold gold", kind="resistor").readings[0].value == units(
        "resistor", "4.7"
    )
    assert read_bands("yellow violet silver gold", kind="resistor").readings[0].value == units(
        "resistor", "0.47"
    )


def test_brown_at_both_ends_gives_both_values_and_asks_for_a_measurement() -> None:
    # R05, R06, R07: common practice, no source; both are preferred values.
    answer = read_bands("brown red black black brown", kind="resistor")
    assert [each.value for each in answer.readings][:2] == [120 * OHM, 10_000 * OHM]
    assert answer.next_check.startswith("measure")
    assert "120 Ω" in answer.next_check
    assert "10 kΩ" in answer.next_check


def test_the_end_that_gives_a_preferred_value_is_believed() -> None:
    # R05: 5-band with brown ends, one direction outside E96.
    # 1.23 M is in no series of 1 % parts, 14.3 k is in E96; 120 M is no usual size, 16 k is.
    assert read_bands("brown red orange yellow brown", kind="resistor").readings[0].value == 14_300 * OHM
    assert read_bands("brown red black blue brown", kind="resistor").readings[0].value == 16_000 * OHM


def test_a_wide_tolerance_goes_with_two_figures_and_a_close_one_with_three() -> None:
    # R10.
    assert read_bands("yellow violet red gold", kind="resistor").readings[0].tolerance_percent == 5
    assert read_bands("yellow violet black brown brown", kind="resistor").readings[0].tolerance_percent == 1


def test_no_tolerance_band_means_twenty_per_cent() -> None:
    # R11.
    assert read_bands("yellow violet red", kind="resistor").readings[0].tolerance_percent == 20


def test_a_single_black_band_is_a_link() -> None:
    # R12.
    best = read_bands("black").readings[0]
    assert (best.kind, best.value, best.tolerance_percent) == ("resistor", 0, None)


def test_a_fifth_band_may_be_reliability_on_a_military_part() -> None:
    # R13.
    answer = read_bands("brown black orange gold yellow", kind="resistor", body="military axial")
    assert answer.readings[0].value == 10_000 * OHM


def test_yellow_and_grey_replace_metal_on_high_voltage_types() -> None:
    # R14.
    best = read_bands("brown black blue grey", kind="resistor").readings[0]
    assert best.tolerance_percent == 10
    assert any("high-voltage" in caution for caution in best.cautions)


def test_a_white_band_behind_the_tolerance_means_fusible() -> None:
    # R15.
    best = read_bands("yellow violet red gold white", kind="resistor").readings[0]
    assert best.traits["fusible"] is True
    assert any("safety part" in caution for caution in best.cautions)


def test_body_tip_and_dot() -> None:
    # R16, R16b (memory): a dot that cannot be seen has the body's colour.
    assert read("body green, tip brown, dot yellow").readings[0].value == 510_000 * OHM
    assert read("body red, tip violet").readings[0].value == 2700 * OHM
    assert read("body green, tip brown, dot yellow, end silver").readings[0].tolerance_percent == 10


def test_the_first_digit_is_never_black() -> None:
    # R17.
    found = read_bands("black brown red gold", kind="resistor").readings
    assert all(each.used[0][0] != "black" for each in found)
    assert all(any("takes the" in caution for caution in each.cautions) for each in found)


def test_confused_colours_are_tried_only_when_asked() -> None:
    # R18 (memory): red for orange.
    plain = values(read_bands("yellow violet red gold", kind="resistor").readings, "resistor")
    doubted = read_bands("yellow violet red gold", kind="resistor", doubtful=True)
    assert 47_000 * OHM not in plain
    assert 47_000 * OHM in values(doubted.readings, "resistor")
    assert any("takes the red band for orange" in c for each in doubted.readings for c in each.cautions)


def test_a_brown_looking_last_band_may_be_gold() -> None:
    # R19: common practice, no source.
    answer = read_bands("yellow violet red brown", kind="resistor", body="blue", doubtful=True)
    assert [each for each in matching(answer, value=4700 * OHM) if each.tolerance_percent == 5]


def test_a_three_digit_code_with_a_leading_zero_is_tried_upside_down() -> None:
    # R21: no preferred value starts with zero (IEC 60063).
    found = values(read("028", kind="resistor", body="chip").readings, "resistor")
    assert 82 * OHM in found
    assert read("820", kind="resistor", body="chip").readings[0].value == 82 * OHM


def test_figures_that_survive_turning_are_read_both_ways_up() -> None:
    # R22: 681/189, 110/011; ranked by preferred value.
    for marking, up, over in (("681", 680, 18_000_000_000), ("189", 18_000_000_000, 680), ("110", 11, None)):
        found = values(read(marking, kind="resistor", body="chip").readings, "resistor")
        assert up * OHM in found
        assert over is None or over * OHM in found
    assert read("681", kind="resistor", body="chip").readings[0].value == 680 * OHM


def test_an_underlined_code_is_a_one_per_cent_part_and_not_milliohms() -> None:
    # R23: thick-film data sheet RND 155, clause 4.0.
    best = read("333", kind="resistor", body="chip, underlined").readings[0]
    assert (best.value, best.tolerance_percent) == (33_000 * OHM, 1)


def test_two_digits_are_picofarads_and_a_decimal_below_one_is_microfarads() -> None:
    # R24.
    assert read("47", kind="capacitor").readings[0].value == units("capacitor", "47e-12")
    assert read("0.047", kind="capacitor").readings[0].value == units("capacitor", "47e-9")


def test_three_digits_on_a_ceramic_are_never_read_one_way_in_silence() -> None:
    # R25: ERIE reference page.
    found = values(read("470", kind="capacitor").readings, "capacitor")
    assert found[:2] == [units("capacitor", "47e-12"), units("capacitor", "470e-12")]


def test_k_behind_figures_is_ten_per_cent_or_kilo_picofarads() -> None:
    # R26.
    found = read("22K", kind="capacitor").readings
    assert (found[0].value, found[0].tolerance_percent) == (units("capacitor", "22e-12"), 10)
    assert units("capacitor", "22e-9") in values(found, "capacitor")


def test_figures_on_an_electrolytic_count_microfarads() -> None:
    # R27.
    assert read("471", kind="capacitor", body="electrolytic").readings[0].value == units(
        "capacitor", "470e-6"
    )
    assert read("100", kind="capacitor", body="electrolytic can").readings[0].value == units(
        "capacitor", "100e-6"
    )


def test_the_scheme_dot_of_a_mica_is_no_figure() -> None:
    # R32, R33: top row left to right, bottom row right to left.
    best = read("mica top black-green-brown, bottom red-yellow-black", kind="capacitor").readings[0]
    assert best.value == units("capacitor", "51e-12")


def test_a_wide_silver_band_starts_a_military_inductor() -> None:
    # R34.
    best = read("wide silver-red-gold-red", kind="inductor").readings[0]
    assert best.value == units("inductor", "2.2e-6")


def test_without_the_kind_the_bands_are_read_as_every_kind() -> None:
    # R37: the part kind must be asked, never guessed.
    answer = read_bands("yellow violet red gold")
    assert {"resistor", "capacitor", "inductor"} <= {each.kind for each in answer.readings}
    assert answer.next_check.startswith("settle what kind of part it is")


def test_the_next_check_names_a_varistor_and_not_a_kind_called_other() -> None:
    assert read("14D471K").next_check == "settle what kind of part it is: varistor or resistor"
