"""Which way round: pin orders and polarity marks."""

import pytest

from repairs.proving.orientation import LEGS_CROSSED, TURNED_ROUND, expected, note_at_fitting
from tests.proving.boards import part


def transistor(pin_order: str | None, number: str = "") -> object:
    return part("transistor", number=number, traits={"pin_order": pin_order} if pin_order else {})


def test_the_two_to_92_families_are_each_others_reverse() -> None:
    """2N3904 is E-B-C and BC54x C-B-E, flat facing, legs down: data sheets, from memory."""
    answer = expected(transistor("E-B-C"), transistor("C-B-E"))  # type: ignore[arg-type]
    assert answer is not None
    assert answer.way == TURNED_ROUND


def test_the_same_type_with_two_pin_orders_is_a_conflict_of_legs() -> None:
    """MJE2955T is B-C-E (onsemi MJE2955T/D); a board may be drawn E-B-C (common practice, no source)."""
    answer = expected(transistor("E-B-C", "MJE2955"), transistor("B-C-E", "MJE2955"))  # type: ignore[arg-type]
    assert answer is not None
    assert answer.way == LEGS_CROSSED
    assert "cross and sleeve" in note_at_fitting(transistor("E-B-C"), transistor("B-C-E"))  # type: ignore[arg-type]


def test_an_unknown_pin_order_is_looked_up_not_assumed() -> None:
    answer = expected(transistor("E-B-C", "MJE2955"), transistor(None, "MJE2955"))  # type: ignore[arg-type]
    assert answer is not None
    assert answer.way is None


def test_a_negative_regulator_for_a_positive_one_has_its_legs_elsewhere() -> None:
    """A list that calls the 7905 an equivalent of the 7805 is wrong: another pin order at least (data sheets,
    from memory).
    """
    drawn = part("regulator", number="7805", traits={"pin_order": "in-gnd-out"})
    answer = expected(drawn, part("regulator", number="7905", traits={"pin_order": "gnd-in-out"}))
    assert answer is not None
    assert answer.way == LEGS_CROSSED


def test_a_can_marks_minus_and_a_bead_marks_plus() -> None:
    """Common practice, no source."""
    can = expected(part("capacitor", dielectric="aluminium", polarised=True), None)
    bead = expected(part("capacitor", dielectric="tantalum", polarised=True), None)
    assert can is not None
    assert bead is not None
    assert "stripe marks minus" in can.text
    assert "marks plus" in bead.text


@pytest.mark.parametrize("note", ["the -12 V output: plus to 0 V", "minus raw supply: plus end to 0 V"])
def test_polarity_goes_by_the_rail_not_by_the_print(note: str) -> None:
    answer = expected(part("capacitor", dielectric="tantalum", polarised=True), None, note)
    assert answer is not None
    assert "plus to 0 V" in answer.text
    assert "print" in answer.text


@pytest.mark.parametrize(
    ("spec", "mark"),
    [
        (part("diode", number="1N4148"), "band"),
        (part("diode", traits={"function": "led"}), "flat"),
        (part("ic", package="dip14"), "pin 1"),
        (part("switch", package="dip8", lead_style="dip"), "pin 1"),
        (part("resistor", value="1k", traits={"elements": "8"}), "dot"),
        (part("other", number="NiCd pack", polarised=True), "plus"),
    ],
)
def test_every_polarised_or_keyed_part_has_a_mark(spec: object, mark: str) -> None:
    answer = expected(spec, None)  # type: ignore[arg-type]
    assert answer is not None
    assert answer.mark == mark


@pytest.mark.parametrize(
    "spec",
    [
        part("resistor", value="1k"),
        part("capacitor", value="100n", dielectric="film"),
        part("capacitor", dielectric="aluminium_bipolar"),
        part("fuse"),
        part("crystal"),
    ],
)
def test_a_part_without_a_way_round_asks_for_nothing(spec: object) -> None:
    assert expected(spec, None) is None  # type: ignore[arg-type]
