"""What a line says beside a type or a figure, and what it asks of it.

Polarities from makers' data books; the code on chips by IEC 60062; shells of D connectors by IEC 60807;
Tesla's numbers from memory of its catalogues.
"""

import pytest

from inventory.part_lines import PartLine, read_line


def said(typed: str) -> tuple[PartLine, str]:
    line = read_line(typed)
    assert line.spec is not None, typed
    return line, line.spec.text


@pytest.mark.parametrize(
    ("typed", "word", "reason"),
    [
        ("BC547B pnp", "pnp", "a BC547B is NPN"),
        ("BC557 npn", "npn", "a BC557 is PNP"),
        ("3 x 2N3904 pnp", "pnp", "a 2N3904 is NPN"),
    ],
)
def test_a_polarity_that_the_type_has_not_is_shown(typed: str, word: str, reason: str) -> None:
    line, _text = said(typed)
    assert [(each.text, each.reason) for each in line.unread] == [(word, reason)]
    assert "polarity" not in line.spec.traits  # type: ignore[union-attr]


def test_the_polarity_that_it_has_is_understood() -> None:
    line, text = said("BC547B npn")
    assert (text, line.unread) == ("BC547B silicon NPN transistor", ())


@pytest.mark.parametrize(("typed", "text"), [("smd resistor 103", "10k"), ("0805 resistor 1002", "10k")])
def test_a_figure_said_of_a_chip_is_its_print_and_asked(typed: str, text: str) -> None:
    line, read = said(typed)
    assert read.startswith(text)
    assert line.ambiguous
    assert "by the code on chips" in str(line.doubts[0])


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("DB9 female", "9-way socket connector"),
        ("2 x DB25 male", "25-way plug connector"),
        ("DE-9P", "9-way plug connector"),
        ("fusible 1A 250V", "1 A 250 V fuse"),
        ("fusible rapide 500mA", "0.5 A fast fuse"),
        ("10R fusible", "10R fusible resistor"),
        ("BT151", "BT151 silicon thyristor diode"),
        ("BT139", "BT139 silicon triac diode"),
        ("KZ260/5V1", "KZ260/5V1 5.1 V silicon zener diode"),
        ("KD502", "KD502 silicon transistor"),
        ("DB3", "DB3 diac diode"),
    ],
)
def test_words_and_types_of_the_bench(typed: str, text: str) -> None:
    line, read = said(typed)
    assert (read, line.unread) == (text, ())


def test_a_can_of_several_says_that_one_is_kept() -> None:
    line, text = said("8+8uF 450V")
    assert (text, line.unread) == ("8µ 450 V capacitor", ())
    assert "several capacitors in one can" in str(line.doubts[0])


def test_a_figure_and_a_letter_of_tolerance_have_no_unit() -> None:
    line, _text = said("3 x 3300 10V VX(M)")
    assert "3300 has no unit" in str(line.doubts[0])


def test_a_colour_in_a_makers_name_is_no_link() -> None:
    # Moulded paper capacitors bear their maker's name for them (common practice, no source).
    line = read_line("3 x Sprague Black Beauty .047-400")
    assert line.spec is None or line.spec.kind != "resistor"
    assert "Sprague" in {word.text for word in line.unread}


def test_a_chip_of_sanyo_is_no_lamp() -> None:
    line = read_line("IC5 LA7840")
    assert (line.refs, line.spec.number if line.spec else "") == (("IC5",), "LA7840")
