"""Thermistors: common practice, no source; figures of B from memory of data sheets."""

import pytest

from inventory.spec import Spec, fits


def part(**facts: object) -> Spec:
    return Spec.from_dict({"kind": "thermistor", **facts})


def ntc(b: str | None = "3950", tolerance: str = "5", **facts: object) -> Spec:
    traits = {"curve": "ntc"} | ({"b_k": b} if b else {})
    return part(**{"value": "10k", "tolerance_percent": tolerance, "traits": traits, **facts})


SENSOR = part(value="10k", tolerance_percent="5", traits={"curve": "ntc", "b_k": "3950", "use": "sense"})
INRUSH = part(value="5", amps="4", traits={"curve": "ntc", "use": "inrush"})


@pytest.mark.parametrize(
    ("required", "offered", "grade"),
    [
        (SENSOR, ntc(), "same"),
        (SENSOR, ntc("3950", "1"), "drop_in"),
        (
            SENSOR,
            ntc("3977"),
            "with_note",
        ),
        (SENSOR, ntc("3435"), "no"),
        (SENSOR, ntc(None), "ask"),
        (SENSOR, part(value="10k", tolerance_percent="5", traits={"curve": "ptc", "b_k": "3950"}), "no"),
        (SENSOR, part(value="10k", tolerance_percent="5", traits={"b_k": "3950"}), "ask"),
        (SENSOR, ntc(value="5k"), "no"),
        (INRUSH, part(value="5", amps="5", traits={"curve": "ntc"}), "drop_in"),
        (INRUSH, part(value="5", amps="2", traits={"curve": "ntc"}), "no"),
        (INRUSH, part(value="5", traits={"curve": "ntc"}), "ask"),
    ],
)
def test_r25_b_and_the_way_it_goes_with_heat_decide(required: Spec, offered: Spec, grade: str) -> None:
    assert fits(required, offered).grade == grade


def test_a_thermistor_is_no_resistor() -> None:
    assert fits(Spec.from_dict({"kind": "resistor", "value": "10k"}), SENSOR).grade == "no"


def test_its_value_is_the_resistance_at_25_degrees_and_never_nought() -> None:
    assert SENSOR.text.startswith("10k 5 %")
    with pytest.raises(ValueError, match="thermistor|resistance at 25"):
        part(value="nought")
