"""The trade rules for resistors, capacitors, windings, crystals and fuses, row by row.

Each row names its source; "practice" is common practice, no source. One file, since the rows of all kinds are
one table for whoever compares them.
"""

from decimal import Decimal
from typing import Any

import pytest

from inventory.spec import UNKNOWN, Spec, fits, parse_value, value_window


def grade(required: dict[str, Any], offered: dict[str, Any], **more: Any) -> str:
    return fits(Spec.from_dict(required), Spec.from_dict(offered), **more).grade


def stands_in_the_way(required: dict[str, Any], offered: dict[str, Any]) -> list[str]:
    fit = fits(Spec.from_dict(required), Spec.from_dict(offered))
    return [reason.property for reason in fit.reasons if reason.grade == fit.grade]


def resistor(**data: Any) -> dict[str, Any]:
    names = {"technology", "use", "fusible", "elements", "taper", "variable"} & data.keys()
    traits = {name: data.pop(name) for name in sorted(names)}
    return {"kind": "resistor", "value": "4k7", **data, "traits": traits}


def capacitor(dielectric: str | None = None, value: str = "100n", **data: Any) -> dict[str, Any]:
    fields = ("volts", "lead_style", "pitch_mm", "polarised", "safety_class", "tolerance_percent")
    given = {name: data.pop(name) for name in fields if name in data}
    return {"kind": "capacitor", "value": value, "dielectric": dielectric, **given, "traits": data}


# ── Resistors ────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        # practice: value inside the tolerance; tighter serves; looser is asked until this piece is measured
        ({"tolerance_percent": 5}, {"tolerance_percent": 5}, "same"),
        ({"tolerance_percent": 5}, {"tolerance_percent": 1}, "drop_in"),
        ({"tolerance_percent": 5}, {"tolerance_percent": 10}, "ask"),
        ({"tolerance_percent": 5}, {}, "ask"),
        ({"tolerance_percent": 5}, {"value": "4k75", "tolerance_percent": 1}, "drop_in"),
        ({"tolerance_percent": 5}, {"value": "4k75", "tolerance_percent": 5}, "with_note"),
        ({"tolerance_percent": 5}, {"value": "4k99", "tolerance_percent": 1}, "no"),
        ({"tolerance_percent": 5}, {"value": "4k935", "tolerance_percent": 1}, "with_note"),
        ({"tolerance_percent": 5}, {"value": None, "tolerance_percent": 5}, "ask"),
        ({}, {"value": "5k"}, "ask"),
        ({}, {"value": "10k"}, "no"),
        ({"value": "0"}, {"value": "0"}, "same"),
        ({"value": "0"}, {"value": "1R"}, "no"),
        # practice: watts more and fits, less never
        ({"watts": "1/4"}, {"watts": "0.5"}, "drop_in"),
        ({"watts": "1/4"}, {"watts": 2}, "with_note"),
        ({"watts": "1/2"}, {"watts": "0.25"}, "no"),
        ({"watts": "1/2"}, {}, "ask"),
        ({"volts": 350}, {"volts": 250}, "no"),
        # practice: shape
        ({"lead_style": "axial"}, {"lead_style": "radial"}, "with_note"),
        ({"lead_style": "radial"}, {"lead_style": "axial"}, "with_note"),
        ({"lead_style": "axial"}, {"lead_style": "smd"}, "ask"),
        ({"lead_style": "axial"}, {}, "ask"),
        ({"lead_style": "radial", "pitch_mm": 5}, {"lead_style": "radial", "pitch_mm": "7.5"}, "with_note"),
        ({"lead_style": "radial", "pitch_mm": 5}, {"lead_style": "radial", "pitch_mm": 15}, "ask"),
        ({"lead_style": "smd", "package": "0805"}, {"lead_style": "smd", "package": "1206"}, "ask"),
        # practice: composition where it surges or at radio frequency, wirewound never at radio frequency
        ({"technology": "carbon_composition"}, {"technology": "carbon_film"}, "drop_in"),
        ({"technology": "carbon_composition", "use": "surge"}, {"technology": "metal_film"}, "ask"),
        ({"technology": "carbon_composition", "use": "rf"}, {"technology": "carbon_film"}, "ask"),
        ({"technology": "carbon_composition", "use": "rf"}, {"technology": "wirewound"}, "no"),
        ({"use": "rf"}, {"technology": "wirewound"}, "no"),
        ({"use": "rf"}, {}, "ask"),
        ({"technology": "carbon_composition", "use": "surge"}, {"technology": "carbon_composition"}, "same"),
        ({"technology": "metal_film"}, {"technology": "carbon_film"}, "with_note"),
        ({"technology": "carbon_film"}, {"technology": "metal_film"}, "drop_in"),
        ({"technology": "film"}, {"technology": "carbon_film"}, "same"),
        ({"technology": "carbon_film"}, {"technology": "wirewound"}, "with_note"),
        # a network or a preset is no single fixed resistor
        ({"elements": 8}, {}, "no"),
        ({"elements": 8}, {"elements": 8}, "same"),
        ({}, {"elements": 8}, "no"),
        ({"taper": "linear"}, {}, "no"),
        ({"variable": True}, {}, "no"),
        ({}, {"variable": True}, "no"),
        ({"taper": "linear"}, {"variable": True}, "ask"),
        ({"taper": "log"}, {"taper": "log", "variable": True}, "same"),
        ({"taper": "linear"}, {"taper": "log"}, "ask"),
        # practice: the same class and rating only, higher watts also no, for it must open
        ({"safety_class": "fusible", "watts": "0.5"}, {"fusible": True, "watts": "0.5"}, "same"),
        ({"fusible": True, "watts": "0.5"}, {"safety_class": "fusible", "watts": "0.5"}, "same"),
        ({"safety_class": "fusible", "watts": "0.5"}, {"watts": "0.5"}, "no"),
        ({"safety_class": "fusible", "watts": "0.5"}, {"safety_class": "fusible", "watts": 1}, "no"),
        ({"safety_class": "fusible", "watts": "0.5"}, {"safety_class": "fusible"}, "no"),
        ({"safety_class": "flameproof"}, {"safety_class": "fusible"}, "no"),
        ({"safety_class": "flameproof"}, {"safety_class": "flameproof", "watts": 1}, "ask"),
        (
            {"safety_class": "flameproof", "watts": 1},
            {"safety_class": "fusible flameproof", "watts": 1},
            "with_note",
        ),
        # a place that is known by a type number alone
        ({"value": None, "number": "RN55"}, {"number": "RN 55"}, "same"),
        ({"value": None, "number": "RN55"}, {"number": "RN60"}, "ask"),
        ({}, {"safety_class": "fusible"}, "with_note"),
    ],
)
def test_a_resistor_for_a_resistor(required: dict[str, Any], offered: dict[str, Any], expected: str) -> None:
    assert grade(resistor(**required), resistor(**offered)) == expected


def test_an_aged_resistor_is_judged_by_what_it_measures() -> None:
    """Carbon stock marked 100 k read 107 to 122 k (boatanchors list 2018)."""
    aged = resistor(value="100k", tolerance_percent=10)
    measured = parse_value("resistor", "122k")
    assert grade(resistor(value="120k", tolerance_percent=5), aged, measured=measured) == "with_note"
    assert grade(resistor(value="100k", tolerance_percent=10), aged, measured=measured) == "no"
    assert grade(resistor(value="120k", tolerance_percent=5), aged) == "no"


@pytest.mark.parametrize(
    ("read", "percent", "expected"),
    [  # 4.653 to 4.747 k is 1 %: what the meter may be off decides at its edge (arithmetic)
        ("4.73k", None, "ask"),  # 0.5 % unless it is said: 4.706 to 4.754 k
        ("4.73k", "0.1", "with_note"),
        ("4.73k", "3", "ask"),
        ("4.71k", "0.5", "with_note"),
        ("4.71k", "1", "ask"),
        ("4.76k", "0.1", "no"),
        ("4.76k", None, "ask"),
        ("4.9k", "5", "ask"),
        ("4.9k", "2", "no"),
    ],
)
def test_a_reading_is_as_good_as_its_meter(read: str, percent: str | None, expected: str) -> None:
    fit = fits(
        Spec.from_dict(resistor(tolerance_percent=1)),
        Spec.from_dict(resistor(tolerance_percent=10)),
        measured=parse_value("resistor", read),
        measured_tolerance=None if percent is None else Decimal(percent),
    )
    assert fit.grade == expected


@pytest.mark.parametrize(
    ("required", "offered", "read", "expected"),
    [  # common practice, no source: composition rises, electrolytics dry out, paper takes up damp
        ({"tolerance_percent": 10}, {"technology": "carbon_composition"}, "5.13k", "ask"),
        ({"tolerance_percent": 10}, {"technology": "carbon_composition"}, "4.3k", "with_note"),
        ({"tolerance_percent": 10}, {"technology": "metal_film"}, "5.13k", "with_note"),
    ],
)
def test_what_ages_is_asked_about_at_the_edge_that_it_drifts_to(
    required: dict[str, Any], offered: dict[str, Any], read: str, expected: str
) -> None:
    reading = parse_value("resistor", read)
    assert grade(resistor(**required), resistor(**offered), measured=reading) == expected


def test_an_unmarked_resistor_that_was_measured_serves_with_a_note() -> None:
    measured = parse_value("resistor", "4k68")
    assert grade(resistor(tolerance_percent=5), {"kind": "resistor"}, measured=measured) == "with_note"


@pytest.mark.parametrize(
    ("required", "lowest", "highest"),
    [
        (resistor(tolerance_percent=5), "4k465", "4k935"),
        (resistor(), "4k23", "5k17"),
        (capacitor("aluminium", "50u"), "40u", "100u"),
        (capacitor(None, "22u", tolerance_percent=20), "17.6u", "26.4u"),  # letter M: IEC 60062
        (capacitor("class2", tolerance_low_percent=20, tolerance_high_percent=80), "80n", "180n"),
        (capacitor("class2", use="bypass"), "80n", "200n"),
        ({"kind": "crystal", "value": "10 MHz", "traits": {"ppm": 50}}, "9.9995 MHz", "10.0005 MHz"),
        (resistor(tolerance_percent=5) | {"traits": {"exact": ["value"]}}, "4k7", "4k7"),
    ],
)
def test_a_requirement_says_which_values_are_worth_a_look(
    required: dict[str, Any], lowest: str, highest: str
) -> None:
    expected = parse_value(required["kind"], lowest), parse_value(required["kind"], highest)
    assert value_window(Spec.from_dict(required)) == expected


def switching(can: str, **traits: Any) -> dict[str, Any]:
    """At the output of a switching supply."""
    made = capacitor("aluminium", "1000u", use="switching_output", low_esr=True, **traits)
    return made | {"package": can}


# ── Capacitors ───────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("rated", "expected"), [("6.3", "no"), (10, "same"), (16, "drop_in"), (25, "drop_in"), (40, "drop_in")]
)
def test_volts_of_an_electrolytic(rated: object, expected: str) -> None:
    """Slot 22 µF 10 V: 6.3 V never, 10, 16 and 25 V well (common practice, no source)."""
    place = capacitor("aluminium", "22u", volts=10)
    assert grade(place, capacitor("aluminium", "22u", volts=rated)) == expected


@pytest.mark.parametrize(
    ("marked", "expected"),
    [
        ("47u", "drop_in"),  # 50 -> 47 µF, -6 %, inside a -20 % electrolytic (arithmetic)
        ("40u", "drop_in"),
        ("39u", "no"),
        ("68u", "with_note"),  # practice: much larger strains the rectifier
        ("100u", "with_note"),
        ("120u", "no"),
    ],
)
def test_a_supply_filter_takes_twenty_under_to_a_hundred_over(marked: str, expected: str) -> None:
    """1000 µF +100/-20 is 800 to 2000 µF (WIMA, Capacitance tolerance, wima.com/EN/tolerance.htm)."""
    assert grade(capacitor("aluminium", "50u"), capacitor("aluminium", marked)) == expected


def test_of_filter_capacitors_the_nearest_is_best() -> None:
    """Practice of the trade, no source."""
    place = Spec.from_dict(capacitor("aluminium", "50u"))
    offered = ("100u", "68u", "40u", "47u", "50u")
    far = [fits(place, Spec.from_dict(capacitor("aluminium", value))).closeness for value in offered]
    assert far == sorted(far, reverse=True)
    assert len(set(far)) == len(far)


@pytest.mark.parametrize(("drawn", "found"), [("aluminium", "tantalum"), ("tantalum", "aluminium")])
def test_a_bead_marks_the_plus_and_a_can_the_minus(drawn: str, found: str) -> None:
    """Common practice, no source: the mark that is read alike is fitted the wrong way round."""
    fit = fits(*(Spec.from_dict(capacitor(each, "10u", volts=35)) for each in (drawn, found)))
    assert "bead marks +" in fit.reasons[0].rule
    assert "can marks −" in fit.reasons[0].rule


def test_the_old_32_microfarads_are_replaced_by_33() -> None:
    """+3.1 % (arithmetic; 33 is of the E6 series)."""
    assert (
        grade(capacitor("aluminium", "32u", volts=450), capacitor("aluminium", "33u", volts=450)) == "drop_in"
    )


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        # practice: volts less never, unknown asks, far above on aluminium a note
        (capacitor("film", volts=63), capacitor("film", volts=50), "no"),
        (capacitor("film", volts=63), capacitor("film"), "ask"),
        (capacitor("film", volts=63), capacitor("film", volts=630), "drop_in"),
        (capacitor("aluminium", "10u", volts=10), capacitor("aluminium", "10u", volts=63), "with_note"),
        (
            capacitor("aluminium", "10u", temp_max_c=85),
            capacitor("aluminium", "10u", temp_max_c=105),
            "drop_in",
        ),
        (capacitor("aluminium", "10u", temp_max_c=105), capacitor("aluminium", "10u", temp_max_c=85), "no"),
        # practice: timing takes C0G, film or mica only
        (capacitor("film", use="timing"), capacitor("c0g"), "drop_in"),
        (capacitor("film", use="timing"), capacitor("mica"), "drop_in"),
        (capacitor("film", use="timing"), capacitor("class2"), "no"),
        (capacitor(use="oscillator"), capacitor("class2"), "no"),
        (capacitor(use="tuned"), capacitor("film"), "same"),
        (capacitor(use="tuned"), capacitor(), "ask"),
        (capacitor("c0g", use="timing"), capacitor("film"), "ask"),  # which film is not known
        (capacitor("c0g", use="timing"), capacitor("polypropylene"), "with_note"),
        (capacitor("film", use="timing"), capacitor("aluminium"), "no"),
        (capacitor("film", use="timing"), capacitor("paper"), "no"),
        (capacitor(None, "10u", use="timing"), capacitor("tantalum", "10u"), "ask"),
        (
            capacitor("class1", temperature_char="N750", use="tuned"),
            capacitor("class1", temperature_char="N220"),
            "no",
        ),
        # practice: bypass takes an equal or better dielectric
        (capacitor("class2", use="bypass"), capacitor("c0g"), "drop_in"),
        (capacitor("class2", use="bypass"), capacitor("film"), "drop_in"),
        (capacitor("c0g"), capacitor("class2"), "no"),
        (capacitor("film", volts=50), capacitor("class2", volts=100), "ask"),
        (capacitor("film", volts=50, rail_volts=40), capacitor("class2", volts=63), "no"),
        # practice: a class 2 by its rail, but where it was drawn with its volts the drawing has seen to that
        (capacitor(use="bypass", rail_volts=12), capacitor("class2", volts=25), "same"),
        (capacitor(use="bypass", rail_volts=15), capacitor("class2", volts=25), "no"),
        (capacitor("class2", use="bypass", rail_volts=15), capacitor("class2", volts=25), "no"),
        (capacitor("class2", volts=25, rail_volts=15), capacitor("class2", volts=25), "same"),
        (capacitor(use="bypass", rail_volts=15), capacitor("film", volts=25), "same"),
        # EIA class 2 codes: X7R holds over a wider range than X5R or Y5V (table of EIA class 2 codes)
        (capacitor("X5R"), capacitor("X7R"), "drop_in"),
        (capacitor("X7R"), capacitor("Y5V"), "ask"),
        (capacitor("X7R"), capacitor("c0g"), "drop_in"),
        (capacitor("X7R"), capacitor("class2", temperature_char="x7r"), "same"),
        (capacitor("X7R"), capacitor("class2"), "ask"),
        # practice: aluminium and tantalum
        (capacitor("aluminium", "10u", volts=16), capacitor("tantalum", "10u", volts=35), "ask"),
        (capacitor("aluminium", "10u", rail_volts=12), capacitor("tantalum", "10u", volts=16), "no"),
        (capacitor("aluminium", "10u", rail_volts=12), capacitor("tantalum", "10u", volts=25), "ask"),
        (capacitor("aluminium", "10u", reversal=True), capacitor("tantalum", "10u", volts=35), "no"),
        (capacitor("tantalum", "10u", volts=16), capacitor("aluminium", "10u", volts=16), "with_note"),
        (capacitor("tantalum", "10u", use="timing"), capacitor("aluminium", "10u"), "ask"),
        (capacitor("tantalum", "10u"), capacitor("aluminium", "10u", low_esr=True), "with_note"),
        (capacitor("tantalum", "10u"), capacitor("aluminium", "10u", low_esr=False), "ask"),
        # practice: bipolar for polarised serves, the reverse never
        (capacitor("aluminium", "10u"), capacitor("aluminium_bipolar", "10u"), "drop_in"),
        (capacitor("aluminium_bipolar", "10u"), capacitor("aluminium", "10u"), "no"),
        (capacitor("aluminium", "10u", polarised=False), capacitor("aluminium", "10u"), "no"),
        (capacitor(None, "10u", polarised=False), capacitor("tantalum", "10u"), "no"),
        (capacitor(None, "1u", polarised=False), capacitor(None, "1u"), "ask"),
        # practice: a film place takes old paper only tested, a paper place takes film
        (capacitor("paper", volts=400), capacitor("film", volts=630), "drop_in"),
        (capacitor("film", volts=400), capacitor("paper", volts=400), "ask"),
        (capacitor("film"), capacitor("polyester"), "same"),
        (capacitor("polystyrene"), capacitor("polyester"), "with_note"),
        (capacitor("film"), capacitor(), "ask"),
        (capacitor("film"), capacitor("aluminium"), "no"),
        # practice: axial place, radial part
        (
            capacitor("aluminium", "10u", lead_style="axial"),
            capacitor("aluminium", "10u", lead_style="radial"),
            "with_note",
        ),
        # practice: a switching supply wants low resistance and the ripple current
        (capacitor("aluminium", "1000u", use="switching_output"), capacitor("aluminium", "1000u"), "ask"),
        (
            capacitor("aluminium", "1000u", use="switching_output"),
            capacitor("aluminium", "1000u", low_esr=False),
            "no",
        ),
        (
            capacitor("aluminium", "1000u", use="switching_output", ripple="1.2"),
            capacitor("aluminium", "1000u", low_esr=True, ripple="0.9"),
            "no",
        ),
        # practice: with no ripple current stated the can is not smaller
        (switching("10x16", ripple=1), switching("10 x 20 mm"), "with_note"),
        (switching("10x16", ripple=1), switching("8x16"), "no"),
        (switching("10x16"), switching("8x16"), "no"),
        (switching("10x16"), switching("10 x 16 mm"), "with_note"),
        (switching("10x16", ripple=1), switching(""), "ask"),
        (switching("10x16", ripple=1), switching("8x16", ripple="1.2"), "with_note"),
        # practice: what is turned to its value is another thing than what is fixed
        (capacitor("film", "22p") | {"package": "trimmer"}, capacitor("film", "22p"), "no"),
        (
            capacitor("film", "22p") | {"package": "trimmer"},
            capacitor("film", "22p") | {"package": "disc"},
            "no",
        ),
        (
            capacitor("film", "22p") | {"package": "disc"},
            capacitor("film", "22p") | {"package": "trimmer"},
            "no",
        ),
        (capacitor("film", "22p"), capacitor("film", "22p") | {"package": "trimmer"}, "no"),
        # practice: some regulators need a window of series resistance
        (capacitor("tantalum", "10u", esr_min_ohm="0.1"), capacitor("tantalum", "10u", esr_ohm="0.02"), "no"),
        (
            capacitor("tantalum", "10u", esr_min_ohm="0.1", esr_ohm=5),
            capacitor("tantalum", "10u", esr_ohm=1),
            "drop_in",
        ),
        # values: inside the tolerance as marked, or only near with none stated
        (
            capacitor("film", "4n7", tolerance_percent=10),
            capacitor("film", "5n", tolerance_percent=1),
            "drop_in",
        ),
        (capacitor("film", "4n7", tolerance_percent=5), capacitor("film", "5n", tolerance_percent=1), "no"),
        (capacitor("film", "4n7"), capacitor("film", "5n"), "ask"),
        # letter Z on 100 nF is 80 to 180 nF (IEC 60062, from memory)
        (
            capacitor("class2", tolerance_low_percent=20, tolerance_high_percent=80),
            capacitor("class2", "180n", tolerance_percent=1),
            "with_note",
        ),
        (
            capacitor("class2", tolerance_low_percent=20, tolerance_high_percent=80),
            capacitor("class2", "79n"),
            "no",
        ),
    ],
)
def test_a_capacitor_for_a_capacitor(
    required: dict[str, Any], offered: dict[str, Any], expected: str
) -> None:
    assert grade(required, offered) == expected


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        ("X2", "X2", "same"),
        # IEC 60384-14 (from memory): a Y2 passes the tests of an X2, an X2 not those of a Y2
        ("X2", "Y2", "drop_in"),
        ("Y2", "X2", "no"),
        ("X2", None, "no"),
        ("Y1", "Y2", "no"),
        ("Y2", "Y1", "drop_in"),
        ("X1", "X2", "no"),
        ("X1/Y2", "X1/Y2", "same"),
        ("X2", "X1/Y2", "drop_in"),
        ("X1/Y2", "X1", "no"),
    ],
)
def test_a_mains_capacitor(required: str, offered: str | None, expected: str) -> None:
    place, part = (
        capacitor("film", "10n", volts=250, safety_class=mark or "") for mark in (required, offered)
    )
    assert grade(place, part) == expected


def test_across_the_mains_what_is_not_known_is_refused_not_asked() -> None:
    place = capacitor("film", "10n", volts=250, safety_class="X2")
    assert grade(place, capacitor("film", "10n", safety_class="X2")) == "no"
    assert grade(place, capacitor("film", "10n", volts=160, safety_class="X2")) == "no"
    assert grade(place, capacitor("film", "10n", volts=275, safety_class="X2")) == "drop_in"


def test_a_safety_position_cannot_waive_its_rating() -> None:
    place = capacitor("film", "10n", volts=250, safety_class="X2", any=["volts", "value", "lead_style"])
    part = capacitor("film", "10n", volts=250, safety_class="X2")
    assert grade(place, part) == "same"
    assert grade(place, {**part, "volts": 160}) == "no"
    assert grade(place, {**part, "value": "1n"}) == "no"
    assert grade({**place, "lead_style": "radial"}, {**part, "lead_style": "axial"}) == "same"
    minds_nothing = {**fuse(), "traits": {"speed": "slow", "any": ["amps"]}}
    assert grade(minds_nothing, fuse("2")) == "no"


def test_a_refusal_names_property_required_offered_and_rule_worst_first() -> None:
    place = capacitor("film", volts=63, lead_style="radial", tolerance_percent=10)
    part = capacitor("film", volts=50, lead_style="radial", tolerance_percent=5)
    fit = fits(Spec.from_dict(place), Spec.from_dict(part))
    volts, tolerance = fit.reasons
    assert (volts.property, volts.required, volts.offered, volts.grade) == ("volts", "63 V", "50 V", "no")
    assert (tolerance.property, tolerance.grade) == ("tolerance_percent", "drop_in")
    assert volts.rule


def test_what_a_closer_look_would_settle_is_distinguished_from_what_it_would_not() -> None:
    place = capacitor("film", volts=63)
    fit = fits(Spec.from_dict(place), Spec.from_dict(capacitor("film")))
    assert [(reason.property, reason.offered) for reason in fit.reasons] == [("volts", UNKNOWN)]


# ── Windings, crystals, fuses ────────────────────────────────────────────────────────────────────


def inductor(**data: Any) -> dict[str, Any]:
    return {"kind": "inductor", "value": "100 µH", **data}


def transformer(number: str = "", **traits: Any) -> dict[str, Any]:
    return {"kind": "transformer", "number": number, "traits": traits}


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        # practice: the same part, or rewound; else ask
        (inductor(amps=1), inductor(amps=1), "same"),
        (inductor(amps=1), inductor(amps=2), "ask"),
        (inductor(amps=1), inductor(amps="0.5"), "no"),
        (inductor(number="L-77"), inductor(number="L 77"), "same"),
        (inductor(number="L-77"), inductor(number="L-78"), "ask"),
        (inductor(), inductor(value="47 µH"), "no"),
        ({"kind": "transformer", "number": "T1"}, {"kind": "transformer", "number": "T1"}, "same"),
        ({"kind": "transformer", "number": "T1"}, {"kind": "transformer"}, "ask"),
        (
            {"kind": "transformer", "traits": {"secondary_volts": [9, 9]}},
            {"kind": "transformer", "traits": {"secondary_volts": [12]}},
            "no",
        ),
        # practice: one wound again for it, by its figures or under its number
        (transformer("T1"), transformer("T1", rewound=True), "with_note"),
        (transformer("T1"), transformer("T7", rewound=True), "ask"),
        (
            transformer("T1", secondary_volts=[9, 9]),
            transformer("T7", secondary_volts=[9, 9], rewound=True),
            "with_note",
        ),
        (
            transformer("T1", secondary_volts=[9, 9]),
            transformer("T1", secondary_volts=[12], rewound=True),
            "no",
        ),
        (inductor(number="L-77"), inductor(number="L-9", traits={"rewound": True}), "with_note"),
    ],
)
def test_a_winding_is_the_same_part_or_a_question(
    required: dict[str, Any], offered: dict[str, Any], expected: str
) -> None:
    assert grade(required, offered) == expected


def test_a_rewound_mains_transformer_comes_with_the_caution() -> None:
    fit = fits(Spec.from_dict(transformer("T1")), Spec.from_dict(transformer("T1", rewound=True)))
    assert "insulation" in fit.reasons[0].rule
    assert "local codes" in fit.reasons[0].rule


def crystal(value: str = "3.579545 MHz", **traits: Any) -> dict[str, Any]:
    return {"kind": "crystal", "value": value, "traits": traits}


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        # practice: frequency, load, cut, overtone; series for parallel is a question
        (crystal(), crystal(), "same"),
        (crystal(), crystal("3.58 MHz"), "ask"),
        (crystal(), crystal("3.579 MHz"), "ask"),
        (crystal("14.31818 MHz", ppm=50), crystal("14.318 MHz", ppm=10), "drop_in"),
        (crystal("14.31818 MHz", ppm=10), crystal("14.318 MHz", ppm=10), "ask"),
        (crystal(load_pf=20), crystal(load_pf=30), "ask"),
        (crystal(load_pf=20), crystal(), "ask"),
        (crystal(resonance="parallel"), crystal(resonance="series"), "ask"),
        (crystal(overtone=1), crystal(overtone=3), "no"),
        (crystal(ppm=30), crystal(ppm=100), "no"),
        (crystal(ppm=100), crystal(ppm=30), "drop_in"),
        (crystal(cut="at"), crystal(cut="bt"), "ask"),
    ],
)
def test_a_crystal_for_a_crystal(required: dict[str, Any], offered: dict[str, Any], expected: str) -> None:
    assert grade(required, offered) == expected


def fuse(amps: str | None = "1", speed: str | None = "slow", **data: Any) -> dict[str, Any]:
    traits = {"speed": speed, **{name: data.pop(name) for name in ("body", "breaking") if name in data}}
    return {"kind": "fuse", "amps": amps, "volts": 250, **data, "traits": traits}


@pytest.mark.parametrize(
    ("required", "offered", "expected", "because"),
    [
        # practice: current and speed equal, volts and breaking capacity not less, glass for ceramic never
        (fuse(), fuse(), "same", "all"),
        (fuse(), fuse("2"), "no", "amps"),
        (fuse(), fuse("0.8"), "no", "amps"),
        (fuse(), fuse(None), "no", "amps"),
        (fuse(), fuse(speed="fast"), "no", "speed"),
        (fuse(), fuse(speed=None), "no", "speed"),
        (fuse(), fuse(volts=125), "no", "volts"),
        (fuse(), fuse(volts=500), "drop_in", "volts"),
        (fuse(breaking=1500), fuse(breaking=35), "no", "breaking"),
        (fuse(body="ceramic"), fuse(body="glass"), "no", "body"),
        (fuse(body="glass"), fuse(body="ceramic"), "drop_in", "body"),
        (fuse(body="glass"), fuse(body="wire"), "no", "body"),
        (fuse(), fuse(body="wire"), "no", "body"),  # whatever the drawing says of the body
        (fuse(package="5x20"), fuse(package="6.3x32"), "no", "package"),
        (fuse(None), fuse("10"), "ask", "amps"),
    ],
)
def test_a_fuse_is_replaced_by_its_like(
    required: dict[str, Any], offered: dict[str, Any], expected: str, because: str
) -> None:
    assert grade(required, offered) == expected
    assert stands_in_the_way(required, offered) == [because]


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        ({"volts": "6.3"}, {"volts": "12"}, "no"),  # dim; practice: a lamp has the volts of its place
        ({"volts": "12"}, {"volts": "6.3"}, "no"),  # burns out
        ({"volts": "6.3"}, {"volts": "6"}, "ask"),
        ({"volts": "6.3"}, {}, "ask"),
    ],
)
def test_a_lamp_has_the_volts_of_its_place(
    required: dict[str, Any], offered: dict[str, Any], expected: str
) -> None:
    assert grade({"kind": "lamp", **required}, {"kind": "lamp", **offered}) == expected


@pytest.mark.parametrize("other", [{}, {"device": "ceramic_resonator"}])
def test_a_ceramic_filter_keeps_no_oscillator(other: dict[str, str]) -> None:
    # It has three legs, and passes a band (its maker's catalogue of filters).
    made = {"kind": "crystal", "value": "455k"}
    filtering = {**made, "traits": {"device": "ceramic_filter"}}
    assert grade({**made, "traits": other}, filtering) == "no"
    assert grade(filtering, {**made, "traits": other}) == "no"
