"""What one type number hides: gain groups, the output of a coupler, what is behind a frequency or its volts.

Figures are from makers' data sheets, from memory, where no other source stands beside them.
"""

import pytest

from inventory.part_lines import read_line
from inventory.spec import Fit, Spec, fits


def read(line: str) -> Spec:
    spec = read_line(line).spec
    assert spec is not None
    return spec


def judged(required: str, offered: str) -> Fit:
    return fits(read(required), read(offered))


@pytest.mark.parametrize(
    ("required", "offered", "grade"),
    [
        # 2SC1815: O 70 to 140, Y 120 to 240, GR 200 to 400, BL 350 to 700.
        ("2SC1815-GR", "2SC1815-Y", "ask"),
        ("2SC1815-Y", "2SC1815-GR", "drop_in"),
        ("2SC1815", "2SC1815-Y", "same"),
        ("2SC1815-GR", "2SC1815", "with_note"),
        ("C1815GR", "2SC1815-GR", "same"),
        ("BC547B", "BC547", "with_note"),  # 110 to 800 without a group
        ("2SD882-P", "2SD882-Q", "ask"),  # groups of which no figures are known here
        ("S9014C", "S9014D", "ask"),
        ("TIP31A", "TIP31C", "drop_in"),  # letters of volts, and no gain groups
        ("TIP120", "TIP31C", "no"),
        ("4N25", "MOC3021", "no"),
        ("4N25", "4N33", "ask"),
        ("4MHz crystal", "4MHz ceramic resonator", "ask"),
        ("4MHz ceramic resonator", "4MHz crystal", "ask"),
        ("CSB455E", "455kHz ceramic resonator", "same"),
        ("12V relay", "24V relay", "no"),  # common practice, no source
        ("9V battery", "12V battery", "no"),  # common practice, no source
        ("S10K275", "S14K275", "ask"),
        # Nothing says that it stores charge, where −20 % to +100 % serves (practice of the trade).
        ("220u 16V", "330u 25V", "ask"),
        ("220u 16V", "180u 16V", "ask"),
        ("220u 16V", "470u 25V", "no"),
        ("220u 16V", "100u 25V", "no"),
        ("220u 20% 16V", "330u 25V", "no"),
        ("1u 63V", "1u5 63V", "no"),
        ("T1.6A 250V", "T1.6AL250V", "same"),  # IEC 60127
        ("T1.6A 250V", "F1.6A 250V", "no"),  # IEC 60127
        ("T1.6A 250V", "T2A 250V", "no"),  # IEC 60127
        # Chips: what stands behind the number, whoever made them.
        ("Z80A CPU", "Z80B CPU", "with_note"),
        ("Z80A CPU", "Z80 CPU", "ask"),
        ("Z80 CPU", "Z80A CPU", "drop_in"),
        ("6502A", "6502", "ask"),
        ("LM386N-4", "LM386N-1", "ask"),  # 18 V of supply against 12
        ("LM386N-4", "LM386N-4", "same"),
        ("CD4001BE", "CD4001UBE", "with_note"),  # buffered, and not (from memory: data book)
        ("4001UB", "CD4001BE", "with_note"),
        ("TDA2030A", "TDA2030", "ask"),  # 22 V against 18
        ("TDA2030", "TDA2030A", "drop_in"),
        ("4116-2", "4116-4", "ask"),  # each maker's own grade
        ("MK4116N-3", "4116-3", "ask"),  # whose it is is not known
        ("2114L-3", "2114-3", "with_note"),  # more current
        ("2114-3", "2114L-3", "same"),
        ("6N137", "4N25", "no"),  # a gate, and a transistor
        ("TL431", "7805", "no"),
        ("NTC 10k", "PTC 10k", "no"),  # IEC 60539: negative, IEC 60738: positive coefficient
        ("10k ntc", "NTC 10k", "same"),
        ("9-way plug connector", "9 way connector female", "no"),
        ("1N4007", "1N5408", "with_note"),  # DO-41, DO-201AD
        ("1N5408", "1N4007", "no"),
        ("red LED", "infrared LED", "no"),
        ("6.3V 0.3A lamp", "12V 0.3A lamp", "no"),  # common practice, no source
        ("6V 0.3A lamp", "6.3V 0.3A lamp", "ask"),  # common practice, no source
        ("SN54LS00J", "SN74LS00N", "with_note"),
        ("SN74LS00N 8213", "SN74LS00N 8445", "same"),
        ("MC1488P 8345", "MC1488P", "same"),
    ],
)
def test_versions_of_a_part_are_told_apart(required: str, offered: str, grade: str) -> None:
    fit = judged(required, offered)
    assert fit.grade == grade, fit.reasons


def test_a_version_that_is_typed_is_kept() -> None:
    assert [read(line).text for line in ("Z80A CPU", "R6502AP", "CD4001UBE", "D8255AC-2", "2114L-3")] == [
        "Z80A cpu IC",
        "6502A cpu IC, Rockwell",
        "4001UB IC, DIP, RCA",
        "8255A-2 interface IC, NEC",
        "2114L-3 1Kx4 SRAM IC",
    ]
    assert read("4164-15").number == "4164", "its speed is said in nanoseconds"


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("M27C256B-12F1", "27C256"),  # 120 ns, which is said; F1 is its package
        ("Z84C0006PEC", "Z84C0006PEC"),
        ("MC34063AP1", "MC34063AP1"),
        ("TLP521-4GB", "TLP521-4GB"),  # four in one body of 16 legs
        ("TL072ACP", "TL072A"),
    ],
)
def test_no_part_is_called_what_nobody_prints(typed: str, number: str) -> None:
    assert read(typed).number == number


def test_a_gain_group_that_is_typed_is_kept() -> None:
    assert [read(line).text for line in ("C1815GR", "2SA1015Y", "S9014C", "2SK30A-GR")] == [
        "2SC1815-GR NPN transistor",
        "2SA1015-Y PNP transistor",
        "S9014C transistor",
        "2SK30A-GR N-channel transistor",
    ]


def test_a_resonator_is_called_that() -> None:
    assert read("CSB455E").text == read("455 kHz ceramic resonator").text == "455 kHz ceramic resonator"
