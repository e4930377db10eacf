"""What a wanted part looks like: against published examples, and back through the decoder.

Each row of data/worked_examples.csv carries its own source; it is printed when a row fails. One file, since
each part is drawn and read back by the same rows.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.decoding import Question, Reading, decode
from inventory.decoding.appearance import Appearance, appearance
from inventory.decoding.appearance_svg import FILLS, LETTERS, appearance_svg
from inventory.pictures.colour_space import linear_of
from inventory.spec import UNITS, Spec, plain_value

from .published import rows, units

EXAMPLES = rows("worked_examples")
E24 = (
    10,
    11,
    12,
    13,
    15,
    16,
    18,
    20,
    22,
    24,
    27,
    30,
    33,
    36,
    39,
    43,
    47,
    51,
    56,
    62,
    68,
    75,
    82,
    91,
)  # IEC 60063
MAX_UNITS = 2**63 - 1


def wanted(kind: str, value: str = "", **more: object) -> Appearance:
    return appearance(Spec.from_dict({"kind": kind, **({"value": value} if value else {}), **more}))


def spec_of(kind: str, value: int, **more: object) -> Spec:
    return Spec.from_dict({"kind": kind, "value": f"{plain_value(kind, value)} {UNITS[kind][0]}", **more})


def bands(shown: Appearance) -> dict[str, list[str]]:
    found: dict[str, list[str]] = shown.to_dict()["bands"]
    return found


def says_the_same(reading: Reading, spec: Spec, says: tuple[str, ...]) -> bool:
    facts = {
        "value": reading.value == spec.value,
        "tolerance": reading.tolerance_percent == spec.tolerance_percent
        or (reading.tolerance_percent is None and spec.tolerance_percent is None),
        "volts": reading.volts == spec.volts,
        "number": reading.number == spec.number,
        "temperature": True,
    }
    return reading.kind == spec.kind and all(facts[fact] for fact in says)


def offers_that_do_not_read_back(shown: Appearance) -> list[object]:
    spec = shown.spec
    lost: list[object] = []
    for row in shown.rows:
        answer = decode(Question(bands=row.colours, kind=spec.kind, scheme=row.scheme))
        if not any(says_the_same(reading, spec, row.says) for reading in answer.readings):
            lost.append((row.notation, row.colours))
    for code in shown.codes:
        answer = decode(Question(marking=code.text, kind=spec.kind))
        if not any(says_the_same(reading, spec, code.says) for reading in answer.readings):
            lost.append((code.notation, code.text))
    return lost


# ---------------------------------------------------------------- published examples, turned round


@pytest.mark.parametrize(
    "example",
    # Special types are left out: yellow and grey on high-voltage parts, reliability bands.
    [
        row
        for row in EXAMPLES
        if row["notation"] == "bands"
        and 3 <= row["marking"].count("-") + 1 <= 6
        and not any(word in row["meaning"] for word in ("high-voltage", "reliability", "per 1000 h"))
    ],
    ids=lambda row: row["id"],
)
def test_the_bands_of_a_published_example_are_among_those_to_look_for(example: dict[str, str]) -> None:
    colours = example["marking"].split("-")
    more: dict[str, object] = {"tolerance_percent": example["tol_pct"]} if example["tol_pct"] else {}
    if example["tcr_ppm_per_K"]:
        more["traits"] = {"tcr_ppm": example["tcr_ppm_per_K"]}
    shown = appearance(spec_of("resistor", units("resistor", example["value_si"]), **more))
    assert colours in bands(shown).values(), example["source"]


def closed_up(marking: str) -> str:
    """Without gaps, and with volts as bare figures: printers differ in both."""
    return marking.replace(" ", "").removesuffix("V")


CODES = (
    "smd3",
    "smd4",
    "eia96",
    "cap3",
    "cap3+tol",
    "cap+volt",
    "cap decimal µF",
    "cap plain pF",
    "cap R point",
)


@pytest.mark.parametrize(
    "example",
    [
        row
        for row in EXAMPLES
        if row["notation"] in CODES
        and row["value_si"]
        and row["value_si"] != "0.0"
        and not row["tol_abs_pF"]
        and "/" not in row["tol_pct"]
    ],
    ids=lambda row: row["id"],
)
def test_the_code_of_a_published_example_is_among_those_to_look_for(example: dict[str, str]) -> None:
    more: dict[str, object] = {}
    if example["volts"]:
        more["volts"] = example["volts"]
    if example["tol_pct"]:
        more["tolerance_percent"] = example["tol_pct"]
    shown = appearance(spec_of(example["kind"], units(example["kind"], example["value_si"]), **more))
    texts = [closed_up(code.text) for code in shown.codes]
    assert closed_up(example["marking"]) in texts, (texts, example["source"])


def test_4700_ohms_in_four_five_and_six_bands() -> None:
    """EN 60062 colour table: yellow 4, violet 7, black 0, red x100, brown x10; gold 5 %, brown 1 %."""
    assert bands(wanted("resistor", "4k7")) == {
        "4": ["yellow", "violet", "red", "gold"],
        "5": ["yellow", "violet", "black", "brown", "brown"],
        "6": ["yellow", "violet", "black", "brown", "brown", "brown"],
    }


@pytest.mark.parametrize(
    ("tolerance", "last"),
    [  # EN 60062 colour table
        ("10", "silver"),
        ("5", "gold"),
        ("2", "red"),
        ("1", "brown"),
        ("0.5", "green"),
        ("0.25", "blue"),
        ("0.1", "violet"),
    ],
)
def test_the_last_band_says_the_tolerance(tolerance: str, last: str) -> None:
    shown = bands(wanted("resistor", "4k7", tolerance_percent=tolerance))
    assert shown["4"][-1] == shown["5"][-1] == last


def test_twenty_per_cent_has_three_bands_and_no_fourth() -> None:
    """Body and reading rule R11: no tolerance band means 20 %."""
    shown = bands(wanted("resistor", "10k", tolerance_percent=20))
    assert shown == {"3": ["brown", "black", "orange"]}


def test_a_link_has_one_black_band() -> None:
    """Body and reading rule R12."""
    shown = wanted("resistor", "0")
    assert bands(shown) == {"1": ["black"]}
    assert [code.text for code in shown.codes] == ["0", "000", "0000"]


def test_three_figures_have_no_four_band_form() -> None:
    assert set(bands(wanted("resistor", "49k9"))) == {"5", "6"}


def test_four_figures_have_no_bands_but_still_a_print() -> None:
    shown = wanted("resistor", "4.7123k")
    assert shown.rows == ()
    assert "4.7123kΩ" in [code.text for code in shown.codes]
    assert any("preferred" in caution for caution in shown.cautions)


def test_a_temperature_coefficient_is_the_sixth_band() -> None:
    """EN 60062: red 50 ppm/K, violet 5 ppm/K."""
    shown = wanted("resistor", "10k", tolerance_percent=1, traits={"tcr_ppm": 50})
    assert bands(shown)["6"][-1] == "red"
    assert bands(wanted("resistor", "10k", tolerance_percent=1, traits={"tcr_ppm": 5}))["6"][-1] == "violet"


def test_a_wider_tolerance_is_not_shown_on_a_one_per_cent_code() -> None:
    texts = [code.text for code in wanted("resistor", "49k9", tolerance_percent=10).codes]
    assert "68C" not in texts
    assert "4992" not in texts
    assert "49K9K" in texts


def test_a_film_capacitor_shows_bands_codes_and_volts() -> None:
    """104 = 100 nF, K = 10 %, 2A = 100 V; polyester: yellow x10^4 pF, white 10 %, brown 100 V (data/)."""
    shown = wanted("capacitor", "100n", tolerance_percent=10, volts=100, dielectric="film")
    texts = [code.text for code in shown.codes]
    assert {"104K 100V", "104K", "100nK", ".1", "2A104K"} <= set(texts)
    assert ("brown", "black", "yellow", "white", "brown") in [row.colours for row in shown.rows]
    assert {row.scheme for row in shown.rows} == {"polyester"}


def test_an_asymmetric_tolerance_has_its_letter() -> None:
    """Tolerance letters: Z is +80/-20 %."""
    traits = {"tolerance_low_percent": 20, "tolerance_high_percent": 80}
    assert "103Z" in [code.text for code in wanted("capacitor", "10n", traits=traits).codes]


def test_an_electrolytic_is_not_offered_a_picofarad_code() -> None:
    """Body and reading rule R27: digits on electrolytics are µF."""
    texts = [code.text for code in wanted("capacitor", "100µ", volts=63, dielectric="aluminium").codes]
    assert "100µF 63V" in texts
    assert "107" not in texts


def test_a_tantalum_shows_its_voltage_letter_and_bead_colours() -> None:
    """Bead spot code in µF (Suntan); voltage letters of chip tantalums: Panasonic TEH data sheet."""
    shown = wanted("capacitor", "10µ", volts=16, dielectric="tantalum")
    assert "106C" in [code.text for code in shown.codes]
    assert {row.scheme for row in shown.rows} == {"tantalum bead", "dipped tantalum"}


def test_an_inductor_has_bands_and_codes_in_microhenries() -> None:
    """Inductor bands: brown black red silver = 1 mH 10 %; 102K the same in digits."""
    shown = wanted("inductor", "1mH", tolerance_percent=10)
    assert bands(shown)["4"] == ["brown", "black", "red", "silver"]
    assert "102K" in [code.text for code in shown.codes]


def test_a_1n_diode_shows_its_bands_from_the_wide_one() -> None:
    """Diode bands: yellow brown yellow grey = 1N4148 (EIA RS-236, from memory)."""
    shown = wanted("diode", number="1N4148")
    assert shown.rows[0].colours == ("yellow", "brown", "yellow", "grey")
    assert "wide band" in shown.rows[0].note


def test_type_numbers_show_other_prints_of_the_same_part() -> None:
    assert [code.text for code in wanted("transistor", number="2SC1815").codes] == ["2SC1815", "C1815"]
    assert "SN74LS04N" in [code.text for code in wanted("ic", number="74LS04").codes]
    makers = [code.text for code in wanted("ic", number="4164").codes]
    # 64K x 1 parts that fit each other's place (data books, from memory)
    assert {"HM4864", "MSM3764", "MK4564", "MB8264", "LH2164", "MT4264", "HYB4164"} <= set(makers)


def test_nothing_known_is_reported_and_not_guessed() -> None:
    shown = wanted("fuse")
    assert (shown.rows, shown.codes, shown.neighbours) == ((), (), ())
    assert any("nothing to look for" in caution for caution in shown.cautions)


# ---------------------------------------------------------------- neighbours


def test_neighbours_name_what_else_it_may_be() -> None:
    """Common practice, no source: red and orange are confused; a step in the multiplier is x10."""
    seen = {(each.seen, each.text) for each in wanted("resistor", "4k7", tolerance_percent=5).neighbours}
    assert ("yellow-violet-orange-gold", "47k") in seen
    assert ("orange-violet-red-gold", "3k7") not in seen, "3k7 is made by nobody"


def test_a_part_that_reads_both_ways_names_the_other_end() -> None:
    """Worked example: brown-red-black-black-brown is 120 Ω, and 10 kΩ from the other end."""
    found = wanted("resistor", "10k", tolerance_percent=1).neighbours
    assert any(each.why == "read from the other end" and each.text == "120R" for each in found)


def test_a_capacitors_100_may_be_10_or_100_picofarads() -> None:
    """Common practice, no source: 100 is 10 pF or 100."""
    assert any(each.seen == "100" and each.text == "100p" for each in wanted("capacitor", "10p").neighbours)


# ---------------------------------------------------------------- round trip


@pytest.mark.parametrize("kind", ["resistor", "capacitor", "inductor"])
def test_every_e24_value_in_every_decade_has_a_print_and_all_read_back(kind: str) -> None:
    for figures in E24:
        for power in range(15):
            shown = appearance(spec_of(kind, figures * 10**power))
            assert shown.codes
            assert offers_that_do_not_read_back(shown) == [], shown.spec.text


@settings(max_examples=400, deadline=None)
@given(
    kind=st.sampled_from(sorted(UNITS.keys() - {"thermistor"})),  # discs carry a type, no value code
    value=st.one_of(
        st.integers(1, MAX_UNITS),
        st.builds(lambda figures, power: figures * 10**power, st.sampled_from(E24), st.integers(0, 16)),
        st.builds(lambda figures, power: figures * 10**power, st.integers(100, 999), st.integers(0, 15)),
    ),
    tolerance=st.sampled_from(
        [None, "0.01", "0.05", "0.1", "0.25", "0.5", "1", "2", "3", "5", "10", "20", "7.5"]
    ),
    volts=st.sampled_from(
        [None, "2.5", "4", "6.3", "10", "16", "35", "50", "100", "250", "400", "630", "47"]
    ),
    dielectric=st.sampled_from(["", "film", "tantalum", "aluminium", "c0g", "class2", "mica", "paper"]),
)
def test_everything_offered_reads_back_to_the_part(
    kind: str, value: int, tolerance: str | None, volts: str | None, dielectric: str
) -> None:
    more: dict[str, object] = {}
    if kind != "crystal" and tolerance:
        more["tolerance_percent"] = tolerance
    if kind == "capacitor":
        more["dielectric"] = dielectric
        if volts:
            more["volts"] = volts
    shown = appearance(spec_of(kind, value, **more))
    assert shown.codes, "every value can at least be written out"
    assert offers_that_do_not_read_back(shown) == []


@pytest.mark.parametrize(
    ("kind", "number"),
    [
        ("diode", "1N4148"),
        ("diode", "1N4733A"),
        ("transistor", "2SK170"),
        ("ic", "74HCT245"),
        ("ic", "4116"),
        ("ic", "4011"),
        ("ic", "27C256"),
    ],
)
def test_type_numbers_read_back(kind: str, number: str) -> None:
    assert offers_that_do_not_read_back(wanted(kind, number=number)) == []


# ---------------------------------------------------------------- the drawing


def texts(svg: str) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


def test_every_band_is_drawn_with_its_letters_its_name_and_its_meaning() -> None:
    drawn = texts(appearance_svg(wanted("resistor", "4k7", tolerance_percent=5)))
    assert [each for each in drawn if each in LETTERS.values()] == ["YE", "VT", "RD", "GD"]
    assert {"yellow", "violet", "red", "gold", "4", "7", "×100 Ω", "±5 %"} <= set(drawn)


def test_the_row_to_draw_can_be_chosen_by_its_bands() -> None:
    drawn = texts(appearance_svg(wanted("resistor", "4k7"), bands=5))
    assert [each for each in drawn if each in LETTERS.values()] == ["YE", "VT", "BK", "BN", "BN"]


def test_a_part_without_bands_is_drawn_as_a_label_with_its_codes() -> None:
    assert "100µF 63V" in texts(appearance_svg(wanted("capacitor", "100µ", volts=63, dielectric="aluminium")))


def test_the_drawing_has_no_script_and_no_outside_address() -> None:
    svg = appearance_svg(wanted("resistor", "4k7"))
    root = ET.fromstring(svg)
    assert {element.tag.split("}")[1] for element in root.iter()} == {"svg", "title", "rect", "line", "text"}
    assert not re.search(r"href|url\(|on\w+=|style=", svg)


@pytest.mark.parametrize("colour", sorted(FILLS))
def test_letters_on_a_band_are_readable_by_contrast_alone(colour: str) -> None:
    """WCAG 2, success criterion 1.4.3: large text at least 3 to 1, and here 4.5 to 1."""

    def luminance(hexed: str) -> float:
        red, green, blue = linear_of((int(hexed[1:3], 16), int(hexed[3:5], 16), int(hexed[5:7], 16)))
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    lighter, darker = sorted(map(luminance, FILLS[colour]), reverse=True)
    assert (lighter + 0.05) / (darker + 0.05) >= 4.5


def test_the_smallest_letters_are_large() -> None:
    svg = appearance_svg(wanted("resistor", "4k7"))
    assert min(int(size) for size in re.findall(r'font-size="(\d+)"', svg)) >= 22


@settings(max_examples=100, deadline=None)
@given(number=st.text(max_size=30))
def test_any_type_number_gives_well_formed_drawing(number: str) -> None:
    try:
        spec = Spec.from_dict({"kind": "ic", "number": number})
    except ValueError:
        return
    ET.fromstring(appearance_svg(appearance(spec)))


def test_the_answer_is_plain_json_facts() -> None:
    answer = wanted("resistor", "4k7", tolerance_percent=Decimal("5")).to_dict()
    assert answer["bands"]["4"] == ["yellow", "violet", "red", "gold"]
    assert answer["codes"][:2] == ["4K7J", "4K7"]
    assert {"rows", "code_details", "neighbours", "cautions", "spec_text"} <= set(answer)
