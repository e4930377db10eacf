"""What the words beside a value or a type add: volts, tolerance, temperature characteristic, date, traits."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from itertools import product

from .attributes import NOT_PRINTED, NOTHING_UNLIKELY, SAFETY_NOTE, Attribute
from .candidates import Candidate
from .capacitor_codes import DIGIT_CODE, MICRO_CODE, OLD_PICOFARADS, PLAIN_MICROFARADS
from .letter_codes import FARAD, MICRO, PICO, meanings_of
from .patterns import MarkingWord
from .written import DECIMAL_MICROFARADS, VINTAGE, WRITTEN_C

CLAIM = {
    "volts": "volts",
    "unread volts": "volts",
    "letter volts": "volts",
    "letter": "tolerance",
    "tolerance": "tolerance",
    "temperature": "temperature",
    "date": "date",
}


Row = tuple[tuple[MarkingWord, Attribute], ...]


def leading(others: list[list[tuple[MarkingWord, Attribute]]]) -> Iterator[Row]:
    """Combinations of roles; with many words only the likeliest roles of each are combined."""
    depth = 5 if len(others) <= 2 else 3 if len(others) <= 4 else 2 if len(others) <= 7 else 1
    return product(*(each[:depth] for each in others))


def agreeing(row: Row) -> bool:
    """No two words claim the same thing."""
    claims = [CLAIM.get(attribute.role) for _, attribute in row]
    return all(claims.count(claim) == 1 for claim in claims if claim is not None)


def in_turn(others: list[list[tuple[MarkingWord, Attribute]]]) -> Row:
    """Each word's likeliest role that no earlier word has claimed; of a second rating nothing is made."""
    claimed: set[str] = set()
    row: list[tuple[MarkingWord, Attribute]] = []
    for choices in others:
        for word, attribute in choices:
            claim = CLAIM.get(attribute.role)
            if claim is None or claim not in claimed:
                claimed.update((claim,) if claim else ())
                row.append((word, attribute))
                break
        else:
            row.append((choices[0][0], NOTHING_UNLIKELY))
    return tuple(row)


def row_weight(row: Row) -> float:
    weight = 1.0
    for _, attribute in row:
        weight *= attribute.weight
    return weight


def dressed(candidate: Candidate, row: Row, place: int) -> Candidate | None:
    """The candidate with what the other words say; None when two words claim the same thing."""
    weight = candidate.weight
    tolerance, volts, temperature, traits = (
        candidate.tolerance,
        candidate.volts,
        candidate.temperature,
        candidate.traits,
    )
    cautions = candidate.cautions
    date = ""
    before: list[tuple[str, str]] = []
    after: list[tuple[str, str]] = []
    for index, (word, attribute) in enumerate(row):
        role, amount, text, likelihood = attribute
        weight *= likelihood
        if role == "volts":
            if volts is not None:
                return None
            volts = amount
            if index < place and text.endswith(NOT_PRINTED):
                weight *= 0.2  # printers put the value before bare volts
            if candidate.notation.kind != "capacitor":
                weight *= 0.05
        elif role == "unread volts":
            if volts is not None:
                return None
            weight *= 0.2 if index < place else 1.0
            weight *= suits_some_volts(candidate)
        elif role == "letter":
            meanings = meanings_of(amount, candidate.notation.kind, candidate.value or 0)
            if tolerance is not None or not meanings or candidate.value is None:
                return None
            tolerance, text = meanings[0].tolerance, meanings[0].tolerance.text
            weight *= meanings[0].weight
        elif role == "tolerance":
            if tolerance is not None:
                return None
            tolerance = amount
            weight *= BESIDE_PER_CENT.get(candidate.notation.name, 1.0)
            if candidate.value is None:
                weight *= TYPE_BESIDE_PER_CENT
            if amount.low is not None and candidate.notation.kind != "capacitor":
                weight *= 0.01  # only capacitors are let run further to one side
        elif role == "letter volts":
            if volts is not None or candidate.notation not in COUNTED_IN_MICROFARADS:
                return None
            volts = amount
        elif role == "temperature":
            if temperature:
                return None
            temperature = amount
            if SLOPE.fullmatch(word.whole) or (word.whole in NOUGHT and candidate.tolerance is None):
                weight *= BESIDE_A_SLOPE.get(candidate.notation.name, 1.0)
            if candidate.notation.kind != "capacitor":
                weight *= 0.01
            elif amount.get("class") == 2 and 0 < (candidate.value or 0) < MIN_OF_CLASS_2:
                weight *= 0.02
        elif role == "date":
            if date:
                return None
            date = amount.iso
        elif role == "trait":
            if "further_sections" in amount and candidate.notation not in OF_CANS:
                weight *= SECTIONS_OF_A_CAN if candidate.notation.kind == "capacitor" else OF_ANOTHER_KIND
                text = ""
            else:
                traits = {**traits, **amount}
                weight *= SECTIONS_APART if "further_sections" in amount and index != place else 1.0
            if "rated_power" in amount and candidate.notation.kind != "resistor":
                weight *= BESIDE_WATTS
            if "safety_class" in amount:
                cautions = (*cautions, SAFETY_NOTE)
        (before if index < place else after).append((word.printed, text))
    if volts is not None and candidate.volts is None:
        weight *= suits_volts(candidate, volts)
    return Candidate(
        candidate.notation, candidate.value, (*before, *candidate.used, *after), weight, tolerance, volts,
        cautions, candidate.reasons, temperature, traits, candidate.type, date, candidate.usual,
    )  # fmt: skip


SLOPE = re.compile(r"[NP][0-9]{2,4}")
NOUGHT = frozenset(("NPO", "NP0"))
BESIDE_A_SLOPE = {DIGIT_CODE.name: 0.5, OLD_PICOFARADS.name: 5.0}
"""N750, or NPO and no tolerance letter, is old print, as plain pF are (common practice, no source)."""
BESIDE_PER_CENT = {DIGIT_CODE.name: 0.2, OLD_PICOFARADS.name: 5.0}
"""Makers who write 5 % write the value out too: 150 N750 5% is no code (common practice, no source)."""
TYPE_BESIDE_PER_CENT = 0.05
"""No semiconductor has its tolerance printed beside it (common practice, no source)."""
SECTIONS_APART, SECTIONS_OF_A_CAN, OF_ANOTHER_KIND = 0.05, 0.02, 0.002
"""40-40 350: further sections stand right behind the first, on cans of microfarads (common practice, no
source).
"""
BESIDE_WATTS = 0.02
"""Watts are printed on resistors (common practice, no source)."""
COUNTED_IN_MICROFARADS = (PLAIN_MICROFARADS, MICRO_CODE, DECIMAL_MICROFARADS)
OF_CANS = (*COUNTED_IN_MICROFARADS, WRITTEN_C, VINTAGE)
MIN_OF_CLASS_2 = 100 * PICO
"""Nobody needs a high-K dielectric below 100 pF (common practice, no source)."""
MEMORY_VOLTS = frozenset(map(Decimal, ("2.3", "2.5", "2.7", "5.5")))
"""Double-layer capacitors of tenths of a farad and more are rated so, and hardly any other (common practice,
no source).
"""


def suits_some_volts(candidate: Candidate) -> float:
    """Volts that cannot be read speak for a capacitor counted in µF as most volts do."""
    if candidate.notation.kind != "capacitor":
        return 0.05
    return 10.0 if candidate.notation in (PLAIN_MICROFARADS, MICRO_CODE) else 1.0


def suits_volts(candidate: Candidate, volts: Decimal) -> float:
    """Low volts speak for an electrolytic and its microfarads, high volts against."""
    if candidate.notation.kind != "capacitor" or candidate.value is None:
        return 1.0
    if volts in MEMORY_VOLTS:
        return 10_000.0 if candidate.value >= FARAD // 100 else 0.05
    if candidate.notation is PLAIN_MICROFARADS or candidate.notation is MICRO_CODE:
        return 20.0 if volts <= 100 else 2.0 if volts <= 500 else 0.01
    if volts <= 35 and candidate.value < MICRO // 1000:
        return 0.05
    if volts <= 35 and candidate.value < MICRO // 10:
        return 0.05 if volts <= 16 else 0.3
    if volts >= 400 and candidate.value > 1000 * MICRO:
        return 0.02
    return 1.0
