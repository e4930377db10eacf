"""Readings without a value: a date code or a temperature characteristic and nothing else."""

from __future__ import annotations

from collections.abc import Iterator

from .attributes import attributes
from .candidates import Candidate, Notation
from .dates import dates_in
from .patterns import Cells, Word
from .temperature import ALL_CODES, USUAL_CODES, characteristic

DATE = Notation("date code", "IEC 60062 and makers' practice", "other")
CHARACTERISTIC = Notation("temperature characteristic", "EIA-198", "capacitor", 0.5)

ONLY_A_DATE = 0.4
"""A date stands beside a type or a value; four figures and nothing else are as often a chip resistor."""


def alone(words: list[Word], kind: str, era: int | None, year_letter: bool) -> list[Candidate]:
    """`year_letter`: the person said that a lone letter is a year."""
    found: list[Candidate] = []
    share = 0.01 if kind else 2.5
    idle = [idleness(word, era) for word in words[:12]] if len(words) > 1 else [1.0]
    for place, word in enumerate(words[:12]):
        rest = share
        for other, weight in enumerate(idle):
            if other != place:
                rest *= weight
        if word.whole:
            for date in dates_in(word.whole, era, year_letter=year_letter):
                weight = date.weight * rest
                if len(word.whole) == 3:
                    weight *= 0.3 if not kind else 0.03
                elif len(words) == 1:
                    weight *= ONLY_A_DATE
                used = ((word.whole, f"{date.words} ({date.system})"),)
                found.append(
                    Candidate(
                        DATE,
                        None,
                        used,
                        weight,
                        date=date.iso,
                        kind=kind or "other",
                        reasons=(f"date: {date.words}",),
                    )
                )
        if kind in ("", "capacitor"):
            found.extend(characteristics(word, rest / share))
    return found


def idleness(word: Word, era: int | None) -> float:
    """How likely the word is to mean nothing at all."""
    return next((each.weight for each in attributes(word, era) if each.role == "nothing"), 0.001)


def characteristics(word: Word, share: float) -> Iterator[Candidate]:
    if word.whole:
        codes: tuple[str, ...] = (word.whole,)
    elif 2 <= len(word.cells) <= 5 and sum(each is None for each in word.cells) < len(word.cells):
        codes = tuple(code for code in ALL_CODES if allows(word.cells, code))
    else:
        return
    for code in codes:
        temperature = characteristic(code) if len(code) <= 5 else None
        if temperature is None:
            continue
        weight = share * (1.0 if code.upper() in USUAL_CODES or word.whole else 0.05)
        yield Candidate(CHARACTERISTIC, None, ((code, told(temperature)),), weight, temperature=temperature)


def allows(cells: Cells, code: str) -> bool:
    return len(code) == len(cells) and all(
        seen is None or c in seen for c, seen in zip(code, cells, strict=True)
    )


def told(temperature: object) -> str:
    facts: dict[str, object] = dict(temperature)  # type: ignore[call-overload]
    if facts.get("class") == 2 and "low_celsius" in facts:
        drift = f"{facts['drift_low_percent']}/+{facts['drift_high_percent']} %"
        return f"{facts['low_celsius']} to {facts['high_celsius']} °C, {drift}"
    if "ppm_per_kelvin" in facts:
        return f"{facts['ppm_per_kelvin']} ±{facts['spread_ppm_per_kelvin']} ppm/K"
    return "temperature characteristic"
