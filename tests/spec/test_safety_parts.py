"""One definition of a part that must fail safely.  X and Y: IEC 60384-14; else common practice."""

from typing import Any

import pytest

from inventory.spec import Spec, fits, is_safety_part

SAFE: tuple[dict[str, Any], ...] = (
    {"kind": "fuse", "amps": "1"},
    {"kind": "fuse", "number": "SF119E"},
    {"kind": "resistor", "value": "10", "traits": {"fusible": True}},
    {"kind": "resistor", "value": "10", "safety_class": "fusible"},
    {"kind": "resistor", "value": "10", "safety_class": "fusible_flameproof"},
    {"kind": "resistor", "value": "10", "traits": {"flameproof": True}},
    {"kind": "capacitor", "value": "100n", "safety_class": "x2"},
    {"kind": "capacitor", "value": "4n7", "safety_class": "Y1"},
    {"kind": "thermistor", "value": "25", "traits": {"use": "protection"}},
)
ORDINARY: tuple[dict[str, Any], ...] = (
    {"kind": "resistor", "value": "10", "watts": "0.5"},
    {"kind": "resistor", "value": "10", "traits": {"fusible": False}},
    {"kind": "resistor", "value": "10", "safety_class": "none"},
    {"kind": "capacitor", "value": "100n", "volts": "400"},
    {"kind": "thermistor", "value": "25", "traits": {"use": "sense"}},
)


@pytest.mark.parametrize("data", SAFE)
def test_a_safety_part_is_one_however_it_is_written(data: dict[str, Any]) -> None:
    assert is_safety_part(Spec.from_dict(data))


@pytest.mark.parametrize("data", ORDINARY)
def test_an_ordinary_part_is_none(data: dict[str, Any]) -> None:
    assert not is_safety_part(Spec.from_dict(data))


@pytest.mark.parametrize("data", [data for data in SAFE if "value" in data])
def test_what_is_not_known_of_a_part_is_no_pass_in_a_safety_place(data: dict[str, Any]) -> None:
    unmarked = Spec.from_dict({"kind": data["kind"], "value": data["value"]})
    wanted = Spec.from_dict({**data, "volts": "250"})
    assert fits(wanted, unmarked).grade == "no"
