"""Order codes by the makers' own keys, and what only looks like one.

C0805C104K5RACTU by its maker's data sheet of ceramic chips (voltage 5 is 50 V, R is X7R, 9 as the third
figure divides by ten); 3296W by its maker's selection guide of trimmers; the others from memory of
the makers' catalogues.
"""

from decimal import Decimal

import pytest

from inventory.decoding import Question, decode, spec_of
from inventory.part_lines import read_line


@pytest.mark.parametrize(
    ("code", "femtofarads", "volts", "characteristic"),
    [
        ("C0805C104K5RACTU", 100_000_000, "50", "X7R"),
        ("C0603C229C5GACTU", 2_200, "50", "C0G"),
        ("C1206C106M4PACTU", 10_000_000_000, "16", "X5R"),
        ("GRM188R71H104KA93D", 100_000_000, "50", "X7R"),
        ("CL21B105KBFNNNE", 1_000_000_000, "50", "X7R"),
        ("06035C103KAT2A", 10_000_000, "50", "X7R"),
        ("C2012X7R1H104K", 100_000_000, "50", "X7R"),
        ("CC0805KRX7R9BB104", 100_000_000, "50", "X7R"),
    ],
)
def test_a_ceramic_chip_is_read_with_its_volts(
    code: str, femtofarads: int, volts: str, characteristic: str
) -> None:
    reading = decode(Question(marking=code)).readings[0]
    assert (reading.kind, reading.value, reading.volts) == ("capacitor", femtofarads, Decimal(volts))
    assert reading.temperature["code"] == characteristic
    assert reading.score > 0.9
    line = read_line(f"{code} 20 pcs")
    assert line.spec is not None
    assert (line.spec.value, line.quantity, line.unread) == (femtofarads, 20, ())


@pytest.mark.parametrize("code", ["3296W-103", "3296W-1-103LF", "3006P-1-103", "3386P-103"])
def test_a_trimmer_is_read_by_its_model(code: str) -> None:
    line = read_line(code)
    assert line.spec is not None
    assert (line.spec.text, line.unread, line.doubts) == ("10k variable resistor", (), ())


@pytest.mark.parametrize("code", ["CSC10A01472G", "B57164K0472J"])
def test_a_code_at_the_end_of_any_type_is_not_sure_where_no_body_is_told(code: str) -> None:
    assert decode(Question(marking=code)).readings[0].score <= 0.76


@pytest.mark.parametrize(("marking", "ohms"), [("A100K", 100_000), ("B50K", 50_000), ("B10K", 10_000)])
def test_a_track_and_its_taper_are_no_transistor(marking: str, ohms: int) -> None:
    # Common practice, no source: no gain group is a K behind a round number.
    reading = decode(Question(marking=marking)).readings[0]
    assert (reading.kind, reading.value) == ("resistor", ohms * 10**6)
    assert reading.traits["taper"] in ("logarithmic", "linear")


def test_a_number_that_may_be_a_transistor_or_a_track_is_not_sure() -> None:
    assert decode(Question(marking="B503")).readings[0].score < 0.8


@pytest.mark.parametrize(
    ("marking", "number", "nanoseconds"),
    [
        ("MK4116N-3", "4116", "200"),
        ("D416C-3", "4116", "150"),
        ("HM6116LP-3", "6116", "150"),
        ("P2114L-3", "2114", "300"),
    ],
)
def test_one_figure_is_the_makers_own_grade_of_speed(marking: str, number: str, nanoseconds: str) -> None:
    # The makers' memory data books, from memory.
    reading = decode(Question(marking=marking)).readings[0]
    assert (reading.number, reading.traits["access_ns"]) == (number, nanoseconds)


@pytest.mark.parametrize(
    ("marking", "make"), [("TDA2030A", ""), ("TBA810S", ""), ("TA7205P", "Toshiba"), ("TCA965", "")]
)
def test_letters_of_pro_electron_are_no_makers(marking: str, make: str) -> None:
    assert decode(Question(marking=marking)).readings[0].make == make


@pytest.mark.parametrize(
    ("marking", "device"),
    [("SFE10.7MA", "ceramic_filter"), ("CFW455HT", "ceramic_filter"), ("CSB455E", "ceramic_resonator")],
)
def test_a_ceramic_filter_is_no_resonator(marking: str, device: str) -> None:
    # Its maker's catalogue of filters, traps and discriminators lists SFE and CFW.
    reading = decode(Question(marking=marking)).readings[0]
    assert (reading.kind, reading.traits["device"]) == ("crystal", device)


@pytest.mark.parametrize("marking", ["TPS54331", "TPS2051", "TPS62130"])
def test_a_chip_is_no_trap_for_the_sound_of_television(marking: str) -> None:
    # Texas Instruments' power chips; traps carry megahertz with a point, as TPS5.5MB (from memory).
    assert decode(Question(marking=marking)).readings[0].kind != "crystal"


@pytest.mark.parametrize("typed", ["ceramic filter SFE10.7MA", "2 x SFE10.7MA", "X1 SFE10.7MA"])
def test_a_filter_in_a_line_has_its_frequency(typed: str) -> None:
    line = read_line(typed)
    assert line.spec is not None
    assert (line.spec.text, line.unread, line.doubts) == ("10.7 MHz ceramic filter", (), ())


@pytest.mark.parametrize(
    ("marking", "body", "kind", "said"),
    [
        (".047-400", "", "capacitor", "47n 400 V capacitor"),
        ("MDL 1/2", "", "fuse", "0.5 A slow fuse"),
        ("AGC 1-1/2", "", "fuse", "1.5 A fast fuse"),
        ("ВП1-1 0,5А", "", "fuse", "0.5 A fuse"),
        ("KTY81-110", "", "thermistor", "1k"),
        ("TC 218 M1/100V", "film", "capacitor", "100n 100 V"),
        ("3/V80H 3.6V", "", "other", "3/V80H 3.6 V battery"),
        ("VARTA 1/2AA 3.6V", "", "other", "1/2AA 3.6 V battery"),
        ("KDS 24.000 6C", "", "crystal", "24 MHz"),
        ("M7", "smd", "diode", "1N4007"),
        (
            "1GW",
            "sot-23",
            "transistor",
            "BC847C",
        ),  # Philips: p, t, W behind the code is the place (from memory)
    ],
)
def test_prints_of_the_drawer(marking: str, body: str, kind: str, said: str) -> None:
    """Forms from memory: American decimals and fractions, Soviet fuses, Tesla's capacitors, button stacks."""
    reading = decode(Question(marking=marking, body=body)).readings[0]
    spec = spec_of(reading)
    assert spec is not None
    assert (reading.kind, said in spec.text) == (kind, True), spec.text
