"""Bands typed in other languages: the words of dictionaries, the code IEC 60062's."""

import pytest

from inventory.part_lines import read_line

YELLOW_VIOLET_RED_GOLD = [
    "gelb violett rot gold",
    "jaune violet rouge or",
    "amarillo violeta rojo oro",
    "giallo viola rosso oro",
    "geel paars rood goud",
    "żółty fioletowy czerwony złoty",
]


@pytest.mark.parametrize("typed", YELLOW_VIOLET_RED_GOLD)
def test_bands_are_read_in_the_language_they_are_typed_in(typed: str) -> None:
    line = read_line(f"R7 {typed}")
    assert line.spec is not None
    assert (line.refs, line.spec.text, line.unread) == (("R7",), "4k7 5 % resistor", ())
    assert [word.text for word in line.words] == ["R7", *typed.split()]


def test_accents_and_their_absence_are_the_same() -> None:
    for typed in ("weiß braun schwarz rot braun", "weiss braun schwarz rot braun"):
        line = read_line(typed)
        assert line.spec is not None
        assert line.spec.text == "91k 1 % resistor"


def test_an_english_or_is_no_gold() -> None:
    line = read_line("red or brown led")
    assert line.spec is not None
    assert line.spec.text == "red LED"
    assert "or" in {word.text for word in line.unread}
