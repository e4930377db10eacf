"""The colour of the light on a part: from white paper beside it, bare leads, usual paints.

White paper under a lamp and coloured card in daylight look alike by themselves. Which it is shows on what
is neutral by its nature, the tinned leads (common practice, no source), and on how near the paints then come
to usual ones.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from statistics import median
from typing import Final, NamedTuple

from inventory.pictures.colour_space import Lab, Linear, difference, lab_of, linear_of

REFLECTS: Final = 0.85  # of the light, from white paper
SATURATED: Final = 8.0  # times more of one channel than of another: no lamp's white
TINTED: Final = 1.7  # in linear light: more than daylight or a white lamp tints white paper
# Linear sRGB of usual lights where no paper is seen: black bodies of 2,700, 3,500 and 5,000 K as a camera set
# for daylight has them, halfway corrected and whole, and an old tube. From memory.
USUAL: Final[dict[str, Linear]] = {
    "white light": (1.0, 1.0, 1.0),
    "a cool light": (0.70, 0.87, 1.0),
    "a warm lamp": (1.0, 0.70, 0.38),
    "a warm lamp, half corrected": (1.0, 0.83, 0.62),
    "a very warm lamp": (1.0, 0.58, 0.20),
    "a greenish tube": (0.74, 1.0, 0.66),
}
# How much worse, in colour differences, an explanation must be by its colours to be given up for the next.
PAPER_KNOWN: Final = 2.0
GUESSED: Final = 3.0


class Light(NamedTuple):
    """Linear RGB of a white surface under it. `known_by` is "paper", "leads and paints" or ""."""

    white: Linear
    known_by: str
    tinted: bool


class Surroundings(NamedTuple):
    """What is seen beside the body, in linear RGB; None where nothing of it is."""

    paper: Linear | None
    leads: Linear | None


def paper_in(samples: Sequence[tuple[int, int, int]]) -> Linear | None:
    """The paper's linear RGB from sRGB samples of what lies beside the body; None where it is no paper.

    Paper is bright and even; it may be lit by any lamp.
    """
    seen = sorted((pixel for pixel in samples if any(pixel)), key=sum)  # black is beyond the edge
    if len(seen) < 40:
        return None
    bright = seen[len(seen) * 6 // 10 : len(seen) * 19 // 20]
    level = tuple(int(median(pixel[channel] for pixel in bright)) for channel in range(3))
    if max(level) < 130 or median(abs(sum(pixel) - sum(level)) for pixel in bright) > 60:
        return None
    paper = linear_of((level[0], level[1], level[2]))
    return paper if max(paper) <= SATURATED * max(min(paper), 1e-6) else None


def light_on(around: Surroundings, paints: Sequence[Linear], unlike_paint: Callable[[Lab], float]) -> Light:
    """The light under which leads come out grey and paints like paints.

    `paints` in linear RGB as they are in the picture; `unlike_paint` says how far a colour is from any paint.
    """
    neutral = _grey(around.paper or (REFLECTS,) * 3)
    if around.paper is None:
        level = max(neutral)
        tries = [(_scaled(white, level), GUESSED * (name != "white light")) for name, white in USUAL.items()]
        white, _ = min(
            tries, key=lambda each: each[1] + _strange(each[0], around.leads, paints, unlike_paint)
        )
        return Light(white, "" if white == tries[0][0] else "leads and paints", _is_tinted(white))
    if not _is_tinted(around.paper):
        return Light(around.paper, "paper", tinted=False)
    between = tuple((one * other) ** 0.5 for one, other in zip(around.paper, neutral, strict=True))
    tries = [
        (around.paper, 0.0),
        ((between[0], between[1], between[2]), PAPER_KNOWN),
        (neutral, PAPER_KNOWN),
    ]
    white, _ = min(tries, key=lambda each: each[1] + _strange(each[0], around.leads, paints, unlike_paint))
    return Light(white, "paper" if white == around.paper else "leads and paints", tinted=True)


def in_white_light(pixel: Linear, light: Light) -> Linear:
    """Linear RGB as it would be with white paper at 85 % reflectance in white light; at most 1."""
    red, green, blue = (
        min(1.0, REFLECTS * level / max(whole, 1e-6)) for level, whole in zip(pixel, light.white, strict=True)
    )
    return red, green, blue


def _strange(
    white: Linear, leads: Linear | None, paints: Sequence[Linear], unlike_paint: Callable[[Lab], float]
) -> float:
    """Mean distance of the paints from any paint, and of the leads from grey, in colour differences."""
    light = Light(white, "", tinted=False)
    apart = [min(20.0, unlike_paint(lab_of(in_white_light(paint, light)))) for paint in paints]
    strange = sum(apart) / len(apart) if apart else 0.0
    if leads is not None:
        lab = lab_of(in_white_light(leads, light))
        strange += min(20.0, difference(lab, (lab[0], 0.0, 0.0)))
    return strange


def _is_tinted(white: Linear) -> bool:
    return max(white) > TINTED * min(white)


def _grey(pixel: Linear) -> Linear:
    level = max(pixel)
    return level, level, level


def _scaled(white: Linear, level: float) -> Linear:
    return white[0] * level, white[1] * level, white[2] * level
