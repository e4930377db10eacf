"""How often band colours are read from drawn pictures: python -m tests.benchmarks.pictures

Every picture is drawn here, with its blur, noise, lamp, tilt and paint chosen, so the truth is known. The
paints are drawn from other values than the reader's own tones, but one hand wrote both, and no photograph is
among them: these figures are an upper bound for real pictures.
"""

from __future__ import annotations

import argparse
import io
import math
import random
import time
from dataclasses import astuple, dataclass, replace
from statistics import NormalDist, median

from PIL import Image, ImageChops, ImageDraw, ImageFilter

from inventory.decoding import Question, decode
from inventory.pictures.bands import BandProposal, propose_bands
from inventory.pictures.weighing import ASKED, weighed

# sRGB of band paint as it looks on parts under daylight: by eye, no source. Not the reader's tones.
PAINT = {
    "black": (28, 26, 28),
    "brown": (104, 58, 38),
    "red": (190, 40, 42),
    "orange": (232, 104, 36),
    "yellow": (236, 204, 52),
    "green": (38, 122, 66),
    "blue": (40, 82, 160),
    "violet": (118, 70, 142),
    "grey": (128, 130, 132),
    "white": (236, 234, 228),
    "gold": (180, 142, 66),
    "silver": (178, 178, 180),
}
BODIES = {
    "beige": (212, 182, 138),
    "light blue": (134, 184, 208),
    "green": (112, 150, 112),
    "brown": (150, 98, 66),
}
LAMPS = {
    "white": (1.0, 1.0, 1.0),
    "warm": (1.0, 0.84, 0.60),
    "cool": (0.82, 0.93, 1.0),
    "green tube": (0.86, 1.0, 0.80),
    "very warm": (1.0, 0.74, 0.42),
}
GLARES = {  # where a patch of it lies, and its width as a standard deviation, in lengths of the body
    "across a band": 0.035,
    "broad, across a band": 0.07,
    "beside the bands": 0.02,
}
DIGITS = list(PAINT)[:10]


@dataclass(frozen=True)
class Scene:
    """One way of taking the picture; lengths in pixels, tilt in degrees, spread in sRGB levels."""

    length: int = 220
    blur: float = 0.8
    noise: float = 3.0
    lamp: str = "white"
    tilt: float = 0.0
    spread: float = 8.0
    body: str = "beige"
    paper: tuple[int, int, int] = (236, 236, 232)
    careless: float = 0.02  # how far off the ends are clicked, in lengths
    glare: str = ""  # one of GLARES


E24 = [str(figure) for figure in (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30)]  # IEC 60063
E24 += [str(figure) for figure in (33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)]
E96 = [str(round(100 * 10 ** (step / 96))) for step in range(96)]  # IEC 60063
TIMES = dict(zip(["silver", "gold", *DIGITS], range(-2, 10), strict=True))


def bands_at_random(chance: random.Random) -> list[str]:
    """A code as parts are made: E24 in four bands, E96 in five."""
    figures, times, tolerances = chance.choice(
        [
            (chance.choice(E24), ["gold", *DIGITS[:6]], ["gold", "silver"]),
            (chance.choice(E96), ["gold", *DIGITS[:5]], ["brown", "red"]),
        ]
    )
    return [*(DIGITS[int(figure)] for figure in figures), chance.choice(times), chance.choice(tolerances)]


def microhms(bands: list[str]) -> int:
    """The value by the plain rule: figures, then the power of ten."""
    figures = int("".join(str(DIGITS.index(band)) for band in bands[:-2]))
    return figures * 10 ** (6 + TIMES[bands[-2]])


NORMAL = [NormalDist().inv_cdf((level + 0.5) / 256) for level in range(256)]


def grain(size: tuple[int, int], levels: float, chance: random.Random) -> Image.Image:
    """Normal noise about level 128, the same for the same chance: that of Pillow cannot be seeded."""
    noise = Image.frombytes("L", size, chance.randbytes(size[0] * size[1]))
    return noise.point([min(255, max(0, round(128 + levels * each))) for each in NORMAL])


def picture(
    bands: list[str], scene: Scene, chance: random.Random
) -> tuple[bytes, tuple[float, float], tuple[float, float]]:
    """A JPEG of a part on paper, and where a person would click its two ends."""
    long, thick = scene.length, scene.length * 0.34
    side = int(long * 2.2)
    image = Image.new("RGB", (side, side), scene.paper)
    draw = ImageDraw.Draw(image)
    left, middle = (side - long) / 2, side / 2
    draw.line([(0, middle), (side, middle)], fill=(170, 170, 172), width=max(2, int(long * 0.03)))
    body = tuple(level + chance.gauss(0, scene.spread / 2) for level in BODIES[scene.body])
    # Each band has one pot of paint, a little off its name.
    paints = [tuple(level + chance.gauss(0, scene.spread) for level in PAINT[name]) for name in bands]
    places = _places(len(bands))
    cap = thick / 2
    for x in range(int(left), int(left + long)):
        along = (x - left) / long
        bulge = 1.0 if along < 0.17 or along > 0.83 else 0.86  # the caps are thicker than the middle
        edge = min(x - left, left + long - x)
        half = cap * bulge * math.sqrt(min(1.0, edge / (0.06 * long)) + 0.02)
        here = [paint for place, paint in zip(places, paints, strict=True) if abs(along - place) < 0.031]
        _column(draw, x, middle, half, here[0] if here else body)
    if scene.glare:
        at = places[-1] - 0.08 if scene.glare == "beside the bands" else chance.choice(places)
        image = _glared(image, left + at * long, GLARES[scene.glare] * long)
    image = image.rotate(scene.tilt, Image.Resampling.BICUBIC, fillcolor=scene.paper)
    image = image.filter(ImageFilter.GaussianBlur(scene.blur))
    lamp = LAMPS[scene.lamp]
    channels = [
        channel.point([min(255, round(level * gain)) for level in range(256)])
        for channel, gain in zip(image.split(), lamp, strict=True)
    ]
    image = Image.merge("RGB", channels)
    if scene.noise:
        seed = random.Random(repr((bands, scene)))
        channels = [grain(image.size, scene.noise, seed) for _ in range(3)]
        image = ImageChops.add(image, Image.merge("RGB", channels), 1, -128)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=88)
    angle = math.radians(scene.tilt)
    ends = []
    for sign in (-1, 1):
        reach = sign * long / 2 * (1 - chance.uniform(0, 2) * scene.careless)
        off = chance.gauss(0, scene.careless * long / 2)
        ends.append(
            (
                side / 2 + reach * math.cos(angle) + off * math.sin(angle),
                side / 2 - reach * math.sin(angle) + off * math.cos(angle),
            )
        )
    return out.getvalue(), ends[0], ends[1]


def _glared(image: Image.Image, x: float, spread: float) -> Image.Image:
    """A patch of mirrored lamp across the whole body, clipped as a camera clips it."""
    row = Image.new("L", (image.width, 1))
    row.putdata([round(230 * math.exp(-(((at - x) / spread) ** 2) / 2)) for at in range(image.width)])
    light = row.resize(image.size)
    return ImageChops.add(image, Image.merge("RGB", (light, light, light)))


def _places(count: int) -> list[float]:
    """Where bands sit along the body: digits evenly, the tolerance apart."""
    step = 0.19 if count == 4 else 0.155
    return [0.10 + step * number for number in range(count - 1)] + [0.89]


def _column(draw: ImageDraw.ImageDraw, x: int, middle: float, half: float, paint: tuple[float, ...]) -> None:
    """One column of a round body: darker to its edges, with a line of gloss above the middle."""
    steps = max(2, int(2 * half))
    for step in range(steps):
        across = 2 * (step + 0.5) / steps - 1
        light = 0.55 + 0.5 * math.sqrt(max(0.0, 1 - (across + 0.25) ** 2))
        gloss = 110 * math.exp(-(((across + 0.5) / 0.12) ** 2))
        colour = tuple(max(0, min(255, round(level * light + gloss))) for level in paint)
        draw.point((x, middle - half + step), fill=colour)


@dataclass
class Rates:
    """Counts over pictures: the right number of bands found, named first, or at least listed.

    `sure_wrong` counts values at over 0.8 that are not the part's; `warned` pictures in which glare is named.
    """

    pictures: int = 0
    counted: int = 0
    bands: int = 0
    band_first: int = 0
    band_listed: int = 0
    value_first: int = 0
    value_in_three: int = 0
    sure: int = 0
    sure_wrong: int = 0
    warned: int = 0

    def __add__(self, other: Rates) -> Rates:
        return Rates(*(one + another for one, another in zip(astuple(self), astuple(other), strict=True)))

    @property
    def row(self) -> str:
        shares = (
            self.counted / self.pictures,
            self.band_first / self.bands,
            self.band_listed / self.bands,
            self.value_first / self.pictures,
            self.value_in_three / self.pictures,
            self.sure / self.pictures,
            self.sure_wrong / self.pictures,
            self.warned / self.pictures,
        )
        return "".join(f"{100 * share:8.0f} %" for share in shares)


def judge(proposal: BandProposal, truth: list[str]) -> Rates:
    rates = Rates(pictures=1, bands=len(truth), warned=int(proposal.glare))
    if proposal.bands:
        question = Question(bands=tuple(proposal.text.split(",")), kind="resistor", limit=ASKED)
        readings = weighed(decode(question), proposal.cells, 3).readings
        values = [reading.value for reading in readings]
        rates.value_first = values[:1] == [microhms(truth)]
        rates.value_in_three = microhms(truth) in values
        rates.sure = bool(readings) and readings[0].score > SURE
        rates.sure_wrong = rates.sure and not rates.value_first
    if len(proposal.bands) == len(truth):
        pairs = list(zip(proposal.bands, truth, strict=True))
        rates.counted = 1
        rates.band_first = sum(band.colours[:1] == (colour,) for band, colour in pairs)
        rates.band_listed = sum(colour in band.colours or not band.colours for band, colour in pairs)
    return rates


SURE = 0.8
CONDITIONS: dict[str, dict[str, object]] = {
    "good picture": {},
    "blur 1.5 px": {"blur": 1.5},
    "blur 2.5 px": {"blur": 2.5},
    "blur 4 px": {"blur": 4.0},
    "noise 8 levels": {"noise": 8.0},
    "noise 16 levels": {"noise": 16.0},
    "warm lamp": {"lamp": "warm"},
    "very warm lamp": {"lamp": "very warm"},
    "cool light": {"lamp": "cool"},
    "green tube": {"lamp": "green tube"},
    "warm lamp, no white paper": {"lamp": "warm", "paper": (70, 84, 60)},
    "on brown card": {"paper": (186, 150, 112)},
    "tilt 8 degrees": {"tilt": 8.0},
    "tilt 31 degrees": {"tilt": 31.0},
    "tilt 90 degrees": {"tilt": 90.0},
    "body 120 px long": {"length": 120},
    "body 70 px long": {"length": 70},
    "paint spread 4": {"spread": 4.0},
    "paint spread 15": {"spread": 15.0},
    "paint spread 22": {"spread": 22.0},
    "light blue body": {"body": "light blue"},
    "green body": {"body": "green"},
    "brown body": {"body": "brown"},
    "ends clicked 6 % off": {"careless": 0.06},
    "glare across a band": {"glare": "across a band"},
    "broad glare across a band": {"glare": "broad, across a band"},
    "glare beside the bands": {"glare": "beside the bands"},
    "glare across a band, warm lamp": {"glare": "across a band", "lamp": "warm"},
    "poor: warm, blur 2, noise 8, tilt 12": {
        "lamp": "warm",
        "blur": 2.0,
        "noise": 8.0,
        "tilt": 12.0,
        "spread": 12.0,
    },
}


GROUPS = {
    "IN WHITE LIGHT": (
        "good picture", "blur 1.5 px", "noise 8 levels", "tilt 8 degrees", "tilt 31 degrees",
        "tilt 90 degrees",
        "body 120 px long", "light blue body", "green body", "ends clicked 6 % off",
    ),
    "UNDER A LAMP": ("warm lamp", "very warm lamp", "cool light", "green tube"),
    "WITH GLARE": (
        "glare across a band", "broad glare across a band", "glare beside the bands",
        "glare across a band, warm lamp",
    ),
}  # fmt: skip


def measure(name: str, count: int, seed: int) -> tuple[Rates, float]:
    """Rates under one condition, and the median seconds of processor time that a picture takes to read."""
    chance = random.Random(f"{name} {seed}")
    scene = replace(Scene(), **CONDITIONS[name])  # type: ignore[arg-type]
    rates, seconds = Rates(), []
    for _ in range(count):
        truth = bands_at_random(chance)
        data, start, end = picture(truth, scene, chance)
        started = time.process_time()
        proposal = propose_bands(data, start, end)
        seconds.append(time.process_time() - started)
        rates += judge(proposal, truth)
    return rates, median(seconds)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pictures", type=int, default=60, help="pictures for each condition")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="conditions whose name contains this, or one of GROUPS")
    given = parser.parse_args()
    print(
        f"DRAWN PICTURES ONLY, no photograph among them; seed {given.seed}, {given.pictures} each.\n"
        "counted: as many bands found as there are; band: this colour named first, or listed at all;\n"
        f"value: what decoder and picture make of it, first or among three; sure: at over {SURE};\n"
        "sure, wrong: of all pictures; glare: named. ms of processor time."
    )
    columns = ("counted", "band 1st", "listed", "value 1st", "in three", "sure", "wrong", "glare", "ms")
    print(f"{'condition':38s}" + "".join(f"{column:>10s}" for column in columns))
    found: dict[str, Rates] = {}
    for name in CONDITIONS:
        if given.only in name or name in GROUPS.get(given.only, ()):
            found[name], seconds = measure(name, given.pictures, given.seed)
            print(f"{name:38s}{found[name].row}{1000 * seconds:10.0f}", flush=True)
    for group, names in GROUPS.items():
        if rates := [found[name] for name in names if name in found]:
            print(f"{group + f' ({len(rates)} conditions)':38s}{sum(rates, Rates()).row}")


if __name__ == "__main__":
    main()
