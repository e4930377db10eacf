"""Markings that look like those of another part: values like transistors, ohms like varistors, ratings like
fuses.

What each of them is on a real part is written from memory; what a reading of a doubtful one may claim is
common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.decoding import Question, Reading, Readings, decode, spec_of
from inventory.decoding.temperature import characteristic

from .published import units

SURE = 0.8


def answer(marking: str, body: str = "") -> Readings:
    return decode(Question(marking=marking, body=body))


def best(marking: str, body: str = "") -> Reading:
    return answer(marking, body).readings[0]


@pytest.mark.parametrize(
    ("marking", "farads", "volts"),
    [
        ("10n100", "10e-9", 100), ("22n100", "22e-9", 100), ("47n250", "47e-9", 250),
        ("22p100", "22e-12", 100), ("100n63", "100e-9", 63), ("100n50", "100e-9", 50),
        ("220p50", "220e-12", 50),
    ],
)  # fmt: skip
def test_a_value_and_its_volts_run_together_are_no_mosfet(marking: str, farads: str, volts: int) -> None:
    # From memory of film and ceramic capacitors.
    reading = best(marking)
    assert (reading.kind, reading.value, reading.volts) == ("capacitor", units("capacitor", farads), volts)


@pytest.mark.parametrize("marking", ["10n1?0", "22?100", "?2n100"])
def test_a_value_run_together_with_volts_may_have_gaps(marking: str) -> None:
    assert any(each.kind == "capacitor" for each in answer(marking).readings)


@pytest.mark.parametrize("marking", ["100n65", "33P50", "5P50", "1P25", "4P10K", "6P15P", "75N75", "20N60"])
def test_what_may_be_a_value_or_a_valve_is_no_sure_transistor(marking: str) -> None:
    # Common practice, no source; 6P15P is a Soviet valve in Latin letters (from memory).
    assert all(each.score < SURE for each in answer(marking).readings if each.kind == "transistor")


@pytest.mark.parametrize(
    ("marking", "body"), [("75N75", "to-220"), ("20P06", "to-220"), ("11N60C3", ""), ("P55NF06", "")]
)
def test_a_power_mosfet_stays_one(marking: str, body: str) -> None:
    # From memory of makers' numbers.
    reading = best(marking, body)
    assert (reading.kind, reading.number) == ("transistor", marking)
    assert reading.score > 0.95


@pytest.mark.parametrize("marking", ["4N60", "5N60", "8N80"])
def test_a_small_mosfet_of_high_volts_is_no_sure_optocoupler(marking: str) -> None:
    # From memory of makers' numbers.
    assert any(each.kind == "transistor" and each.score > 0.2 for each in answer(marking).readings)
    assert best(marking, "to-220").kind == "transistor"


@pytest.mark.parametrize(
    ("marking", "ohms"), [("10K25", "10250"), ("20K25", "20250"), ("25K11", "25110"), ("10K22", "10220")]
)
def test_two_figures_behind_a_k_are_ohms(marking: str, ohms: str) -> None:
    # IEC 60062, the letter at the decimal point.
    reading = best(marking)
    assert (reading.kind, reading.value) == ("resistor", units("resistor", ohms))


@pytest.mark.parametrize("marking", ["20K300", "07K250", "14K300"])
def test_volts_that_two_systems_read_differently_are_never_sure(marking: str) -> None:
    # Makers' systems of varistors, from memory: 300 V AC, or 30 V at 1 mA.
    first, second = answer(marking, "varistor").readings[:2]
    assert {"ac_volts", "volts_at_1_ma"} <= first.traits.keys() | second.traits.keys()
    assert first.score < SURE
    assert all("Makers differ" in " ".join(each.cautions) for each in (first, second))


@pytest.mark.parametrize(
    ("marking", "volts"), [("10K275", ("ac_volts", "275")), ("S10K250", ("ac_volts", "250")),
                           ("14D471K", ("volts_at_1_ma", "470")), ("10K330", ("volts_at_1_ma", "33"))]
)  # fmt: skip
def test_volts_that_one_system_has_are_read_by_it(marking: str, volts: tuple[str, str]) -> None:
    # From memory of makers' data sheets: no disc is made for 330 V AC.
    reading = best(marking, "varistor")
    assert volts in reading.traits.items()
    assert reading.score > SURE


@pytest.mark.parametrize(("marking", "ohms"), [("8D102K", "1000"), ("8D471K", "470"), ("10D102J", "1000")])
def test_a_network_of_eight_or_ten_pins_is_no_varistor(marking: str, ohms: str) -> None:
    # Common practice, no source: no disc of 8 mm, hardly a varistor of 5 %.
    reading = best(marking)
    assert (reading.kind, reading.value) == ("resistor", units("resistor", ohms))


@pytest.mark.parametrize("marking", ["KC156A", "KC147A", "KC168A", "KC433A", "KU202N", "KU101A"])
def test_a_soviet_type_in_latin_letters_is_no_sure_transistor(marking: str) -> None:
    # From memory: КС156А is a zener of 5.6 V, КУ202Н a thyristor.
    assert all(each.score < SURE for each in answer(marking).readings if each.kind == "transistor")


@pytest.mark.parametrize("marking", ["KC148", "KC508B", "KF517", "KU611", "KFY18", "KUY12", "KSY71"])
def test_a_transistor_that_tesla_made_stays_one(marking: str) -> None:
    # From memory of Tesla's data book.
    reading = best(marking)
    assert (reading.kind, reading.number) == ("transistor", marking)
    assert reading.score > 0.9


@pytest.mark.parametrize(
    ("marking", "farads", "volts"),
    [
        ("КМ-5 Н90 0,1 50", "100e-9", 50),
        ("КЛС Н90 0,01 78", "10e-9", None),  # 1978
        ("КМ-6 Н90 М22", "220e-9", None),
        ("КМ-4 М1500 470", "470e-12", None),
        ("КСО-5 500 В 470", "470e-12", 500),
        ("КСО-2 510 500", "510e-12", 500),
    ],
)
def test_volts_or_a_year_beside_farads_are_no_picofarads(
    marking: str, farads: str, volts: int | None
) -> None:
    # Soviet prints, from memory.
    reading = best(marking, "ceramic disc")
    assert (reading.kind, reading.value, reading.volts) == ("capacitor", units("capacitor", farads), volts)


@pytest.mark.parametrize("marking", ["12V 1A", "24V 2A", "230V 10A", "250V 6.3A"])
def test_volts_and_amps_by_themselves_are_no_sure_fuse(marking: str) -> None:
    # Common practice, no source: supplies, switches and relays carry them as well.
    readings = answer(marking).readings
    assert {"fuse", "other"} <= {each.kind for each in readings[:2]}
    assert readings[0].score < SURE
    assert best(marking, "glass fuse").kind == "fuse"


def test_a_rating_keeps_its_volts_and_amps() -> None:
    reading = best("5V 2A")
    assert (reading.kind, reading.value, reading.volts) == ("other", None, Decimal(5))
    spec = spec_of(reading)
    assert spec is not None
    assert (spec.volts, spec.amps) == (Decimal(5), Decimal(2))


@pytest.mark.parametrize(("marking", "number"), [("250V 10A F", "F10A250V"), ("T2A 250V", "T2A250V")])
def test_a_letter_for_the_speed_makes_a_fuse_of_it(marking: str, number: str) -> None:
    # IEC 60127-1.
    reading = best(marking)
    assert (reading.kind, reading.number) == ("fuse", number)
    assert reading.score > SURE


@pytest.mark.parametrize(
    ("marking", "kind", "number"),
    [
        ("heatsink 2N3055", "other", "2N3055"), ("heatsink for BC547B", "other", "BC547B"),
        ("insulator BD139", "other", "BD139"), ("socket for BC547", "socket", "BC547"),
        ("relay LM358N", "ic", "LM358"), ("motor ULN2003A", "ic", "ULN2003"),
        ("motor BC547 driver", "transistor", "BC547"),
    ],
)  # fmt: skip
def test_what_is_for_a_part_is_not_that_part(marking: str, kind: str, number: str) -> None:
    # Common practice, no source.
    reading = best(marking)
    assert (reading.kind, reading.number) == (kind, number)


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        ("metal film", "resistor"), ("carbon film axial", "resistor"), ("wire-wound", "resistor"),
        ("film", "capacitor"), ("metallised film", "capacitor"), ("metal film capacitor", "capacitor"),
    ],
)  # fmt: skip
def test_a_film_of_metal_or_carbon_is_a_resistor(body: str, kind: str) -> None:
    # Common practice, no source.
    assert best("104", body).kind == kind


def test_a_metal_oxide_varistor_is_no_resistor() -> None:
    assert best("10D471K", "metal oxide varistor").traits["device"] == "varistor"


def test_one_of_a_few_characters_is_as_good_as_read_in_a_type() -> None:
    numbers = {each.number for each in answer("[BD][CF]54[78]").readings[:2]}
    assert numbers == {"BC547", "BC548"}


@pytest.mark.parametrize(
    ("marking", "ohms"), [("8x10k", "10000"), ("8x103", "10000"), ("4x4k7", "4700"), ("8X10K", "10000")]
)
def test_so_many_of_a_network_are_its_ohms(marking: str, ohms: str) -> None:
    # Common practice, no source.
    reading = best(marking, "sil network")
    assert (reading.kind, reading.value) == ("resistor", units("resistor", ohms))


@pytest.mark.parametrize(
    ("marking", "body", "microfarads"),
    [
        ("100-100 350", "", 100), ("200-200 350", "", 200), ("150-150 250V", "", 150),
        ("200+100 350V", "", 200), ("100+100", "", 100), ("32-32 450V", "electrolytic", 32),
        ("100-100 350", "electrolytic can", 100), ("8-8 500", "", 8), ("50-50 MFD", "", 50),
        ("50-50 MFD 350V", "electrolytic", 50),
    ],
)  # fmt: skip
def test_sections_of_one_can_are_microfarads(marking: str, body: str, microfarads: int) -> None:
    # Common practice, no source: of further sections only cans of electrolytics have any.
    readings = answer(marking, body).readings
    assert (readings[0].kind, readings[0].value) == ("capacitor", microfarads * 10**9)
    assert "further_sections" in readings[0].traits
    assert all(each.kind == "capacitor" for each in readings if "further_sections" in each.traits)
    assert all((each.value or 0) >= 10**8 for each in readings if "further_sections" in each.traits)


@pytest.mark.parametrize(
    ("marking", "body"),
    [
        ("22-22", "ceramic disc"), ("47-47", "wire-wound"), ("47-47", "dip"), ("12-12", ""), ("100-100", ""),
        ("220-220", ""), ("33-33", "tantalum bead"),
    ],
)  # fmt: skip
def test_two_like_figures_on_what_is_no_can_are_no_sections(marking: str, body: str) -> None:
    readings = answer(marking, body).readings
    assert not any("further_sections" in each.traits for each in readings)
    assert not any(each.value and each.score > 0.7 for each in readings)


def test_volts_behind_a_dash_on_a_bead_are_its_volts() -> None:
    # Common practice, no source: a bead has no sections.
    reading = best("35-35", "tantalum bead")
    assert (reading.value, reading.volts) == (35 * 10**9, 35)


@pytest.mark.parametrize(
    ("marking", "farads", "least"),
    [
        ("1200P", "1200e-12", 0.95), ("1800P", "1800e-12", 0.95), ("3900p", "3900e-12", 0.95),
        ("2200p", "2200e-12", 0.95), ("1000n", "1e-6", 0.75), ("4700n", "4.7e-6", 0.75),
        ("10µ0", "10e-6", 0.85), ("22n0", "22e-9", 0.9),
    ],
)  # fmt: skip
def test_needless_figures_speak_against_no_kind_alone(marking: str, farads: str, least: float) -> None:
    # IEC 60062 for the letters; henries with such figures are as seldom (common practice, no source).
    reading = best(marking)
    assert (reading.kind, reading.value) == ("capacitor", units("capacitor", farads))
    assert reading.score > least


@pytest.mark.parametrize(
    ("marking", "body", "kind", "value"),
    [
        ("ELC09D101F", "", "inductor", "100e-6"), ("ELC09D101F", "coil", "inductor", "100e-6"),
        ("ELL6RH101M", "", "inductor", "100e-6"), ("ELL6RH101M", "smd chip", "inductor", "100e-6"),
        ("ERDS2TJ103V", "", "resistor", "10000"), ("EXBV8V103JV", "", "resistor", "10000"),
    ],
)  # fmt: skip
def test_a_maker_s_letters_say_the_kind_whatever_form_is_read(
    marking: str, body: str, kind: str, value: str
) -> None:
    # A maker's ordering, from memory.
    reading = best(marking, body)
    assert (reading.kind, reading.value) == (kind, units(kind, value))
    others = [each for each in answer(marking, body).readings if each.value and each.kind != kind]
    assert others == []


@pytest.mark.parametrize(
    ("marking", "farads", "volts"),
    [
        ("CL21B104KBCNNNC", "100e-9", "50"), ("CL10A106KP8NNNC", "10e-6", "10"),
        ("CL05B104KO5NNNC", "100e-9", "16"), ("CL31B106KQHNNNE", "10e-6", "6.3"),
        ("CL21B104KXCNNNC", "100e-9", None),
    ],
)  # fmt: skip
def test_a_letter_behind_the_tolerance_is_the_volts_of_one_maker(
    marking: str, farads: str, volts: str | None
) -> None:
    # A maker's ordering, from memory; of X it is not known.
    reading = best(marking)
    assert (reading.kind, reading.value) == ("capacitor", units("capacitor", farads))
    assert reading.volts == (Decimal(volts) if volts else None)


def test_what_people_type_fills_no_cache_for_good() -> None:
    assert characteristic.cache_info().maxsize is not None


@pytest.mark.parametrize(
    ("marking", "microfarads", "volts"),
    [
        ("47uF 400V 22x30", 47, 400), ("2200uF 35V 16x25", 2200, 35), ("220 25V 8x12", 220, 25),
        ("100uF 10x16", 100, None), ("2200 16x25", 2200, None), ("400х15", 400, 15),
    ],
)  # fmt: skip
def test_the_size_of_a_can_is_not_its_value_and_volts(
    marking: str, microfarads: int, volts: int | None
) -> None:
    """Common practice, no source: diameter by height in mm. Only alone is it µF and volts, as Soviet makers
    print (from memory).
    """
    reading = best(marking, "electrolytic")
    assert (reading.kind, reading.value, reading.volts) == ("capacitor", microfarads * 10**9, volts)


@pytest.mark.parametrize(
    ("marking", "body", "value"),
    [
        ("100uF 50V 10-82", "", "100e-6"), ("47uF 63V 12-87", "", "47e-6"),
        ("100uF 25V 40-85", "", "100e-6"), ("100uF 50V 10-82", "electrolytic", "100e-6"),
        ("100 uF 50V 10-82", "electrolytic", "100e-6"), ("MPX X2 0.1uF 275V 40-85", "", "0.1e-6"),
        ("220 25V 10-82", "electrolytic", "220e-6"), ("100uF 50V 10-80", "electrolytic", "100e-6"),
    ],
)  # fmt: skip
def test_a_date_or_a_climate_beside_a_value_is_no_section(marking: str, body: str, value: str) -> None:
    # Month and year by a dash, cold and heat of a climatic category (IEC 60068-1): from memory.
    readings = answer(marking, body).readings
    assert readings[0].value == units("capacitor", value)
    assert not any("further_sections" in each.traits for each in readings)


@pytest.mark.parametrize(
    ("marking", "kind", "number"),
    [("2N3055 60V 4-88", "transistor", "2N3055"), ("7805 35V 3-84", "regulator", "7805"),
     ("2N3055 60V 4-4", "transistor", "2N3055")],
)  # fmt: skip
def test_a_date_beside_a_type_is_no_section(marking: str, kind: str, number: str) -> None:
    # From memory.
    readings = answer(marking).readings
    assert (readings[0].kind, readings[0].number) == (kind, number)
    assert not any("further_sections" in each.traits for each in readings)


@pytest.mark.parametrize("marking", ["32-16 450", "40-40-20 350", "10-82 350"])
def test_without_a_body_only_like_figures_are_sections(marking: str) -> None:
    assert not any("further_sections" in each.traits for each in answer(marking).readings)


@pytest.mark.parametrize(("marking", "body"), [("МЛТ-1 220", ""), ("МЛТ-1 220", "axial printed"),
                                               ("ОМЛТ 2 510", ""), ("С2-23 470", "axial")])  # fmt: skip
def test_a_bare_figure_on_a_soviet_resistor_is_its_ohms(marking: str, body: str) -> None:
    # Printed so before codes came (from memory); a code it may be, and is never for sure.
    readings = answer(marking, body).readings
    whole = int(marking.split()[-1])
    assert (readings[0].kind, readings[0].value) == ("resistor", whole * 10**6)
    coded = [each for each in readings if each.value == whole // 10 * 10**6]
    assert 0 < sum(each.score for each in coded) < 0.5


@pytest.mark.parametrize("body", ["axial", "sot-23", ""])
@pytest.mark.parametrize("marking", ["ES1A", "S1D", "S5B", "S1A"])
def test_three_characters_are_no_sure_surface_rectifier_on_any_body(marking: str, body: str) -> None:
    # From memory: rectifiers of such names stand on bodies of diodes only.
    said = [each for each in answer(marking, body).readings if "surface" in " ".join(each.reasons)]
    assert all(each.score < SURE for each in said)
    assert not body or best(marking, body).notation != "maker's surface rectifier"


@pytest.mark.parametrize("body", ["sma", "smb", "smc", "do-214ac", "smd diode"])
@pytest.mark.parametrize("marking", ["S1M", "ES1D", "US1J", "S5B"])
def test_on_a_diode_s_body_they_are_rectifiers(marking: str, body: str) -> None:
    # From memory.
    reading = best(marking, body)
    assert (reading.kind, reading.number, reading.score > 0.9) == ("diode", marking, True)


@pytest.mark.parametrize("code", ["M1", "M2", "M3", "M4", "M5", "M6", "M7"])
def test_a_rectifier_s_code_stands_on_a_diode_s_body_only(code: str) -> None:
    # From memory: M4 and M7 on a transistor's body are a 2SA812.
    assert not any(each.number.startswith("1N400") and each.score > 0.01
                   for each in answer(code, "sot-23").readings)  # fmt: skip
    for body in ("sma", "smb", "do-214ac", "melf"):
        assert best(code, body).number == f"1N400{code[1]}"


def test_the_code_of_a_transistor_is_read_on_its_body() -> None:
    reading = best("M4", "sot-23")
    assert (reading.number, reading.score > 0.9) == ("2SA812", True)


@pytest.mark.parametrize(("marking", "number"), [("A950V", "2SA950"), ("A1020V", "2SA1020")])
def test_a_gain_group_v_makes_no_chip_of_a_transistor(marking: str, number: str) -> None:
    # From memory of JIS registrations.
    reading = best(marking)
    assert (reading.kind, reading.number, reading.score > 0.9) == ("transistor", number, True)


@pytest.mark.parametrize(
    ("marking", "body"),
    [("A741C", "dip"), ("A723C", "dip"), ("A555C", "dip"), ("C1018C", "dip"), ("C1363C", "dip"),
     ("C575C", "sip")],
)  # fmt: skip
def test_what_no_table_lists_is_no_chip_of_the_gdr(marking: str, body: str) -> None:
    # From memory: a uA741C whose u is rubbed off, NEC's uPC numbers.
    readings = answer(marking, body).readings
    unknown = next(at for at, each in enumerate(readings) if each.notation == "type not known here")
    assert not any("GDR" in each.notation for each in readings[:unknown])
    assert any(each.kind == "ic" and each.notation == "type not known here" for each in readings[:2])
