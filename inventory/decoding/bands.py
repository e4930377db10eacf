"""Colours: reading the words for them, and one engine that reads bands or dots by a table for each place."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Any, NamedTuple

from .candidates import Candidate, Notation, Tolerance
from .ratings import TEN_PICOFARADS
from .reading import NOTHING, MalformedMarking
from .shapes import Budget

DIGIT_COLOURS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
COLOURS = (*DIGIT_COLOURS, "gold", "silver", "pink", "none")
# Other spellings, and the two-letter names of IEC 60757 (from memory; resistor_bands.csv lists them).
SPELLINGS = {each: each for each in COLOURS} | {
    "gray": "grey", "purple": "violet", "lilac": "violet", "golden": "gold", "rose": "pink",
    "missing": "none",
    "absent": "none", "bk": "black", "bn": "brown", "rd": "red", "og": "orange", "ye": "yellow",
    "gn": "green",
    "bu": "blue", "vt": "violet", "gy": "grey", "wh": "white", "gd": "gold", "sr": "silver", "pk": "pink",
}  # fmt: skip
# German, French, Spanish, Italian, Dutch, Polish; with their accents and without (from memory).
_ABROAD = {
    "black": "schwarz noir negro nero zwart czarny",
    "brown": "braun marron brun marrón marrone bruin brązowy brazowy",
    "red": "rot rouge rojo rosso rood czerwony",
    "orange": "naranja arancio arancione oranje pomarańczowy pomaranczowy",
    "yellow": "gelb jaune amarillo giallo geel żółty zolty",
    "green": "grün grun gruen vert verde groen zielony",
    "blue": "blau bleu azul blu blauw niebieski",
    "violet": "violett lila violeta morado viola paars fioletowy",
    "grey": "grau gris grigio grijs szary",
    "white": "weiß weiss blanc blanco bianco wit biały bialy",
    "gold": "oro dorado goud złoty zloty",
    "silver": "silber argent plata plateado argento zilver srebrny",
}
SPELLINGS |= {word: colour for colour, words in _ABROAD.items() for word in words.split()}
FRENCH_GOLD = "or"
_FRENCH = frozenset(("noir", "marron", "brun", "rouge", "jaune", "vert", "bleu", "gris", "blanc", "argent"))
"""Beside which `or` is gold, and no English word between two colours."""
LONG_SPELLINGS = sorted((each for each in SPELLINGS if len(each) > 2), key=len, reverse=True)
COLOUR_WORD = re.compile(rf"\b(?:{'|'.join(LONG_SPELLINGS)})\b")

# Colours mistaken for each other (common practice, no source; body and reading rule R18: from bench practice,
# memory).
CONFUSED_GROUPS = (
    ("brown", "red", "orange"), ("orange", "yellow"), ("violet", "blue"), ("grey", "white", "silver"),
    ("green", "blue"),
    ("black", "brown"), ("gold", "brown", "yellow"), ("pink", "white", "grey", "red"),
)  # fmt: skip
CONFUSED: dict[str, tuple[str, ...]] = {
    colour: tuple(
        dict.fromkeys(
            other for group in CONFUSED_GROUPS if colour in group for other in group if other != colour
        )
    )
    for colour in COLOURS
}

Bands = tuple[tuple[str, ...] | None, ...]


class Entry(NamedTuple):
    """What one colour means at one place: `amount` by the place's role, words for it, likelihood, years,
    caution.
    """

    amount: Any
    text: str
    weight: float = 1.0
    caution: str = ""
    since: int = 0
    until: int = 9999


Table = Mapping[str, tuple[Entry, ...]]


class BandRole(NamedTuple):
    """One band or dot: its role (figure, multiplier, tolerance, small tolerance, volts, temperature, trait,
    suffix, mark) and its colours.
    """

    role: str
    table: Table


@dataclass(frozen=True, eq=False)
class Scheme:
    """A way to read a row of colours. Multiplier amounts are smallest units as (numerator, divisor)."""

    notation: Notation
    places: tuple[BandRole, ...]
    weight: float = 1.0
    either_end: bool = True
    point_after_first: bool = False
    missing_tolerance: Tolerance | None = None
    cautions: tuple[str, ...] = ()
    keywords: tuple[str, ...] = ()
    make: Callable[[list[Entry], float, tuple[tuple[str, str], ...], Scheme], Candidate | None] | None = None
    at: Mapping[str, tuple[int, ...]] = field(init=False)

    def __post_init__(self) -> None:
        where: dict[str, tuple[int, ...]] = {}
        for index, place in enumerate(self.places):
            where[place.role] = (*where.get(place.role, ()), index)
        object.__setattr__(self, "at", where)


def table(**entries: Entry | tuple[Entry, ...]) -> Table:
    return {colour: (each,) if isinstance(each, Entry) else each for colour, each in entries.items()}


FIGURES: Table = {colour: (Entry(figure, str(figure)),) for figure, colour in enumerate(DIGIT_COLOURS)}
FIRST_FIGURE: Table = {colour: entries for colour, entries in FIGURES.items() if colour != "black"}

MAX_ROWS = 1500
RARE_ENTRY = 0.015
"""With two and more bands unreadable, rarer meanings are left out, and the answer says it is cut."""
OTHER_END = 0.12
"""Weight of reading bands from the end the person did not start at."""


def read(
    bands: Bands, scheme: Scheme, era: int | None, budget: Budget, rarest: float = RARE_ENTRY
) -> Iterator[Candidate]:
    """Every reading of these bands by this scheme, from either end unless one is marked."""
    if len(bands) != len(scheme.places):
        return
    yield from read_one_way(bands, scheme, era, budget, MAX_ROWS, 1.0, rarest)
    if scheme.either_end and len(bands) > 1:
        yield from read_one_way(bands[::-1], scheme, era, budget, MAX_ROWS, OTHER_END, rarest)


def read_one_way(
    bands: Bands,
    scheme: Scheme,
    era: int | None,
    budget: Budget,
    most: int,
    weight: float,
    rarest: float = RARE_ENTRY,
) -> Iterator[Candidate]:
    choices: list[list[tuple[str, Entry]]] = []
    size = 1
    likely = weight
    least = rarest if sum(seen is None for seen in bands) > 1 else 0.0
    for seen, place in zip(bands, scheme.places, strict=True):
        colours = place.table if seen is None else [each for each in seen if each in place.table]
        options = [(colour, entry) for colour in colours for entry in place.table[colour]]
        if seen is None and least:
            usual = [each for each in options if each[1].weight >= least]
            budget.spent_out = budget.spent_out or len(usual) < len(options)
            options = usual
        if not options:
            return
        likely *= max(entry.weight for _, entry in options)
        size *= len(options)
        choices.append(options)
    if likely < least:
        budget.spent_out = True
        return
    if size > most or size > budget.left:
        budget.spent_out = True
    room = min(size, most, budget.left)
    budget.left -= room
    cautions = scheme.cautions
    if weight < 1:
        cautions = (*cautions, "read from the other end than the one you began at")
    for _, row in zip(range(room), product(*choices), strict=False):
        candidate = candidate_of(row, scheme, era, weight * scheme.weight, cautions)
        if candidate is not None:
            yield candidate


Row = Sequence[tuple[str, Entry]]


def candidate_of(
    row: Row, scheme: Scheme, era: int | None, weight: float, cautions: tuple[str, ...]
) -> Candidate | None:
    for _, entry in row:
        weight *= entry.weight
        if entry.caution:
            cautions = (*cautions, entry.caution)
        if era is not None and not entry.since <= era <= entry.until:
            weight *= 0.03
    if scheme.make is not None:
        return scheme.make([entry for _, entry in row], weight, used_of(row), scheme)
    at = scheme.at
    value: int | None = None
    tolerance = scheme.missing_tolerance
    figures = 0
    if "multiplier" in at:
        for index in at["figure"]:
            figures = figures * 10 + row[index][1].amount
        scale, divisor = row[at["multiplier"][0]][1].amount
        value, rest = divmod(figures * scale, divisor * 10 if scheme.point_after_first else divisor)
        if rest or not value:
            return None
    if "tolerance" in at:
        tolerance = row[at["tolerance"][0]][1].amount
    elif "small tolerance" in at and value is not None:
        above, below = row[at["small tolerance"][0]][1].amount
        tolerance = below if value <= TEN_PICOFARADS else above
        if tolerance is None:
            return None
    volts = row[at["volts"][0]][1].amount if "volts" in at else None
    temperature = row[at["temperature"][0]][1].amount if "temperature" in at else NOTHING
    traits: Mapping[str, Any] = NOTHING
    for index in at.get("trait", ()):
        traits = {**traits, **row[index][1].amount}
    return Candidate(
        scheme.notation, value, tuple(row), weight, tolerance, volts, cautions, (), temperature, traits
    )


def used_of(row: Row) -> tuple[tuple[str, str], ...]:
    return tuple([(colour, entry.text) for colour, entry in row])


def colours_of(words: Sequence[str]) -> Bands:
    """Colour cells of a list of bands; `?` any, `red|orange` or `[red orange]` either. MalformedMarking gives
    the index.
    """
    cells: list[tuple[str, ...] | None] = []
    for index, word in enumerate(words):
        text = word.strip().lower()
        if text.startswith("[") != text.endswith("]"):
            raise MalformedMarking(f"Band {index + 1}: this square bracket has no partner.", index)
        options: list[str] = []
        anything = False
        for each in re.split(r"[|,/\s]+", text.strip("[]").strip()):
            if each in ("?", "unknown", "unreadable"):
                anything = True
            elif each in SPELLINGS:
                options.append(SPELLINGS[each])
            elif each not in NOTING:
                raise MalformedMarking(
                    f"Band {index + 1}: “{each[:40]}” is not a colour this code uses.", index
                )
        if not options and not anything:
            raise MalformedMarking(f"Band {index + 1}: no colour is named.", index)
        cells.append(None if anything else tuple(dict.fromkeys(options)))
    return tuple(cells)


_NOTING = """
    wide double band stripe spot dot end body tip lower upper first last the dark light pale
"""
NOTING = frozenset(_NOTING.split())

PLACE_WORDS = (
    "body", "tip", "dot", "spot", "top", "bottom", "wide", "double", "stripe", "band", "bands", "end",
    "voltage",
    "tolerance", "left", "middle", "right", "lower", "upper",
)  # fmt: skip


class Described(NamedTuple):
    """A row of colours told in words: the bands in reading order and what the words say of the scheme."""

    bands: tuple[str, ...]
    scheme: str


TOKEN = re.compile(r"\?|[^\W\d_]+(?:\|[^\W\d_?]+|\|\?)*|\d+")


def in_one_language(words: Sequence[str]) -> list[str]:
    """The words of colours, `or` as gold where the others are French."""
    french = not _FRENCH.isdisjoint(words)
    return ["gold" if french and word == FRENCH_GOLD else word for word in words]


def described(text: str) -> Described | None:
    """“tantalum bead: blue-grey-grey spot”, “body green, tip brown, dot yellow”: bands and scheme; None if no
    colours.

    A sentence naming a bottom row with no corners is taken left to right and turned into reading order (mica
    dots).
    """
    low = text.lower()
    if COLOUR_WORD.search(low) is None:
        return None
    head, colon, tail = low.partition(":")
    scheme = low
    if colon and COLOUR_WORD.search(tail):
        low = tail
        if COLOUR_WORD.search(head):
            low = f"{head} {tail}"
    tokens = in_one_language(TOKEN.findall(low))
    named: list[tuple[str, str]] = []
    role = ""
    row = ""
    corner = ""
    doubled = "polyester" in scheme or "c280" in scheme
    for place, token in enumerate(tokens):
        parts = token.split("|")
        if token == "?" or all(each in SPELLINGS or each == "?" for each in parts):
            named.append((token, f"{row} {corner}".strip() or role))
            if doubled and tokens[place - 1 : place] in (["wide"], ["double"]):
                named.append(named[-1])  # two equal bands without a gap
            corner = ""
            following = tokens[place + 1] if place + 1 < len(tokens) else ""
            if role in ("body", "tip", "dot", "end") and following not in SPELLINGS:
                role = ""
        elif token in ("top", "bottom"):
            row, corner = token, ""
        elif token in ("left", "middle", "right"):
            corner = token
        elif token in PLACE_WORDS:
            role = token
    if len(named) == 1 and any(token.isdigit() for token in tokens):
        return None  # ORANGE DROP .022 MFD: the name of a part, not its bands
    if row and any(place.startswith("bottom") for _, place in named):
        return Described(in_dot_order(named), f"mica six {scheme}")
    by_role = {place: colour for colour, place in named if place in ("body", "tip", "dot", "end")}
    if "body" in by_role and "tip" in by_role:
        order = [by_role[each] for each in ("body", "tip", "dot", "end") if each in by_role]
        if "dot" not in by_role:
            order.insert(2, by_role["body"])
        return Described(tuple(order), f"body-tip-dot {scheme}")
    return Described(tuple(colour for colour, _ in named), scheme)


def in_dot_order(named: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """Six dots in reading order: top left to right, then bottom right to left."""
    top = [colour for colour, place in named if place.startswith("top")]
    cornered = {place.split()[1]: colour for colour, place in named if place.startswith("bottom ")}
    if cornered:
        return (*top, *(cornered[each] for each in ("right", "middle", "left") if each in cornered))
    bottom = [colour for colour, place in named if place == "bottom"]
    return (*top, *reversed(bottom))
