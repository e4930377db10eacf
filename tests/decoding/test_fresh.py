"""Markings met for the first time: mostly read, seldom wrong and sure; what no table knows is said so."""

from __future__ import annotations

import pytest

from inventory.decoding import Reading

from .fresh import fresh, meanings
from .published import read, read_bands, units


def test_most_fresh_markings_are_read_and_few_are_wrong_with_confidence() -> None:
    """data/fresh_*.csv, from memory, written before the decoder was asked."""
    every = list(fresh())
    first = sum(bool(each.right and each.right[0]) for each in every)
    present = sum(any(each.right) for each in every)
    sure = [
        each.marking for each in every if each.readings and not each.right[0] and each.readings[0].score > 0.8
    ]
    assert first >= 0.94 * len(every)
    assert present >= 0.97 * len(every)
    assert len(sure) <= 0.02 * len(every), sure


def test_a_score_is_right_as_often_as_it_says() -> None:
    """Meanings scored 0.5 and more, over all fresh markings, taken together."""
    said = [each for asked in fresh() for each in meanings(asked) if each[0] >= 0.5]
    middling = [each for each in said if each[0] < 0.9]
    for some in (said, middling):
        assert abs(sum(score for score, _ in some) - sum(right for _, right in some)) <= 0.12 * len(some)


def test_low_and_high_scores_too_are_right_as_often_as_they_say() -> None:
    """By tenths: of all markings one in a hundred and a half may be promised too much or too little."""
    asked = [meanings(each) for each in fresh()]
    tenths: dict[int, float] = {}
    for score, right in (each for said in asked for each in said):
        tenths[min(int(score * 10), 9)] = tenths.get(min(int(score * 10), 9), 0.0) + score - right
    assert sum(map(abs, tenths.values())) <= 0.015 * len(asked)


@pytest.mark.parametrize("number", ["L293D", "MSM6242B", "XRX4711", "CXD2500Q", "S1D13305"])
def test_a_chip_that_no_table_knows_is_a_chip_with_its_number(number: str) -> None:
    # Common practice, no source: a string of letters and figures on a dual in line body is a type.
    best = read(number, body="dip").readings[0]
    assert best.kind == "ic"
    assert best.number.startswith(number[:4])


def test_a_type_that_is_not_known_says_so_and_what_to_try() -> None:
    answer = read("QZX4711", body="dip")
    assert (answer.readings[0].number, answer.readings[0].notation) == ("QZX4711", "type not known here")
    assert any("not known here" in each for each in answer.readings[0].cautions)
    assert answer.hints


def test_the_body_guesses_the_kind_of_an_unknown_type() -> None:
    kinds = {
        body: read("QX4711", body=body).readings[0].kind for body in ("dip", "to-92", "crystal", "glass")
    }
    assert kinds == {"dip": "ic", "to-92": "transistor", "crystal": "crystal", "glass": "diode"}


def test_a_plain_value_is_offered_no_unknown_type() -> None:
    assert {each.notation for each in read("104K 100V", body="disc").readings} & {
        "type not known here"
    } == set()
    assert all(each.value is not None for each in read("4k7", kind="resistor").readings)


def best(marking: str, **more: object) -> Reading:
    return read(marking, **more).readings[0]


@pytest.mark.parametrize(
    ("marking", "kind", "body", "value"),
    [
        ("470µf 16v", "capacitor", "", "470e-6"),  # small letters, as people type
        ("15Н", "capacitor", "ceramic disc", "15e-9"),  # GOST 11076, from memory
        ("М47", "capacitor", "ceramic disc", "470e-9"),
        ("500 мкФ 25 В", "capacitor", "electrolytic", "500e-6"),
        ("2К7", "resistor", "axial", "2700"),
        ("FKP2 1500 100-", "capacitor", "film", "1.5e-9"),  # film print in whole pF, from memory
        ("22000 5% 63", "capacitor", "film", "22e-9"),
        ("FKP2 1000 100-", "capacitor", "", "1e-9"),  # the letters say film (DIN 41379, from memory)
        ("47 16", "capacitor", "tantalum", "47e-6"),
        ("220 6.3", "capacitor", "smd electrolytic can", "220e-6"),
        ("22µF 6V", "capacitor", "electrolytic can", "22e-6"),
        ("B50K", "resistor", "potentiometer", "50000"),
        ("250KA", "resistor", "potentiometer", "250000"),
        ("22K LIN", "resistor", "potentiometer", "22000"),
        ("6A222J", "resistor", "sip network", "2200"),
        ("4310R-101-331", "resistor", "sip network", "330"),
        ("3.9C", "capacitor", "ceramic disc", "3.9e-12"),  # C is 0.25 pF below 10 pF, IEC 60062
        ("2200µF 25V- 40/085/56", "capacitor", "electrolytic", "2200e-6"),  # climatic category of IEC 60068-1
        ("МЛТ-0,5 1,5К", "resistor", "axial printed", "1500"),  # Soviet prints, from memory
        ("СП3-38б 4,7к", "resistor", "trimmer", "4700"),
        ("КМ-6 Н90 М22", "capacitor", "multilayer ceramic", "220e-9"),
        ("КМ5 М1500 220", "capacitor", "multilayer ceramic", "220e-12"),
        ("SIL 8x10K", "resistor", "sip network", "10000"),
        ("NCC 50V0.47", "capacitor", "electrolytic", "0.47e-6"),
        ("33-16", "capacitor", "tantalum bead", "33e-6"),
        ("715P22356LD3", "capacitor", "film", "22e-9"),  # a maker's ordering, from memory
        ("ERJ-3EKF1002V", "resistor", "smd chip", "10000"),  # another's
        ("RB 59 1K 0.1%", "resistor", "axial printed", "1000"),  # no semiconductor has a tolerance
        ("SFE10.7MA", "crystal", "ceramic resonator", "10.7e6"),
        ("455E", "crystal", "ceramic resonator", "455e3"),
        ("3.58G", "crystal", "ceramic resonator", "3.58e6"),
        ("RED LAMP .033 MFD 400V", "capacitor", "film", "33e-9"),  # one colour word is a name, no band
    ],
)
def test_forms_as_they_are_printed(marking: str, kind: str, body: str, value: str) -> None:
    reading = best(marking, body=body)
    assert (reading.kind, reading.value) == (kind, units(kind, value))


def test_a_taper_is_read() -> None:
    # Common practice, no source: B linear, A logarithmic on parts from the Far East.
    assert best("B50K", body="potentiometer").traits["taper"] == "linear"
    assert best("100KA", body="potentiometer").traits["taper"] == "logarithmic"


@pytest.mark.parametrize("beside", ["16?", "???", "?4?", "1??K"])
def test_what_cannot_be_read_costs_a_printed_unit_nothing(beside: str) -> None:
    value = units("capacitor", "470e-6")
    for marking in (f"470µF {beside}", f"{beside} 470µF"):
        readings = read(marking).readings
        assert (readings[0].kind, readings[0].value) == ("capacitor", value)
        assert sum(each.score for each in readings if each.value == value) > 0.8


@pytest.mark.parametrize("marking", ["?2nJ100", "2?nJ100", "22?J100", "22n?100", "22nJ?00", "22nJ1?0"])
def test_print_that_runs_together_is_read_with_a_character_hidden(marking: str) -> None:
    # 22 nF ±5 % 100 V by IEC 60062, the volts run on behind (common practice, no source).
    hidden = read(marking, kind="capacitor", measured=units("capacitor", "22.3e-9")).readings[0]
    assert hidden.value == units("capacitor", "22e-9")


@pytest.mark.parametrize("marking", ["RN60?4991F", "RN60C4?91F", "RN60C499?F", "R?60C4991F"])
def test_an_order_code_is_read_with_a_character_hidden(marking: str) -> None:
    # MIL-R-10509 style, from memory: 4.99 kΩ ±1 %.
    hidden = read(marking, kind="resistor", measured=units("resistor", "5000")).readings[0]
    assert (hidden.value, hidden.tolerance_percent) == (units("resistor", "4990"), 1)


def test_a_maker_s_order_code_with_a_figure_hidden_is_read_as_the_whole_is() -> None:
    # ECQE2104KF: a film capacitor of 104 pF and K, 10 % (a maker's ordering, from memory).
    hidden = read("ECQE2?04KF", body="film").readings[0]
    assert (hidden.kind, hidden.value) == ("capacitor", units("capacitor", "100e-9"))


@pytest.mark.parametrize(
    ("marking", "value"), [("100n ?? ?1", "100e-9"), ("22p ??", "22e-12"), ("?? 47n", "47e-9")]
)
def test_a_small_n_or_p_is_a_printed_unit_as_well(marking: str, value: str) -> None:
    # IEC 60062: small n and p are prefixes of farads and letters of nothing else.
    best = read(marking).readings[0]
    assert (best.kind, best.value) == ("capacitor", units("capacitor", value))
    assert best.score > 0.8


@pytest.mark.parametrize("marking", ["68000µF 25V", "68000µF", "6800µF 16V"])
def test_a_printed_unit_makes_no_type_of_its_figures(marking: str) -> None:
    # The 68000 and the 6800 are processors (makers' data books); with a unit behind them they are values.
    assert read(marking).readings[0].kind == "capacitor"


@pytest.mark.parametrize(("marking", "volts"), [("470uf25v", 25), ("100nf63v", 63), ("4u7 35v", 35)])
def test_volts_run_on_in_small_letters_as_people_type(marking: str, volts: int) -> None:
    best = read(marking).readings[0]
    assert (best.kind, best.volts) == ("capacitor", volts)


@pytest.mark.parametrize("marking", ["10W 0R22 K", "R47J 5W", "0R1 K 3W"])
def test_watts_speak_for_a_resistor(marking: str) -> None:
    # Common practice, no source: no capacitor is rated in watts.
    best = read(marking).readings[0]
    assert (best.kind, best.score > 0.9) == ("resistor", True)


@pytest.mark.parametrize("marking", ["51G", "10G"])
def test_a_value_larger_than_parts_have_is_never_sure(marking: str) -> None:
    # Common practice, no source: beyond some gigohms nobody repairs with.
    every = read(marking, kind="resistor").readings
    assert all(each.score < 0.5 for each in every if (each.value or 0) >= units("resistor", "10e9"))


def test_a_meter_that_contradicts_opens_doubt_by_itself() -> None:
    bands = "white brown orange gold"
    reading = read_bands(bands, kind="resistor", measured=units("resistor", "910")).readings[0]
    assert reading.value == units("resistor", "910")
    assert "takes the orange band for brown" in reading.cautions


def test_a_reading_that_the_meter_denies_is_never_sure() -> None:
    answer = read("104K", kind="capacitor", measured=units("capacitor", "33e-6"))
    assert answer.readings[0].value == units("capacitor", "100e-9")
    assert answer.readings[0].score < 0.6
    assert "none of these" in {each.notation for each in answer.readings}


def test_an_expected_value_that_is_not_there_opens_doubt() -> None:
    answer = read_bands("yellow violet orange gold", kind="resistor", expected=units("resistor", "4700"))
    assert units("resistor", "4700") in [each.value for each in answer.readings]


@pytest.mark.parametrize("marking", ["F10A 250V", "250V 10A F", "250V F10A", "5x20 F10A 250V", "10A F 250V"])
def test_a_fuse_is_read_in_whatever_order_it_is_printed(marking: str) -> None:
    # Speed, amps and volts of IEC 60127; the order is the maker's (common practice, no source).
    reading = best(marking, body="glass fuse")
    assert (reading.kind, reading.number, reading.volts) == ("fuse", "F10A250V", 250)


@pytest.mark.parametrize("number", ["11N60C3", "P55NF06", "75N75", "20N60"])
def test_amps_channel_and_volts_make_a_power_transistor(number: str) -> None:
    # Common practice of many makers, no source: amps, N or P, volts by ten.
    reading = best(number, body="to-220")
    assert (reading.kind, reading.number, reading.score > 0.9) == ("transistor", number, True)


@pytest.mark.parametrize("number", ["4N35", "6N137", "2N3055", "1N4148"])
def test_registered_numbers_are_no_amps_and_volts(number: str) -> None:
    assert not any("amps" in reason for each in read(number).readings for reason in each.reasons)


@pytest.mark.parametrize(
    ("line", "kind", "number"),
    [("motor BC547 driver", "transistor", "BC547"), ("relay driver ULN2003", "ic", "ULN2003")],
)
def test_a_type_that_everybody_knows_outweighs_a_word_beside_it(line: str, kind: str, number: str) -> None:
    assert (best(line).kind, best(line).number) == (kind, number)


@pytest.mark.parametrize(("line", "ohms"), [("NTC 10k", "10000"), ("PTC 18R", "18")])
def test_ohms_beside_the_word_are_the_thermistor_s(line: str, ohms: str) -> None:
    assert (best(line).kind, best(line).value) == ("thermistor", units("resistor", ohms))


def test_watts_beside_a_zener_are_no_type() -> None:
    reading = best("5.6v zener 400mw")
    assert (reading.number, str(reading.traits["zener_volts"])) == ("", "5.6")


def test_two_speakers_are_of_no_safety_class() -> None:
    reading = best("LS1 8R speaker x2")
    assert "safety_class" not in reading.traits
    assert reading.number == ""


def test_three_figures_on_a_crystal_are_not_taken_for_a_resistor() -> None:
    reading = best("104", body="crystal")
    assert (reading.kind, reading.value, reading.number) == ("crystal", None, "104")


@pytest.mark.parametrize(("marking", "date"), [("LM324N 8144B", "1981-W44"), ("CM8870PI 9421", "")])
def test_a_date_stands_beside_a_type_and_is_not_the_part(marking: str, date: str) -> None:
    reading = best(marking)
    assert (reading.kind, reading.date) == ("ic", date)


def test_a_varistor_is_one_even_where_the_bench_holds_such_resistors() -> None:
    held = frozenset((("resistor", units("resistor", "470")),))
    reading = best("14D471K", held=held, wanted=held)
    assert (reading.number, reading.score > 0.8) == ("14D471K", True)


@pytest.mark.parametrize(
    ("marking", "body", "kind", "value"),
    [
        ("40-40 350", "electrolytic can", "capacitor", 40 * 10**9),  # a can of two sections
        ("40-40 350", "", "capacitor", 40 * 10**9),
        ("WSL2512R0100FEA", "smd chip", "resistor", 10_000),  # R0100 is 0.0100 ohm (IEC 60062)
        ("33P50", "", "transistor", None),  # 33.5 pF is of no series and to three figures at most
    ],
)
def test_fresh_markings_that_were_misread(marking: str, body: str, kind: str, value: int | None) -> None:
    """From memory."""
    read_as = best(marking, body=body)
    assert (read_as.kind, read_as.value) == (kind, value)


@pytest.mark.parametrize(
    ("marking", "more"), [("12P10", {}), ("100 NPO", {"body": "ceramic disc", "era": 1974})]
)
def test_what_may_be_two_things_is_not_sure(marking: str, more: dict[str, object]) -> None:
    """12P10 is a MOSFET as well; NPO in full stands on old ceramics that print plain pF (from memory)."""
    assert best(marking, **more).score < 0.8


@pytest.mark.parametrize(
    ("marking", "body", "kind", "number"),
    [
        # From memory: makers' data books and GOST handbooks. Each reading was another, and sure.
        ("S1M", "smd diode", "diode", "S1M"),
        ("US1J", "sma", "diode", "US1J"),
        ("M7", "smd diode", "diode", "1N4007"),
        ("A2005V", "sip", "ic", "A2005V"),
        ("A4510D", "dip", "ic", "A4510D"),
        ("C458D", "to-92", "transistor", "2SC458"),
        ("STR-S6309", "sip", "ic", "STR-S6309"),
        ("431A", "to-92", "regulator", "TL431"),
        ("ТС112-16-6", "", "diode", "ТС112-16-6"),
        ("МЛТ-0,5", "", "resistor", "МЛТ-0,5"),
        ("К53-4", "", "capacitor", "К53-4"),
    ],
)
def test_a_type_is_of_its_kind(marking: str, body: str, kind: str, number: str) -> None:
    first = best(marking, body=body)
    assert (first.kind, first.number) == (kind, number)


@pytest.mark.parametrize(
    ("marking", "body", "microfarads", "volts", "sections"),
    [
        ("40-40-20 350", "electrolytic can", 40, 350, "-40-20"),
        ("32-16 450", "electrolytic can", 32, 450, "-16"),
        ("К50-12 50+50мкФ 350В", "electrolytic can", 50, 350, None),
        ("ЭТО-2 400х15", "axial tantalum", 400, 15, None),
        ("20-150", "electrolytic", 20, 150, None),
    ],
)
def test_sections_and_volts_of_a_can(
    marking: str, body: str, microfarads: int, volts: int, sections: str | None
) -> None:
    """Common practice, no source: sections by dash or plus, then volts; 400х15 is how Soviet makers print."""
    first = best(marking, body=body)
    assert (first.kind, first.value, first.volts) == ("capacitor", microfarads * 10**9, volts)
    if sections:
        assert first.traits["further_sections"] == sections


def test_twice_the_same_on_a_disc_is_not_its_volts_as_a_code() -> None:
    first = best("22-22 100", body="disc")
    assert (first.value, first.volts) == (22_000, 100)


@pytest.mark.parametrize(("marking", "date"), [("QQ8139", "1981-W39"), ("8144B", "1981-W44")])
def test_a_year_and_week_with_its_lot_is_a_date_and_not_for_sure(marking: str, date: str) -> None:
    first, second = read(marking, body="dip").readings[:2]
    dated = first if first.date else second  # level with a type that is not known
    assert dated.date == date
    assert 0.4 < dated.score < 0.8


def test_watts_stand_apart_from_a_soviet_series() -> None:
    assert best("ОМЛТ 2 М10", body="axial printed").value == 100_000 * 10**6


@pytest.mark.parametrize(
    ("marking", "ohms"), [("SCK10 5R", 5), ("2322 640 63103", 10_000), ("NTC 10D-11", 10)]
)
def test_thermistors_by_series(marking: str, ohms: int) -> None:
    assert best(marking, body="ntc thermistor").value == ohms * 10**6
