"""What the meter, the position, the body, the era, open jobs and the bench add, and the next best check."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.decoding import Question, decode

from .published import read, read_bands, units, values

OHM = 10**6
HUNDRED = units("capacitor", "100e-12")
TEN = units("capacitor", "10e-12")


def test_a_measurement_decides_between_two_conventions() -> None:
    # 100 on a ceramic is 10 pF (MIL-PRF-39001) or, on old ones, 100 pF (common practice, no source).
    assert read("100", kind="capacitor").readings[0].value == TEN
    measured = read("100", kind="capacitor", measured=units("capacitor", "97e-12")).readings[0]
    assert measured.value == HUNDRED
    assert "measured -3.0 % from this value" in measured.reasons


def test_an_unsure_meter_weighs_less() -> None:
    sure = read("100", kind="capacitor", measured=units("capacitor", "80e-12"), measured_tolerance=Decimal(1))
    unsure = read(
        "100", kind="capacitor", measured=units("capacitor", "80e-12"), measured_tolerance=Decimal(30)
    )

    def share(answer: object) -> float:
        return sum(each.score for each in answer.readings if each.value == HUNDRED)  # type: ignore[attr-defined]

    assert share(unsure) > share(sure)


def test_a_measurement_in_farads_speaks_for_a_capacitor() -> None:
    answer = read("4?7", measured={"capacitor": units("capacitor", "4.6e-9")})
    assert (answer.readings[0].kind, answer.readings[0].value) == ("capacitor", units("capacitor", "4.7e-9"))


def test_an_electrolytic_well_above_its_mark_is_still_itself() -> None:
    # check_values.csv: +100/-20 electrolytic, 1000 µF reads 800 to 2000 µF.
    answer = read("103Z", kind="capacitor", measured=units("capacitor", "16e-9"))
    assert answer.readings[0].value == units("capacitor", "10e-9")


def test_the_expected_value_at_the_position_goes_first() -> None:
    best = read_bands("brown red black black brown", kind="resistor", expected=10_000 * OHM).readings[0]
    assert best.value == 10_000 * OHM
    assert "the value expected at the position" in best.reasons


def test_what_open_jobs_want_and_the_bench_holds_counts_a_little() -> None:
    plain = read("4[37]3", kind="resistor")
    wanted = read("4[37]3", kind="resistor", wanted=frozenset({("resistor", 43_000 * OHM)}))
    held = read("4[37]3", kind="resistor", held=frozenset({("resistor", 43_000 * OHM)}))
    assert plain.readings[0].value == 47_000 * OHM
    assert wanted.readings[0].value == held.readings[0].value == 43_000 * OHM
    assert "an open job needs this value" in wanted.readings[0].reasons
    assert "this bench already holds this value" in held.readings[0].reasons
    assert wanted.readings[0].score > held.readings[0].score


def test_the_body_chooses_the_notation() -> None:
    # As above.
    firsts = {
        body: read("100", kind="capacitor", body=body).readings[0].value
        for body in ("disc", "old tubular", "electrolytic can")
    }
    assert firsts == {"disc": TEN, "old tubular": HUNDRED, "electrolytic can": units("capacitor", "100e-6")}


def test_the_body_speaks_for_the_kind() -> None:
    assert read("103", body="0805 chip").readings[0].kind == "resistor"
    assert read("103", body="orange disc").readings[0].kind == "capacitor"


def test_the_era_rules_out_what_did_not_exist() -> None:
    # 0.05 % for orange: IEC 60062 as on the Vishay card; new in 2016, from memory.
    old = read_bands("brown black black brown orange", kind="resistor", era=1985)
    new = read_bands("brown black black brown orange", kind="resistor", era=2020)

    def share(answer: object) -> float:
        readings = answer.readings  # type: ignore[attr-defined]
        return sum(each.score for each in readings if each.tolerance_percent == Decimal("0.05"))

    assert share(new) > share(old)


def test_the_next_check_names_the_values_that_a_meter_would_part() -> None:
    answer = read("100", kind="capacitor")
    assert answer.next_check.startswith("measure on the ")
    assert "10 pF" in answer.next_check
    assert "100 pF" in answer.next_check


def test_the_next_check_asks_for_a_second_look_where_that_parts_more() -> None:
    answer = read_bands("yellow violet red|orange gold", kind="resistor", measured=14_000 * OHM)
    assert answer.next_check == "is the third band red or orange?"


def test_the_next_check_asks_for_the_era_when_only_the_year_is_open() -> None:
    assert read("R (year letter)").next_check == "give the era of the equipment: 2003 or 2023 or 1983 remain"


def test_a_settled_reading_needs_no_check() -> None:
    assert read("4k7", kind="resistor").next_check == ""


@settings(max_examples=100, deadline=None)
@given(
    st.integers(1, 10**13),
    st.sampled_from(["resistor", "capacitor", "inductor"]),
    st.decimals(0, 50, places=1),
)
def test_no_measurement_breaks_the_scores(measured: int, kind: str, error: Decimal) -> None:
    answer = decode(Question(marking="4?3", kind=kind, measured=measured, measured_tolerance=error))
    assert abs(sum(each.score for each in answer.readings) - 1) < 1e-6
    assert all(0 <= each.score <= 1 for each in answer.readings)


def test_two_readings_of_one_meaning_are_shown_once() -> None:
    found = values(read("47?", kind="resistor", limit=100).readings, "resistor")
    without_tolerance = [
        each for each in read("47?", kind="resistor", limit=100).readings if each.value == 47 * OHM
    ]
    assert len({(each.value, each.tolerance_percent) for each in without_tolerance}) == len(without_tolerance)
    assert 47 * OHM in found


def test_farads_on_the_meter_say_that_it_is_a_capacitor_even_far_off_its_value() -> None:
    """Common practice, no source: a resistor shows no capacitance, a worn capacitor a wrong one."""
    answer = read("104", measured={"capacitor": 48_000_000})
    assert answer.readings[0].kind == "capacitor"


def test_what_remains_open_is_named() -> None:
    """Of SN74LS04N 8213 only whether the last figures are a date remains open."""
    assert "whether it is one" in read("SN74LS04N 8213").next_check
