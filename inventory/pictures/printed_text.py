"""Text proposed from a picture of a marking, as doubtful characters for the decoder; or why there is none.

The recogniser is sure even where it is wrong, so what comes back is a proposal for the person and the
decoder, never an entry: a character brings along what else it may be, and a line of which less is read than
stands there is no print found. Needs the extra `[ocr]` to read, not to judge.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from statistics import median
from typing import Any, Final, NamedTuple

from PIL import Image, ImageOps

from inventory.decoding.patterns import BESIDE, CONFUSED
from inventory.pictures.enlarging import enlarge
from inventory.pictures.recogniser import PrintedLine, lines_in
from inventory.pictures.taking_in import open_picture

LONGEST_SIDE: Final = 2000  # px; nothing larger is looked at
NEAR_SIDE: Final = (
    900  # px; a smaller picture is one of a marking and is enlarged to this, three times at most
)
# Gentler than what suits the eye: the recogniser is led astray by grain before a person is.
BROUGHT_OUT: Final[dict[str, Any]] = {"contrast": 1, "local_contrast": 1, "sharpen": 0.5, "channel": "grey"}
SURE: Final = 0.97  # a character below this is offered with what else it may be
WORTH: Final = 0.02  # share from which another character is offered
MISTAKEN: Final = 0.02  # share left for each that it is often mistaken for, whatever the recogniser says
SEEN: Final = 0.3  # below this it counts as unreadable
READABLE_LINE: Final = 0.55  # mean share of its characters below which a line is none
CHARACTERS_A_HEIGHT: Final = 1.1  # in one height of a line stand some two; of fewer than this most are unread
FEWEST: Final = 2
"""One letter alone is the outline of the body or a speck, and says nothing of the part."""
MORE_ON: Final[dict[str, int]] = {
    "to-": 3, "dip": 3, "crystal": 3, "transistor": 3, "ic": 3, "regulator": 4, "memory": 4,
}  # fmt: skip
"""What bodies and kinds carry at least, as a type or a frequency has it (common practice, no source)."""
GAP: Final = 1.7  # of the usual distance of characters: so far apart one between them was not read
AS_READ: Final = 1.0  # so many characters less such a line counts without the one that was missed
NOT_FOUND: Final = "No print found."
TOO_FEW: Final = "No print found: fewer characters could be read than the part carries."
WHAT_TO_TRY: Final = (
    "Go nearer, until the print fills the picture, and let the camera focus.",
    "Let the light come from the side; two pictures with light from different sides can be read as one.",
    "Turn the print level, and try it the other way up.",
)


class PrintProposal(NamedTuple):
    """One line, or all lines of one turn.

    `text` is in the decoder's notation (`?`, `[38]`), `confidence` the mean share of its characters (0 to 1),
    `rotation` by how many degrees anticlockwise the picture was turned to read it, `cells` what each
    character may be.
    """

    text: str
    confidence: float
    rotation: int
    cells: tuple[Mapping[str, float], ...] = ()


class Print(NamedTuple):
    """Proposals, likeliest first; where there are none, why not and what to try.

    `cautions` are of the pictures.
    """

    proposals: tuple[PrintProposal, ...]
    why_not: str = ""
    what_to_try: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def fewest_on(kind: str, body: str) -> int:
    """How many characters a part of this kind or body carries at least."""
    words = (*body.lower().split(), kind)
    return max(
        (count for word in words for name, count in MORE_ON.items() if word.startswith(name)), default=FEWEST
    )


def read_text(data: bytes, fewest: int = FEWEST) -> Print:
    """What the picture may say: all lines of one way up, and each line, likeliest first.

    Raises OcrNotInstalled, or a PictureError for bad data.
    """
    picture = open_picture(data)
    if max(picture.size) > LONGEST_SIDE:
        picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    scale = min(3.0, NEAR_SIDE / max(picture.size))
    if scale <= 1:
        return judged(lines_in([_on_a_margin(picture)]), fewest)
    brought_out = open_picture(enlarge(data, scale=scale, **BROUGHT_OUT))
    plain = picture.resize(brought_out.size, Image.Resampling.BICUBIC)
    return judged(lines_in([_on_a_margin(brought_out), _on_a_margin(plain)]), fewest)


def _on_a_margin(picture: Image.Image) -> Image.Image:
    """With its mean colour around it: the recogniser does not find print that touches the edge."""
    mean = picture.resize((1, 1), Image.Resampling.BOX).getpixel((0, 0))
    return ImageOps.expand(picture, min(picture.size) // 2 if max(picture.size) <= NEAR_SIDE else 40, mean)  # type: ignore[arg-type]


def judged(lines: Iterable[PrintedLine], fewest: int = FEWEST) -> Print:
    """Lines as proposals; those of which too little was read are none."""
    turns: dict[int, list[list[Mapping[str, float]]]] = {}
    as_read: dict[int, list[list[Mapping[str, float]]]] = {}
    too_few = False
    for line in sorted(lines, key=_place):
        cells = _trimmed([_cleaned(character) for character in line.characters])
        read = [cell for cell in cells if cell and " " not in cell]
        if len(cells) < CHARACTERS_A_HEIGHT * line.length or len(read) < 2 or _mean(cells) < READABLE_LINE:
            too_few = True
            continue
        if at := _missed(line):
            as_read.setdefault(line.turn, []).append(cells)
            with_gap = (*line.characters[:at], {}, *line.characters[at:])
            cells = _trimmed([_cleaned(character) for character in with_gap])
        turns.setdefault(line.turn, []).append(cells)
    weighed: list[tuple[float, PrintProposal]] = []
    for turn, found in turns.items():
        joined = [[cell for cells in found for cell in (*cells, {" ": 1.0})][:-1]] if len(found) > 1 else []
        for cells in (*joined, *found, *as_read.get(turn, ())):
            if sum(" " not in cell for cell in cells) < fewest:
                too_few = True
                continue
            # Long text read surely is far better evidence than a short one read surely.
            weight = sum(max(cell.values(), default=0.0) - 0.5 for cell in cells if " " not in cell)
            weight -= AS_READ if cells in as_read.get(turn, ()) else 0.0
            weighed.append((weight, _proposal(cells, turn)))
    if not weighed:
        return Print((), TOO_FEW if too_few else NOT_FOUND, WHAT_TO_TRY)
    weighed.sort(key=lambda each: -each[0])
    return Print(tuple(proposal for _, proposal in weighed))


def _missed(line: PrintedLine) -> int:
    """Before which character one was not read, as they stand too far apart there; 0 for none."""
    places = line.places
    gaps = [
        after - before if " " not in (*line.characters[at], *line.characters[at + 1]) else 0.0
        for at, (before, after) in enumerate(pairwise(places))
    ]
    if len(gaps) < 3:
        return 0
    usual = [gap for gap in gaps if gap]
    widest = max(range(len(gaps)), key=gaps.__getitem__)
    return widest + 1 if usual and gaps[widest] >= GAP * median(usual) else 0


def _place(line: PrintedLine) -> tuple[float, float]:
    """Down and then across, as one reads, with the picture turned so that the line is upright."""
    x, y = line.middle
    return {0: (y, x), 180: (-y, -x), 90: (-x, y), 270: (x, -y)}[line.turn]


def _cleaned(character: Mapping[str, float]) -> dict[str, float]:
    """What a character may be, of what the decoder knows: wide forms made plain, other scripts left out."""
    found: dict[str, float] = {}
    for name, share in character.items():
        plain = unicodedata.normalize("NFKC", name)
        if len(plain) != 1 or plain in "[]|()?" or plain in BESIDE:  # the decoder's own marks, and idle ones
            plain = " "
        if (plain.isascii() and plain.isprintable()) or plain in "µμΩ":
            found[plain] = found.get(plain, 0.0) + share
    if not found:
        return {}
    if max(found, key=found.__getitem__) == " ":
        return {" ": 1.0}
    found.pop(" ", None)
    return found


def _trimmed(cells: list[dict[str, float]]) -> list[Mapping[str, float]]:
    while cells and " " in cells[0]:
        cells.pop(0)
    while cells and " " in cells[-1]:
        cells.pop()
    return list(cells)


def _mean(cells: Sequence[Mapping[str, float]]) -> float:
    best = [max(cell.values(), default=0.0) for cell in cells if " " not in cell]
    return sum(best) / len(best) if best else 0.0


def _proposal(cells: Sequence[Mapping[str, float]], turn: int) -> PrintProposal:
    offered = [_offered(cell) for cell in cells]
    text = "".join(_notation(cell) for cell in offered)
    return PrintProposal(
        text, round(_mean(cells), 3), turn, tuple(cell for cell in offered if " " not in cell)
    )


def _offered(cell: Mapping[str, float]) -> dict[str, float]:
    """What a character may be, with what it is often mistaken for; {} where it is unread.

    A small k is as often a K: they differ in height alone, and 102K is no 102 kilohms.
    """
    best = max(cell, key=cell.__getitem__, default="")
    if not best or cell[best] < SEEN:
        return {}
    if best == "k" and cell[best] >= SURE:
        return {"K": cell[best] / 2, "k": cell[best] / 2}
    if best == " " or cell[best] >= SURE:
        return {best: cell[best]}
    offered = {name: share for name, share in cell.items() if share >= WORTH}
    for other in CONFUSED.get(best.upper(), ""):
        if other not in offered:
            offered[other] = MISTAKEN
    total = max(1.0, sum(offered.values()))
    return {
        name: round(share / total, 4) for name, share in sorted(offered.items(), key=lambda each: -each[1])
    }


def _notation(cell: Mapping[str, float]) -> str:
    names = "".join(cell)
    return "?" if not names else names if len(names) == 1 else f"[{names}]"
