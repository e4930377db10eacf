"""Every row of the published colour tables of capacitors, inductors and diodes. The source stands in each
row.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.decoding import Readings

from .published import read, read_bands, rows, units, values

PICOFARAD, MICROFARAD = 10**3, 10**9
CAPACITORS = rows("capacitor_colour_codes")

# How each scheme of the table is asked for, and a legal row of colours with its places in reading order.
SCHEMES = {
    "polyester": ("polyester", "yellow violet orange white red", {"1": 0, "2": 1, "3": 2, "4": 3, "5": 4}),
    "tantalum bead": ("tantalum bead", "yellow violet black black", {"1": 0, "2": 1, "3": 2, "4": 3}),
    "dipped tantalum": (
        "dipped tantalum",
        "yellow violet blue blue silver",
        {"1": 0, "2": 1, "3": 2, "v": 3, "t": 4},
    ),
    'mica voltage column "Type K"': ("type k", "yellow violet brown gold red", {"v": 4}),
    'electrolytic 4-band voltage column "Type M"': ("electrolytic", "yellow violet black black", {"v": 3}),
    'electrolytic 3-band voltage column "Type N"': ("electrolytic", "yellow violet black black", {"v": 3}),
    "small electrolytic": ("lead end electrolytic", "yellow violet black black", {"n": 3}),
    "generic EIA": ("generic", "yellow violet brown gold brown", {"d": 0, "m": 2, "t": 3, "v": 4}),
    "moulded mica / paper": (
        "mica six",
        "black yellow violet brown gold red",
        {"1": 0, "2": 1, "3": 2, "4": 3, "5": 4, "6": 5},
    ),
    "moulded mica RMA": ("rma", "yellow violet brown green gold", {"A": 0, "B": 1, "C": 2, "D": 3, "E": 4}),
    "tubular": (
        "tubular ceramic",
        "black yellow violet brown white",
        {"1": 0, "2": 1, "3": 2, "4": 3, "5": 4},
    ),
    "single-plate": ("ceramic end colour", "black", {"e": 0}),
}
LEADING_ZERO = {"1 (top)", "digit"}
CASES = [
    row
    for row in CAPACITORS
    if row["colour"]
    and row["value"]
    and "/" not in row["colour"]
    and not (row["colour"] == "black" and row["meaning"] == "digit" and row["position"] in LEADING_ZERO)
]


def asked(row: dict[str, str]) -> tuple[Readings, dict[int, str]]:
    """The decoder's answer to the scheme's usual row with this one colour put in its place."""
    scheme, colours, places = next(found for name, found in SCHEMES.items() if row["scheme"].startswith(name))
    bands = colours.split()
    at = places[row["position"][0] if row["position"] != "temperature range" else "x"]
    colour = row["colour"].split(" or ")[0].replace("body colour", "none")
    bands[at] = colour
    if row["position"].startswith("5 (C of 10 pF or less)"):
        bands[3] = "white"  # 4.7 pF
    return read_bands(" ".join(bands), kind="capacitor", scheme=scheme), dict(enumerate(bands))


@pytest.mark.parametrize(
    "row",
    CASES,
    ids=[f"{row['scheme'][:22]} {row['position']} {row['colour']} {row['value']}" for row in CASES],
)
def test_every_colour_of_every_capacitor_scheme(row: dict[str, str]) -> None:
    meaning, value, source = row["meaning"], row["value"], row["source"]
    if row["position"] in ("temperature range", "vibration"):
        nine = "black yellow violet brown gold red brown {} {}"
        bands = nine.format(
            *(
                (row["colour"], "black")
                if row["position"] == "temperature range"
                else ("black", row["colour"])
            )
        )
        result = [
            dict(each.traits) for each in read_bands(bands, kind="capacitor", scheme="mica six").readings
        ]
        wanted = value if row["unit"] else ""
        assert any(wanted in str(each).replace(" °C", "") for each in result), source
        return
    if row["position"] == "characteristic":
        row = {**row, "scheme": "moulded mica / paper", "position": "6"}
    answer, bands_at = asked(row)
    found = answer.readings
    assert found, source
    if meaning == "digit":
        scheme, colours, _ = next(each for name, each in SCHEMES.items() if row["scheme"].startswith(name))
        usual = read_bands(colours, kind="capacitor", scheme=scheme).readings[0].value or 0
        first_place = min(at for at, colour in enumerate(colours.split()) if colour == "yellow")
        pair = (bands_at[first_place], bands_at[first_place + 1])
        assert COLOUR_DIGIT[row["colour"]] == int(value)
        assert row["colour"] in pair
        figures = COLOUR_DIGIT[pair[0]] * 10 + COLOUR_DIGIT[pair[1]]
        assert usual // 47 * figures in [each.value for each in found], source
    elif meaning in ("multiplier", "number of zeros"):
        factor = Decimal(10) ** int(value) if meaning == "number of zeros" else Decimal(value)
        unit = MICROFARAD if row["unit"] == "µF" else PICOFARAD
        assert int(47 * factor * unit) in [each.value for each in found], source
    elif meaning == "tolerance":
        amount = value.split(" ")[0]
        if row["unit"] == "pF":
            assert int(Decimal(amount) * 1000) in [each.tolerance_abs for each in found], source
        elif "/" in amount:
            high, low = amount.split("/")
            assert (Decimal(high), Decimal(low)) in [
                (e.tolerance_high_percent, e.tolerance_low_percent) for e in found
            ], source
        else:
            assert Decimal(amount) in [each.tolerance_percent for each in found], source
    elif meaning == "voltage":
        assert Decimal(value) in [each.volts for each in found], source
    elif meaning.startswith("temperature coefficient"):
        slope = 0 if value == "NP0" else value
        slopes = [str(each.temperature.get("ppm_per_kelvin", each.temperature.get("code"))) for each in found]
        assert str(slope).lstrip("+") in slopes, source
    elif meaning.startswith("characteristic"):
        letter, _, drift = value.partition(": ")
        temperature = found[0].temperature
        assert temperature["code"] == letter[0], source
        if drift:
            assert drift.replace("+-", "±").split(" / ")[-1] in temperature["drift"], source
    elif meaning == "type":
        dielectric = "mica" if value.startswith("mica") else "paper"
        assert dielectric in [each.traits.get("dielectric") for each in found], source
    else:
        raise AssertionError(f"nothing reads {meaning}")


COLOUR_DIGIT = {
    colour: digit
    for digit, colour in enumerate(
        ["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"]
    )
}


def test_a_leading_black_band_is_no_figure_of_a_printed_value() -> None:
    # Mailing list quoting AN 16-40BC224-2 (rule R17): the first digit is never black.
    for scheme in ("polyester", "tantalum bead", "generic"):
        bands = SCHEMES[scheme if scheme != "generic" else "generic EIA"][1].replace("yellow", "black", 1)
        found = read_bands(bands, kind="capacitor", scheme=scheme).readings
        assert not any(each.used[0] == ("black", "0") and not each.cautions for each in found)


@pytest.mark.parametrize(
    "ends", [row for row in CAPACITORS if "/" in row["colour"]], ids=lambda row: row["colour"]
)
def test_two_coloured_ends_of_a_ceramic_plate(ends: dict[str, str]) -> None:
    answer = read(f"ceramic end colour {ends['colour'].replace('/', ' ')}", kind="capacitor")
    assert answer.readings[0].temperature["ppm_per_kelvin"] == int(ends["value"]), ends["source"]


# Rows of the capacitor table that are rules, not colours.
def test_equal_neighbours_on_a_polyester_part_are_two_bands() -> None:
    # Engineering article (engineersgarage) p.10: no gaps, so two equal colours look like one wide band.
    answer = read_bands("red red orange white red", kind="capacitor", scheme="polyester")
    assert answer.readings[0].value == 22_000 * PICOFARAD


def test_a_tantalum_bead_says_which_lead_is_plus() -> None:
    # Suntan manufacturer page.
    answer = read("tantalum bead: blue-grey-grey spot", kind="capacitor")
    assert any("positive lead is on the right" in caution for caution in answer.readings[0].cautions)


def test_a_mica_without_a_voltage_dot_gets_the_rating_of_its_size() -> None:
    # US Army ordnance text: AWS three-arrow micas below 6800 pF are 500 V, 6800 to 10000 pF 300 V.
    small = read_bands("black yellow violet brown gold red", kind="capacitor", scheme="mica six").readings[0]
    large = read_bands("black blue grey red gold red", kind="capacitor", scheme="mica six").readings[0]
    assert (small.value, small.volts) == (470 * PICOFARAD, 500)
    assert (large.value, large.volts) == (6800 * PICOFARAD, 300)


def test_a_six_dot_rma_mica_says_that_its_order_is_not_confirmed() -> None:
    # RMA molded mica colour code (from memory).
    answer = read_bands("yellow violet green green gold brown", kind="capacitor", scheme="rma")
    assert answer.readings[0].value == 4750 * PICOFARAD
    assert any("not confirmed" in caution for caution in answer.readings[0].cautions)


def test_a_six_band_tubular_ceramic_is_read_but_its_slope_is_not_computed() -> None:
    # From memory in the table.
    answer = read_bands("brown orange yellow violet brown white", kind="capacitor", scheme="tubular ceramic")
    assert 470 * PICOFARAD in values(answer.readings, "capacitor")


def test_tantalum_voltage_lists_that_clash_put_the_safe_meaning_first() -> None:
    # White is 3 V on the chart of Suntan and 30 V on another.
    answer = read_bands("yellow violet black white", kind="capacitor", scheme="tantalum bead")
    assert [each.volts for each in answer.readings][:2] == [3, 30]


INDUCTORS = [
    row
    for row in rows("inductor_bands")
    if row["scheme"] != "numeric code"
    and not (
        row["scheme"].startswith("EIA") and row["position"] == "1" and row["colour_or_symbol"] == "black"
    )
]


@pytest.mark.parametrize(
    "row",
    INDUCTORS,
    ids=[
        f"{row['scheme'][:8]} {row['position']} {row['colour_or_symbol']} {row['value']}" for row in INDUCTORS
    ],
)
def test_every_colour_of_the_inductor_bands(row: dict[str, str]) -> None:
    colour, value, source = row["colour_or_symbol"], row["value"], row["source"]
    henry = units("inductor", "1e-6")
    if row["scheme"].startswith("ES24"):
        answer = read("red-yellow-brown-black (ES24 choke)", kind="inductor")
        assert answer.readings[0].value == 24 * henry, source
    elif row["scheme"].startswith("EIA"):
        bands = ["yellow", "violet", "brown", "gold"]
        bands[int(row["position"]) - 1] = colour
        found = read_bands(" ".join(bands), kind="inductor").readings
        if row["meaning"] == "digit":
            figures = int(value) * 10 + 7 if row["position"] == "1" else 40 + int(value)
            assert figures * 10 * henry in [each.value for each in found], source
        elif row["meaning"] == "multiplier":
            assert int(47 * Decimal(value) * henry) in [each.value for each in found], source
        else:
            assert Decimal(value) in [
                each.tolerance_percent for each in found if each.value == 470 * henry
            ], source
    else:
        military(row, colour, value, henry)


def military(row: dict[str, str], colour: str, value: str, henry: int) -> None:
    source = row["source"]
    if row["position"] == "1":
        assert read("wide silver-red-red-brown-gold", kind="inductor").readings[0].value == 220 * henry, (
            source
        )
        return
    bands = ["silver", "yellow", "violet", "brown", "gold"]
    place = int(row["position"]) - 1
    if "CONTRADICTS" in row["note"]:
        found = read("wide silver-blue-red-gold-red", kind="inductor").readings
        assert {each.value for each in found} >= {620_000, 6_200_000}, source
        return
    bands[place] = colour
    if colour == "gold" and place == 1:
        expected, bands[3] = Decimal("0.72"), "red"
    elif colour == "gold" and place == 2:
        expected, bands[3] = Decimal("4.2"), "red"
    elif place == 3:
        bands[2] = "gold"
        expected = Decimal(f"4.{value}")
    elif place == 4:
        expected = Decimal(470)
    elif place == 1:
        bands[2], bands[3] = "gold", "red"
        expected = Decimal(f"{value}.2")
    else:
        expected = Decimal(f"4{value}") * 10
    found = read_bands(" ".join(bands), kind="inductor").readings
    assert int(expected * henry) in [each.value for each in found], source
    if row["meaning"] == "tolerance":
        assert Decimal(value) in [each.tolerance_percent for each in found], source


@pytest.mark.parametrize("power", range(5))
def test_the_fourth_military_inductor_band_is_a_multiplier_without_gold(power: int) -> None:
    # Same table: digit if a gold band is present, else multiplier (0-4).
    colour = list(COLOUR_DIGIT)[power]
    found = read_bands(f"silver yellow violet {colour} gold", kind="inductor").readings
    assert found[0].value == 47 * 10**power * units("inductor", "1e-6")


NUMERIC = [row for row in rows("inductor_bands") if row["scheme"] == "numeric code"]
CODES = {
    "AB0": ("100", "10e-6"), "ABC": ("101", "100e-6"), "xRy": ("4R7", "4.7e-6"), "Rxy": ("R47", "0.47e-6"),
    "xNy": ("8N2", "8.2e-9"),
    "ABC on RF chip series": ("100", "10e-9"), "xxN": ("22N", "22e-9"),
}  # fmt: skip


@pytest.mark.parametrize(
    "row", NUMERIC, ids=[f"{row['position']} {row['colour_or_symbol']}" for row in NUMERIC]
)
def test_every_digit_code_of_the_inductors(row: dict[str, str]) -> None:
    if row["position"] in CODES:
        marking, value = CODES[row["position"]]
        assert units("inductor", value) in values(read(marking, kind="inductor").readings, "inductor"), row[
            "source"
        ]
        return
    amount, unit = row["value"].split()
    found = read(f"102{row['colour_or_symbol']}", kind="inductor").readings
    if unit == "nH":
        assert units("inductor", f"{amount}e-9") in [each.tolerance_abs for each in found], row["source"]
    else:
        assert Decimal(amount) in [each.tolerance_percent for each in found], row["source"]


DIODES = rows("diode_bands")


@pytest.mark.parametrize("row", DIODES, ids=[f"{row['position'][:11]} {row['colour']}" for row in DIODES])
def test_every_row_of_the_diode_bands(row: dict[str, str]) -> None:
    colour, source = row["colour"], row["source"]
    if row["position"] == "digit":
        found = read_bands(f"yellow {colour} yellow grey", kind="diode").readings
        assert f"1N4{row['value']}48" in [each.number for each in found], source
    elif row["position"].startswith("suffix"):
        found = read_bands(f"yellow violet orange orange {colour}", kind="diode").readings
        assert found[0].number == f"1N4733{row['value']}", source
    else:
        found = read_bands("yellow brown yellow grey", kind="diode").readings
        assert found[0].number == "1N4148", source
        assert any("start at the wide band" in caution for caution in found[0].cautions), source
