"""A type of which a character or two cannot be read is not taken for the one that happens to be listed."""

from __future__ import annotations

import pytest

from .published import read, units
from .seldom import hidden_types


@pytest.mark.parametrize("with_body", [True, False])
@pytest.mark.parametrize("count", [1, 2])
def test_seldom_types_are_hardly_ever_wrong_and_sure(count: int, with_body: bool) -> None:
    every = list(hidden_types(count, with_body=with_body))
    wrong = [(each.number, each.marking) for each in every if each.sure_and_wrong]
    assert len(every) > 250
    assert len(wrong) <= 0.02 * len(every), wrong


def test_half_of_them_still_come_first() -> None:
    # Silence would be right as well, and of no use.
    every = list(hidden_types(1, with_body=True))
    assert sum(bool(each.right and each.right[0]) for each in every) >= 0.5 * len(every)


@pytest.mark.parametrize(
    ("marking", "listed"),
    [
        ("L?93D", "LM393"),  # the L293D of SGS drives motors; nobody prints an LM393 so (from memory)
        ("MOS?560", "4560"),  # the MOS6560 makes pictures (from memory)
        ("M?3712", "MJ3712"),  # the MB3712 is an amplifier; MJ3712 only looks like a transistor (from memory)
    ],
)
def test_a_listed_number_behind_other_letters_is_not_sure(marking: str, listed: str) -> None:
    readings = read(marking).readings
    assert all(each.score < 0.8 for each in readings if each.number == listed)
    assert any(each.number == marking and each.kind == "ic" for each in readings)


def test_a_type_known_by_its_own_name_stays_sure() -> None:
    best = read("TDA?822M", body="dip").readings[0]
    assert (best.number, best.score > 0.8) == ("TDA2822", True)


def test_more_hidden_figures_make_a_listed_type_less_sure() -> None:
    one, two = (read(marking, body="dip").readings for marking in ("MC?377P", "MC?3?7P"))
    share = [next(each.score for each in found if each.number == "MC1377") for found in (one, two)]
    assert share[0] > share[1]


@pytest.mark.parametrize("marking", ["82?6", "8?16"])
def test_a_figure_that_cannot_be_read_is_no_zener_voltage(marking: str) -> None:
    assert not any(each.traits.get("zener_volts") for each in read(marking).readings)


@pytest.mark.parametrize("marking", ["25V?70?F", "25V?70µF", "25V470?F", "25V4?0µF"])
def test_volts_that_run_into_a_value_are_parted_from_it(marking: str) -> None:
    # The same print whole, 25V470µF, is 470 µF at 25 V (common practice, no source).
    best = read(marking, body="electrolytic").readings[0]
    assert (best.kind, best.value, best.volts) == ("capacitor", units("capacitor", "470e-6"), 25)


@pytest.mark.parametrize(
    ("marking", "value"), [("2?2µF 63V", "2.2e-6"), ("0?1µF", "100e-9"), ("4?7nF", "4.7e-9")]
)
def test_what_cannot_be_read_within_a_number_may_be_its_point(marking: str, value: str) -> None:
    assert read(marking, kind="capacitor").readings[0].value == units("capacitor", value)


def test_noughts_that_say_nothing_are_seldom_printed() -> None:
    # 1000 µF, hardly 10.0 (common practice, no source).
    assert read("10?0µF 25V", kind="capacitor").readings[0].value == units("capacitor", "1000e-6")


def test_the_next_check_asks_for_a_character_and_never_for_one_that_cannot_be_read() -> None:
    assert read("L?93D", body="dip").next_check == "is the second character 3?"
    assert "or ?" not in read("?73? 50V", measured={"capacitor": units("capacitor", "46e-9")}).next_check
