"""The trade rules for diodes, transistors, regulators, chips and hardware, row by row, with sources.

"practice" is common practice, no source; "memory" is a data sheet from memory. One file, since the rows of
all kinds are one table for whoever compares them.
"""

from typing import Any

import pytest

from inventory.spec import Spec, fits


def grade(required: dict[str, Any], offered: dict[str, Any]) -> str:
    return fits(Spec.from_dict(required), Spec.from_dict(offered)).grade


def in_the_way(required: dict[str, Any], offered: dict[str, Any]) -> set[str]:
    fit = fits(Spec.from_dict(required), Spec.from_dict(offered))
    return {reason.property for reason in fit.reasons if reason.grade == fit.grade}


def part(kind: str, number: str = "", **data: Any) -> dict[str, Any]:
    fields = (
        "volts",
        "amps",
        "watts",
        "speed_ns",
        "make",
        "package",
        "lead_style",
        "pitch_mm",
        "tolerance_percent",
    )
    given = {name: data.pop(name) for name in fields if name in data}
    return {"kind": kind, "number": number, **given, "traits": data}


def diode(number: str = "", **data: Any) -> dict[str, Any]:
    return part("diode", number, **data)


def transistor(number: str = "", **data: Any) -> dict[str, Any]:
    return part("transistor", number, **{"pin_order": "EBC", **data})


def regulator(number: str = "", **data: Any) -> dict[str, Any]:
    return part("regulator", number, **{"pin_order": "in-gnd-out", **data})


def ic(number: str = "", **data: Any) -> dict[str, Any]:
    return part("ic", number, **data)


# ── Diodes ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        # 1N4001 to 1N4007: 50 to 1000 V, 1 A (Vishay data sheet, document 88503)
        (diode("1N4004"), diode("1N4004"), "same"),
        (diode("1N4004"), diode("1N4007"), "drop_in"),
        (diode("1N4007"), diode("1N4004"), "no"),
        (diode("1N4004"), diode("1N5404"), "with_note"),  # 3 A, 400 V (memory)
        (diode("1N4004"), diode("1N9404"), "ask"),
        # practice: reverse volts, amps, surge not less
        (
            diode(function="rectifier", volts=400, amps=1),
            diode(function="rectifier", volts=600, amps=3),
            "drop_in",
        ),
        (
            diode(function="rectifier", volts=400, amps=1),
            diode(function="rectifier", volts=400, amps="0.5"),
            "no",
        ),
        (diode(function="rectifier", volts=400), diode(function="rectifier"), "ask"),
        (diode(function="rectifier", surge_amps=30), diode(function="rectifier", surge_amps=20), "no"),
        # practice: fast for slow serves, a fast place needs recovery no slower
        (diode(function="rectifier", vr=400), diode(function="fast_rectifier", volts=400), "drop_in"),
        (diode(function="fast_rectifier", recovery_ns=50), diode(function="rectifier"), "no"),
        (
            diode(function="fast_rectifier", recovery_ns=50),
            diode(function="fast_rectifier", speed_ns=75),
            "no",
        ),
        (
            diode(function="fast_rectifier", recovery_ns=75),
            diode(function="fast_rectifier", speed_ns=50),
            "drop_in",
        ),
        (diode(function="rectifier", recovery_ns=500), diode(function="rectifier"), "ask"),
        # practice: silicon for Schottky no, the reverse a question; germanium detector: silicon no (memory)
        (diode(function="schottky", volts=40), diode(function="rectifier", volts=400), "no"),
        (diode(function="rectifier", volts=40), diode(function="schottky", volts=40), "ask"),
        (diode(function="detector"), diode(function="signal", material="silicon"), "no"),
        (diode(function="detector", material="germanium"), diode(function="detector"), "ask"),
        (diode(function="detector"), diode(function="schottky", material="silicon"), "ask"),
        (
            diode(function="detector", material="germanium"),
            diode(function="schottky", material="silicon"),
            "no",
        ),
        (diode(function="schottky", drop_matters=False), diode(function="rectifier"), "ask"),
        # practice: the legs of what has more than two stand in several orders
        (diode(function="bridge", amps=2), diode(function="bridge", amps=2), "ask"),
        (
            diode(function="thyristor", pin_order="KAG"),
            diode(function="thyristor", pin_order="KAG"),
            "same",
        ),
        (diode(function="thyristor", pin_order="KAG"), diode(function="thyristor", pin_order="KGA"), "ask"),
        (diode(function="signal"), diode(function="rectifier"), "ask"),
        (diode(function="signal"), diode(function="zener"), "no"),
        (diode(function="led", colour="red"), diode(function="led", colour="green"), "ask"),
        # practice: zener volts inside the tolerance, watts not less; another type by its zener volts
        (
            diode("1N823", function="zener", zener_volts="6.2", tolerance_percent=5),
            diode("BZX79-C6V2", function="zener", zener_volts="6.2", tolerance_percent=5),
            "drop_in",
        ),
        (diode(function="zener", zener_volts="5.1"), diode(function="zener", zener_volts="5.1"), "same"),
        (diode(function="zener", zener_volts="5.1"), diode(function="zener", volts="5.1"), "same"),
        (diode(function="zener", zener_volts="5.1"), diode(function="zener", zener_volts="5.2"), "drop_in"),
        (diode(function="zener", zener_volts="5.1"), diode(function="zener", zener_volts="5.6"), "no"),
        (
            diode(function="zener", zener_volts="5.1", tolerance_percent=10),
            diode(function="zener", zener_volts="5.6", tolerance_percent=5),
            "drop_in",
        ),
        (
            diode(function="zener", zener_volts="5.1", tolerance_percent=2),
            diode(function="zener", zener_volts="5.1"),
            "ask",
        ),
        (
            diode(function="zener", zener_volts=12, watts=1),
            diode(function="zener", zener_volts=12, watts="0.5"),
            "no",
        ),
    ],
)
def test_a_diode_for_a_diode(required: dict[str, Any], offered: dict[str, Any], expected: str) -> None:
    assert grade(required, offered) == expected


def test_zeners_side_by_side_are_not_offered_for_one_of_more_watts() -> None:
    place, half = (diode(function="zener", zener_volts=12, watts=watts) for watts in (5, "2.5"))
    [reason] = fits(Spec.from_dict(place), Spec.from_dict(half)).reasons
    assert (reason.grade, reason.property) == ("no", "watts")
    assert "in parallel do not share" in reason.rule


# ── Transistors ──────────────────────────────────────────────────────────────────────────────────

SMALL = {"polarity": "npn", "material": "silicon", "vceo": 40, "ic": "0.2", "gain_min": 100, "gain_max": 300}


@pytest.mark.parametrize(
    ("offered", "expected", "because"),
    [
        # practice: polarity and material exact; volts, current, dissipation not less
        ({"polarity": "pnp"}, "no", "polarity"),
        ({"material": "germanium"}, "no", "material"),
        ({"vceo": 30}, "no", "volts"),
        ({"ic": "0.1"}, "no", "amps"),
        ({"vceo": 60}, "drop_in", "volts"),
        ({"vceo": None}, "ask", "volts"),
        # practice: gain ranges overlapping or above
        ({"gain_min": 30, "gain_max": 90}, "no", "gain_max"),
        ({"gain_min": 60, "gain_max": 200}, "with_note", "gain_min"),
        ({"gain_min": 200, "gain_max": 450}, "drop_in", "gain_min"),
        ({"gain_min": None, "gain_max": None}, "ask", "gain_min"),
        # pin orders of TO-92 families: 2N3904 E-B-C, BC54x C-B-E, reversed (note on transistor pin orders)
        ({"pin_order": "CBE"}, "ask", "pin_order"),
        ({"pin_order": None}, "ask", "pin_order"),
        ({"package": "TO-18"}, "drop_in", "number"),
    ],
)
def test_another_transistor_is_judged_by_its_figures(
    offered: dict[str, Any], expected: str, because: str
) -> None:
    place = transistor("2N3904", **SMALL)
    other = transistor("XT337", **{**SMALL, **offered})
    assert grade(place, other) == expected
    assert because in in_the_way(place, other)


def test_one_type_number_with_two_pin_orders_is_a_question() -> None:
    """MJE2955: the board is E-B-C, the new part B-C-E (onsemi MJE2955T/D)."""
    assert grade(transistor("MJE2955"), transistor("MJE2955", pin_order="BCE")) == "ask"
    assert grade(transistor("MJE2955"), transistor("MJE2955", pin_order=None)) == "ask"
    assert grade(transistor("MJE2955"), transistor("MJE2955")) == "same"


def test_one_type_of_one_make_has_one_pin_order() -> None:
    ours, theirs = (transistor("2SC9815", make=make, pin_order=None) for make in ("Sirocco", "Mistral"))
    assert grade(ours, ours) == "same"
    assert grade(ours, theirs) == "ask"


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        # practice: much faster may oscillate, slower never
        ({"ft_mhz": 4}, {"ft_mhz": 100}, "with_note"),
        ({"ft_mhz": 250}, {"ft_mhz": 300}, "drop_in"),
        ({"ft_mhz": 250}, {"ft_mhz": 100}, "no"),
        # practice: matched pairs change together; the tab may need insulating
        ({"matched": True}, {}, "with_note"),
        ({"tab": "isolated"}, {"tab": "collector"}, "with_note"),
        ({"package": "TO-220"}, {"package": "TO220"}, "same"),
        ({"package": "TO-220"}, {"package": "TO-3"}, "ask"),
        ({"lead_style": "to_flat"}, {"lead_style": "smd"}, "ask"),
        ({"device": "darlington"}, {"device": "bipolar"}, "no"),
        ({"polarity": "npn"}, {"polarity": "npn", "device": "darlington"}, "ask"),
        ({"polarity": "npn"}, {"polarity": "npn", "device": "bipolar"}, "same"),
        ({"polarity": "n_channel"}, {"polarity": "n_channel", "device": "jfet"}, "ask"),
        ({"tab": "collector"}, {"tab": "isolated"}, "with_note"),
        ({"tab": "isolated"}, {}, "ask"),
    ],
)
def test_a_transistor_in_its_place(required: dict[str, Any], offered: dict[str, Any], expected: str) -> None:
    assert grade(transistor(**required), transistor(**offered)) == expected


def test_a_matched_pair_is_not_broken_up_where_another_serves() -> None:
    place, single, one_of_two = (Spec.from_dict(transistor(**more)) for more in ({}, {}, {"matched": True}))
    assert fits(place, one_of_two).grade == "same"
    assert fits(place, one_of_two).closeness > fits(place, single).closeness


@pytest.mark.parametrize(
    ("wanted", "found", "sent"),
    [("isolated", "collector", "washer"), ("collector", "isolated", "carries no current")],
)
def test_a_tab_that_carries_something_else_says_what_to_do(wanted: str, found: str, sent: str) -> None:
    place, part = (Spec.from_dict(transistor(tab=tab)) for tab in (wanted, found))
    [reason] = fits(place, part).reasons
    assert sent in reason.rule


def test_another_type_of_which_too_little_is_stated_is_a_question() -> None:
    assert grade(transistor("XT547"), transistor("2N3904", **SMALL)) == "ask"


# ── Regulators ───────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("number", ["7905", "7912", "LM317"])
def test_a_list_that_calls_these_equivalent_to_a_7805_is_not_repeated(number: str) -> None:
    """Lists print them as equivalent: wrong polarity, volts or pin order (data sheets, from memory)."""
    assert grade(regulator("7805"), regulator(number)) == "no"


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        (regulator("7805"), regulator("L7805CV"), "same"),
        (regulator("7805"), regulator("78L05"), "no"),  # 0.1 A (memory)
        (regulator("78L05"), regulator("7805"), "drop_in"),
        (regulator(output_volts=5, amps=1), regulator(output_volts=5, amps="1.5"), "drop_in"),
        (regulator(output_volts=5, amps=1), regulator(output_volts="5.2", amps=1), "no"),
        (regulator(output_volts=5, dropout=2), regulator(output_volts=5, dropout="2.5"), "no"),
        (regulator(output_volts=5, dropout=2), regulator(output_volts=5, dropout="0.5"), "drop_in"),
        (regulator(output_volts=5), regulator(output_volts=5, pin_order="gnd-in-out"), "ask"),
        (regulator(polarity="positive"), regulator("7905"), "no"),
        (regulator(adjustable=True, polarity="positive"), regulator("LM317"), "same"),
        (regulator("7805"), regulator("78S05"), "drop_in"),  # 2 A (memory)
        # practice: dropout by what the place gives it, and what it stands
        (regulator(output_volts=5, input_volts=7), regulator(output_volts=5, dropout="2.5"), "no"),
        (regulator(output_volts=5, input_volts=8), regulator(output_volts=5, dropout="2.5"), "same"),
        (regulator(output_volts=-5, input_volts=7), regulator(output_volts=-5, dropout="2.5"), "no"),
        (regulator(output_volts=5, input_volts=30), regulator(output_volts=5, input_max_volts=26), "no"),
    ],
)
def test_a_regulator_for_a_regulator(
    required: dict[str, Any], offered: dict[str, Any], expected: str
) -> None:
    assert grade(required, offered) == expected


def test_another_regulator_comes_with_the_heat_to_get_rid_of() -> None:
    """(Vin - Vout) x I: (12 - 5) x 0.5 A is 3.5 W (practice)."""
    place = regulator("7805", package="TO-220", input_volts=12, load_amps="0.5")
    answer = {
        offered["number"]: [
            reason.rule
            for reason in fits(Spec.from_dict(place), Spec.from_dict(offered)).reasons
            if reason.property == "heat"
        ]
        for offered in (
            regulator("7805", package="TO-220"),
            regulator("78S05", package="TO-220"),
        )
    }
    assert answer == {
        "7805": [],
        "78S05": ["see to the heatsink: (12 V - 5 V) x 0.5 A = 3.5 W"],
    }


# ── Logic ────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        (ic("74LS04"), ic("SN74LS04N"), "same"),
        (ic("74LS04"), ic("74LS05"), "no"),  # the 05 has open collectors (memory)
        # LS -> HCT with a note; LS -> HC: VOH 2.4 is below VIH 3.5 (74-series level comparison table)
        (ic("74LS04"), ic("74HCT04"), "with_note"),
        (ic("74LS04"), ic("74HC04"), "ask"),
        (ic("74LS04", drivers="ttl"), ic("74HC04"), "no"),
        (ic("74LS04", drivers="cmos"), ic("74HC04"), "with_note"),
        (ic("74LS04", drivers="pulled_up"), ic("74HC04"), "with_note"),
        # HC output into LS input has 2.5 V of margin (same table); TTL into CMOS has none
        (ic("74HC04"), ic("74HCT04"), "with_note"),
        (ic("74HC04"), ic("74LS04"), "ask"),
        # practice: faster edges need a note, slower a look at the timing, an oscillator its own family
        (ic("74LS04"), ic("74F04"), "with_note"),
        (ic("74S04"), ic("74LS04"), "ask"),
        (ic("7404"), ic("74LS04"), "with_note"),
        (ic("74LS14"), ic("7414"), "with_note"),
        (ic("74F04"), ic("74LS04"), "ask"),
        (ic("74LS04", use="oscillator"), ic("74HCT04"), "no"),
        (ic("74LS04", use="oscillator"), ic("SN74LS04N"), "same"),
        # some numbers of the L and H families have other legs (memory: 7451, 7454)
        (ic("7451"), ic("74L51"), "ask"),
        (ic("7406"), ic("74LS06"), "with_note"),
        (ic("DG201", function="analogue_switch"), ic("DG211", function="analogue_switch"), "ask"),
        # fan-out: HCT sinks 4 mA, LS 8 mA (memory)
        (ic("74LS04", load_ma=3), ic("74HCT04"), "with_note"),
        (ic("74LS04", load_ma=6), ic("74HCT04"), "no"),
        (ic("74LS04", load_ma=6), ic("74LS04"), "same"),
        (ic("74LS04", open_collector=False), ic("74LS04", open_collector=True), "no"),
        (ic("CD4011BE"), ic("HEF4011BP"), "same"),
        (ic("CD4069UBE"), ic("CD4069BE"), "with_note"),
        # whatever is no system of numbers is compared in the data sheets
        (ic("NE555"), ic("NE555"), "same"),
        (ic("NE555"), ic("TLC555"), "ask"),
        (ic("NE555"), ic(), "ask"),
        (ic("TL072", function="dual_op_amp"), ic("NE5532", function="dual_op_amp"), "ask"),
        (ic("6850", function="serial_interface"), ic("MC6850P", function="serial_interface"), "same"),
        (ic("6809", function="microprocessor"), ic("6502", function="microprocessor"), "no"),
        (ic("NE555", package="DIP-8"), ic("NE555", package="SO-8"), "ask"),
        (
            ic("NE555", lead_style="dip", pitch_mm="2.54"),
            ic("NE555", lead_style="dip", pitch_mm="1.778"),
            "no",
        ),
    ],
)
def test_a_chip_for_a_chip(required: dict[str, Any], offered: dict[str, Any], expected: str) -> None:
    assert grade(required, offered) == expected


def test_an_output_that_sinks_less_is_shown_with_both_figures() -> None:
    fit = fits(Spec.from_dict(ic("74LS04")), Spec.from_dict(ic("74HCT04")))
    [drive] = [reason for reason in fit.reasons if reason.property == "load_ma"]
    assert (drive.grade, drive.required, drive.offered) == ("with_note", "8 mA", "4 mA")
    assert "fan-out" in drive.rule


def test_a_bus_driver_is_not_counted_as_a_gate() -> None:
    """An LS244 sinks 24 mA, not the 8 mA of an LS gate (memory)."""
    fit = fits(Spec.from_dict(ic("74LS244")), Spec.from_dict(ic("74HCT244")))
    [drive] = [reason for reason in fit.reasons if reason.property == "load_ma"]
    assert "compare what they sink" in drive.rule


def test_another_number_is_objected_to_once() -> None:
    place, part = (
        {"kind": "ic", "number": n, "traits": {"function": "dual_op_amp"}} for n in ("TL072", "1458")
    )
    [reason] = fits(Spec.from_dict(place), Spec.from_dict(part)).reasons
    assert (reason.property, reason.grade, reason.settled_by) == ("number", "ask", "data_sheet")


# ── Memories ─────────────────────────────────────────────────────────────────────────────────────


def dram(number: str = "4116", **data: Any) -> dict[str, Any]:
    return ic(number, **data)


@pytest.mark.parametrize(
    ("required", "offered", "expected", "because"),
    [
        (dram(speed_ns=200), dram(speed_ns=200), "same", "all"),
        # 4116 has -5, +12 and +5 V on pins 1, 8 and 9, the 4164 not (cctech 2009)
        (dram("4116"), dram("4164"), "no", "rails"),
        (dram("4164"), dram("41256"), "no", "organisation"),
        (dram("4164", pins=16), dram("4464"), "no", "pins"),
        # practice: access not slower
        (dram(speed_ns=200), dram(speed_ns=150), "drop_in", "speed_ns"),
        (dram(speed_ns=200), dram(access_ns=250), "no", "speed_ns"),
        (dram(speed_ns=200), dram(), "ask", "speed_ns"),
        # practice: refresh rows and interval suit the board
        (dram("4164", refresh=128), dram("4164", refresh=256), "no", "refresh"),
        (dram("4164", refresh=256), dram("4164", refresh=128), "drop_in", "refresh"),
        (dram("4164", refresh_ms=4), dram("4164", refresh_ms=2), "no", "refresh_ms"),
        # practice: half-good parts, one make and one half; otherwise mixing makes needs a note
        (dram("4164"), dram("4164", half="low"), "no", "half"),
        (dram("4164", half="low", make="A"), dram("4164", half="low", make="A"), "same", "all"),
        (dram("4164", half="low", make="A"), dram("4164", half="low", make="B"), "no", "make"),
        (dram("4164", half="low"), dram("4164", half="high"), "no", "half"),
        (dram("4164", half="low"), dram("4164"), "ask", "half"),
        (dram("4164", half="low"), dram("4164", half="whole"), "with_note", "half"),
        (dram("4164", make="A"), dram("4164", make="B"), "with_note", "make"),
        (dram("4164", make="A"), dram("4164"), "ask", "make"),
    ],
)
def test_a_memory_for_a_memory(
    required: dict[str, Any], offered: dict[str, Any], expected: str, because: str
) -> None:
    assert grade(required, offered) == expected
    assert because in in_the_way(required, offered)


def rom(function: str, organisation: str, **data: Any) -> dict[str, Any]:
    return ic(function=function, organisation=organisation, pins=28, **data)


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        # practice: a larger EPROM reads the part that its extra address pins select
        (rom("rom", "8Kx8"), rom("eprom", "8Kx8"), "with_note"),
        (rom("eprom", "8Kx8"), rom("eprom", "16Kx8"), "with_note"),
        (rom("eprom", "16Kx8"), rom("eprom", "8Kx8"), "no"),
        (rom("eprom", "8Kx8"), ic(function="eprom", organisation="16Kx8", pins=24), "no"),
        (rom("rom", "8Kx8", content="bios 1.2"), rom("rom", "8Kx8", content="bios 1.3"), "no"),
        (rom("rom", "8Kx8", content="bios 1.2"), rom("eprom", "8Kx8"), "with_note"),
        (rom("rom", "8Kx8", content="bios 1.2"), rom("rom", "8Kx8"), "ask"),
        (rom("eprom", "8Kx8", speed_ns=250), rom("eprom", "8Kx8", speed_ns=450), "no"),
        (rom("rom", "8Kx8"), rom("sram", "8Kx8"), "no"),
    ],
)
def test_a_read_only_memory(required: dict[str, Any], offered: dict[str, Any], expected: str) -> None:
    assert grade(required, offered) == expected


# ── What has few rules, or none ──────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        # practice: pitch, ways, plating
        (part("connector", ways=10, pitch_mm="2.54"), part("connector", ways=10, pitch_mm="2.54"), "same"),
        (part("connector", ways=10, pitch_mm="2.54"), part("connector", ways=10, pitch_mm=2), "no"),
        (part("connector", ways=10), part("connector", ways=12), "no"),
        (part("connector", plating="gold"), part("connector", plating="tin"), "with_note"),
        (part("connector", gender="plug"), part("connector", gender="socket"), "no"),
        (part("socket", ways=16), part("socket", ways=14), "no"),
        (
            part("socket", ways=16, contact="turned"),
            part("socket", ways=16, contact="dual_leaf"),
            "with_note",
        ),
        (part("switch", poles=2, amps=3), part("switch", poles=2, amps=1), "no"),
        (part("switch", poles=2), part("switch", poles=1), "no"),
        (part("lamp", volts="6.3", amps="0.15"), part("lamp", volts="6.3", amps="0.3"), "ask"),
        (part("lamp", volts="6.3"), part("lamp", volts=12), "no"),
        (part("other", "belt 70 mm"), part("other", "Belt 70 mm"), "same"),
        (part("other", "belt 70 mm"), part("other", "belt 75 mm"), "no"),
        (part("other", "belt 70 mm"), part("other"), "ask"),
        (part("other", "relay", volts=12), part("other", "relay", volts=5), "no"),
        (part("other", "relay", volts=5), part("other", "relay", volts=12), "ask"),
        (part("socket", package="16 pin, low"), part("socket", package="low 16 pin"), "same"),
        (part("other", volts=250), part("other", volts=125), "no"),
        (part("other", package="A"), part("other"), "ask"),
    ],
)
def test_hardware(required: dict[str, Any], offered: dict[str, Any], expected: str) -> None:
    assert grade(required, offered) == expected
