"""When one op-amp does for another: figures of data sheets, from memory; what is not known is asked."""

from typing import Any

import pytest

from inventory.spec import Spec, fits


def op_amp(number: str = "", function: str = "", **traits: Any) -> Spec:
    return Spec(kind="ic", number=number, traits={**({"function": function} if function else {}), **traits})


@pytest.mark.parametrize(
    ("wanted", "offered", "grade"),
    [
        ({"gbw_mhz": "3"}, "TL072", "same"),
        ({"gbw_mhz": "3"}, "NE5532", "drop_in"),
        ({"gbw_mhz": "3"}, "LM358", "no"),  # 0.7 MHz
        ({"gbw_mhz": "3"}, "LT1057", "ask"),  # a dual op-amp whose figures are not listed
        ({"supply_volts": "5"}, "LM358", "same"),  # 3 to 32 V
        ({"supply_volts": "5"}, "NE5532", "no"),  # from 10 V
        ({"supply_volts": "30"}, "TLC272", "no"),  # to 16 V
        ({"supply_volts": "5"}, "TL062", "ask"),  # its least is not listed
        ({"gbw_mhz": "1"}, "TL074", "no"),  # four of them
    ],
)
def test_a_place_states_what_it_asks(wanted: dict[str, str], offered: str, grade: str) -> None:
    assert fits(op_amp(function="dual_op_amp", **wanted), op_amp(offered)).grade == grade


def test_another_type_is_asked_about_whatever_its_figures() -> None:
    assert fits(op_amp("LM358"), op_amp("NE5532")).grade == "ask"
    assert fits(op_amp("NE5532"), op_amp("LM358")).grade == "ask"
    assert fits(op_amp("TL072"), op_amp("TL072CP")).grade in ("same", "drop_in", "with_note")
