"""Values as people and makers write them out: thousands apart, units apart, a small p, sections half read.

Which values are made is IEC 60063; what stands beside what is common practice, no source.
"""

from __future__ import annotations

import pytest

from inventory.decoding import Question, decode
from inventory.decoding.reading import Reading

from .published import units


def readings(marking: str) -> tuple[Reading, ...]:
    return decode(Question(marking=marking)).readings


@pytest.mark.parametrize(
    ("marking", "kind", "value"),
    [
        ("4 700 µF 25V", "capacitor", "4700e-6"), ("2 200 µF 16V", "capacitor", "2200e-6"),
        ("10 000 µF 63V", "capacitor", "10000e-6"), ("22 000µF 40V", "capacitor", "22000e-6"),
        ("3 300 pF 1kV", "capacitor", "3300e-12"), ("6 800 pF", "capacitor", "6800e-12"),
        ("1 000 pF 500V", "capacitor", "1000e-12"), ("47 000 Ω", "resistor", "47000"),
        ("47 000 ohm 1W", "resistor", "47000"), ("1 000 000 Ω", "resistor", "1e6"),
        ("47000Ω", "resistor", "47000"), ("4\u202f700 µF 25V", "capacitor", "4700e-6"),
        ("16 470 µF", "capacitor", "470e-6"),  # 16 V: nobody makes 16470 µF
        ("4 100 nF", "capacitor", "100e-9"),
    ],
)  # fmt: skip
def test_a_space_parts_thousands_where_such_a_value_is_made(marking: str, kind: str, value: str) -> None:
    best = readings(marking)[0]
    assert (best.kind, best.value) == (kind, units(kind, value))


@pytest.mark.parametrize("marking", ["47? Ω 2W", "47? Ω", "33? Ω 1W", "10? Ω 5W", "22? ohm 3W"])
def test_a_character_before_a_gap_and_the_ohms_is_hardly_a_k(marking: str) -> None:
    best = readings(marking)[0]
    figures = int(marking[:2])
    assert (best.kind, best.value) == ("resistor", figures * 10 * 10**6)
    assert all(each.score < 0.2 for each in readings(marking) if each.value == figures * 10**9)


@pytest.mark.parametrize("marking", ["47?Ω 2W", "33?Ω", "10?Ω"])
def test_a_character_before_the_ohms_leaves_both(marking: str) -> None:
    figures = int(marking[:2])
    scores = {each.value: each.score for each in readings(marking)}
    assert min(scores[figures * 10 * 10**6], scores[figures * 10**9]) > 0.15


@pytest.mark.parametrize("figures", ["103", "104", "223", "333", "473", "683", "153", "224", "472"])
def test_a_small_p_behind_a_code_is_pico_first_and_not_sure(figures: str) -> None:
    first, *others = readings(f"{figures}p")
    assert (first.value, first.score < 0.8) == (int(figures) * 1000, True)
    code = int(figures[:2]) * 10 ** int(figures[2]) * 1000
    assert any(each.value == code and each.score > 0.05 for each in others)


@pytest.mark.parametrize("figures", ["100", "220", "330", "470", "680", "150"])
def test_a_small_p_behind_figures_of_a_series_is_pico(figures: str) -> None:
    best = readings(f"{figures}p")[0]
    assert best.value == int(figures) * 1000
    assert best.score > 0.95


@pytest.mark.parametrize("marking", ["100+100µ? 385V", "50+50µ? 350V", "32+32?F 450V", "150+150µ? 400V"])
def test_sections_are_read_though_their_unit_is_not(marking: str) -> None:
    best = readings(marking)[0]
    figures = marking.partition("+")[0]
    assert (best.kind, best.traits["further_sections"]) == ("capacitor", f"+{figures}")


@pytest.mark.parametrize("volts", ["311", "317", "324", "339", "358", "385", "386", "393", "555", "723"])
def test_bare_volts_are_no_type_without_its_letters(volts: str) -> None:
    assert all(each.score < 0.8 for each in readings(f"{volts}V") if each.number)


@pytest.mark.parametrize("marking", ["UF 25V", "MF 16V", "UF 450V", "PF 500V", "NF 63V"])
def test_a_unit_and_volts_are_no_type(marking: str) -> None:
    assert all(each.score < 0.8 for each in readings(marking))
