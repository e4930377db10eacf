"""Lines of parts as people type them, and what each word of them becomes.

What a value or type means is common practice, no source, where nothing else stands beside the line.
"""

from decimal import Decimal
from fnmatch import fnmatchcase

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rkm_codes import from_rkm

from inventory.part_lines import LONGEST, PartLine, read_line, read_quantity
from inventory.part_lines.words import BETWEEN
from inventory.part_words.kind_words import CLASSES, DEVICES_OF_CLASS, KINDS, plainly
from inventory.part_words.vocabulary import NATURES
from inventory.spec import KINDS as KINDS_OF_PART
from inventory.spec import TRAITS, Spec

READ = [
    # line, references, pieces, the part in one line
    ("100n 275V X2", "", None, "100n 275 V X2 capacitor"),
    ("100R 5W", "", None, "100R 5 W resistor"),
    ("4k7 5% 1/4W axial", "", None, "4k7 5 % 0.25 W resistor, axial"),
    ("R1 47k", "R1", None, "47k resistor"),
    ("R1, R3 47k 5% 0.25W", "R1 R3", None, "47k 5 % 0.25 W resistor"),
    ("R1-R4, R7 10k", "R1 R2 R3 R4 R7", None, "10k resistor"),
    ("R1,2,3 4k7", "R1 R2 R3", None, "4k7 resistor"),
    ("R1,2", "R1 R2", None, None),
    ("C10,100n 16 V", "C10", None, "100n 16 V capacitor"),
    ("1.234,5 ohm", "", None, "1k2345 resistor"),  # a point between thousands, a decimal comma (ISO 80000-1)
    ("1,234.5 ohm", "", None, "1k2345 resistor"),
    ("1.000.000 Ω 5%", "", None, "1M 5 % resistor"),
    ("12 x 1.234,5 ohm", "", 12, "1k2345 resistor"),
    ("X1 32.768 kHz", "X1", None, "32.768 kHz crystal"),
    ("D1,2 1N4148", "D1 D2", None, "1N4148 *diode"),
    ("R 470", "", None, "470R resistor"),
    ("C 100n 63V", "", None, "100n 63 V capacitor"),
    ("5 x R 4k7 5%", "", 5, "4k7 5 % resistor"),
    ("header P2,54", "", None, "connector, 2.54 mm"),
    ("10k lin", "", None, "10k lin potentiometer"),  # what has a law is variable
    ("10k pot", "", None, "10k variable resistor"),
    ("preset 4k7 cermet", "", None, "4k7 cermet variable resistor"),
    ("lin pot 10k", "", None, "10k lin potentiometer"),
    ("Poti 47k logarithmisch", "", None, "47k log potentiometer"),
    ("100k antilog potentiometer", "", None, "100k reverse log potentiometer"),
    ("47k R1 R3", "R1 R3", None, "47k resistor"),
    ("r5 4R7 fusible", "R5", None, "4R7 fusible resistor"),
    ("D1–D4 1N4007", "D1 D2 D3 D4", None, "1N4007 *diode"),
    ("Q2: BC109", "Q2", None, "BC109 *transistor"),
    ("X1 14.318MHz HC-49", "X1", None, "14.318 MHz crystal, HC-49"),
    ("10uF 16V", "", None, "10µ 16 V capacitor"),
    ("10uF/16V", "", None, "10µ 16 V capacitor"),
    ("BC547B", "", None, "BC547B *transistor"),
    ("ca. 20", "", 20, None),
    ("30 pcs", "", 30, None),
    ("30 Stück 100n", "", 30, "100n capacitor"),
    ("10 szt. 4k7", "", 10, "4k7 resistor"),
    ("qty 5 4k7", "", 5, "4k7 resistor"),
    ("12 x 4k7 5%", "", 12, "4k7 5 % resistor"),
    ("12x4k7", "", 12, "4k7 resistor"),
    ("4k7 x12", "", 12, "4k7 resistor"),
    ("100n X2 x 5", "", 5, "100n X2 capacitor"),
    ("20+ BC547", "", 20, "BC547 *transistor"),
    ("2 off 555", "", 2, "555 *IC"),
    ("resistor 4.7 kΩ 0,25 W", "", None, "4k7 0.25 W resistor"),
    ("Widerstand 2,2k 1%", "", None, "2k2 1 % resistor"),
    ("1,5k; 5%", "", None, "1k5 5 % resistor"),
    ("kondensator foliowy 220n 63V", "", None, "220n 63 V film"),
    ("condensateur 10µF 25V électrolytique radial", "", None, "10µ 25 V aluminium, radial"),
    ("10 µF 25 V low esr RM 5 105°C", "", None, "10µ 25 V 105 °C low ESR capacitor, 5 mm"),
    ("C3 100n +80/-20%", "C3", None, "100n -20 % +80 % capacitor"),
    ("fuse T1A 250V", "", None, "1 A 250 V slow fuse"),
    ("4MHz 20pF", "", None, "4 MHz 20 pF crystal"),
    ("connector 10 way", "", None, "10-way connector"),
    ("yellow violet red gold", "", None, "4k7 5 % resistor"),  # IEC 60062: 4, 7, x100, 5 %
    ("104K 100V", "", None, "100n 10 % 100 V capacitor"),  # IEC 60062: 10 x 10^4 pF, K is 10 %
    ("100n 0805", "", None, "100n capacitor, SMD, 0805"),
    ("C1815 NPN", "", None, "2SC1815 *NPN *transistor"),  # JIS C 7012, 2S left out on the part
    ("4k7 watts=0.5 use=timing", "", None, "4k7 0.5 W resistor, for timing"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "refs", "pieces", "part"), READ)
def test_a_line_is_read_to_its_last_word(text: str, refs: str, pieces: int | None, part: str | None) -> None:
    line = read_line(text)
    assert [(word.text, word.reason) for word in line.unread] == []
    assert (" ".join(line.refs), line.quantity) == (refs, pieces)
    assert fnmatchcase(line.spec.text if line.spec else "", part or "")


def test_the_size_of_an_led_is_that_of_its_body() -> None:
    spec = read_line("LED red 5mm RM 2,54").spec
    assert spec is not None
    assert (spec.package, str(spec.pitch_mm)) == ("5 mm", "2.54")
    capacitor = read_line("10u 16V 5mm").spec
    assert capacitor is not None
    assert (capacitor.package, str(capacitor.pitch_mm)) == ("", "5")


def test_a_letter_alone_before_a_figure_is_no_code() -> None:
    line = read_line("C 2200")
    assert line.ambiguous
    assert {reading.spec.kind for reading in line.readings} == {"capacitor"}
    assert read_line("47 16").doubts == ()  # 47 µF 16 V, as old electrolytics have it
    assert read_line("12 x 100n").doubts == ()


@pytest.mark.parametrize(
    ("text", "pieces", "volts"),
    [("12 100n", 12, 12), ("100n 16", 16, 16), ("12 4k7", 12, 12), ("BC547 12", 12, 12), ("12 555", 12, 12)],
)
def test_a_bare_number_beside_a_part_is_so_many_or_so_many_volts(text: str, pieces: int, volts: int) -> None:
    line = read_line(text)
    first, second = line.readings[:2]
    assert line.ambiguous
    assert f"{pieces} could be how many, or {volts} V" in line.doubts[0]
    assert (first.quantity, first.spec.volts, second.quantity, second.spec.volts) == (
        pieces,
        None,
        None,
        volts,
    )
    assert not read_line(text, counted=True).ambiguous
    for printed in ("47 16", "104K 100", "SN74LS04N 8213"):  # volts, volts, the week of a date code
        assert not read_line(printed).ambiguous


def test_a_bare_number_among_words_is_no_part_by_itself() -> None:
    line = read_line("blue box 4")
    assert line.ambiguous
    assert line.doubts[0].startswith("4 has no unit")
    for text in ("BC547B blue box 4", "BC547B box 4"):
        for counted in (True, False):
            found = read_line(text, counted=counted)
            assert found.spec is not None
            assert found.spec.number == "BC547B"


def test_a_bare_number_that_no_part_has_beside_it_is_how_many() -> None:
    line = read_line("10 10u 16V")
    assert (line.quantity, line.spec and line.spec.text) == (10, "10µ 16 V capacitor")
    assert line.doubts == ("10 is taken for how many there are",)


@pytest.mark.parametrize(
    ("text", "either"),
    [
        ("1.000 ohm", ("1R resistor", "1k resistor")),
        ("2,200 ohm", ("2R2 resistor", "2k2 resistor")),
        ("2.200 pF", ("2p2 capacitor", "2n2 capacitor")),
        ("R5 1.000 Ω", ("1R resistor", "1k resistor")),
        ("C4 100n 1.000 V", ("100n 1 V capacitor", "100n 1000 V capacitor")),
    ],
)
def test_what_may_have_thousands_or_decimals_is_asked(text: str, either: tuple[str, str]) -> None:
    line = read_line(text)
    assert line.ambiguous
    assert tuple(each.spec.text for each in line.readings[:2]) == either
    assert f"could be {either[0]} or {either[1]}: write the one that is meant" in line.doubts[0]
    assert read_line(text, decided=True).spec == line.readings[0].spec
    assert not read_line(text, decided=True).ambiguous


def test_a_reference_with_a_rating_and_no_value_names_no_part() -> None:
    for text in ("C10,16 V", "C10, 16 V", "C10 16V"):
        line = read_line(text)
        assert (line.refs, line.spec) == (("C10",), None)
        assert [word.text for word in line.unread] == [text[3:].strip(", ")]
    assert read_line("C1815 50V").refs == ()  # 2SC1815 is listed


def test_a_second_value_in_ohms_is_the_series_resistance() -> None:
    line = read_line("46u 0.4R")
    assert line.spec is not None
    assert (line.spec.value_text, line.spec.traits) == ("46µ", {"esr_ohm": "0.4"})
    assert [(word.text, word.property_name, word.meaning) for word in line.words] == [
        ("46u", "value", "46µ"),
        ("0.4R", "esr_ohm", "0.4 Ω"),
    ]


@pytest.mark.parametrize(
    ("text", "unread", "reason"),
    [
        ("100n 63V crumbly", "crumbly", "no value, type or property is known that reads so"),
        ("16V 10u 25V", "25V", "the line has said volts 16 already"),
        ("resistor 4k7 mica", "mica", "a resistor has no dielectric"),
        ("10uF fusible", "fusible", "a capacitor has no fusible"),
        ("axial", "axial", "nothing on the line says which part this is a property of"),
        ("R9-R3 47k", "R9-R3", "'R9-R3': the range runs backwards"),
        ("x" * (LONGEST + 1), "x" * (LONGEST + 1), f"at most {LONGEST} characters for each part"),
    ],
)
def test_a_word_that_is_not_understood_says_why(text: str, unread: str, reason: str) -> None:
    assert [(word.text, word.reason) for word in read_line(text).unread] == [(unread, reason)]


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        ("BC547B ca. 20", "about 20: count them when you can"),
        ("4700", "4700 has no unit: write 4700 Ω, a value such as 4k7, or say what it is"),
        ("U1 XYZ123", "XYZ123 is taken for its type number: no naming system that is known here reads it"),
        ("R1, R3 10k 5 pcs", "2 references, but 5 pieces"),
        ("C3 10u 16", "16 is read as 16 V, the V not printed"),
        ("3 1N4148", "3 is taken for how many there are"),
        ("R47", "could also be 470n capacitor"),  # IEC 60062: R is the point, in ohms or in microfarads
    ],
)
def test_what_is_doubtful_is_reported(text: str, doubt: str) -> None:
    assert doubt in read_line(text).doubts


@pytest.mark.parametrize(
    ("text", "kind"),
    # A reference may stand for several kinds (IEEE 315, IEC 60617): the type number says which.
    [
        ("TR1 BC109C", "transistor"),
        ("IC1 NE5532", "ic"),
        ("IC2 LM317T", "regulator"),
        ("U1 7805", "regulator"),
    ],
)
def test_a_type_that_is_known_as_one_kind_is_no_other(text: str, kind: str) -> None:
    line = read_line(text)
    assert line.readings[0].spec.kind == kind
    assert line.doubts == ()


def test_a_type_that_nobody_knows_asks_what_kind_it_is() -> None:
    line = read_line("XYZ123 TO-92")
    assert line.ambiguous
    assert line.doubts[0] == "XYZ123 is a type that is not known here: say what kind of part it is"
    assert not read_line("transistor XYZ123 TO-92").ambiguous


def test_a_type_that_looks_like_a_reference_is_one_only_where_a_part_stands_beside_it() -> None:
    assert read_line("L7805CV 1A").refs == ()
    assert read_line("C1815").refs == ()
    assert read_line("R47").refs == ()
    assert read_line("C1815 100n").refs == ("C1815",)


def test_a_code_of_chips_counts_only_where_the_line_says_a_chip() -> None:
    assert read_line("no such type").spec is None
    assert read_line("A6 mystery").spec is None  # EIA-198: 1 µF; as a mark of makers a diode
    assert "p43" not in {reading.spec.value_text for reading in read_line("R9").readings}


def test_a_reference_before_what_nobody_knows_is_one() -> None:
    line = read_line("R9 mystery")
    assert (line.refs, line.spec, [word.text for word in line.unread]) == (("R9",), None, ["mystery"])
    fuse = read_line("F1 T1A 250V")
    assert (fuse.refs, fuse.spec and fuse.spec.kind, fuse.unread) == (("F1",), "fuse", ())


def test_the_kind_known_beforehand_decides() -> None:
    assert read_line("100", kind="resistor").spec == read_line("100R").spec
    assert {reading.spec.kind for reading in read_line("10", kind="capacitor").readings} == {"capacitor"}
    assert read_line("LM4711X", kind="ic").spec is not None


@pytest.mark.parametrize(
    ("text", "pieces", "about"),
    [("20", 20, False), ("ca. 20", 20, True), ("~20", 20, True), ("20+", 20, True), ("30 pcs", 30, False),
     ("30pcs.", 30, False), ("etwa 30 Stück", 30, True), ("0", 0, False)],
)  # fmt: skip
def test_how_many(text: str, pieces: int, about: bool) -> None:
    line = read_quantity(text)
    assert (line.quantity, line.about, line.unread) == (pieces, about, ())


@pytest.mark.parametrize("text", ["a few", "some", "2 boxes", "9999999999999", "-3", "1.5", "٣"])
def test_what_is_no_number_of_pieces_stays_unread(text: str) -> None:
    line = read_quantity(text)
    assert line.quantity is None
    assert line.unread


def test_the_words_are_data_that_agree_with_the_kinds() -> None:
    for named in KINDS.values():
        assert Spec(kind=named.kind, traits=dict(named.facts)).kind in KINDS_OF_PART
    devices = {dict(named.facts)["device"] for named in KINDS.values() if named.kind == "other"}
    assert devices == set(TRAITS["other"]["device"].listed.split())  # type: ignore[union-attr]
    assert set(DEVICES_OF_CLASS.values()) <= devices
    assert DEVICES_OF_CLASS.keys() <= CLASSES.keys()
    assert {kind for kinds in CLASSES.values() for kind in kinds} <= set(KINDS_OF_PART)
    assert all(word == plainly(word) for word in (*KINDS, *NATURES))


# --- nothing typed is lost

_WORDS = """
    R1 R1-R4 C7, 47k 4k7 100n 0.4R 10uF 16V 275V X2 5% ±1% 1/4W 0,25 W axial radial BC547B
    1N4148 LM324N DIP14 0805 TO-92 12 x x12 ca. 20 pcs 30pcs npn red film ; , ( ) / watts=2 µ
    Ω ½ foo resistor Stück T1A °C 105°C ESR
"""
_PIECES = st.sampled_from(_WORDS.split())
_LINES = st.one_of(
    st.lists(_PIECES, max_size=9).map(" ".join), st.text(max_size=60), st.lists(_PIECES).map("".join)
)


def _signs(text: str) -> str:
    return "".join(sign for sign in text if sign not in BETWEEN and sign != "/")


@settings(max_examples=400, deadline=None)
@given(_LINES)
def test_every_sign_typed_is_in_a_word_and_every_word_is_understood_or_says_why_not(text: str) -> None:
    line = read_line(text)
    for words in [line.words, *(reading.words for reading in line.readings)]:
        assert _signs("".join(word.text for word in words)) == _signs(text)
        assert [word.start for word in words] == sorted(word.start for word in words)
        for word in words:
            assert word.text == text[word.start : word.end]
            assert bool(word.property_name and word.meaning) != bool(word.reason)


@settings(max_examples=200, deadline=None)
@given(_LINES)
def test_what_is_understood_is_in_the_part(text: str) -> None:
    line = read_line(text)
    for reading in line.readings:
        facts = {name for name, fact in reading.spec.to_dict().items() if fact not in (None, "", {})}
        for word in reading.words:
            beside = ("reference", "quantity", "marking", "kind")
            assert not word.property_name or word.property_name in {*beside, *facts, *reading.spec.traits}


@settings(max_examples=200, deadline=None)
@given(
    st.integers(1, 999), st.sampled_from([10**6, 10**7, 10**9, 10**10, 10**12]),
    st.sampled_from([None, "5", "20"]), st.sampled_from([None, "0.25", "2"]), st.booleans(),
    st.sampled_from(["", "linear", "log", "reverse_log"]), st.sampled_from(["", "cermet", "wirewound"]),
)  # fmt: skip
def test_a_variable_resistor_is_read_back_from_its_own_words(
    figure: int, unit: int, tolerance: str | None, watts: str | None, variable: bool, taper: str, made_of: str
) -> None:
    traits = {"variable": variable or None, "taper": taper, "technology": made_of}
    part = Spec.from_dict(
        {"kind": "resistor", "value": str(Decimal(figure * unit) / 10**6), "tolerance_percent": tolerance,
         "watts": watts, "traits": {name: fact for name, fact in traits.items() if fact}}
    )  # fmt: skip
    line = read_line(part.text)
    assert (line.spec, line.unread, line.doubts) == (part, (), ())
    words = {"linear": " lin ", "log": " log ", "reverse_log": " reverse log "}
    assert (f"{words[taper]}potentiometer" if taper else "resistor") in part.text


def _summary(line: PartLine) -> tuple[object, ...]:
    return line.refs, line.quantity, line.spec


@settings(max_examples=100, deadline=None)
@given(
    st.from_regex(r"[1-9][0-9]{0,2}[RkM][1-9]?", fullmatch=True),
    st.sampled_from(["", "5%", "1%"]), st.sampled_from(["", "0.25W", "1/2W", "5 W"]),
    st.permutations(["value", "tolerance", "watts"]),
)  # fmt: skip
def test_the_order_of_the_words_does_not_matter(
    value: str, tolerance: str, watts: str, order: list[str]
) -> None:
    words = {"value": value, "tolerance": tolerance, "watts": watts}
    shuffled = " ".join(words[each] for each in order if words[each])
    usual = " ".join(filter(None, (value, tolerance, watts)))
    line = read_line(shuffled, kind="resistor")
    assert _summary(line) == _summary(read_line(usual, kind="resistor"))
    # a general-purpose library of the letter codes of IEC 60062 says what the value is
    assert line.spec is not None
    assert line.spec.value == round(Decimal(repr(float(from_rkm(value)))) * 10**6)


@pytest.mark.parametrize("text", ["red LED", "green LED, 5 mm", "SPDT toggle switch", "DPST slide switch"])
def test_what_tells_two_parts_apart_stands_in_their_line(text: str) -> None:
    """SPST to DPDT: common practice, no source."""
    spec = read_line(text).spec
    assert spec is not None
    assert spec.text == text


@pytest.mark.parametrize(
    ("text", "pieces", "date"),
    [
        ("150 10k", 150, "2001 week 50"),
        ("22 10k", 22, "February 2002"),
        ("47 10k 1%", 47, "July 2004"),
        ("805 10k", 805, "2008 week 5"),
        ("1000 10k", 1000, "2000 week 10"),
        ("10k 24", 24, "April 2002"),
        ("10k 8213", 8213, "1982 week 13"),
        ("BC547 24", 24, "April 2002"),
        ("1000 BC547", 1000, "2000 week 10"),
        ("BC547 1000", 1000, "2000 week 10"),
    ],
)
def test_a_bare_number_that_may_be_a_date_is_asked_beside_what_a_person_wrote(
    text: str, pieces: int, date: str
) -> None:
    line = read_line(text)
    assert line.ambiguous
    assert line.doubts[0].startswith(f"{pieces} could be how many or a date, {date}: write {pieces} x ")
    assert [each.quantity for each in line.readings[:2]] == [pieces, None]


@pytest.mark.parametrize("type_number", ["74LS00", "7805", "BC547", "LM317"])
def test_a_year_and_week_of_the_last_century_is_a_date_before_a_type_and_behind_it(type_number: str) -> None:
    lines = [read_line(f"8213 {type_number}"), read_line(f"{type_number} 8213")]
    assert [(line.spec, line.quantity, line.ambiguous) for line in lines] == [
        (read_line(type_number).spec, None, False)
    ] * 2
    assert all("8213 is read as a date, 1982 week 13" in line.doubts for line in lines)
    assert read_line(f"{type_number} 8213", counted=True).doubts == ()


def test_a_figure_without_a_unit_and_with_three_decimals_is_asked_as_it_was_typed() -> None:
    line = read_line("3,500")
    assert line.doubts[0].startswith("3,500 has no unit: write 3.5 Ω or 3500 Ω, a value")
    assert {"3k5 resistor", "3R5 resistor"} <= {each.spec.text for each in line.readings}
    for written in ("3.5 Ω", "3500 Ω"):
        assert not read_line(written).ambiguous


@pytest.mark.parametrize("text", ["100,220,470 ohm", "10,220,470", "R5 100,220,470 ohm"])
def test_a_list_of_values_is_no_one_figure(text: str) -> None:
    """IEC 60063: values have three figures that count; 1,500,000 ohms may be one."""
    line = read_line(text)
    assert line.spec is None
    reasons = [word.reason for word in line.unread]
    assert "several values in one line: write each on a line of its own" in reasons
    million = read_line("1,500,000 ohm")
    assert (million.spec and million.spec.text, million.ambiguous) == ("1M5 resistor", False)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("4.700k", "4k7 resistor"),
        ("4.700 kΩ", "4k7 resistor"),
        ("1.500 V battery", "1.5 V battery"),
        ("speaker 8.000 ohm", "8 Ω speaker"),
        ("pin header 2.540 40 way", "40-way connector"),
    ],
)
def test_thousands_that_nobody_means_are_not_asked(text: str, part: str) -> None:
    """Common practice, no source."""
    line = read_line(text)
    assert (line.spec and line.spec.text, line.ambiguous) == (part, False)
    assert read_line("relay 1.000 ohm").ambiguous  # coils of relays have either


@pytest.mark.parametrize("text", ["drawer 12 BC547", "12 drawer BC547"])
def test_a_bare_number_is_said_to_be_one_thing_only(text: str) -> None:
    assert not any("has no unit" in doubt for doubt in read_line(text).doubts)
