"""Makers' order codes that carry value, tolerance and volts inside a longer string, read by form and not by
maker.

Forms: exponent code in pF + tolerance letter or suffix + three volt digits (chip tantalum makers' ordering
information: 293D107X9010, TAJC106M035, TP3D226K035); EIA volt code, perhaps a tolerance letter, exponent code
in µF (electrolytic makers' part numbers: EEUFK1V182L); military style resistors and capacitors,
characteristic + code + tolerance (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from .candidates import Candidate, Notation, percent
from .capacitor_codes import MICRO_CODE, code_candidate, micro_code_value
from .letter_codes import OHM, with_tolerance
from .ratings import EIA_VOLTS, ORDER_VOLTS, RESISTOR_TOLERANCE, capacitor_tolerances

TANTALUM_ORDER = Notation(
    "order code, pF", "tantalum makers' ordering", "capacitor", 1.0, {"tantalum": 3, "chip": 2}, 1970
)
CAPACITOR_TYPE = Notation("military style capacitor", "MIL style", "capacitor", 1.0)
STYLE = Notation("military style resistor", "MIL style", "resistor", 1.0)

TANTALUM = re.compile(r"([A-Z0-9]{2,6}?)([1-9][0-9]{2})(X[059]|[KMJ])[-_]?(0[0-9]{2}|6R3|2R5)[A-Z0-9]{0,8}")
ELECTROLYTIC = re.compile(
    r"([A-Z]{2,6})([0-3][A-Z])([MKQ]?)([1-9][0-9]{2}|[0-9]R[0-9]|R[0-9]{2})([A-Z0-9]{0,6})"
)
CAPACITOR_STYLE = re.compile(r"(C[A-Z]{1,3}[0-9]{2}[A-Z]{1,2})([1-9][0-9]{2})([BCDFGJKMZ])[A-Z]?")
RESISTOR_STYLE = re.compile(
    r"(R[A-Z]{1,2}[0-9]{2,4}[A-Z]{1,2}?)([1-9][0-9]{2,3}|[0-9]{1,3}R[0-9]{0,2})([BCDFGJKM])[A-Z]?"
)
SUFFIX_TOLERANCE = {"X0": percent("20"), "X9": percent("10"), "X5": percent("5")}


def readings(text: str, kind: str) -> Iterator[Candidate]:
    """Readings of one whole word of 7 to 24 characters; every pattern is anchored and bounded."""
    if not 7 <= len(text) <= 24:
        return
    if kind in ("", "capacitor"):
        yield from tantalum(text)
        yield from electrolytic(text)
        yield from capacitor_style(text)
    if kind in ("", "resistor"):
        yield from resistor(text)


def tantalum(text: str) -> Iterator[Candidate]:
    match = TANTALUM.fullmatch(text)
    if match is None:
        return
    series, code, suffix, volt_code = match.groups()
    candidate = code_candidate(code)
    volts = ORDER_VOLTS.get(volt_code)
    if candidate is None or candidate.value is None or volts is None:
        return
    tolerances = (
        [SUFFIX_TOLERANCE[suffix]]
        if suffix in SUFFIX_TOLERANCE
        else [each.tolerance for each in capacitor_tolerances(suffix, candidate.value)]
    )
    for tolerance in tolerances:
        used = ((series, ""), *candidate.used, (suffix, tolerance.text), (volt_code, f"{volts:f} V"))
        caution = "a tantalum's stripe is its plus end"
        yield Candidate(TANTALUM_ORDER, candidate.value, used, 1.0, tolerance, volts, (caution,))


def electrolytic(text: str) -> Iterator[Candidate]:
    match = ELECTROLYTIC.fullmatch(text)
    if match is None:
        return
    series, volt_code, letter, code, rest = match.groups()
    volts = EIA_VOLTS.get(volt_code)
    value = micro_code_value(code)
    if volts is None or not value:
        return
    used = (
        (series, ""),
        (volt_code, f"{volts:f} V"),
        (letter, ""),
        (code, "exponent code in µF"),
        (rest, ""),
    )
    told = tuple(each for each in used if each[0])
    # 1V182 standing alone is weighed the same way in capacitor_codes; here the series letters speak for an
    # electrolytic.
    yield Candidate(MICRO_CODE, value, told, 60.0, None, volts)
    candidate = code_candidate(code) if code.isdigit() else None
    if candidate is not None:
        told = ((series, ""), (volt_code, f"{volts:f} V"), *candidate.used)
        yield Candidate(candidate.notation, candidate.value, told, 0.005, None, volts)


def capacitor_style(text: str) -> Iterator[Candidate]:
    match = CAPACITOR_STYLE.fullmatch(text)
    candidate = code_candidate(match[2]) if match else None
    if match is None or candidate is None:
        return
    style = Candidate(
        CAPACITOR_TYPE, candidate.value, ((match[1], "style and characteristic"), *candidate.used), 1.0
    )
    yield from with_tolerance(style, match[3], capacitor_tolerances(match[3], candidate.value or 0))


def resistor(text: str) -> Iterator[Candidate]:
    match = RESISTOR_STYLE.fullmatch(text)
    if match is None:
        return
    style, code, letter = match.groups()
    if "R" in code:
        whole, _, fraction = code.partition("R")
        value = int(whole + fraction) * OHM // 10 ** len(fraction)
    else:
        value = int(code[:-1]) * 10 ** int(code[-1]) * OHM
    candidate = Candidate(STYLE, value, ((style, "style, rating and characteristic"), (code, "value")), 1.0)
    yield from with_tolerance(candidate, letter, RESISTOR_TOLERANCE[letter])
