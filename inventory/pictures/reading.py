"""What is read off one picture of a part, or several of the same: print and bands, each with its readings."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from inventory.decoding import Question, Readings
from inventory.decoding.explanation import hints
from inventory.markings import DecodedMarking, read_markings
from inventory.pictures import bands, printed_text
from inventory.pictures.combining import Combined, combine
from inventory.pictures.enlarging import enlarge
from inventory.pictures.printed_text import Print, fewest_on

MAX_PROPOSALS: Final = 6
AROUND: Final = 0.75  # of the line between the ends: what of the picture is looked at either side of it
Point = tuple[float, float]


def read_print(
    pictures: Sequence[bytes], box: Mapping[str, Any], asked: Callable[[str], Question]
) -> tuple[Print, list[DecodedMarking]]:
    """Text that a picture, or a box as `enlarge` takes it, may say, and what each means, likeliest first.

    Several pictures of the same part are made one, in pixels of the first.
    Raises OcrNotInstalled, BadEnlargement, or a PictureError for bad data.
    """
    data, turn = pictures[0], dict(box)
    cautions: tuple[str, ...] = ()
    if len(pictures) > 1:
        one = combine(pictures, **{name: turn.pop(name) for name in ("x", "y", "w", "h") if name in turn})
        data, cautions = one.data, _left_out(one)
    question = asked("?")
    found = printed_text.read_text(
        enlarge(data, **turn) if turn else data, fewest_on(question.kind, question.body)
    )._replace(cautions=cautions)
    offered = [proposal for proposal in found.proposals if proposal.text.strip()][:MAX_PROPOSALS]
    if not offered:
        return found, []
    decoded = read_markings([asked(each.text) for each in offered], [each.cells for each in offered])
    pairs = list(zip(offered, decoded, strict=True))
    # Only what a marking can be is worth a look, where there is any of it.
    pairs = [pair for pair in pairs if pair[1].answer.readings] or pairs
    return found._replace(proposals=tuple(each for each, _decoded in pairs)), [
        decoded for _each, decoded in pairs
    ]


def read_bands(
    pictures: Sequence[bytes], start: Point, end: Point, asked: Callable[[str], Question]
) -> tuple[bands.BandProposal, DecodedMarking]:
    """Colours of the bands between two ends of a body, in pixels of the first picture, and what they mean.

    Raises BadLine where the ends lie on no body, or a PictureError for bad data.
    """
    data = pictures[0]
    cautions: tuple[str, ...] = ()
    if len(pictures) > 1:
        bands.check_ends(data, start, end)
        reach = AROUND * math.dist(start, end)
        left, top = (max(0, int(min(axis) - reach)) for axis in zip(start, end, strict=True))
        right, below = (int(max(axis) + reach) for axis in zip(start, end, strict=True))
        one = combine(pictures, x=left, y=top, w=right - left, h=below - top)
        data, cautions = one.data, _left_out(one)
        start, end = (start[0] - left, start[1] - top), (end[0] - left, end[1] - top)
    seen = bands.propose_bands(data, start, end)
    seen = replace(seen, cautions=(*seen.cautions, *cautions))
    question = asked(seen.text or "?")
    if seen.bands:
        return seen, read_markings([question], [seen.cells])[0]
    return seen, DecodedMarking(Readings((), hints=hints(question, bands=True)), (), ())


def print_answer(found: Print, meant: Sequence[DecodedMarking]) -> dict[str, Any]:
    """The JSON of `GET photos/{id}/read/`."""
    return {
        "proposals": [
            {
                "text": each.text,
                "confidence": each.confidence,
                "rotation": each.rotation,
                **readings.to_dict(),
            }
            for each, readings in zip(found.proposals, meant, strict=True)
        ],
        "why_not": found.why_not,
        "what_to_try": list(found.what_to_try),
        "picture_cautions": list(found.cautions),
    }


def bands_answer(seen: bands.BandProposal, meant: DecodedMarking) -> dict[str, Any]:
    """The JSON of `GET photos/{id}/bands/`."""
    return {
        "bands": [
            {
                "at": each.at,
                "width": each.width,
                "colours": list(each.colours),
                "shares": list(each.shares),
                "seen": list(each.seen),
            }
            for each in seen.bands
        ],
        "text": seen.text,
        "body": list(seen.body),
        "white_found": seen.light_by == "paper",
        "glare": seen.glare,
        "picture_cautions": list(seen.cautions),
        **meant.to_dict(),
    }


def _left_out(one: Combined) -> tuple[str, ...]:
    return tuple(
        f"Picture {place + 1} does not match the first, so it was left out: take both from the same spot."
        for place in one.left_out
    )
