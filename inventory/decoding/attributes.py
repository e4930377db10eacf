"""What the other words of a marking may be: volts, tolerance, characteristic, date, power, safety class, or
nothing.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache
from typing import Any, NamedTuple

from .candidates import lopsided, percent
from .dates import dates_in
from .patterns import MarkingWord
from .ratings import (
    EIA_VOLTS,
    LETTER_VOLTS,
    TOLERANCE_LETTERS,
    plain_volts,
)
from .temperature import USUAL_CODES, characteristic


class Attribute(NamedTuple):
    """One role a word may play beside the value: `role` names the field, `amount` fills it."""

    role: str  # volts, letter, tolerance, temperature, date, trait, nothing
    amount: Any
    text: str
    weight: float


NOT_PRINTED = ", the V not printed"
NUMBER = r"[0-9]{1,5}(?:[.,][0-9]{1,2})?"
VOLTS = re.compile(
    rf"(?:DC|AC|=|~)?({NUMBER})(kV|KV|V|v|WV|VW|Volts?|volts?|VOLTS?)(DCW?|dc|AC|ac|~|-|=|W)?\.?"
)
VOLTS_BEFORE = re.compile(rf"(?:DC|AC|WV|V)({NUMBER})")
VOLTS_SIGNED = re.compile(rf"({NUMBER})(~|-|=)")  # 63-, 250~
VOLTS_POINT = re.compile(r"([0-9])V([0-9])")  # 6V3
PERCENT = re.compile(r"(?:±|\+/-|\+-|\+/−)?([0-9]{1,2}(?:[.,][0-9]{1,3})?)%")
LOPSIDED = re.compile(r"\+([0-9]{1,3})%?/?-([0-9]{1,3})%?|-([0-9]{1,3})%?/?\+([0-9]{1,3})%?")
WATTS = re.compile(r"([0-9]{1,3}(?:/[0-9]{1,2}|[.,][0-9]{1,3})?)(?:W|w|Watts?|watts?)")
CELSIUS = re.compile(r"[-+]?([0-9]{2,3})(?:°C|℃|°|C)")
SAFETY = re.compile(r"[XY][123](?:[XY][123])?")
FILM = {
    "MKT": "film",
    "MKP": "film",
    "MKS": "film",
    "MKC": "film",
    "FKP": "film",
    "KP": "film",
    "MKPX2": "film",
    "PP": "film",
}
CLIMATIC = re.compile(r"[0-9]{2}/[01][0-9]{2}/[0-9]{2}")
"""Cold, heat in °C, days of damp: 40/085/56 (IEC 60068-1 Annex A, from memory)."""
DECIMAL_VOLTS = re.compile(r"[0-9]{1,2}[.,]5|6[.,]3")
SECTION = re.compile(r"(?:[-+][0-9.]{1,5}){1,3}")
BIPOLAR = frozenset(("BP", "NP", "BI-POLAR", "BIPOLAR", "NPOL", "N.P."))

NOTHING_LETTERS = Attribute("nothing", None, "", 0.3)
NOTHING_MIXED = Attribute("nothing", None, "", 0.03)
NOTHING_LOT = Attribute("nothing", None, "", 0.008)
"""A long mixed word that may be a date may be a lot number as well (common practice, no source)."""
NOTHING_SINGLE = Attribute("nothing", None, "", 0.05)
NOTHING_UNLIKELY = Attribute("nothing", None, "", 0.002)
NOTHING_UNREADABLE = Attribute("nothing", None, "", 0.5)
NOTHING_UNREAD = Attribute("nothing", None, "", 0.2)
NOTHING_FIGURES = Attribute("nothing", None, "", 0.004)
UNREAD_VOLTS = Attribute("unread volts", None, "volts, not readable", 0.25)
NOTHING_DIGITS = Attribute("nothing", None, "", 0.003)
SAFETY_NOTE = "X and Y capacitors are safety parts on the mains: replace only by the same class or better"


@lru_cache(maxsize=4096)
def attributes(word: MarkingWord, era: int | None) -> tuple[Attribute, ...]:
    """Every role the word may play, likeliest first; `nothing` is always among them."""
    text = word.whole
    if not text:
        # What cannot be read may well be a maker's name or a date: it costs a plain value nothing.
        return (*partial(word), nothing_of(word))
    found: list[Attribute] = []
    digits = text.isascii() and text.isdigit()
    if digits:
        volts = plain_volts(text) if len(text) <= 5 else None
        if volts is not None and len(text) > 1:
            found.append(Attribute("volts", volts, f"{volts:f} V{NOT_PRINTED}", 0.3))
    else:
        found.extend(marked(text))
    for each in dates_in(text, era):
        found.append(Attribute("date", each, each.words, each.weight * (0.25 if len(text) >= 4 else 0.04)))
    nothing = (
        NOTHING_DIGITS if digits else NOTHING_LETTERS if text.isalpha() and len(text) > 1 else NOTHING_MIXED
    )
    if len(text) == 1:
        nothing = NOTHING_SINGLE
    elif any(each.weight >= 0.9 for each in found):
        nothing = NOTHING_UNLIKELY
    if len(text) > 4 and nothing is NOTHING_MIXED and any(each.role == "date" for each in found):
        nothing = NOTHING_LOT
    found.append(nothing)
    found.sort(key=weight_of, reverse=True)
    best = found[0].weight
    return tuple(each for each in found[:5] if each.weight > best / 200)


def weight_of(attribute: Attribute) -> float:
    return attribute.weight


def marked(text: str) -> list[Attribute]:
    found: list[Attribute] = []
    if len(text) == 1:
        if text in TOLERANCE_LETTERS:
            found.append(Attribute("letter", text, "tolerance letter", 0.9))
        for volts in LETTER_VOLTS.get(text, ())[:1]:
            found.append(Attribute("letter volts", volts, f"{volts:f} V by its letter", 0.3))
        return found
    if len(text) <= 12:
        match = VOLTS.fullmatch(text)
        if match and match[1].strip("0.,"):
            volts = Decimal(match[1].replace(",", ".")) * (1000 if match[2] in ("kV", "KV") else 1)
            alternating = "AC" in text.upper() or "~" in text
            words = f"{volts.normalize():f} V{' AC' if alternating else ''}"
            found.append(Attribute("volts", volts, words, 0.1 if text in EIA_VOLTS else 1.0))
            if text not in EIA_VOLTS:
                return found
        match = VOLTS_SIGNED.fullmatch(text)
        if match and plain_volts(match[1].replace(",", ".")) is not None:
            volts = Decimal(match[1].replace(",", "."))
            kind_of_volts = " AC" if match[2] == "~" else ""
            return [Attribute("volts", volts, f"{volts:f} V{kind_of_volts}, by the sign behind it", 0.9)]
        match = VOLTS_POINT.fullmatch(text)
        if match and plain_volts(f"{match[1]}.{match[2]}") is not None:
            volts = Decimal(f"{match[1]}.{match[2]}")
            return [Attribute("volts", volts, f"{volts:f} V", 0.95)]
        match = VOLTS_BEFORE.fullmatch(text)
        if match:
            volts = Decimal(match[1].replace(",", "."))
            found.append(Attribute("volts", volts, f"{volts.normalize():f} V", 0.6))
        match = PERCENT.fullmatch(text)
        if match:
            tolerance = percent(match[1].replace(",", "."))
            return [Attribute("tolerance", tolerance, tolerance.text, 1.0)]
        match = LOPSIDED.fullmatch(text)
        if match:
            high, low = (match[1], match[2]) if match[1] else (match[4], match[3])
            uneven = lopsided(f"-{low}" if low.strip("0") else "0", high)
            return [Attribute("tolerance", uneven, uneven.text, 1.0)]
        match = WATTS.fullmatch(text)
        if match:
            return [Attribute("trait", {"rated_power": f"{match[1]} W"}, f"{match[1]} W", 0.9)]
        match = CELSIUS.fullmatch(text)
        if match:
            limit = f"{match[1]} °C"
            found.append(
                Attribute(
                    "trait",
                    {"upper_temperature": limit},
                    f"rated to {limit}",
                    0.5 if "°" not in text else 0.9,
                )
            )
    if text in EIA_VOLTS:
        volts = EIA_VOLTS[text]
        found.append(Attribute("volts", volts, f"{volts:f} V by voltage code", 0.5))
    if len(text) <= 5:
        temperature = characteristic(text)
        if temperature is not None:
            likely = 0.9 if text.upper() in USUAL_CODES and len(text) > 2 else 0.3
            found.append(Attribute("temperature", temperature, "temperature characteristic", likely))
    if CLIMATIC.fullmatch(text):
        upper = f"{int(text[3:6])} °C"
        found.append(Attribute("trait", {"upper_temperature": upper}, f"climatic category, to {upper}", 1.0))
    elif DECIMAL_VOLTS.fullmatch(text) and plain_volts(text.replace(",", ".")) is not None:
        volts = Decimal(text.replace(",", "."))
        found.append(Attribute("volts", volts, f"{volts:f} V{NOT_PRINTED}", 0.3))
    if SAFETY.fullmatch(text):
        found.append(Attribute("trait", {"safety_class": text}, f"safety class {text}", 0.9))
    if text in FILM:
        found.append(Attribute("trait", {"dielectric": "film"}, "film", 0.7))
    if SECTION.fullmatch(text):
        found.append(Attribute("trait", {"further_sections": text}, "further sections of the same can", 0.9))
    if text in BIPOLAR:
        found.append(Attribute("trait", {"polarised": False}, "bipolar", 0.6))
    return found


def nothing_of(word: MarkingWord) -> Attribute:
    """Figures seen are seldom there for nothing, even where others beside them cannot be read."""
    seen = [each for cell in word.cells if cell is not None for each in cell]
    if not seen:
        return NOTHING_UNREAD
    if all(each in FIGURES for each in seen):
        return NOTHING_FIGURES
    return NOTHING_MIXED if 2 * word.cells.count(None) < len(word.cells) else NOTHING_UNREADABLE


FIGURES = frozenset("0123456789")
PREFERRED_VOLTS = (
    "4", "6.3", "10", "16", "20", "25", "35", "40", "50", "63", "100", "160", "200", "250", "350", "400",
    "450", "500", "630", "1000",
)  # fmt: skip
RATINGS_OF_LENGTH: dict[int, list[tuple[str, Attribute]]] = {length: [] for length in range(2, 7)}
for _volts in PREFERRED_VOLTS:
    for _text, _note, _weight in ((_volts, NOT_PRINTED, 0.25), (f"{_volts}V", "", 0.5)):
        if len(_text) > 1:
            _rated = Attribute("volts", Decimal(_volts), f"{_volts} V{_note}", _weight)
            RATINGS_OF_LENGTH[len(_text)].append((_text, _rated))
MAX_VOLTS, MAX_SIGNED_VOLTS = 2, 5
"""Of figures that may be any of more ratings it is said that they are volts, and no more."""


def partial(word: MarkingWord) -> list[Attribute]:
    """Volts with unreadable figures, with a V or without: the preferred ratings that fit, if they are few."""
    cells = word.cells
    if not 2 <= len(cells) <= 6 or all(seen is None for seen in cells):
        return []
    found = [
        rated
        for text, rated in RATINGS_OF_LENGTH[len(cells)]
        if all(seen is None or each in seen for each, seen in zip(text, cells, strict=True))
    ]
    if len(found) <= (MAX_SIGNED_VOLTS if cells[-1] == ("V",) else MAX_VOLTS):
        return found
    return [UNREAD_VOLTS._replace(weight=max(each.weight for each in found))]
