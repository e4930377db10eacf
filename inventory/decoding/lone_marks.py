"""The readers of what stands alone and says no value: a date, a temperature characteristic or volts."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from math import prod

from .attributes import attributes
from .candidates import Candidate, Notation
from .dates import dates_in, is_of_a_lot, is_of_era, may_be_a_type
from .known import Known
from .patterns import Cells, MarkingWord
from .temperature import ALL_CODES, USUAL_CODES, characteristic
from .words import MarkingLine
from .written import shows_its_unit

DATE = Notation("date code", "IEC 60062 and makers' practice", "other", favours={"chip": 0.01})
LOT_DATE = DATE._replace(name="date code with its lot", favours={"dip": 15.0}, most=0.75)
LOT_OR_TYPE = LOT_DATE._replace(name="date code, or a type", favours={"dip": 1000.0}, most=0.48)
"""A body that hardly any other part has still has its date and lot on it; by itself neither is ever sure."""
CHARACTERISTIC = Notation("temperature characteristic", "EIA-198", "capacitor", 0.5)

RATED = Notation("rated volts alone", "common practice, no source", "capacitor", 0.02)
_VOLTS = re.compile(r"([0-9]{1,4}(?:\.[0-9])?) ?V")

BESIDE_UNREAD = 0.75
"""What stands beside it may make a type of it, as in HR 7506: a date is not sure then."""
ONLY_A_DATE = 0.4
"""A date stands beside a type or a value; four figures and nothing else are as often a chip resistor."""


_LIKE_A_TYPE = re.compile(r"[A-Z]{1,4}-?[0-9]{3,6}[A-Z]{0,4}")
BESIDE_A_TYPE, LIKE_A_TYPE = 0.05, 0.1
"""What looks like a type is one: the date stands beside it (common practice, no source)."""


def dates(line: MarkingLine, known: Known) -> Iterator[Candidate]:
    """A date code and nothing else."""
    share = 0.01 if known.kind else 2.5
    notation = DATE._replace(kind=known.kind or DATE.kind)
    typed = [bool(_LIKE_A_TYPE.fullmatch(word.whole)) for word in line.words[:12]]
    for place, (word, rest) in enumerate(with_rest_idle(line, known)):
        if not word.whole:
            continue
        if (
            any(typed[:place])
            or any(typed[place + 1 :])
            or (typed[place] and len(typed) == 1 and not is_of_a_lot(word.whole))
        ):
            rest *= BESIDE_A_TYPE
        named = notation
        if is_of_a_lot(word.whole):
            if not is_of_era(word.whole, known.era):
                continue
            typelike = may_be_a_type(word.whole)
            named = (LOT_OR_TYPE if typelike else LOT_DATE)._replace(kind=notation.kind)
            rest *= LIKE_A_TYPE if typelike else 1.0
        for date in dates_in(word.whole, known.era, year_letter=known.lone_year):
            weight = date.weight * rest * share
            if len(word.whole) == 3:
                weight *= 0.03 if known.kind else 0.3
            elif len(line.words) == 1:
                weight *= ONLY_A_DATE
            if len(line.words) > 1 and named is notation:
                named = notation._replace(most=BESIDE_UNREAD)
            used = ((word.whole, f"{date.words} ({date.system})"),)
            yield Candidate(named, None, used, weight, date=date.iso, reasons=(f"date: {date.words}",))


def rated_volts(line: MarkingLine, known: Known) -> Iterator[Candidate]:
    """6V and nothing else: on a can its rated volts, and no value that could be read."""
    text = " ".join(word.whole for word in line.seen).upper()
    if match := _VOLTS.fullmatch(text):
        yield Candidate(RATED, None, ((text, "rated volts"),), volts=Decimal(match[1]))


def characteristics(line: MarkingLine, known: Known) -> Iterator[Candidate]:
    """A temperature characteristic and nothing else."""
    for word, rest in with_rest_idle(line, known):
        yield from characteristics_of(word, rest)


def with_rest_idle(line: MarkingLine, known: Known) -> Iterator[tuple[MarkingWord, float]]:
    """Each word with how likely it is that none of the others means anything."""
    words = line.words[:12]
    idle = [idleness(word, known.era) for word in words] if len(words) > 1 else [1.0]
    for place, word in enumerate(words):
        yield word, prod(weight for other, weight in enumerate(idle) if other != place)


def idleness(word: MarkingWord, era: int | None) -> float:
    """How likely the word is to mean nothing at all."""
    if shows_its_unit(word):
        return 0.001
    return next((each.weight for each in attributes(word, era) if each.role == "nothing"), 0.001)


def characteristics_of(word: MarkingWord, share: float) -> Iterator[Candidate]:
    if word.whole:
        codes: tuple[str, ...] = (word.whole,)
    elif 2 <= len(word.cells) <= 5 and 2 * word.cells.count(None) <= len(word.cells):
        codes = codes_allowed(word.cells)
    else:
        return
    for code in codes:
        temperature = characteristic(code) if len(code) <= 5 else None
        if temperature is None:
            continue
        weight = share * (1.0 if code.upper() in USUAL_CODES or word.whole else 0.05)
        yield Candidate(
            CHARACTERISTIC, None, ((code, range_of(temperature)),), weight, temperature=temperature
        )


CODES_OF_LENGTH = {
    length: " ".join(code for code in ALL_CODES if len(code) == length) for length in range(2, 6)
}


@lru_cache(maxsize=512)
def codes_allowed(cells: Cells) -> tuple[str, ...]:
    """The codes that the cells may be: thousands are known, so one expression looks through all of them."""
    places = ("[^ ]" if seen is None else f"[{''.join(map(re.escape, seen))}]" for seen in cells)
    return tuple(re.findall(rf"(?<!\S){''.join(places)}(?!\S)", CODES_OF_LENGTH[len(cells)]))


def range_of(temperature: object) -> str:
    facts: dict[str, object] = dict(temperature)  # type: ignore[call-overload]
    if facts.get("class") == 2 and "low_celsius" in facts:
        drift = f"{facts['drift_low_percent']}/+{facts['drift_high_percent']} %"
        return f"{facts['low_celsius']} to {facts['high_celsius']} °C, {drift}"
    if "ppm_per_kelvin" in facts:
        return f"{facts['ppm_per_kelvin']} ±{facts['spread_ppm_per_kelvin']} ppm/K"
    return "temperature characteristic"
