"""The reader of colours: every scheme of so many bands, or the one that the person named."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from . import axial_bands, capacitor_schemes, resistor_bands
from .bands import CONFUSED, RARE_ENTRY, Bands, Scheme, colours_of, described, read
from .candidates import Candidate, Notation
from .known import Known
from .reading import MalformedMarking, Question
from .words import LONGEST_TEXT

BAND_SCHEMES: tuple[Scheme, ...] = (
    *resistor_bands.SCHEMES,
    *axial_bands.INDUCTOR_SCHEMES,
    *capacitor_schemes.SCHEMES,
    *axial_bands.DIODE_SCHEMES,
)
MAX_BANDS = 9
NAMED_ONLY = frozenset((resistor_bands.BODY.name,))


class SeenBands(NamedTuple):
    """A row of colours in reading order; `scheme` is what the words say of the scheme, body included;
    `named`: some of it was said on purpose.
    """

    bands: Bands
    scheme: str
    named: bool


def bands_in(question: Question) -> SeenBands | None:
    """The colours asked about, as a list or in the words of a marking; None when it is no matter of colours.

    MalformedMarking for too many, or for a word that is no colour.
    """
    words, scheme = question.bands, question.scheme
    if not words:
        row = described(question.marking[:LONGEST_TEXT])
        if row is None:
            return None
        words, scheme = row.bands, f"{scheme} {row.scheme}"
    if len(words) > MAX_BANDS:
        raise MalformedMarking(f"No code here uses more than {MAX_BANDS} bands.", MAX_BANDS)
    return SeenBands(colours_of(words), f"{scheme} {question.body}".lower(), bool(scheme.strip()))


def schemes_for(seen: SeenBands, kind: str) -> tuple[list[Scheme], bool]:
    """The schemes to read by, and whether the person named them: those named go alone when they fit."""
    fitting = [
        each
        for each in BAND_SCHEMES
        if len(each.places) == len(seen.bands) and kind in ("", each.notation.kind)
    ]
    words = {word for each in fitting for word in each.keywords if seen.named and word in seen.scheme}
    if words:
        longest = max(map(len, words))
        most = [word for word in words if len(word) == longest]
        return [each for each in fitting if any(word in each.keywords for word in most)], True
    body = "body" in seen.scheme
    return [each for each in fitting if body or each.notation.name not in NAMED_ONLY], False


def read_bands(seen: SeenBands, known: Known, prior: Callable[[Notation, str], float]) -> Iterator[Candidate]:
    """All that the colours may mean. With the kind unknown, a scheme seldom met is read only in its usual
    colours.
    """
    schemes, named = schemes_for(seen, known.kind)
    for scheme in schemes:
        common = 1.0 if known.kind or named else prior(scheme.notation, scheme.notation.kind)
        rarest = RARE_ENTRY / min(max(common, 1e-6), 1.0)
        yield from read(seen.bands, scheme, known.era, known.budget, rarest)


def doubtful_bands(seen: SeenBands) -> Iterable[tuple[SeenBands, str]]:
    """The row with one colour taken for another that it is mistaken for, and the caution that says so."""
    for place, colours in enumerate(seen.bands):
        if colours is None or len(colours) != 1:
            continue
        for other in CONFUSED[colours[0]]:
            changed = (*seen.bands[:place], (other,), *seen.bands[place + 1 :])
            yield seen._replace(bands=changed), f"takes the {colours[0]} band for {other}"
