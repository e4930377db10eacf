"""Parts drawn as one meets them: the shape follows from what is known, the bands from the colour code."""

import re
from decimal import Decimal
from pathlib import Path

import pytest

from inventory.decoding.appearance_svg import FILLS
from inventory.pages import part_drawing
from inventory.pages.part_drawing import drawing, shape
from inventory.spec import KINDS, Spec
from tests.factories import spec

SHEET = Path(part_drawing.__file__).parents[1] / "static/bench/parts.svg"


@pytest.mark.parametrize(
    ("part", "drawn"),
    [
        (spec("resistor", "4k7"), "axial"),
        (spec("resistor", "10k", package="preset, single turn"), "preset"),
        (spec("resistor", "10k", package="0805"), "chip"),
        (spec("capacitor", "100u", dielectric="aluminium", lead_style="radial"), "can"),
        (spec("capacitor", "100u", dielectric="aluminium", lead_style="axial"), "long-can"),
        (spec("capacitor", "10u", dielectric="tantalum"), "bead"),
        (spec("capacitor", "100n", dielectric="film"), "film"),
        (spec("capacitor", "100n", dielectric="class2"), "disc"),
        (Spec("transistor", number="BC547"), "to92"),
        (Spec("transistor", number="2N3055", package="TO-3"), "to3"),
        (Spec("transistor", number="BC107", lead_style="to_can"), "can3"),
        (Spec("regulator", number="7805", package="TO-220"), "to220"),
        (Spec("ic", number="LM324", package="dip14"), "dip"),
        (Spec("diode", number="1N4148"), "diode"),
        (Spec("other"), "box"),
    ],
)  # the usual bodies: common practice, no source
def test_a_part_has_the_shape_of_its_body(part: Spec, drawn: str) -> None:
    assert shape(part) == drawn


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_a_drawing_that_the_sheet_holds(kind: str) -> None:
    assert f'<g id="{shape(Spec(kind))}">' in SHEET.read_text()


def test_a_resistor_carries_the_bands_of_its_value() -> None:
    # IEC 60062: 4.7 kΩ 5 % is yellow, violet, red, gold.
    drawn = drawing(spec("resistor", "4k7", tolerance_percent=Decimal(5)))
    colours = [FILLS[colour][0] for colour in ("yellow", "violet", "red", "gold")]
    assert re.findall(r'stroke="(#[0-9a-f]{6})"', drawn) == colours
