"""Unreadable, doubtful and confusable characters and colours, upside-down parts, and questions that cannot be
read.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.decoding import MalformedMarking, Question, decode
from inventory.decoding.bands import COLOURS
from inventory.decoding.patterns import CONFUSED, TURNED

from .published import read, read_bands, units, values

OHM = 10**6


def test_either_of_two_characters() -> None:
    found = values(read("4[38]3", kind="resistor").readings, "resistor")
    assert found[:2] == [43_000 * OHM, 48_000 * OHM]


def test_either_of_two_colours() -> None:
    found = values(read_bands("yellow violet red|orange gold", kind="resistor").readings, "resistor")
    assert set(found) == {4700 * OHM, 47_000 * OHM}


def test_either_of_two_words() -> None:
    found = values(read("103|104 50V", kind="capacitor").readings, "capacitor")
    assert {units("capacitor", "10e-9"), units("capacitor", "100e-9")} <= set(found)


def test_an_unreadable_character_may_be_the_letter_or_a_figure() -> None:
    found = values(read("4?7", kind="resistor").readings, "resistor")
    assert {units("resistor", each) for each in ("4.7", "4700", "4.7e6")} == set(found[:3])
    assert 430_000_000 * OHM in found


def test_unreadable_figures_of_the_volts() -> None:
    found = read("104K ?00V", kind="capacitor").readings
    assert found[0].value == units("capacitor", "100e-9")
    assert {100, 200, 400} & {int(each.volts) for each in found if each.volts}


def test_an_unreadable_band_lists_the_preferred_values_first() -> None:
    found = values(read_bands("yellow ? red gold", kind="resistor").readings, "resistor")
    assert set(found[:2]) == {4700 * OHM, 4300 * OHM}


@pytest.mark.parametrize(("up", "over"), [("0", "0"), ("1", "1"), ("6", "9"), ("8", "8"), ("9", "6")])
def test_upside_down_figures(up: str, over: str) -> None:
    # Body and reading rules R22: figures turned round.
    assert TURNED[up] == over


@pytest.mark.parametrize(("marking", "other"), [("68", "89"), ("98", "86"), ("108", "801"), ("681", "189")])
def test_a_part_read_upside_down_keeps_both_readings(marking: str, other: str) -> None:
    # Common practice, no source.
    one_way = {(each.kind, each.value) for each in read(marking, kind="capacitor").readings if each.value}
    turned_over = read(other, kind="capacitor").readings
    assert one_way & {
        (each.kind, each.value) for each in turned_over if any("upside down" in c for c in each.cautions)
    }


@pytest.mark.parametrize(
    "pair", ["0O", "0D", "0Q", "1I", "17", "2Z", "5S", "68", "6B", "6G", "38", "4A", "KX", "CG"]
)
def test_confusable_characters(pair: str) -> None:
    # Common practice, no source.
    assert pair[1] in CONFUSED[pair[0]]
    assert pair[0] in CONFUSED[pair[1]]


def test_confusable_characters_are_tried_when_asked_and_reported() -> None:
    quiet = values(read("183", kind="resistor").readings, "resistor")
    asked = read("183", kind="resistor", doubtful=True).readings
    assert 13_000 * OHM not in quiet
    assert 13_000 * OHM in values(asked, "resistor")
    assert all(
        any("for a worn" in c or "upside down" in c for c in each.cautions)
        for each in asked
        if each.value not in quiet
    )


def test_confusable_characters_are_tried_when_nothing_else_fits() -> None:
    for marking in ("1O3", "IO3"):
        best = read(marking, kind="capacitor").readings[0]
        assert best.value == units("capacitor", "10e-9")
        assert best.cautions


def test_nothing_that_fits_gives_hints_and_no_reading() -> None:
    answer = read("zzz")
    assert answer.readings == ()
    assert answer.hints
    assert answer.next_check == ""
    assert "try without naming the kind" in read("SN74LS04N", kind="resistor").hints[0]


@pytest.mark.parametrize(
    ("marking", "position"), [("10[38", 2), ("10]3", 2), ("10[]", 2), ("1[0[3]]", 1), ("   ", 0), ("", 0)]
)
def test_a_question_that_cannot_be_read_says_where(marking: str, position: int) -> None:
    with pytest.raises(MalformedMarking) as refusal:
        decode(Question(marking=marking))
    assert refusal.value.position == position


def test_an_unknown_colour_names_the_band() -> None:
    with pytest.raises(MalformedMarking, match="Band 3") as refusal:
        decode(Question(bands=("yellow", "violet", "mauve", "gold")))
    assert refusal.value.position == 2


def test_too_many_bands_are_refused() -> None:
    with pytest.raises(MalformedMarking):
        decode(Question(bands=("red",) * 10))


@pytest.mark.parametrize(
    "marking", ["????????", "?" * 50, "[0123456789KMJ]" * 8, "x" * 50, "1|2|3|4|5|6|7|8|9 " * 6, "9" * 400]
)
def test_what_is_too_much_to_try_is_cut_and_reported(marking: str) -> None:
    assert decode(Question(marking=marking)).truncated


def test_an_answer_cut_at_the_limit_says_so() -> None:
    whole = read("4?3", kind="resistor", limit=500)
    cut = read("4?3", kind="resistor", limit=3)
    assert not whole.truncated
    assert cut.truncated
    assert cut.readings[0].value == whole.readings[0].value
    assert len(cut.readings) == 3


MARKS = st.text(alphabet="0123456789KMJRµnpuVFXNP?[]|().,/%±Ω- \t°ABCDEFGHZ", max_size=24)
COLOUR_LISTS = st.lists(
    st.sampled_from([*COLOURS, "?", "red|orange", "purple", "gy"]), min_size=1, max_size=9
)


@settings(max_examples=400, deadline=None)
@given(
    st.one_of(st.text(max_size=60), MARKS),
    st.sampled_from(["", "resistor", "capacitor", "inductor", "diode", "ic"]),
    st.booleans(),
)
def test_no_text_breaks_the_decoder(text: str, kind: str, doubtful: bool) -> None:
    try:
        answer = decode(Question(marking=text, kind=kind, doubtful=doubtful))
    except MalformedMarking as refusal:
        place = refusal.position
    else:
        place = 0
        assert_sound(answer.readings, kind)
    assert 0 <= place <= len(text)


@settings(max_examples=200, deadline=None)
@given(
    COLOUR_LISTS,
    st.sampled_from(["", "resistor", "capacitor", "inductor"]),
    st.text(max_size=12),
    st.booleans(),
)
def test_no_row_of_colours_breaks_the_decoder(
    bands: list[str], kind: str, scheme: str, doubtful: bool
) -> None:
    assert_sound(
        decode(Question(bands=tuple(bands), kind=kind, scheme=scheme, doubtful=doubtful)).readings, kind
    )


@settings(max_examples=100, deadline=None)
@given(st.lists(st.text(max_size=8), min_size=1, max_size=12))
def test_no_words_for_bands_break_the_decoder(bands: list[str]) -> None:
    try:
        answer = decode(Question(bands=tuple(bands)))
    except MalformedMarking:
        return
    assert_sound(answer.readings, "")


def assert_sound(readings: tuple, kind: str) -> None:  # type: ignore[type-arg]
    if readings:
        assert abs(sum(each.score for each in readings) - 1) < 1e-6
    assert [each.score for each in readings] == sorted((each.score for each in readings), reverse=True)
    for each in readings:
        assert not kind or each.kind == kind
        assert each.value is None or each.value >= 0
        each.to_dict()
