"""A line that is corrected: what is taken out of it is gone, and what it never showed stays."""

import pytest

from inventory.part_lines import read_line, with_unsaid
from inventory.spec import Spec

ALUMINIUM = {"kind": "capacitor", "value": "100u", "volts": "25", "dielectric": "aluminium"}
TRANSISTOR = {"kind": "transistor", "number": "BC547"}


def corrected(before: Spec, line: str) -> Spec:
    typed = read_line(line, kind=before.kind).spec
    assert typed is not None
    return with_unsaid(before, typed)


def read(line: str) -> Spec:
    spec = read_line(line).spec
    assert spec is not None
    return spec


@pytest.mark.parametrize(
    ("before", "line", "after"),
    [
        ("100n 275V X2", "100n capacitor", "100n capacitor"),
        ("100n 275V X2", "220n 275V X2 capacitor", "220n 275 V X2 capacitor"),
        ("5V1 zener diode", "6.2 V zener diode", "6.2 V zener diode"),
        ("4 MHz 20 pF crystal", "4 MHz crystal", "4 MHz crystal"),
        ("red LED", "LED", "LED"),
    ],
)
def test_what_a_person_takes_out_does_not_come_back(before: str, line: str, after: str) -> None:
    assert corrected(read(before), line).text == after


def test_a_figure_that_the_line_shows_by_another_name_goes_too() -> None:
    before = Spec.from_dict({**TRANSISTOR, "traits": {"vceo": "45"}})
    assert "45 V" in before.text
    assert "45 V" not in corrected(before, "BC547").text


def test_what_the_line_never_showed_stays() -> None:
    before = Spec.from_dict({**ALUMINIUM, "traits": {"esr_ohm": "0.2"}})
    assert "0.2" not in before.text
    after = corrected(before, "220u 25V electrolytic")
    assert (after.value_text, after.traits["esr_ohm"]) == ("220µ", before.traits["esr_ohm"])


def test_another_type_number_is_another_part() -> None:
    before = Spec.from_dict({**TRANSISTOR, "traits": {"gain_min": "200"}})
    assert "gain_min" not in corrected(before, "BC557").traits
