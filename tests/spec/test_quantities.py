"""Values: every notation of the trade in, one exact integer out, and back.

Sources named beside the rows are those of the published tables that the project works from. One file, since
every notation is held against the same integers.
"""

from decimal import Decimal

import pytest
import quantiphy
from hypothesis import given, settings
from hypothesis import strategies as st
from rkm_codes import from_rkm

from inventory.spec import (
    UNITS,
    AmbiguousValue,
    UnreadableValue,
    parse_value,
    plain_value,
    print_value,
    values_in_text,
)

PICO, NANO, MICRO, MILLI = 10**3, 10**6, 10**9, 10**12  # in fF
MAX_UNITS = 2**63 - 1

kinds = st.sampled_from(sorted(UNITS))
every_value = st.one_of(
    st.integers(1, MAX_UNITS),
    st.integers(1, 10**6),
    st.builds(lambda figures, power: figures * 10**power, st.integers(1, 999), st.integers(0, 15)),
)


def readings(kind: str, text: str) -> set[int]:
    """What the text may mean, in units; nothing where it is no value."""
    try:
        return {parse_value(kind, text)}
    except AmbiguousValue as refused:
        return set(dict(refused.choices).values())
    except UnreadableValue:
        return set()


# ── What is written ──────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("text", "ohms"),
    [
        # IEC 60062 (from memory): the letter stands at the decimal point
        ("4K7", "4700"),
        ("4R7", "4.7"),
        ("4M7", "4700000"),
        ("1G0", "1000000000"),
        ("5L00", "0.005"),
        ("R22", "0.22"),
        ("1R", "1"),
        ("470R", "470"),
        # lower-case k is printed too (teaching page on BS 1852)
        ("3k9", "3900"),
        ("2k2", "2200"),
        # E for R on old European print (from memory)
        ("470E", "470"),
        # SI text, both code points of ohm and micro
        ("4.7 kΩ", "4700"),
        ("4.7k\u2126", "4700"),
        ("4.7 k ohm", "4700"),
        ("4.7 kilohms", "4700"),
        ("2.2 Megohm", "2200000"),
        ("1.5 meg", "1500000"),
        ("10 mΩ", "0.01"),
        ("50 \u00b5Ω", "0.00005"),
        ("50 \u03bcΩ", "0.00005"),
        # plain, decimal comma, leading point
        ("4700", "4700"),
        ("2,2k", "2200"),
        ("2,2 kΩ", "2200"),
        (".5", "0.5"),
        ("0,1", "0.1"),
        ("0,100", "0.1"),
        (" 47 ", "47"),
        ("4.7e3", "4700"),
        # a link is a part: marked 0, 00, 000 or 0R0 on SMD bodies (shared table of SMD notations)
        ("0", "0"),
        ("0R", "0"),
    ],
)
def test_a_resistance_is_read_as_written(text: str, ohms: str) -> None:
    assert parse_value("resistor", text) == Decimal(ohms) * 10**6


@pytest.mark.parametrize(
    ("text", "femtofarads"),
    [
        # IEC 60062 (from memory)
        ("100n", 100 * NANO),
        ("4n7", 4700 * PICO),
        ("n47", 470 * PICO),
        ("6p8", 6800),
        ("p10", 100),
        ("4\u00b57", 4700 * NANO),
        ("4\u03bc7", 4700 * NANO),
        ("4u7", 4700 * NANO),
        ("1m0", MILLI),
        ("2F2", 2200 * MILLI),
        # capitals between figures (common practice, no source)
        ("3P3", 3300),
        ("3N3", 3300 * PICO),
        ("1U0", MICRO),
        # M inside a UK marking is micro (from memory), K is a thousand pF (common practice, no source)
        ("2M2", 2200 * NANO),
        ("3K3", 3300 * PICO),
        # SI text
        ("0.1uF", 100 * NANO),
        ("0.1 µF", 100 * NANO),
        ("22 pF", 22 * PICO),
        ("22pf", 22 * PICO),
        ("0.5pF", 500),
        ("1 F", 1000 * MILLI),
        ("4n7F", 4700 * PICO),
        # old print (common practice, no source)
        (".1 MFD", 100 * NANO),
        (".1 mfd", 100 * NANO),
        ("8 Mfd", 8 * MICRO),
        ("22 mmfd", 22 * PICO),
        ("22 MMF", 22 * PICO),
        ("50 uuF", 50 * PICO),
        ("50 µµF", 50 * PICO),
        ("50 pfd", 50 * PICO),
        ("20 KPF", 20 * NANO),
        ("16 microfarads", 16 * MICRO),
        ("250 micromicrofarad", 250 * PICO),
        # what answers give goes back in
        ("0.0000001", 100 * NANO),
        ("0.000000000022", 22 * PICO),
        ("0.00047", 470 * MICRO),
        ("0.01", 10 * MILLI),
        ("1E-07", 100 * NANO),
    ],
)
def test_a_capacitance_is_read_as_written(text: str, femtofarads: int) -> None:
    assert parse_value("capacitor", text) == femtofarads


@pytest.mark.parametrize(
    ("text", "picohenries"),
    [
        ("100 µH", 10**8),
        ("4u7", 4_700_000),
        ("4R7", 4_700_000),  # the makers' point for µH (TDK inductor FAQ)
        ("8N2", 8_200),  # the makers' point for nH (data sheet of a wire-wound chip inductor)
        ("2m2", 2_200_000_000),
        ("2.5 mHy", 2_500_000_000),  # milli really is milli here (common practice, no source)
        ("2.5 MH", 2_500_000_000),
        ("10 H", 10**13),
        ("10 henries", 10**13),
        ("0.0001", 10**8),
    ],
)
def test_an_inductance_is_read_as_written(text: str, picohenries: int) -> None:
    assert parse_value("inductor", text) == picohenries


@pytest.mark.parametrize(
    ("text", "hertz"),
    [
        ("3.579545 MHz", "3579545"),
        ("3.579545MHZ", "3579545"),
        ("14.31818M", "14318180"),
        ("4M0", "4000000"),
        ("32k768", "32768"),
        ("32768", "32768"),
        ("32768 Hz", "32768"),
        ("455 kc", "455000"),  # old print; a cycle a second is a hertz
        ("7.05 Mc", "7050000"),
        ("1000 c/s", "1000"),
        ("1 MC/S", "1000000"),
        ("0.5 Hz", "0.5"),
    ],
)
def test_a_frequency_is_read_as_written(text: str, hertz: str) -> None:
    assert parse_value("crystal", text) == Decimal(hertz) * 1000


# ── What could be two things ─────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("kind", "text", "choices"),
    [
        ("resistor", "1,000", {"1R", "1k"}),
        ("resistor", "12,500 Ω", {"12R5", "12k5"}),
        ("resistor", "1m", {"R001", "1M"}),
        ("resistor", "4m7", {"R0047", "4M7"}),
        ("resistor", "1E3", {"1k", "1R3"}),
        # 100 is 10 pF, 100 pF or, on a can, 100 µF; and answers count in farads
        ("capacitor", "100", {"100F", "100µ", "100p", "10p"}),
        ("capacitor", "104", {"104F", "104µ", "104p", "100n"}),
        ("capacitor", "47", {"47F", "47µ", "47p"}),
        # a decimal below one without unit is µF (Grob's Basic Electronics 11e, worked examples)
        ("capacitor", ".01", {"10000µ", "10n"}),
        ("capacitor", "0.1", {"100000µ", "100n"}),
        # mF: micro on old parts, milli today (common practice, no source)
        ("capacitor", "10mF", {"10000µ", "10µ"}),
        ("capacitor", "100 MF", {"100000µ", "100µ"}),
        # K is kilo, 10 % or x1000 pF; M is micro or 20 %
        ("capacitor", "22K", {"22n", "22p"}),
        ("capacitor", "104K", {"104n", "104p", "100n"}),
        ("capacitor", "10M", {"10µ", "10p"}),
        # R is the point of pF, of µF with some makers (capacitor code table)
        ("capacitor", "4R7", {"4p7", "4µ7"}),
        ("inductor", "100", {"100H", "100µH", "10µH"}),
        ("inductor", "4.7", {"4H7", "4µ7H"}),
        ("crystal", "32.768", {"32.768 Hz", "32.768 kHz", "32.768 MHz"}),
        ("crystal", "7050", {"7.05 kHz", "7.05 MHz", "7050 MHz"}),
    ],
)
def test_what_could_be_two_values_is_refused_with_the_choices(
    kind: str, text: str, choices: set[str]
) -> None:
    with pytest.raises(AmbiguousValue) as refused:
        parse_value(kind, text)
    assert {choice for choice, _ in refused.value.choices} == choices
    assert all(choice in str(refused.value) for choice in choices)
    for choice, units in refused.value.choices:
        assert parse_value(kind, choice) == units


# ── What is no value ─────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("resistor", ""),
        ("resistor", "k"),
        ("resistor", "."),
        ("resistor", "4.k7"),
        ("resistor", "4.7k7"),
        ("resistor", "4k7k"),
        ("resistor", "4 k 7 8"),
        ("resistor", "-5"),
        ("resistor", "470W"),
        ("resistor", "100n"),
        ("resistor", "0805"),
        ("resistor", "1,000,000"),
        ("resistor", "1.000.000"),
        ("resistor", "1'000"),
        ("resistor", "\u0664k7"),
        ("resistor", "4\u00b2"),
        ("resistor", "NaN"),
        ("resistor", "Infinity"),
        ("resistor", "0x10"),
        ("resistor", "1_000"),
        ("resistor", "9" * 41),
        ("capacitor", "0"),
        ("capacitor", "0.0"),
        ("inductor", "0.0"),
        ("inductor", "101K"),
        ("crystal", "0.0"),
        ("capacitor", "4k7"),
        ("capacitor", "1N4148"),
        ("capacitor", "100nH"),
        ("crystal", "0 Hz"),
        ("inductor", "100n F"),
        ("transistor", "4k7"),
    ],
)
def test_what_is_no_value_is_refused_with_what_would_be(kind: str, text: str) -> None:
    with pytest.raises(UnreadableValue) as refused:
        parse_value(kind, text)
    assert not isinstance(refused.value, AmbiguousValue)
    assert str(refused.value)


@pytest.mark.parametrize(
    ("kind", "text"),
    [("resistor", "0.0000001"), ("resistor", "4.7 µΩ"), ("capacitor", "p0001"), ("crystal", "1.0001 Hz")],
)
def test_figures_below_the_smallest_step_are_refused_never_rounded(kind: str, text: str) -> None:
    with pytest.raises(UnreadableValue, match="finer"):
        parse_value(kind, text)


@pytest.mark.parametrize("kind", sorted(UNITS))
def test_the_largest_value_is_what_the_column_holds(kind: str) -> None:
    unit, per_unit = UNITS[kind]
    assert parse_value(kind, print_value(kind, MAX_UNITS)) == MAX_UNITS
    with pytest.raises(UnreadableValue, match="outside"):
        parse_value(kind, f"{plain_value(kind, MAX_UNITS)[:-1]}8 {unit}")


def test_a_kind_without_value_says_which_kinds_have_one() -> None:
    with pytest.raises(UnreadableValue, match="resistor, capacitor, inductor, crystal"):
        parse_value("fuse", "1")


@given(kinds, st.text(max_size=60))
def test_no_text_at_all_breaks_the_reading(kind: str, text: str) -> None:
    assert all(0 <= units <= MAX_UNITS for units in readings(kind, text))


@settings(max_examples=500)
@given(kinds, st.from_regex(r"[0-9]{0,3}([.,][0-9]{0,4})? ?[kKmMµunpRFHEeΩ]{0,2}[0-9]{0,3}", fullmatch=True))
def test_what_is_read_prints_and_reads_the_same(kind: str, text: str) -> None:
    for units in readings(kind, text):
        assert parse_value(kind, print_value(kind, units)) == units


# ── Print and plain ──────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("kind", "units", "text", "plain"),
    [
        ("resistor", 4_700_000_000, "4k7", "4700"),
        ("resistor", 470_000_000, "470R", "470"),
        ("resistor", 2_200_000, "2R2", "2.2"),
        ("resistor", 220_000, "R22", "0.22"),
        ("resistor", 0, "0R", "0"),
        ("resistor", 10**13, "10M", "10000000"),
        ("capacitor", 100 * NANO, "100n", "0.0000001"),
        ("capacitor", 470 * PICO, "470p", "0.00000000047"),
        ("capacitor", 1000 * MICRO, "1000µ", "0.001"),
        ("capacitor", 500, "p5", "0.0000000000005"),
        ("inductor", 10**8, "100µH", "0.0001"),
        ("inductor", 2_200_000_000, "2m2H", "0.0022"),
        ("crystal", 3_579_545_000, "3.579545 MHz", "3579545"),
        ("crystal", 32_768_000, "32.768 kHz", "32768"),
    ],
)
def test_a_value_is_printed_as_the_trade_writes_it(kind: str, units: int, text: str, plain: str) -> None:
    assert print_value(kind, units) == text
    assert plain_value(kind, units) == plain


@given(kinds, every_value)
def test_every_printed_value_reads_back_exactly(kind: str, units: int) -> None:
    assert parse_value(kind, print_value(kind, units)) == units


@given(kinds, every_value)
def test_every_plain_value_is_exact_and_reads_back_or_is_among_the_choices(kind: str, units: int) -> None:
    plain = plain_value(kind, units)
    assert Decimal(plain) * UNITS[kind][1] == units
    assert "e" not in plain.lower()
    assert units in readings(kind, plain)
    if kind == "resistor":
        assert parse_value(kind, plain) == units


@given(st.integers(1, 30 * MILLI - 1))
def test_a_capacitor_below_thirty_millifarads_always_goes_back_in_as_answered(units: int) -> None:
    assert parse_value("capacitor", plain_value("capacitor", units)) == units


@pytest.mark.parametrize("units", [0, -1, MAX_UNITS + 1])
def test_out_of_range_is_not_printed(units: int) -> None:
    for write in (print_value, plain_value):
        with pytest.raises(ValueError, match="outside"):
            write("capacitor", units)


# ── Second opinions ──────────────────────────────────────────────────────────────────────────────

_SI = {"resistor": "MkGm", "thermistor": "MkGm", "capacitor": "pnuµ", "inductor": "nuµm", "crystal": "kMG"}


@given(kinds, st.data())
def test_quantiphy_agrees_on_text_with_si_prefixes(kind: str, data: st.DataObject) -> None:
    """quantiphy is a general library for physical quantities; it is asked in floats, to nine figures."""
    number = data.draw(st.decimals("0.001", "999", places=3))  # three places are never finer than a step
    prefix = data.draw(st.sampled_from(_SI[kind]))
    unit, per_unit = UNITS[kind]
    space = data.draw(st.sampled_from(("", " ")))
    text = f"{number}{space}{prefix}{unit}"
    ours = Decimal(parse_value(kind, text)) / per_unit
    assert float(ours) == pytest.approx(quantiphy.Quantity(text).real, rel=1e-9)


@given(st.sampled_from(["resistor RKkMG", "capacitor pnuµ"]), st.data())
def test_rkm_codes_agrees_on_the_letter_at_the_point(kind_and_letters: str, data: st.DataObject) -> None:
    """rkm-codes is an unranked second opinion on IEC 60062 text, not an authority."""
    kind, letters = kind_and_letters.split()
    whole, part = data.draw(st.integers(0, 999)), data.draw(st.integers(1, 99))
    code = f"{whole or ''}{data.draw(st.sampled_from(letters))}{part:02d}"
    ours = Decimal(parse_value(kind, code)) / UNITS[kind][1]
    assert float(ours) == pytest.approx(from_rkm(code).real, rel=1e-9)


# ── The search box ───────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("words", "kind", "units"),
    [
        ("4k7", "resistor", 4_700_000_000),
        ("carbon film 4k7 axial", "resistor", 4_700_000_000),
        ("100n", "capacitor", 100 * NANO),
        ("10", "resistor", 10_000_000),
        ("10", "capacitor", 10 * PICO),
        ("104", "capacitor", 100 * NANO),
        ("4.7 µH choke", "inductor", 4_700_000),
        ("3.579545 MHz", "crystal", 3_579_545_000),
        ("22 mmfd", "capacitor", 22 * PICO),
    ],
)
def test_a_search_word_finds_every_value_that_it_could_be(words: str, kind: str, units: int) -> None:
    assert (kind, units) in values_in_text(words)


def test_a_number_with_its_unit_is_searched_as_one_value() -> None:
    assert values_in_text("4.7 µH") == (("inductor", 4_700_000),)


@pytest.mark.parametrize("words", ["", "BC547B", "film radial", "63V", "5%", "x" * 5000])
def test_words_that_are_no_value_find_none(words: str) -> None:
    assert values_in_text(words) == ()


@given(st.text(max_size=300))
def test_any_search_text_is_taken(words: str) -> None:
    for kind, units in values_in_text(words):
        assert 0 <= units <= MAX_UNITS
        assert print_value(kind, units)
