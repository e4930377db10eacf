"""Band colours proposed from drawn parts, and the colour arithmetic against published figures."""

from __future__ import annotations

import io
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops

from inventory.decoding import Question, decode
from inventory.pictures import bands
from inventory.pictures.along_body import BadLine
from inventory.pictures.bands import propose_bands
from inventory.pictures.colour_space import difference, lab_of, linear_of
from inventory.pictures.taking_in import NotAPicture
from inventory.pictures.weighing import weighed
from tests.benchmarks.pictures import PAINT, Scene, bands_at_random, picture


def drawn(
    bands: str, seed: int = 1, **scene: object
) -> tuple[bytes, tuple[float, float], tuple[float, float]]:
    return picture(bands.split(), Scene(**{"spread": 4.0, **scene}), random.Random(seed))  # type: ignore[arg-type]


def png(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


# ---------------------------------------------------------------- colour arithmetic


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        # G. Sharma, W. Wu, E. N. Dalal, Color Research and Application 30 (2005) 21, table 1
        ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
        ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
        ((50, 2.8361, -74.0200), (50, 0, -82.7485), 3.4412),
        ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
        ((50, -1.1848, -84.8006), (50, 0, -82.7485), 1.0000),
        # International Color Consortium, HDR working group, summer 2020
        ((100, 0, 0), (0, 0, 0), 100.0),
        ((50, 2.5, 0), (73, 25, -18), 27.1492),
        ((50, 2.5, 0), (61, -5, 29), 22.8977),
        ((50, 2.5, 0), (56, -27, -3), 31.9030),
        ((50, 2.5, 0), (58, 24, 15), 19.4535),
        ((84.25, 5.74, 96.0), (84.46, 8.88, 96.49), 1.6743),
        ((84.25, 5.74, 96.0), (84.52, 5.75, 93.09), 0.5887),
    ],
)
def test_colour_difference_agrees_with_published_pairs(
    one: tuple[float, float, float], other: tuple[float, float, float], apart: float
) -> None:
    assert difference(one, other) == pytest.approx(apart, abs=5e-5)
    assert difference(other, one) == pytest.approx(apart, abs=5e-5)


@pytest.mark.parametrize(
    ("pixel", "lab"),
    [  # Lab of the sRGB primaries under D65, as B. Lindbloom's calculator gives them: from memory
        ((255, 255, 255), (100.0, 0.0, 0.0)),
        ((0, 0, 0), (0.0, 0.0, 0.0)),
        ((255, 0, 0), (53.24, 80.09, 67.20)),
        ((0, 255, 0), (87.73, -86.18, 83.18)),
        ((0, 0, 255), (32.30, 79.19, -107.86)),
    ],
)
def test_pixels_become_the_lab_values_of_their_standard(
    pixel: tuple[int, int, int], lab: tuple[float, float, float]
) -> None:
    assert lab_of(linear_of(pixel)) == pytest.approx(lab, abs=0.02)


# ---------------------------------------------------------------- bands


@pytest.mark.parametrize(
    "bands",
    [
        "yellow violet red gold",
        "brown black orange gold",
        "green blue brown silver",
        "orange orange black black brown",
        "grey red gold gold",
        "white brown green brown red",
    ],
)
@pytest.mark.parametrize(
    "scene", [{}, {"tilt": 25.0}, {"lamp": "warm"}, {"body": "light blue"}, {"blur": 2.0}]
)
def test_bands_of_a_drawn_part_are_found_in_order(bands: str, scene: dict[str, object]) -> None:
    proposal = propose_bands(*drawn(bands, **scene))
    assert len(proposal.bands) == len(bands.split())
    for band, colour in zip(proposal.bands, bands.split(), strict=True):
        assert colour in band.colours, proposal.text
    assert [band.at for band in proposal.bands] == sorted(band.at for band in proposal.bands)


@pytest.mark.parametrize("colour", [name for name in PAINT if name not in ("gold", "silver")])
def test_every_colour_is_named_first_or_second_in_a_good_picture(colour: str) -> None:
    proposal = propose_bands(*drawn(f"red {colour} red gold"))
    assert colour in proposal.bands[1].colours[:2]


def test_clicking_the_ends_the_other_way_round_turns_the_order() -> None:
    data, start, end = drawn("yellow violet red gold")
    forward, back = propose_bands(data, start, end), propose_bands(data, end, start)
    assert [band.colours[0] for band in back.bands] == [band.colours[0] for band in forward.bands][::-1]


def test_the_lamps_colour_is_taken_out_by_the_paper() -> None:
    """The same part under a warm lamp and in white light gives nearly the same measured colours."""
    white = propose_bands(*drawn("yellow violet red gold"))
    warm = propose_bands(*drawn("yellow violet red gold", lamp="warm"))
    assert white.light_by == warm.light_by == "paper"
    for one, other in zip(white.bands, warm.bands, strict=True):
        assert difference(lab_of(linear_of(one.seen)), lab_of(linear_of(other.seen))) < 9


def test_without_paper_it_says_that_the_lamp_is_in_the_colours() -> None:
    proposal = propose_bands(*drawn("yellow violet red gold", paper=(70, 84, 60)))
    assert proposal.light_by != "paper"
    assert any("white paper" in caution for caution in proposal.cautions)


def test_a_coloured_ground_is_named_since_card_and_a_warm_lamp_look_alike() -> None:
    for scene in ({"paper": (186, 150, 112)}, {"lamp": "warm"}):
        assert any(
            "coloured" in caution for caution in propose_bands(*drawn("red red red gold", **scene)).cautions
        )
    for lamp in ("white", "cool"):
        assert propose_bands(*drawn("red red red gold", lamp=lamp)).cautions == ()


def test_a_bare_body_has_no_bands_and_says_so() -> None:
    data, start, end = drawn("red red red red")
    image = Image.open(io.BytesIO(data))
    plain = Image.new("RGB", image.size, (236, 236, 232))
    plain.paste((212, 182, 138), (int(start[0]), int(start[1]) - 37, int(end[0]), int(end[1]) + 37))
    proposal = propose_bands(png(plain), start, end)
    assert proposal.bands == ()
    assert any("0 bands" in caution for caution in proposal.cautions)


def test_the_proposal_goes_into_the_decoder_as_it_is() -> None:
    proposal = propose_bands(*drawn("yellow violet red gold"))
    answer = decode(Question(bands=tuple(proposal.text.split(",")), kind="resistor"))
    assert 4700 * 10**6 in [reading.value for reading in answer.readings[:3]]


def test_most_parts_in_ordinary_pictures_are_read() -> None:
    """The floor under the measured rates of the benchmark, on fewer pictures."""
    chance = random.Random(20)
    listed = first = 0
    for _ in range(40):
        truth = bands_at_random(chance)
        scene = Scene(
            tilt=chance.uniform(-30, 30), blur=chance.uniform(0.5, 2), lamp=chance.choice(["white", "warm"])
        )
        proposal = propose_bands(*picture(truth, scene, chance))
        if len(proposal.bands) == len(truth):
            pairs = list(zip(proposal.bands, truth, strict=True))
            listed += all(colour in band.colours for band, colour in pairs)
            first += all(band.colours[:1] == (colour,) for band, colour in pairs)
    assert listed >= 34
    assert first >= 20


@pytest.mark.parametrize("at", range(4))
def test_glare_across_a_band_is_found_and_reported_and_nothing_is_sure_then(at: int) -> None:
    data, start, end = drawn("yellow violet red gold")
    image = Image.open(io.BytesIO(data))
    middle = start[0] + (end[0] - start[0]) * (0.10, 0.29, 0.48, 0.89)[at]
    row = Image.new("L", (image.width, 1))
    row.putdata([round(230 * math.exp(-(((x - middle) / 8) ** 2) / 2)) for x in range(image.width)])
    light = row.resize(image.size)
    proposal = propose_bands(png(ImageChops.add(image, Image.merge("RGB", (light,) * 3))), start, end)
    assert proposal.glare
    assert any("Glare" in caution for caution in proposal.cautions)
    answer = weighed(decode(Question(bands=tuple(proposal.text.split(",")), limit=60)), proposal.cells, 3)
    assert not [each for each in answer.readings if each.score > 0.8 and each.value != 4700 * 10**6]


def test_a_line_of_gloss_along_the_body_and_a_white_band_are_no_glare() -> None:
    for bands_drawn in ("yellow violet red gold", "white brown red gold", "grey white silver gold"):
        assert not propose_bands(*drawn(bands_drawn)).glare


@pytest.mark.parametrize("lamp", ["warm", "very warm", "cool", "green tube"])
def test_paper_under_any_lamp_gives_the_colour_of_the_light(lamp: str) -> None:
    proposal = propose_bands(*drawn("yellow violet red gold", lamp=lamp))
    assert proposal.light_by == "paper"
    assert [band.colours[0] for band in proposal.bands[:3]] == ["yellow", "violet", "red"]


def test_brown_card_is_distinguished_from_lamplit_paper_by_the_leads() -> None:
    proposal = propose_bands(*drawn("yellow violet red gold", paper=(186, 150, 112)))
    assert proposal.light_by == "leads and paints"
    pairs = zip(proposal.bands, ["yellow", "violet", "red", "gold"], strict=True)
    assert all(colour in band.colours for band, colour in pairs), proposal.text


# ---------------------------------------------------------------- bad questions


@pytest.mark.parametrize(
    ("start", "end"),
    [
        ((-1, 5), (50, 5)),
        ((5, 5), (500, 5)),
        ((5, 5), (5, 5)),
        ((5, 5), (20, 5)),
        ((float("nan"), 5), (50, 5)),
        ((5, float("inf")), (50, 5)),
    ],
)
def test_a_line_that_is_no_body_is_refused(start: tuple[float, float], end: tuple[float, float]) -> None:
    with pytest.raises(BadLine):
        propose_bands(png(Image.new("RGB", (100, 40), "white")), start, end)


def test_what_is_no_picture_is_refused() -> None:
    with pytest.raises(NotAPicture):
        propose_bands(b"red,red", (0, 0), (50, 0))


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 1000),
    start=st.tuples(st.floats(0, 119), st.floats(0, 79)),
    end=st.tuples(st.floats(0, 119), st.floats(0, 79)),
)
def test_any_line_over_any_picture_gives_bands_or_a_refusal(
    seed: int, start: tuple[float, float], end: tuple[float, float]
) -> None:
    noise = Image.frombytes("RGB", (120, 80), random.Random(seed).randbytes(120 * 80 * 3))
    try:
        proposal = propose_bands(png(noise), start, end)
    except BadLine:
        return
    assert len(proposal.bands) <= bands.MAX_BANDS
    for band in proposal.bands:
        assert len(band.colours) == len(band.shares) <= bands.MAX_COLOURS
        assert sum(band.shares) <= 1.01
        assert set(band.colours) <= set(bands.TONES)


@pytest.mark.parametrize("scene", ["across a band", "broad, across a band"])
def test_of_few_bands_under_glare_none_is_sure(scene: str) -> None:
    chance = random.Random(3)
    for _ in range(12):
        truth = bands_at_random(chance)
        proposal = propose_bands(*picture(truth, Scene(glare=scene), chance))
        if not proposal.bands or len(proposal.bands) >= 4:
            continue
        assert proposal.uncounted
        question = Question(bands=tuple(proposal.text.split(",")), kind="resistor", limit=60)
        assert all(each.score <= 0.5 for each in weighed(decode(question), proposal.cells, 3).readings)
