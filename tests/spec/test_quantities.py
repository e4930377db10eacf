import pytest

from inventory.spec import AmbiguousValue, parse_value, print_value


@pytest.mark.parametrize(
    "text", ["4k7", "4K7", "4.7k", "4.7 kΩ", "4.7 k\u2126", "4700", "4,7k", "4700R", "4.7 kohm"]
)
def test_every_way_of_writing_four_thousand_seven_hundred_ohms_is_one_value(text: str) -> None:
    assert parse_value("resistor", text) == 4_700_000_000


def test_what_could_be_two_values_is_refused_with_both() -> None:
    with pytest.raises(AmbiguousValue) as refused:
        parse_value("capacitor", "10mF")
    assert dict(refused.value.choices) == {"10000µ": 10**13, "10µ": 10**10}


def test_a_value_is_printed_as_the_trade_writes_it() -> None:
    assert print_value("capacitor", 100_000_000) == "100n"
