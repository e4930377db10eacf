"""Text proposed from a picture of a marking, as doubtful characters for the decoder. Needs the extra `[ocr]`.

The recogniser is confident even where it is wrong (of its reads above 0.9 about one in ten was, on drawn
pictures), so what comes back is a proposal for the person and the decoder, never an entry.
"""

from __future__ import annotations

import io
import threading
from collections.abc import Callable, Iterable
from functools import cache
from typing import Any, Final, NamedTuple

from PIL import Image, ImageOps

from inventory.decoding.patterns import BESIDE, CONFUSED
from inventory.enhance import enlarge, open_picture

TURNS: Final = (0, 90, 180, 270)
LONGEST_SIDE: Final = 2000  # px; the recogniser works no larger
SMALL_CROP: Final = 700  # px; below this a picture is taken for a crop of one marking
# Gentler than what suits the eye: the recogniser is led astray by grain before a person is.
BROUGHT_OUT: Final[dict[str, Any]] = {"contrast": 1, "local_contrast": 1, "sharpen": 0.5, "channel": "grey"}
SURE: Final = 0.9  # a character below this is offered with those it is mistaken for
SEEN: Final = 0.5  # and below this it counts as unreadable

_one_at_a_time = threading.Lock()  # the engine keeps its settings on itself, and its memory is large


class OcrNotInstalled(RuntimeError):
    def __init__(self) -> None:
        super().__init__('Reading text from pictures needs an extra: pip install -e ".[ocr]"')


class Proposal(NamedTuple):
    """One line, or all lines of one turn.

    `text` is in the decoder's notation (`?`, `[38]`), `confidence` the mean of its characters (0 to 1),
    `rotation` by how many degrees anticlockwise the picture was turned to read it.
    """

    text: str
    confidence: float
    rotation: int


def read_text(data: bytes) -> list[Proposal]:
    """What the picture may say, likeliest first: all lines of a quarter turn, and each line.

    Raises OcrNotInstalled, or a PictureError for bad data.
    """
    read = _engine()
    picture = open_picture(data)
    scale = LONGEST_SIDE / max(picture.size)
    if scale < 1:
        picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    as_it_is, enlarged = _on_a_margin(picture), None
    if scale > 1:
        enlarged = _on_a_margin(open_picture(enlarge(data, scale=min(scale, 3), **BROUGHT_OUT)))
    # A crop of small print is read enlarged; a whole board as it is, and enlarged only if that shows nothing.
    tries = [enlarged, as_it_is] if max(picture.size) < SMALL_CROP else [as_it_is, enlarged]
    return next((found for each in tries if each and (found := _proposals(read, each))), [])


def _on_a_margin(picture: Image.Image) -> Image.Image:
    """With its mean colour around it: the recogniser does not find print that touches the edge."""
    mean = picture.resize((1, 1), Image.Resampling.BOX).getpixel((0, 0))
    return ImageOps.expand(picture, int(0.7 * min(*picture.size, SMALL_CROP)), mean)  # type: ignore[arg-type]


def _proposals(read: Callable[..., Any], picture: Image.Image) -> list[Proposal]:
    weighed: list[tuple[float, Proposal]] = []
    for turn in TURNS:
        lines = [line for line in _lines(read, picture.rotate(turn, expand=True)) if line]
        if any(len(line) > 1 for line in lines):
            # A lone character beside real text is the outline of the body or its notch.
            lines = [line for line in lines if len(line) > 1]
        joined = [[pair for line in lines for pair in (*line, (" ", 1.0))][:-1]] if len(lines) > 1 else []
        for line in (*joined, *lines):
            scores = [score for character, score in line if character != " "]
            # Long text read surely is far better evidence than a short one read surely.
            weight = sum(score - SEEN for score in scores)
            mean = round(sum(scores) / len(scores), 3)
            weighed.append((weight, Proposal("".join(_cell(*pair) for pair in line), mean, turn)))
    weighed.sort(key=lambda each: -each[0])
    return [proposal for _, proposal in weighed]


def _cell(character: str, score: float) -> str:
    if (
        character in "[]|()" or character in BESIDE
    ):  # the decoder's own marks, and marks that mean nothing to it
        return " "
    if character == " " or (score >= SURE and character.isprintable()):
        return character
    if score < SEEN or not (character.isascii() or character in "µΩ"):
        return "?"
    alike = CONFUSED.get(character.upper(), "")
    return f"[{character}{alike}]" if alike else character


def _lines(read: Callable[..., Any], picture: Image.Image) -> Iterable[list[tuple[str, float]]]:
    """Each line of text as (character, score) pairs, in reading order."""
    png = io.BytesIO()
    picture.save(png, "PNG", compress_level=1)
    with _one_at_a_time:
        # Lines are not turned by the engine itself: each turn must stand for itself.
        result = read(png.getvalue(), use_cls=False, return_word_box=True, return_single_char_box=True)
    if result.txts is None:
        return
    for text, score, box, characters in zip(
        result.txts, result.scores, result.boxes, result.word_results, strict=True
    ):
        across, down = (max(axis) - min(axis) for axis in zip(*box, strict=True))
        if len(text) > 1 and down > 1.5 * across:
            continue  # upright print, which the engine turns by itself: another quarter turn has it in order
        singles = iter(characters)
        pairs = [(c, 1.0) if c == " " else (c, next(singles, (c, score))[1]) for c in text.strip()]
        yield [(character, float(sure)) for character, sure in pairs]


@cache
def _engine() -> Callable[..., Any]:
    try:
        from rapidocr import RapidOCR

        return RapidOCR(params={"Global.log_level": "error"})  # type: ignore[no-any-return]
    except ImportError:  # of either half of the extra
        raise OcrNotInstalled from None
