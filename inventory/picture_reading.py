"""What is read off a picture: print and bands, each with the bench's own readings of it."""

from collections.abc import Callable
from typing import Any, Final

from inventory import ocr
from inventory.band_colours import Proposal, propose_bands
from inventory.decoding import Answer, Question
from inventory.decoding.decoder import hints
from inventory.enhance import enlarge
from inventory.markings import Told, read_markings

MOST_PROPOSALS: Final = 6
Point = tuple[float, float]


def read_print(
    data: bytes, box: dict[str, Any], asked: Callable[[str], Question]
) -> list[tuple[ocr.Proposal, Told]]:
    """Text that a picture, or a box of it as `enlarge` takes it, may say; likeliest first.

    Raises OcrNotInstalled, BadEnlargement, or a PictureError for bad data.
    """
    found = ocr.read_text(enlarge(data, **box) if box else data)
    found = [proposal for proposal in found if proposal.text.strip()][:MOST_PROPOSALS]
    told = read_markings([asked(each.text) for each in found]) if found else []
    pairs = list(zip(found, told, strict=True))
    # Only what a marking can be is worth a look, where there is any of it.
    return [pair for pair in pairs if pair[1].answer.readings] or pairs


def read_bands(
    data: bytes, start: Point, end: Point, asked: Callable[[str], Question]
) -> tuple[Proposal, Told]:
    """Colours of the bands between two ends of a body, in pixels, and what they mean.

    Raises BadLine where the ends lie on no body, or a PictureError for bad data.
    """
    seen = propose_bands(data, start, end)
    question = asked(seen.text or "?")
    if seen.bands:
        return seen, read_markings([question])[0]
    return seen, Told(Answer((), hints=hints(question, bands=True)), (), ())
