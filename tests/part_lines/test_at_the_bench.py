"""Lines as people type them beside a board, that were once read sure and wrong; what they mean is common
practice, no source, where none is named.
"""

import pytest

from inventory.part_lines import read_line, read_quantity


def text_of(typed: str) -> str:
    spec = read_line(typed).spec
    return spec.text if spec else ""


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("VR1 7805", "7805 +5 V positive regulator"),
        ("VR1 78L05", "78L05 +5 V positive regulator"),
        ("VR2 7812 TO-220", "7812 +12 V positive regulator, TO-220"),
        ("VR1 470", "470R resistor"),
        ("VR1 10k", "10k resistor"),
    ],
)
def test_a_vr_is_a_regulator_where_its_number_is_one(typed: str, text: str) -> None:
    assert text_of(typed) == text


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("0805 4k7 1%", "4k7 1 % resistor, SMD, 0805"),
        ("0603 10k 0.1%", "10k 0.1 % resistor, SMD, 0603"),
        ("0805 103 1%", "10k 1 % resistor, SMD, 0805"),
        ("1206 10k", "10k resistor, SMD, 1206"),
    ],
)
def test_a_chip_has_the_tolerance_that_is_typed_or_none(typed: str, text: str) -> None:
    line = read_line(typed)
    assert (text_of(typed), line.unread) == (text, ())


@pytest.mark.parametrize(
    ("typed", "refs", "text"),
    [
        ("Q2 C1815", ("Q2",), "2SC1815 NPN transistor"),  # JIS C 7012: the 2S is not printed
        ("Q7 D882", ("Q7",), "2SD882 NPN transistor"),
        ("F1 T2A", ("F1",), "2 A slow fuse"),  # IEC 60127
        ("F1 T1A 5x20", ("F1",), "1 A slow fuse, 5x20"),
        ("F1 F2A", ("F1",), "2 A fast fuse"),
        ("F1 F2 M315mA", ("F1", "F2"), "0.315 A medium fuse"),
        ("F1 T1,6A", ("F1",), "1.6 A slow fuse"),
        ("FS1: T3,15A 250V", ("FS1",), "3.15 A 250 V slow fuse"),
        ("F1, F2A", ("F1", "F2A"), ""),
        ("F1, F2A 1A", ("F1", "F2A"), "1 A fuse"),
        ("R1 C2", ("R1", "C2"), ""),
        ("Q1 Q2", ("Q1", "Q2"), ""),
        ("TR1 T2", ("TR1", "T2"), ""),
        ("L1 C100", ("L1", "C100"), ""),
    ],
)
def test_a_type_behind_a_reference_is_no_second_reference(
    typed: str, refs: tuple[str, ...], text: str
) -> None:
    assert (read_line(typed).refs, text_of(typed)) == (refs, text)


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("P1 10k", "10k resistor"),  # P: a potentiometer (DIN, from memory), or a plug (IEEE 315)
        ("P2 50k log", "50k log potentiometer"),
        ("P5 100n", "100n capacitor, 5 mm"),
        ("MOV1 10D561K", "10D561K varistor"),
        ("VDR1 14D471K", "14D471K varistor"),
    ],
)
def test_letters_of_a_reference_say_the_kind(typed: str, text: str) -> None:
    assert text_of(typed) == text


@pytest.mark.parametrize("typed", ["Elko 100 63V", "Elko 100/63", "C5 100 63V elko"])
def test_an_electrolytic_counts_microfarads(typed: str) -> None:
    assert text_of(typed) == "100µ 63 V aluminium"


@pytest.mark.parametrize(
    ("typed", "number"), [("J201 FET", "J201"), ("FET J310", "J310"), ("FET 2N3819", "2N3819")]
)
def test_a_junction_fet_is_a_fet_and_no_mosfet(typed: str, number: str) -> None:
    # Junction FETs, by Siliconix's data book, from memory.
    spec = read_line(typed).spec
    assert spec is not None
    assert spec.number == number
    assert spec.facts.get("device") != "mosfet"


@pytest.mark.parametrize(
    ("typed", "text", "unread"),
    [
        ("МЛТ-0,5 1к", "1k resistor", ["МЛТ-0,5"]),
        ("К50-35 100мкФ 25В", "100µ 25 V capacitor", ["К50-35"]),
    ],
)
def test_a_value_in_cyrillic_letters_beside_its_series_is_read(
    typed: str, text: str, unread: list[str]
) -> None:
    # GOST 11076, from memory.
    assert (text_of(typed), [word.text for word in read_line(typed).unread]) == (text, unread)


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("Q5 TIC106D", "TIC106D thyristor diode"),  # IEEE 315: Q is a thyristor, too
        ("T4 BT136-600", "BT136-600 600 V silicon triac diode"),
        ("Q1 7805", "7805 +5 V positive regulator"),
        ("Q3 BC547", "BC547 silicon transistor"),
        ("Q1 16MHz", "16 MHz crystal"),
    ],
)
def test_a_q_is_what_its_type_is(typed: str, text: str) -> None:
    assert (text_of(typed), read_line(typed).doubts) == (text, ())


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("T1A glass", "1 A slow glass fuse"),
        ("FF10A 600V ceramic", "10 A 600 V very fast ceramic fuse"),
    ],
)
def test_a_rating_that_only_fuses_have_says_what_it_is(typed: str, text: str) -> None:
    # IEC 60127: letters of speed before the amps.
    line = read_line(typed)
    assert (text_of(typed), line.unread) == (text, ())


@pytest.mark.parametrize(
    ("typed", "watts"), [("5W10RJ", "5"), ("R7 5W10RJ", "5"), ("10W0R47K", "10"), ("R1 10R 5W", "5")]
)
def test_watts_that_run_into_the_value_are_kept(typed: str, watts: str) -> None:
    spec = read_line(typed).spec
    assert spec is not None
    assert str(spec.watts) == watts


@pytest.mark.parametrize("typed", ["BY127 zener", "BZX55C12 schottky", "BAT46 zener"])
def test_a_word_that_contradicts_the_type_is_not_understood(typed: str) -> None:
    (word,) = read_line(typed).unread
    assert word.text == typed.split()[1]
    assert "already" in word.reason


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("BAT18 schottky", "BAT18 silicon Schottky diode"),
        ("BYS21 schottky rectifier", "BYS21 silicon Schottky diode"),
    ],
)
def test_a_word_says_more_exactly_what_the_letters_of_a_type_leave_open(typed: str, text: str) -> None:
    assert (text_of(typed), read_line(typed).unread) == (text, ())


@pytest.mark.parametrize(
    ("typed", "pieces", "text"),
    [
        ("PC817", None, "PC817 optocoupler IC, Sharp"),
        ("3 x CA3140", 3, "CA3140 op amp IC"),
        ("ST232 2 pcs", 2, "ST232 transceiver IC"),
        ("KS0108", None, "KS0108 IC, Samsung"),
        ("ca20 1N4148", 20, "1N4148 diode"),
        ("1N4148 St. 200", 200, "1N4148 diode"),
        ("QTY100 1N4148", 100, "1N4148 diode"),
    ],
)
def test_letters_of_a_maker_are_no_word_for_pieces(typed: str, pieces: int | None, text: str) -> None:
    line = read_line(typed)
    assert (line.quantity, text_of(typed), line.unread) == (pieces, text, ())


@pytest.mark.parametrize("cell", ["ST200", "CA200", "PC200"])
def test_a_column_of_counts_has_no_types(cell: str) -> None:
    assert read_quantity(cell).quantity == 200


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("uA741", "741 op amp IC, Fairchild"),
        ("µA741", "741 op amp IC, Fairchild"),
        ("uPC7805", "7805 +5 V positive regulator, NEC"),
        ("2 x uPC4558", "4558 dual op amp IC, NEC"),
    ],
)
def test_a_small_u_before_a_type_is_its_makers(typed: str, text: str) -> None:
    line = read_line(typed)
    assert (text_of(typed), line.unread, line.doubts) == (text, (), ())


@pytest.mark.parametrize(
    ("typed", "refs", "kind"),
    [
        ("C12 476C", ("C12",), "capacitor"),  # 47 µF, C for 16 V (EIA voltage code)
        ("C1815 NPN", (), "transistor"),
    ],
)
def test_a_reference_before_a_value_is_no_type_that_nobody_knows(
    typed: str, refs: tuple[str, ...], kind: str
) -> None:
    line = read_line(typed)
    assert line.spec is not None
    assert (line.refs, line.spec.kind) == (refs, kind)


@pytest.mark.parametrize("typed", ["100 uF 16V", "2200 uF 50V", "C5 10 uF 63V"])
def test_a_small_u_behind_a_figure_is_no_makers(typed: str) -> None:
    line = read_line(typed)
    assert line.spec is not None
    assert (line.spec.kind, line.unread, line.doubts) == ("capacitor", (), ())


@pytest.mark.parametrize(
    "number",
    [  # from memory of makers' data books
        "LM386N", "LM317T", "NE555P", "UA741CN", "UPC1237", "UPD4164C", "ULN2003AN", "UC3842AN", "L7812CV",
        "CD4017BE", "SN74LS00N", "74HC595N", "BC547B", "2N3904", "1N4148", "IRF540N", "MC34063A", "PC817C",
        "2SC1815-GR", "UF4007", "HER108", "6264LP", "TL431ACZ", "BZX79C5V1", "UDN2981A",
    ],
)  # fmt: skip
def test_a_type_in_small_letters_is_the_type(number: str) -> None:
    small, line = read_line(number.lower()), read_line(number)
    assert (small.spec, small.doubts, small.unread) == (line.spec, line.doubts, ())


@pytest.mark.parametrize("typed", ["100 uf 16v", "100uf25v", "2200 uf 35v", "22 uh"])
def test_a_small_unit_is_no_makers_letter(typed: str) -> None:
    spec = read_line(typed).spec
    assert spec is not None
    assert spec.kind in ("capacitor", "inductor")


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("100 UF 25V", "100µ 25 V capacitor"),
        ("10 UF 16V", "10µ 16 V capacitor"),
        ("220 UF 35V", "220µ 35 V capacitor"),
        ("47 NF 100V", "47n 100 V capacitor"),
        ("5 UH 2A", "5µH 2 A inductor"),
        ("47? Ω 2W", "470R 2 W resistor"),
        ("4 700 µF 25V", "4700µ 25 V capacitor"),
        ("47 000 ohm", "47k resistor"),
        ("1 000 000 Ω", "1M resistor"),
    ],
)
def test_a_figure_and_its_unit_apart_are_one_value(typed: str, text: str) -> None:
    line = read_line(typed)
    assert (text_of(typed), line.quantity, line.unread) == (text, None, ())


@pytest.mark.parametrize(
    ("typed", "text"), [("R5 4 700 Ω 1W", "4k7 1 W resistor"), ("C1 10 000 µF", "10000µ capacitor")]
)
def test_a_space_between_thousands_leaves_the_reference(typed: str, text: str) -> None:
    line = read_line(typed)
    assert (text_of(typed), line.refs, line.unread) == (text, (typed[:2],), ())


@pytest.mark.parametrize("typed", ["2 200 µF 16V", "2 200 pF", "3 300 nF 63V", "1 100 µF"])
def test_a_space_that_may_part_a_count_is_asked(typed: str) -> None:
    line = read_line(typed)
    pieces, one = int(typed[0]), read_line(typed[2:]).spec
    assert line.ambiguous
    assert [(each.quantity, each.spec) for each in line.readings[1:2]] == [(pieces, one)]


@pytest.mark.parametrize(
    ("typed", "text", "further"),
    [
        ("8+8 uF 350V", "8µ 350 V capacitor", "+8"),
        ("32+32 µF 450V", "32µ 450 V capacitor", "+32"),
        ("50+50+20 uF 350V", "50µ 350 V capacitor", "+50+20"),
        ("16+16 MFD 450V", "16µ 450 V capacitor", "+16"),
    ],
)
def test_a_can_of_several_is_read_with_its_unit_apart(typed: str, text: str, further: str) -> None:
    line = read_line(typed)
    assert (text_of(typed), line.unread) == (text, ())
    assert further in line.doubts[0]


@pytest.mark.parametrize("typed", ["10: 47k", "3: 100n", "12: 1N4148"])
def test_a_number_before_a_colon_is_no_rating(typed: str) -> None:
    line = read_line(typed)
    assert line.spec == read_line(typed.partition(": ")[2]).spec
    assert [word.text for word in line.unread] == [typed.partition(" ")[0]]


@pytest.mark.parametrize(
    ("typed", "number"),
    [  # data/smd_codes.csv; J310 and J175 are junction FETs (makers' data books, from memory)
        ("Q2 3F", "BC857B"), ("Q3 1AM", "MMBT3904"), ("D3 A7", "BAV99"), ("Q5 W1P", "MMBT2222A"),
        ("D1 M7", "1N4007"), ("Q2 J310", "J310"), ("Q4 J175", "J175"),
    ],
)  # fmt: skip
def test_a_reference_before_a_mark_says_the_kind_and_the_mark_is_doubted(typed: str, number: str) -> None:
    line = read_line(typed)
    assert line.spec is not None
    assert (line.refs, line.spec.number, bool(line.doubts)) == ((typed[:2],), number, True)


@pytest.mark.parametrize("typed", ["Q1 J3", "D1 T4", "Q1 C94", "R1 C1 D2"])
def test_references_alone_stay_references(typed: str) -> None:
    assert read_line(typed).refs == tuple(typed.split())


@pytest.mark.parametrize("figures", ["103", "104", "473"])
def test_a_small_p_behind_a_code_is_asked(figures: str) -> None:
    line = read_line(f"{figures}p")
    assert [each.spec.value for each in line.readings[:2]] == [
        int(figures) * 1000,
        int(figures[:2]) * 10 ** int(figures[2]) * 1000,
    ]
    assert line.doubts
