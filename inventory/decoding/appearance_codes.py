"""A value, its tolerance and its volts as each printed notation writes them. A notation that cannot say the
value exactly is left out.

Sources are those of the readers of the same notations: letter_codes, chip_resistors, capacitor_codes,
inductor_codes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from inventory.decoding.capacitor_codes import FIGURES
from inventory.decoding.letter_codes import MICRO, NANO, OHM, PICO
from inventory.decoding.ratings import (
    EIA_VOLTS,
    FROM_LOGIC,
    INDUCTOR_TOLERANCE,
    LETTER_VOLTS,
    RESISTOR_TOLERANCE,
    ToleranceMeaning,
    capacitor_tolerances,
)
from inventory.decoding.series import E96
from inventory.spec import Spec

USUAL_LETTER: Final = 0.02  # letters rarer than this as a tolerance are not offered for it


@dataclass(frozen=True)
class PrintedCode:
    """`says` names the facts that the print states: value, tolerance, volts, number."""

    text: str
    notation: str
    says: tuple[str, ...]
    note: str = ""


def codes_of(spec: Spec) -> Iterator[PrintedCode]:
    """Every code the part may carry, the commonest first, none twice."""
    makers = {"resistor": _resistor, "capacitor": _capacitor, "inductor": _inductor, "crystal": _crystal}
    given = spec.value
    seen: set[str] = set()
    if given is None or spec.kind not in makers:
        return
    for code in makers[spec.kind](spec, given):
        if code.text not in seen:
            seen.add(code.text)
            yield code


def _tolerated(text: str, letter: str, notation: str, note: str = "") -> Iterator[PrintedCode]:
    """With the tolerance letter behind, then bare. No letter that would be read as the unit: 2nF, 200NH."""
    if letter and not (letter in "FH" and text[-1] in "pnµN"):
        yield PrintedCode(text + letter, notation, ("value", "tolerance"), note)
    yield PrintedCode(text, notation, ("value",), note)


def _letter(meanings: Mapping[str, tuple[ToleranceMeaning, ...]], spec: Spec) -> str:
    """The tolerance letter that says just this, "" where there is none or none is asked."""
    low, high = spec.traits.get("tolerance_low_percent"), spec.traits.get("tolerance_high_percent")
    for letter, rivals in meanings.items():
        tolerance = rivals[0].tolerance
        if rivals[0].weight < USUAL_LETTER:
            continue
        if spec.tolerance_percent is not None and tolerance.percent == spec.tolerance_percent:
            return letter
        if low is None or high is None or spec.tolerance_percent is not None:
            continue
        if tolerance.low == -Decimal(low) and tolerance.high == Decimal(high):
            return letter
    return ""


def _figures(value: int, unit: int, count: int, exponents: range) -> tuple[str, int] | None:
    """(figures, power of ten) with just `count` figures, in `unit`s; None where that cannot be."""
    for exponent in exponents:
        scale = unit * 10**exponent if exponent >= 0 else unit // 10**-exponent
        figures, rest = divmod(value, scale)
        if not rest and len(str(figures)) == count:
            return str(figures), exponent
    return None


def _at_point(value: int, units: Mapping[str, int], most: int = 4) -> Iterator[str]:
    """The value with each unit letter that can stand at its point, `most` figures at most: 4K7, 47K."""
    smallest = min(units.values())
    for letter, unit in units.items():
        whole, rest = divmod(value, unit)
        fraction = f"{rest:0{len(str(unit)) - 1}d}".rstrip("0") if rest else ""
        if whole >= 1000 or (whole and len(fraction) > 2) or (not whole and unit != smallest):
            continue
        text = f"{whole or ''}{letter}{fraction}"
        if 1 < len(text) <= most + 1:
            yield text


def _written(value: int, steps: tuple[tuple[str, int], ...]) -> str:
    """The value with the largest unit that leaves a whole part: 4.7kΩ."""
    unit, size = next((step for step in steps if value >= step[1]), steps[-1])
    whole, rest = divmod(value, size)
    fraction = f".{rest:0{len(str(size)) - 1}d}".rstrip("0") if rest else ""
    return f"{whole}{fraction}{unit}"


# ---------------------------------------------------------------- resistors

_OHM_LETTERS: Final = {"R": OHM, "K": 10**3 * OHM, "M": 10**6 * OHM, "G": 10**9 * OHM}
_OHM_STEPS: Final = (
    ("GΩ", 10**9 * OHM),
    ("MΩ", 10**6 * OHM),
    ("kΩ", 10**3 * OHM),
    ("Ω", OHM),
    ("mΩ", OHM // 1000),
)
_EIA96_LETTERS: Final = {
    "Z": OHM // 1000, "Y": OHM // 100, "X": OHM // 10, "A": OHM, "B": 10 * OHM, "C": 100 * OHM,
    "D": 1000 * OHM, "E": 10**4 * OHM, "F": 10**5 * OHM,
}  # fmt: skip
_EIA96_OTHERS: Final = {"X": "R", "Y": "S", "B": "H"}  # IEC 60062:2016 lists two letters for these
_LETTER_CODE, _WRITTEN = "letter code", "value with its unit"


def _resistor(spec: Spec, value: int) -> Iterator[PrintedCode]:
    if value == 0:
        yield from (PrintedCode(text, "zero-ohm link", ("value",)) for text in ("0", "000", "0000"))
        return
    letter = _letter(RESISTOR_TOLERANCE, spec)
    tolerance = spec.tolerance_percent
    for text in _at_point(value, _OHM_LETTERS):
        yield from _tolerated(text, letter, _LETTER_CODE)
        if len(text) < 4 and (tolerance is None or tolerance <= 2) and text[0] != "R":
            yield PrintedCode(f"{text}0", _LETTER_CODE, ("value",), "as 1 % parts print it")
        if text[0] == "R" and len(text) < 4:
            yield PrintedCode(f"0{text}", _LETTER_CODE, ("value",))
    # A bare digit code is taken for 5 % in three digits, 1 % in four.
    three = _figures(value, OHM, 2, range(10))
    if three:
        note = (
            "on chips and networks"
            if tolerance is None or tolerance >= 2
            else "underlined on some small chips"
        )
        yield PrintedCode(f"{three[0]}{three[1]}", "three-digit code", ("value",), note)
        if three[1] == 0:
            yield PrintedCode(three[0], "plain ohms", ("value",), "on some chips, to avoid the zero")
    four = _figures(value, OHM, 3, range(10))
    if four and (tolerance is None or tolerance <= 2):
        yield PrintedCode(f"{four[0]}{four[1]}", "four-digit code", ("value",), "on 1 % chips")
    if tolerance is None or tolerance == 1:
        for power, unit in _EIA96_LETTERS.items():
            figures, rest = divmod(value, unit)
            if not rest and figures in E96:
                place = f"{E96.index(figures) + 1:02d}"
                yield PrintedCode(f"{place}{power}", "EIA-96", ("value",), "on small 1 % chips")
                if power in _EIA96_OTHERS:
                    note = "rarer letter; some tables swap R and S" if power in "XY" else "rarer letter"
                    yield PrintedCode(f"{place}{_EIA96_OTHERS[power]}", "EIA-96", ("value",), note)
    milli, rest = divmod(value, OHM // 1000)
    if not rest and 0 < milli < 1000:
        yield PrintedCode(f"R{milli:03d}", "R as the point", ("value",), "on current-sense chips")
    yield PrintedCode(_written(value, _OHM_STEPS), _WRITTEN, ("value",))


# ---------------------------------------------------------------- capacitors

_FARAD_LETTERS: Final = {"p": PICO, "n": NANO, "µ": MICRO}
_FARAD_STEPS: Final = (("µF", MICRO), ("nF", NANO), ("pF", PICO))
_WOUND: Final = ("aluminium", "aluminium_bipolar", "tantalum")
_SMALL: Final = ("", "c0g", "class2", "film", "mica", "paper", "ceramic")


def _capacitor(spec: Spec, value: int) -> Iterator[PrintedCode]:
    letter = _letter(
        {
            each: capacitor_tolerances(each, value)
            for each in "JKMGFZDCBS"
            if capacitor_tolerances(each, value)
        },
        spec,
    )
    volts = "" if spec.volts is None else f" {spec.volts.normalize():f}V"
    for code in _capacitor_values(spec, value, letter):
        if volts:
            yield PrintedCode(code.text + volts, code.notation, (*code.says, "volts"), code.note)
        yield code
    digits = _picofarad_code(value)
    if spec.volts is not None and digits and value >= 10 * PICO:
        for code_of_volts, rated in EIA_VOLTS.items():
            if rated == spec.volts and code_of_volts not in FROM_LOGIC and spec.dielectric not in _WOUND:
                stated = ("value", "tolerance", "volts") if letter else ("value", "volts")
                yield PrintedCode(f"{code_of_volts}{digits}{letter}", "voltage code and digit code", stated)
        if spec.dielectric in ("tantalum", "") and value >= MICRO // 10:
            for volt_letter, ratings in LETTER_VOLTS.items():
                if spec.volts in ratings and volt_letter.isupper() and volt_letter not in "JF":
                    yield PrintedCode(
                        f"{digits}{volt_letter}",
                        "digit code and voltage letter",
                        ("value", "volts"),
                        "on chip tantalums",
                    )


def _picofarad_code(value: int) -> str:
    """Two figures and the multiplier, 9 and 8 standing for x0.1 and x0.01."""
    found = _figures(value, PICO, 2, range(-2, 8))
    return f"{found[0]}{ {-1: 9, -2: 8}.get(found[1], found[1]) }" if found else ""


def _capacitor_values(spec: Spec, value: int, letter: str) -> Iterator[PrintedCode]:
    digits = _picofarad_code(value)
    small = spec.dielectric not in _WOUND
    if digits and small:
        yield from _tolerated(digits, letter, "three-digit code, pF")
    for text in _at_point(value, _FARAD_LETTERS, 3):
        yield from _tolerated(text, letter, _LETTER_CODE)
    micro, rest = divmod(value, MICRO // 10**6)
    if small and NANO <= value < MICRO and not rest:
        decimal = f".{micro:06d}".rstrip("0")
        if len(decimal) <= 5:
            for text in (f"0{decimal}", decimal):
                yield from _tolerated(text, letter, "plain decimal, µF")
    pico, rest = divmod(value, PICO)
    if small and not rest and pico < 100:
        yield PrintedCode(str(pico), "plain picofarads", ("value",))
    if small and not rest and 100 <= pico < 1000 and pico % 10 == 0:
        yield PrintedCode(
            str(pico),
            "plain picofarads",
            ("value",),
            "old ceramics only: elsewhere the last digit is a multiplier",
        )
    if small and value < 10 * PICO:
        for text in _at_point(value, {"R": PICO}, 3):
            yield PrintedCode(f"{text}0" if text[-1] == "R" else text, "R as the point, pF", ("value",))
    if spec.dielectric in ("", "film", *_WOUND) and NANO <= value < 100 * MICRO:
        for text in _at_point(value, {"R": MICRO}, 3):
            note = "on film parts and electrolytics, where R stands in µF"
            yield PrintedCode(f"{text}0" if text[-1] == "R" else text, "R as the point, µF", ("value",), note)
    if spec.dielectric in ("", "c0g", "class2", "ceramic"):
        for figures_letter, figures in FIGURES.items():
            for power in range(10):
                scale = PICO // 100 if power == 9 else PICO * 10**power // 10
                if power != 8 and figures * scale == value:
                    yield PrintedCode(
                        f"{figures_letter}{power}", "two-character code", ("value",), "EIA-198, on chips"
                    )
    yield PrintedCode(_written(value, _FARAD_STEPS), _WRITTEN, ("value",))
    if spec.dielectric in ("paper", "aluminium", "mica", "") and value >= NANO:
        yield PrintedCode(
            _written(value, (("MFD", MICRO),)), "value with an old unit", ("value",), "on old parts"
        )


# ---------------------------------------------------------------- inductors and crystals

_MICROHENRY: Final = 10**6
# No step in H: H behind figures is also a tolerance letter.
_HENRY_STEPS: Final = (("mH", 10**9), ("µH", 10**6), ("nH", 10**3))
_HERTZ_STEPS: Final = (("MHz", 10**9), ("kHz", 10**6), ("Hz", 10**3))


def _inductor(spec: Spec, value: int) -> Iterator[PrintedCode]:
    letter = _letter(INDUCTOR_TOLERANCE, spec)
    digits = _figures(value, _MICROHENRY, 2, range(10))
    codes = [(f"{digits[0]}{digits[1]}", "three-digit code, µH", "")] if digits else []
    nano = _figures(value, 1000, 2, range(10))
    if nano and value < 10 * _MICROHENRY:
        codes.append(
            (
                f"{nano[0]}{nano[1]}",
                "three-digit code, nH",
                "some RF chips only: elsewhere the code counts µH",
            )
        )
    if value < 100 * _MICROHENRY:
        codes += [(text, "R as the point, µH", "") for text in _at_point(value, {"R": _MICROHENRY}, 3)]
    if value < _MICROHENRY:
        codes += [(text, "N as the point, nH", "") for text in _at_point(value, {"N": 1000}, 3)]
    for text, notation, note in codes:
        yield from _tolerated(text, letter, notation, note)
    yield PrintedCode(_written(value, _HENRY_STEPS), _WRITTEN, ("value",))


def _crystal(spec: Spec, value: int) -> Iterator[PrintedCode]:
    yield PrintedCode(_written(value, _HERTZ_STEPS), "frequency", ("value",))
    yield PrintedCode(_written(value, _HERTZ_STEPS[1:]), "frequency", ("value",))
