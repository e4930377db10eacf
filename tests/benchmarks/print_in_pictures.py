"""How much enlargement helps faint print, and how often the recogniser reads it.

python -m tests.benchmarks.print_in_pictures

Pictures are drawn here in a clean face, so these figures flatter every reader: worn ink, laser marks and
glass are harder. The recogniser's columns need the extra [ocr]; without it they are left out.
"""

from __future__ import annotations

import argparse
import io
import random
import time
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import mean

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

from inventory.decoding import Question, decode
from inventory.decoding.patterns import words_of
from inventory.pictures.enlarging import READABLE, enlarge
from inventory.pictures.printed_text import PrintProposal, read_text
from inventory.pictures.recogniser import OcrNotInstalled
from inventory.pictures.weighing import ASKED, weighed
from tests.benchmarks.pictures import grain

MARKINGS = (
    "104K 100V", "SN74LS04N", "C1815 Y", "4116-15", "BC547B", "47n 250V", "2A223J", "LM358N", "8213", "R47 K",
    "D2764A-25", "1N4148", "68n J63", "470 16V", "HEF4093", "TL072CP", "BZX79C5V1", "MK4564N", "2SK170",
    "102K 1kV",
)  # fmt: skip


@dataclass(frozen=True)
class Print:
    """How the print looks: capital height in pixels, contrast and noise in grey levels, blur in pixels."""

    height: int = 12
    contrast: int = 60
    blur: float = 0.8
    noise: float = 3.0


SURE = 0.8
CONDITIONS = {
    "plain, 12 px": Print(),
    "plain, 24 px": Print(height=24),
    "faint (30 levels)": Print(contrast=30),
    "very faint (18 levels)": Print(contrast=18, noise=2.0),
    "blurred 1.5 px": Print(blur=1.5),
    "blurred 1 px, faint": Print(blur=1.0, contrast=30),
    "noisy (8 levels)": Print(noise=8.0),
    "8 px high": Print(height=8, blur=0.6),
}


def drawn(text: str, look: Print, turn: int, light: bool) -> tuple[bytes, Image.Image]:
    """A picture of the marking under slanting light, and its sharp mask before it was turned."""
    font = ImageFont.load_default(look.height * 1.4)
    left, top, right, bottom = font.getbbox(text)
    mask = Image.new("L", (int(right - left) + 24, int(bottom - top) + 16), 0)
    ImageDraw.Draw(mask).text((12 - left, 8 - top), text, font=font, fill=255)
    ground = 90 if light else 170
    body = Image.new("L", mask.size, ground)
    body.paste(ground + (look.contrast if light else -look.contrast), mask=mask)
    slope = Image.linear_gradient("L").rotate(90).resize(mask.size).point(lambda level: 110 + level // 6)
    body = ImageChops.overlay(body, slope).filter(ImageFilter.GaussianBlur(look.blur))
    noise = grain(body.size, look.noise, random.Random(repr((text, look, turn, light))))
    body = ImageChops.add(body, noise, 1, -128)
    out = io.BytesIO()
    body.rotate(turn, expand=True).save(out, "PNG")
    return out.getvalue(), mask


def print_distinguished_from_ground(picture: bytes, mask: Image.Image, turn: int) -> float:
    """The best share that one threshold over all puts right, print and ground counting the same."""
    image = Image.open(io.BytesIO(picture)).convert("L").rotate(-turn, expand=True)
    ink = mask.resize(image.size, Image.Resampling.BICUBIC).point(lambda level: 255 * (level > 127))
    on, off = image.histogram(ink), image.histogram(ImageChops.invert(ink))
    shares = [(sum(on[at:]) / sum(on) + sum(off[:at]) / sum(off)) / 2 for at in range(257)]
    return max(max(shares), 1 - min(shares))  # dark print on a light body counts as well


def matches(proposal: PrintProposal, text: str) -> bool:
    """Whether the proposal can be the text; gaps are not counted."""
    cells = [cell for word in words_of(proposal.text)[0] for cell in word.cells]
    truth = text.replace(" ", "")
    return len(cells) == len(truth) and all(
        cell is None or character in cell for cell, character in zip(cells, truth, strict=True)
    )


def same_part(proposals: Sequence[PrintProposal], text: str) -> tuple[bool, bool]:
    """Whether the first reading of the first proposal that has any is that of the marking as it is printed,
    and whether it is over SURE."""
    truth = decode(Question(marking=text, limit=1)).readings[0]
    for proposal in proposals[:6]:
        answer = decode(Question(marking=proposal.text, limit=ASKED))
        readings = weighed(answer, proposal.cells, 1).readings
        if readings:
            first = readings[0]
            same = (first.kind, first.value, first.number) == (truth.kind, truth.value, truth.number)
            return same, first.score > SURE
    return False, False


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--markings", type=int, default=len(MARKINGS), help="for each condition")
    parser.add_argument("--no-ocr", action="store_true", help="only what the enlargement does")
    given = parser.parse_args()
    reading = not given.no_ocr
    print(
        f"DRAWN PICTURES ONLY, no photograph among them; seed {given.seed}, {given.markings} markings each,\n"
        "half of them upside down or on their side. told: pixels that one threshold puts right, print and\n"
        "ground counting the same; first, in three: proposals that can be the text; value: the first\n"
        f"reading is that of the marking as printed; wrong: another, at over {SURE}; none: no print found."
    )
    columns = ("told bare", "enhanced", "read 1st", "in three", "value", "wrong", "none", "s of cpu")
    print(f"{'condition':26s}" + "".join(f"{column:>12s}" for column in columns))
    everything: list[list[float]] = []
    for name, look in CONDITIONS.items():
        chance = random.Random(f"{name} {given.seed}")
        rows: list[list[float]] = []
        for text in chance.sample(MARKINGS, given.markings):
            turn = chance.choice((0, 90, 180, 270))
            picture, mask = drawn(text, look, turn, light=chance.random() < 0.6)
            plain = {"scale": READABLE["scale"], "contrast": READABLE["contrast"], "channel": "grey"}
            row = [
                print_distinguished_from_ground(enlarge(picture, **plain), mask, turn),
                print_distinguished_from_ground(enlarge(picture, **READABLE), mask, turn),
            ]
            try:
                row += _read(picture, text) if reading else []
            except OcrNotInstalled:
                reading = False
            rows.append(row)
        everything += rows
        print(f"{name:26s}{_means(rows)}", flush=True)
    print(f"{'ALL':26s}{_means(everything)}")


def _read(picture: bytes, text: str) -> list[float]:
    started = time.process_time()
    proposals = read_text(picture).proposals
    seconds = time.process_time() - started
    fits = [matches(proposal, text) for proposal in proposals[:3]]
    same, sure = same_part(proposals, text)
    return [fits[:1] == [True], any(fits), same, sure and not same, not proposals, seconds]


def _means(rows: list[list[float]]) -> str:
    means = [mean(column) for column in zip(*rows, strict=True)]
    return "".join(f"{100 * each:10.0f} %" for each in means[:7]) + "".join(
        f"{each:12.1f}" for each in means[7:]
    )


if __name__ == "__main__":
    main()
