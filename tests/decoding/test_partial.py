"""Partial markings generated from E24 (IEC 60063) in the forms of IEC 60062: the hidden is found again."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import pytest

from inventory.decoding import Answer, decode

from .generated import E24, Whole, hidden, question, wholes

FORMS = ("4-band", "5-band", "capacitor code", "letter code", "chip code")


def cases(form: str, count: int, every: int = 1) -> Iterator[tuple[Whole, tuple[str, ...]]]:
    for at, whole in enumerate(each for each in wholes() if each.form == form):
        if at % every == 0:
            for parts in hidden(whole, count):
                yield whole, parts


def place(answer: Answer, whole: Whole) -> int | None:
    for at, reading in enumerate(answer.readings):
        if (reading.kind, reading.value) == (whole.kind, whole.value):
            return at
    return None


def complete(answer: Answer, whole: Whole) -> bool:
    """The truth with its tolerance is among the readings."""
    return any(
        (each.kind, each.value) == (whole.kind, whole.value)
        and (whole.tolerance is None or each.tolerance_percent == whole.tolerance)
        for each in answer.readings
    )


@pytest.mark.parametrize("form", FORMS)
def test_the_truth_is_always_among_the_readings_of_a_marking_with_one_part_hidden(form: str) -> None:
    missing = [
        parts for whole, parts in cases(form, 1) if not complete(decode(question(whole, parts)), whole)
    ]
    assert missing == []


@pytest.mark.parametrize("form", FORMS)
def test_the_truth_is_among_the_readings_with_two_parts_hidden_when_all_are_asked_for(form: str) -> None:
    missing = [
        parts
        for whole, parts in cases(form, 2, every=5)
        if not complete(decode(question(whole, parts, limit=500)), whole)
    ]
    assert missing == []


@pytest.mark.parametrize("form", FORMS)
def test_the_expected_value_comes_first_in_at_least_95_of_100(form: str) -> None:
    found = Counter(
        place(decode(question(whole, parts, expected=whole.value)), whole) for whole, parts in cases(form, 1)
    )
    assert found[0] >= 0.95 * found.total()


@pytest.mark.parametrize("form", FORMS)
def test_a_measurement_three_per_cent_off_puts_the_truth_first_in_at_least_99_of_100(form: str) -> None:
    # Neighbours in E24 lie 6.5 to 10 % apart, so 3 % off is nearer to the truth than to any other E24 value.
    found: Counter[int | None] = Counter()
    for whole, parts in cases(form, 1, every=2):
        for off in (-3, 3):
            asked = question(whole, parts, measured=whole.value * (100 + off) // 100)
            found[place(decode(asked), whole)] += 1
    assert found[0] >= 0.99 * found.total()


def nearest_of_e24(whole: Whole, parts: tuple[str, ...], measured: int) -> int:
    """What a judge would say who knows that the value is of E24 and of this form, and looks only at the
    meter.
    """
    legal = [
        each.value for each in wholes()
        if each.form == whole.form and len(each.parts) == len(parts)
        and all(seen in ("?", part) for seen, part in zip(parts, each.parts, strict=True))
    ]  # fmt: skip
    return min(legal, key=lambda value: max(value / measured, measured / value))


@pytest.mark.parametrize("form", FORMS)
def test_anywhere_within_five_per_cent_the_first_reading_is_as_good_as_the_nearest_value(form: str) -> None:
    """At 4 to 5 % off, a neighbour in E24 is often nearer: no reader can do better than the nearest."""
    chance = random.Random(form)
    right = best_possible = count = 0
    for whole, parts in cases(form, 1, every=4):
        measured = round(whole.value * chance.uniform(0.95, 1.05))
        right += place(decode(question(whole, parts, measured=measured)), whole) == 0
        best_possible += nearest_of_e24(whole, parts, measured) == whole.value
        count += 1
    assert right >= best_possible - 0.01 * count


def test_without_the_kind_the_truth_is_still_among_the_readings() -> None:
    missing = []
    for form in FORMS:
        for whole, parts in cases(form, 1, every=7):
            if place(decode(replace(question(whole, parts), kind="", limit=60)), whole) is None:
                missing.append(parts)
    assert missing == []


def test_every_e24_value_reads_back_when_nothing_is_hidden() -> None:
    assert len(E24) == 24
    wrong = [whole for whole in wholes() if place(decode(question(whole, whole.parts)), whole) != 0]
    # 100K on a capacitor is 0.1 µF in the published example X306, 10 pF by the digit code: both are shown.
    assert ["".join(whole.parts) for whole in wrong] == ["100K"]
    assert place(decode(question(wrong[0], wrong[0].parts)), wrong[0]) == 1
