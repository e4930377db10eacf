"""`appearance/`: what a wanted part looks like, and that it reads back."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

import pytest

from tests.api.test_problems import pointers, refused

APPEARANCE, DRAWING, DECODE = "/api/v1/appearance/", "/api/v1/appearance.svg", "/api/v1/decode/"
SVG = "{http://www.w3.org/2000/svg}"


def looks(client: Any, **given: str) -> dict[str, Any]:
    answer = client.get(APPEARANCE, given)
    assert answer.status_code == 200, answer.content
    return dict(answer.json())


def test_a_resistor_is_looked_for_by_its_bands_and_codes(viewer: Any) -> None:
    """IEC 60062: 4.7 kΩ 5 % is yellow violet red gold, or 4K7 J; in three figures 472 (RKM, chip)."""
    found = looks(viewer, kind="resistor", value="4k7", tolerance_percent="5")
    assert found["bands"]["4"] == ["yellow", "violet", "red", "gold"]
    assert {"4k7", "472"} <= {code.lower() for code in found["codes"]}
    tight = looks(viewer, kind="resistor", value="4.7 kΩ", tolerance_percent="1", tcr_ppm="50")["bands"]
    assert tight["5"] == ["yellow", "violet", "black", "brown", "brown"]
    assert tight["6"] == ["yellow", "violet", "black", "brown", "brown", "red"], "red is 50 ppm/K"


def test_what_is_easily_confused_with_it_is_shown(viewer: Any) -> None:
    neighbours = looks(viewer, kind="resistor", value="1k")["neighbours"]
    assert "10k" in {each["text"] for each in neighbours}, "red looks like orange: practice, section 4"
    assert all(each["seen"] and each["why"] for each in neighbours)


@pytest.mark.parametrize(
    "given",
    [
        {"kind": "resistor", "value": "4k7", "tolerance_percent": "5"},
        {"kind": "resistor", "value": "R22"},
        {
            "kind": "capacitor",
            "value": "100n",
            "volts": "250",
            "dielectric": "film",
            "tolerance_percent": "10",
        },
        {"kind": "capacitor", "value": "4µ7", "dielectric": "tantalum", "volts": "35"},
        {"kind": "inductor", "value": "100µH", "tolerance_percent": "10"},
    ],
    ids=lambda given: f"{given['value']} {given['kind']}",
)
def test_everything_it_offers_reads_back_to_the_wanted_part(viewer: Any, given: dict[str, str]) -> None:
    found = looks(viewer, **given)
    assert found["rows"]
    assert found["codes"]
    kind = {"kind": given["kind"], "limit": "100"}
    wanted = viewer.get(APPEARANCE, given).json()["spec_text"].split()[0]
    for row in found["rows"]:
        scheme = {"scheme": row["scheme"]} if row["scheme"] else {}
        read = viewer.get(DECODE, {"bands": ",".join(row["colours"]), **kind, **scheme}).json()["readings"]
        assert wanted in {each["value_text"] for each in read}, row
    for code in found["codes"]:
        read = viewer.get(DECODE, {"marking": code, **kind}).json()["readings"]
        assert wanted in {each["value_text"] for each in read}, code


def test_a_type_number_is_looked_for_by_the_prints_it_carries(viewer: Any) -> None:
    assert "SN74LS04N" in looks(viewer, kind="ic", number="74LS04")["codes"]
    assert "C1815" in looks(viewer, kind="transistor", number="2SC1815")["codes"], "JIS: the 2S is left off"
    assert looks(viewer, kind="fuse", amps="1")["cautions"], "nothing to look for is said"


@pytest.mark.parametrize("bands", ["4", "5", "6"])
def test_the_drawing_names_every_band_for_an_eye_that_sees_no_colour(viewer: Any, bands: str) -> None:
    given = {"kind": "resistor", "value": "4k7", "tolerance_percent": "1"}
    answer = viewer.get(DRAWING, {**given, "bands": bands})
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "image/svg+xml")
    words = {text.text for text in ElementTree.fromstring(answer.content).iter(f"{SVG}text")}
    assert set(looks(viewer, **given)["bands"][bands]) <= words
    assert {"YE", "VT"} <= words


def test_without_bands_the_drawing_is_a_label_with_codes(viewer: Any) -> None:
    drawn = viewer.get(DRAWING, {"kind": "ic", "number": "74LS04"}).content.decode()
    assert "SN74LS04N" in drawn


def test_what_a_person_types_never_becomes_markup(viewer: Any) -> None:
    drawn = viewer.get(DRAWING, {"kind": "ic", "number": '"><script>x</script>'})
    assert drawn.status_code == 200
    assert b"<script" not in drawn.content
    assert drawn.headers["Content-Security-Policy"] == "default-src 'none'"
    ElementTree.fromstring(drawn.content)


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        ({}, "#/kind"),
        ({"kind": "gizmo"}, "#/kind"),
        ({"kind": "resistor", "value": "blue"}, "#/value"),
        ({"kind": "capacitor", "value": "100"}, "#/value"),
        ({"kind": "ic", "value": "4k7"}, "#/value"),
        ({"kind": "resistor", "value": "4k7", "volts": "-5"}, "#/volts"),
        ({"kind": "resistor", "value": "4k7", "volts": "1e999"}, "#/volts"),
        ({"kind": "resistor", "value": "4k7", "tcr_ppm": "x"}, "#/tcr_ppm"),
        ({"kind": "capacitor", "value": "1n", "tcr_ppm": "5"}, "#/tcr_ppm"),
        ({"kind": "resistor", "value": "4k7", "polarised": "2"}, "#/polarised"),
        ({"kind": "resistor", "number": "a\x00b"}, "#/number"),
        ({"kind": "resistor", "value": "4k7", "traits": "{}"}, "#/traits"),
        ({"kind": "resistor", "value": "4k7", "colour": "red"}, "#/colour"),
    ],
    ids=str,
)
@pytest.mark.parametrize("path", [APPEARANCE, DRAWING])
def test_what_is_no_spec_is_refused_where_it_is_wrong(
    viewer: Any, path: str, given: dict[str, str], pointer: str
) -> None:
    assert pointer in pointers(refused(viewer.get(path, given), 400))


@pytest.mark.parametrize("bands", ["3", "0", "x", "99999999999999999999", "²"])
def test_a_row_that_it_does_not_have_is_refused_with_those_it_has(viewer: Any, bands: str) -> None:
    given = {"kind": "resistor", "value": "4k7", "tolerance_percent": "1", "bands": bands}
    problem = refused(viewer.get(DRAWING, given), 400)
    assert pointers(problem) == {"#/bands"}
    assert "4 or 5 or 6" in problem["detail"]


def test_nobody_sees_it_without_a_sign_in(stranger: Any, db: None) -> None:
    for path in (APPEARANCE, DRAWING):
        refused(stranger.get(path, {"kind": "resistor", "value": "4k7"}), 401)
