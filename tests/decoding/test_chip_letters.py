"""Letters and figures of chips that look like another register's: Analog Devices, Matsushita, Sony and Rohm
beside Pro Electron, first figures for a range of temperature, parts of the Z80 family.

What each is on a real part is from memory of the makers' data books.
"""

from __future__ import annotations

import pytest

from inventory.decoding import Question, decode, spec_of
from inventory.decoding.reading import Reading
from inventory.spec import Spec, fits
from inventory.type_numbers import type_number


def best(marking: str) -> Reading:
    return decode(Question(marking=marking)).readings[0]


@pytest.mark.parametrize(
    "marking",
    [
        "AD633JN", "AD620AN", "AD633JR", "AD620BR", "AD734AQ", "AD844AN", "AD534KD", "AD536AJH", "AD637JQ",
        "AD524AD", "AD526CD", "AD594AQ", "AD595", "AD630KN", "AD532JH", "AD625", "AD822", "AD823AN",
        "AD829JN", "AD811AN", "AD736JN", "AD650JN", "AD654JN", "AD202JN", "AD210AN", "AD620ARZ",
        "AN240P", "AN262", "AN360", "AN612", "CX100D", "CX160",
    ],
)  # fmt: skip
def test_a_makers_chip_is_no_germanium_part(marking: str) -> None:
    assert best(marking).kind == "ic"


@pytest.mark.parametrize(
    "marking", ["AD130", "AD139", "AD142", "AD149", "AD150", "AD161", "AD162", "AD166", "AD167", "AD263"]
)
def test_a_germanium_power_transistor_stays_one(marking: str) -> None:
    reading = best(marking)
    assert (reading.kind, reading.traits["material"]) == ("transistor", "germanium")


@pytest.mark.parametrize("marking", ["BA401", "BA536", "BA546", "BA612", "BA656", "SK100", "SK3004", "SL100"])
def test_what_may_be_several_is_not_sure(marking: str) -> None:
    reading = best(marking)
    assert reading.score < 0.8 or reading.notation == "type not known here"


@pytest.mark.parametrize("marking", ["BA157", "BA159", "BA244", "BA318", "SK34", "SK310", "SS14", "SS510"])
def test_a_diode_stays_one(marking: str) -> None:
    assert best(marking).kind == "diode"


@pytest.mark.parametrize(
    ("marking", "number", "function"),
    [
        ("LM158J", "LM158", "dual_op_amp"), ("LM258", "LM258", "dual_op_amp"),
        ("LM124J", "LM124", "quad_op_amp"), ("LM224N", "LM224", "quad_op_amp"),
        ("LM111H", "LM111", "comparator"), ("LM211P", "LM211", "comparator"),
        ("LM139J", "LM139", "quad_comparator"), ("LM239N", "LM239", "quad_comparator"),
        ("LM193H", "LM193", "dual_comparator"), ("LM293P", "LM293", "dual_comparator"),
        ("LM119H", "LM119", "dual_comparator"), ("LM219N", "LM219", "dual_comparator"),
        ("LM107H", "LM107", "op_amp"), ("LM208H", "LM208", "op_amp"), ("LM218H", "LM218", "op_amp"),
        ("LM248N", "LM248", "quad_op_amp"), ("LF156H", "LF156", "op_amp"), ("LF256H", "LF256", "op_amp"),
        ("LF298", "LF298", "sample_and_hold"), ("MC1558", "MC1558", "dual_op_amp"),
        ("LM1558H", "LM1558", "dual_op_amp"), ("UC1842J", "UC1842", "switching_controller"),
        ("UC2842AN", "UC2842", "switching_controller"), ("SG1524J", "SG1524", "switching_controller"),
        ("SG2525A", "SG2525", "switching_controller"), ("MC33063AP1", "MC33063", "switching_controller"),
        ("MC35063", "MC35063", "switching_controller"), ("MC35072", "MC35072", "dual_op_amp"),
        ("SN55452", "SN55452", "driver"),
    ],
)  # fmt: skip
def test_a_range_of_temperature_is_the_type_by_another_figure(
    marking: str, number: str, function: str
) -> None:
    reading = best(marking)
    assert (reading.number, reading.traits["function"]) == (number, function)
    assert reading.score > 0.95


def test_a_narrower_range_of_temperature_is_not_the_same() -> None:
    wide, plain = Spec(kind="ic", number="UC2842"), Spec(kind="ic", number="UC3842")
    assert type_number("ic", "UC2842").base == type_number("ic", "UC3842").base
    assert fits(wide, plain).grade == "ask"


@pytest.mark.parametrize(
    ("marking", "number"),
    [
        ("Z80A-SIO", "Z80SIO"), ("Z80A-SIO/0", "Z80SIO"), ("Z80B-PIO", "Z80PIO"), ("Z80-DMA", "Z80DMA"),
        ("Z80A-DART", "Z80DART"), ("Z80A DART", "Z80DART"), ("Z80ADART", "Z80DART"), ("Z80A-CTC", "Z80CTC"),
        ("Z80-CTC PS", "Z80CTC"), ("Z80A-CPU", "Z80"), ("Z80B CPU", "Z80"), ("Z80A PIO", "Z80PIO"),
        ("Z80ASIO", "Z80SIO"),
    ],
)  # fmt: skip
def test_a_part_beside_the_z80_is_no_processor(marking: str, number: str) -> None:
    assert best(marking).number == number


def test_the_speed_of_a_part_beside_the_z80_is_kept() -> None:
    spec = spec_of(best("Z80A-SIO"))
    assert spec is not None
    assert type_number("ic", spec.number)[:1] == ("Z80SIO",)
    assert fits(spec, Spec(kind="ic", number="Z80SIO")).grade != "same"
