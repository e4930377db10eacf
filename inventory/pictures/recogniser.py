"""Lines of print in a picture, each character with how likely it is what. Needs the extra `[ocr]`.

The models are inside the package `rapidocr`: nothing is fetched. Of its recogniser the whole output is taken
and not the best text alone, as what is the second likeliest is often what is printed.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any, Final, NamedTuple

from PIL import Image

NEAR_SIDE: Final = 480  # px; the shorter side at which lines are looked for in a crop of one marking
OFFERED: Final = 0.01  # share below which a character is not worth a thought
STEP: Final = 8 / 48  # of the height: the recogniser takes 8 of 48 px at a time
LEVEL: Final = 1.5  # times as long as high, or as high as long: it is clear which way a line runs

_one_at_a_time = threading.Lock()  # its memory is large


class PrintedLine(NamedTuple):
    """One line of print, read one way up.

    `characters` in reading order, each with its shares, together at most 1; `places` where the middle of each
    lies from the start, and `length`, both in heights of the line; `turn` by how many degrees anticlockwise
    the picture must be turned to read it so; `middle` in pixels.
    """

    characters: tuple[Mapping[str, float], ...]
    length: float
    turn: int
    middle: tuple[float, float]
    places: tuple[float, ...] = ()


class OcrNotInstalled(RuntimeError):
    def __init__(self) -> None:
        super().__init__('Reading text from pictures needs an extra: pip install -e ".[ocr]"')


def lines_in(variants: Sequence[Image.Image]) -> list[PrintedLine]:
    """The lines of print in a picture, in reading order for each way up that they may be read.

    `variants` are the same picture with different contrast: lines are looked for in the first, and what all
    of them show is averaged. Raises OcrNotInstalled.
    """
    engine = _engine()
    with _one_at_a_time:
        return _lines(engine, variants)


def _lines(engine: Any, variants: Sequence[Image.Image]) -> list[PrintedLine]:
    import numpy as np

    pixels = [np.asarray(each.convert("RGB"))[:, :, ::-1].copy() for each in variants]
    boxes = engine.text_det(pixels[0]).boxes
    if boxes is None:
        return []
    found: list[PrintedLine] = []
    for box in boxes:
        across, down = (float(max(axis) - min(axis)) for axis in zip(*box.tolist(), strict=True))
        crops = [engine.crop_text_regions(each, [box])[0] for each in pixels]
        # The engine lays crops that are much higher than long on their side, anticlockwise.
        turns = (
            (90, 270) if down >= LEVEL * across else (0, 180) if across >= LEVEL * down else (0, 180, 90, 270)
        )
        for turn in turns:
            quarters = {0: 0, 180: 2, 90: 0, 270: 2}[turn] if len(turns) == 2 else turn // 90
            shares = np.mean([_shares(engine, np.rot90(crop, quarters)) for crop in crops], axis=0)
            long, high = max(across, down), min(across, down)
            middle = (float(box[:, 0].mean()), float(box[:, 1].mean()))
            characters, places = _characters(engine, shares)
            found.append(PrintedLine(characters, long / max(high, 1.0), turn, middle, places))
    return found


def _shares(engine: Any, crop: Any) -> Any:
    """Steps along the line x characters: how likely each is, as the recogniser has it."""
    rec = engine.text_rec
    shaped = rec.resize_norm_img(crop, max(320 / 48, crop.shape[1] / crop.shape[0]))
    return rec.session(shaped[None].astype("float32"))[0]


def _characters(engine: Any, shares: Any) -> tuple[tuple[dict[str, float], ...], tuple[float, ...]]:
    """Runs of steps with the same likeliest character are one character; what it may be is averaged there.

    With it the place of each, in heights of the line.
    """
    names = engine.text_rec.postprocess_op.character
    best = shares.argmax(axis=1)
    found = []
    places = []
    start = 0
    for at in range(1, len(best) + 1):
        if at < len(best) and best[at] == best[start]:
            continue
        if best[start] != 0:  # 0 is the gap between characters
            seen = shares[start:at].max(axis=0)
            seen[0] = 0.0
            likely = (seen > OFFERED).nonzero()[0]
            total = float(seen[likely].sum())
            found.append({names[each]: float(seen[each]) / max(total, float(seen.max())) for each in likely})
            places.append((start + at) / 2 * STEP)
        start = at
    return tuple(found), tuple(places)


@cache
def _engine() -> Any:
    try:
        from rapidocr import RapidOCR

        engine: Any = RapidOCR(
            params={"Global.log_level": "error", "Det.limit_side_len": NEAR_SIDE, "Global.use_cls": False}
        )
        engine._load_det_model()  # where it loads them at its first picture
        engine._load_rec_model()
    except ImportError:  # of either half of the extra
        raise OcrNotInstalled from None
    return engine
