"""What stands on a part, typed as it stands: a line never reads less of it than the reader of markings.

The types are from makers' data books, from memory; 14D471K is the usual name of a varistor of 14 mm and
470 V at 1 mA (common practice, no source).
"""

import pytest

from inventory.part_lines import read_line


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("14D471K", "14D471K varistor"),
        ("RV1 14D471K", "14D471K varistor"),
        ("L293D", "L293 motor driver IC, D"),
        ("P8080A", "8080A cpu IC, Intel"),
        ("R6502P", "6502 cpu IC, P, Rockwell"),
        ("3N211", "3N211 transistor"),
    ],
)
def test_a_type_is_not_taken_for_the_value_that_its_letters_could_be(typed: str, text: str) -> None:
    line = read_line(typed)
    assert line.spec is not None
    assert line.spec.text == text
    assert line.unread == ()


@pytest.mark.parametrize("typed", ["RV1 10k", "RV1 10k lin", "VR1 4k7"])
def test_a_variable_resistor_is_still_one(typed: str) -> None:
    spec = read_line(typed).spec
    assert spec is not None
    assert spec.kind == "resistor"


@pytest.mark.parametrize(
    ("typed", "number", "nanoseconds"),
    [
        ("4164-15", "4164", 150),
        ("U3 41256-12", "41256", 120),
        ("4 x 6264-15", "6264", 150),
        ("2764-25", "2764", 250),
    ],
)
def test_a_speed_behind_a_hyphen_is_read_with_its_type(typed: str, number: str, nanoseconds: int) -> None:
    line = read_line(typed)
    assert line.spec is not None
    assert (line.spec.number, line.spec.facts["speed_ns"], line.unread) == (number, nanoseconds, ())


@pytest.mark.parametrize(
    ("typed", "text", "doubts"),
    [
        ("T1.6A 250V", "1.6 A 250 V slow fuse", ()),  # IEC 60127
        ("2 x T630mA", "0.63 A slow fuse", ()),
        ("7808 A", "7808A +8 V positive regulator", ()),
        ("N750 68J", "68p 5 % N750 capacitor", ()),  # EIA RS-198: a temperature coefficient, no reference
        ("CKR05BX103KS", "10n 10 % capacitor", ("S of CKR05BX103KS is not read",)),  # MIL-PRF-39014
        ("R7 RNC55H1001FS", "1k 1 % resistor", ("S of RNC55H1001FS is not read",)),  # MIL-PRF-55182
    ],
)
def test_what_its_words_do_not_say_is_read_as_the_marking_that_they_are_together(
    typed: str, text: str, doubts: tuple[str, ...]
) -> None:
    line = read_line(typed)
    assert line.spec is not None
    assert (line.spec.text, line.doubts, line.unread) == (text, doubts, ())


@pytest.mark.parametrize("typed", ["16V", "1A", "5mm", "C10 16V"])
def test_a_property_alone_names_no_part(typed: str) -> None:
    assert read_line(typed).readings == ()
