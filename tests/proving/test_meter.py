"""What is written down from a meter is read exactly, as the trade writes it."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.proving.meter import UnreadableReading, read_meter, spoken

# SI letters; the letter at the point is IEC 60062; MFD is old usage (common practice, no source).
WRITTEN = [
    ("4k7", "ohms", [("ohms", "4700", "")]),
    ("52 k", "ohms", [("ohms", "52000", "")]),
    ("2,2k", "ohms", [("ohms", "2200", "")]),
    ("R47", "ohms", [("ohms", "0.47", "")]),
    ("4R7", "ohms", [("ohms", "4.7", "")]),
    ("0.3 Ω", "ohms", [("ohms", "0.3", "")]),
    ("4950 µF, 0.04 Ω", "farads", [("farads", "0.00495", ""), ("ohms", "0.04", "")]),
    (".1 MFD", "farads", [("farads", "0.0000001", "")]),
    ("21,5µF; 0,8 ohm", "farads", [("farads", "0.0000215", ""), ("ohms", "0.8", "")]),
    ("−11.9 V into 100 Ω", "volts", [("volts", "-11.9", "")]),
    ("470mV", "volts", [("volts", "0.47", "")]),
    ("3.99987 MHz", "hertz", [("hertz", "3999870", "")]),
    ("hFE 210", "gain", [("gain", "210", "hfe")]),
    ("collector to emitter 0.002", "volts", [("volts", "0.002", "c-e")]),
    ("B/E 0.65, be 0.66", "volts", [("volts", "0.65", "b-e"), ("volts", "0.66", "b-e")]),
    ("0.61,0.62", "volts", [("volts", "0.61", ""), ("volts", "0.62", "")]),
]


@pytest.mark.parametrize(("text", "bare", "expected"), WRITTEN)
def test_a_reading_is_read_as_the_trade_writes_it(
    text: str, bare: str, expected: list[tuple[str, str, str]]
) -> None:
    found = read_meter(text, bare=bare)
    assert [(each.quantity, each.amount, each.between) for each in found] == [
        (quantity, Decimal(amount), between) for quantity, amount, between in expected
    ]


@pytest.mark.parametrize(
    ("text", "amount"),
    [("-5 V", "-5"), ("- 5 V", "-5"), ("\u2212 5 V", "-5"), ("\u2013 5.02", "-5.02"), ("-( 5 V)", "-5"),
     ("+ 5 V", "5"), ("-1k2", "-1200"), ("- 4R7", "-4.7"), ("-R47", "-0.47"), ("b-e -0.65", "-0.65")],
)  # fmt: skip
def test_a_minus_is_never_lost_however_far_it_stands(text: str, amount: str) -> None:
    assert read_meter(text, bare="volts")[0].amount == Decimal(amount)


@pytest.mark.parametrize(
    "text", ["--5 V", "+-5 V", "- -5", "± 5 V", "minus 5 V", "neg 5", "b-e - 0.65", "b- 5 V", "c-e-4k7"]
)
def test_what_may_be_a_sign_or_a_dash_is_asked_back(text: str) -> None:
    with pytest.raises(UnreadableReading, match="which sign"):
        read_meter(text, bare="volts")


@pytest.mark.parametrize("text", ["OL", "O.L", "open", "over range", "∞", "1."])
def test_over_range_is_open(text: str) -> None:
    assert read_meter(text, bare="ohms")[0].is_open


@pytest.mark.parametrize(
    "text", ["0.62 OL", "0.62,OL", "0.62 V / OL", "0.62; open", "0.62 one way, OL the other"]
)
def test_a_drop_and_open_are_two_readings(text: str) -> None:
    forward, reverse = read_meter(text, bare="volts")
    assert (forward.amount, reverse.is_open) == (Decimal("0.62"), True)


def test_above_the_range_is_at_least_that() -> None:
    reading = read_meter("> 20M", bare="ohms")[0]
    assert (reading.amount, reading.at_least) == (Decimal(20_000_000), True)


@pytest.mark.parametrize("text", ["", "good", "12kg", "4k7k", "x" * 300, ",".join("1" * 20)])
def test_what_is_no_reading_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(UnreadableReading):
        read_meter(text, bare="ohms")


@pytest.mark.parametrize(
    "text", ["1 V 2 V", "0.62 0.63", "4k7 4k8", "1 V and 2 V", "1 V or 2 V", "4.7 k 5 %", "OL 3 V"]
)
def test_two_figures_without_a_comma_are_refused_with_what_is_accepted(text: str) -> None:
    with pytest.raises(UnreadableReading, match=r"comma|such as"):
        read_meter(text, bare="volts")


@pytest.mark.parametrize(
    ("text", "amount"),
    [("5.02 V into 100 Ω", "5.02"), ("0.62 V at 1 mA", "0.62"), ("4.98 V (20 °C)", "4.98")],
)
def test_what_it_was_taken_at_is_no_second_figure(text: str, amount: str) -> None:
    assert [each.amount for each in read_meter(text, bare="volts")] == [Decimal(amount)]


def test_a_word_after_a_space_may_be_the_persons_own() -> None:
    assert read_meter("4.7 forward", bare="ohms")[0].amount == Decimal("4.7")


@given(st.text(max_size=220), st.sampled_from(["ohms", "volts", "farads", "gain"]))
def test_no_text_breaks_the_reader(text: str, bare: str) -> None:
    try:
        assert all(each.quantity for each in read_meter(text, bare=bare))
    except UnreadableReading:
        return


@given(
    st.integers(1, 9999), st.sampled_from([("p", -12), ("n", -9), ("µ", -6), ("m", -3), ("k", 3), ("M", 6)])
)
def test_a_figure_with_a_letter_is_exact(figure: int, letter: tuple[str, int]) -> None:
    found = read_meter(f"{figure}.5 {letter[0]}", bare="ohms")[0]
    assert found.amount == Decimal(f"{figure}.5").scaleb(letter[1])


@given(st.decimals(min_value="0.1", max_value="9e8", places=2))
def test_what_is_written_reads_back_within_four_figures(amount: Decimal) -> None:
    back = read_meter(spoken(amount, "ohms"), bare="ohms")[0].amount
    assert back is not None
    assert abs(back - amount) <= amount / 1000
