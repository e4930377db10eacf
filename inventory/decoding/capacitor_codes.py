"""Digits and letters on capacitors: three digits in pF, plain pF, EIA-198 pairs, ERIE letters, codes joined
to volts.

Sources: three figures: MIL-PRF-39001 and makers' part numbers; 9 as a multiplier: a textbook (Grob 11e), 8
and the pair table: EIA-198, from memory; ERIE letters: common practice, no source. Third digit 7 as x0.001
on very old charts, and four figures: from memory. One file, since every form here ends in the one meaning
of three figures and a letter.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal

from .candidates import Candidate, Notation
from .letter_codes import MICRO, NANO, PICO, pointed, with_tolerance
from .ratings import (
    EIA_VOLTS,
    ERIE_TOLERANCE,
    FEW_TOLERANCE_LETTERS,
    FROM_LOGIC,
    LETTER_VOLTS,
    TOLERANCE_LETTERS,
    USUAL_TOLERANCE_LETTERS,
    capacitor_tolerances,
    plain_volts,
)
from .shapes import DIGIT, DIGITS, Shape, cell
from .temperature import ERIE, of_slope

CERAMIC_OR_FILM = {"electrolytic": 0.02, "old": 0.3, "disc": 1.5, "film": 1.5, "tubular": 0.2}
DIGIT_CODE = Notation(
    "three-digit code, pF", "IEC 60062, EIA-198", "capacitor", 1.0, CERAMIC_OR_FILM, since=1960
)
FOUR_DIGIT_CODE = Notation("four-digit code, pF", "IEC 60062", "capacitor", 0.05, {"film": 3, "mica": 3})
PLAIN_PICOFARADS = Notation(
    "plain picofarads", "makers' practice", "capacitor", 1.0, {"electrolytic": 0.01, "chip": 0.3}
)
OLD_PICOFARADS = Notation(
    "plain picofarads, three digits and more", "old ceramics and micas", "capacitor", 0.08,
    {"old": 25, "tubular": 120, "mica": 20, "polystyrene": 60, "electrolytic": 0.01, "chip": 0.1}, until=1985,
)  # fmt: skip
FILM_PICOFARADS = Notation(
    "plain picofarads on film", "film makers' practice", "capacitor", 0.02,
    {"film": 15, "polystyrene": 20, "electrolytic": 0.01, "chip": 0.1, "disc": 0.3}, until=2005,
)  # fmt: skip
FILM_MICROFARADS = Notation(
    "whole microfarads, tolerance and volts",
    "film makers' practice",
    "capacitor",
    0.01,
    {"film": 30},
    since=1975,
)
POINTED_FILM = Notation(
    "letter code, tolerance and volts",
    "IEC 60062, film makers' practice",
    "capacitor",
    0.2,
    {"film": 3},
    since=1970,
)
ERIE_CODE = Notation(
    "ERIE letters",
    "ERIE, old tubular ceramics",
    "capacitor",
    0.5,
    {"tubular": 20, "old": 10},
    until=1980,
    most_unseen=0.75,
)
PAIR = Notation(
    "two-character code",
    "EIA-198",
    "capacitor",
    0.5,
    {"chip": 4, "axial": 0.05, "old": 0.1, "tantalum": 0.05, "electrolytic": 0.01, "film": 0.05},
    since=1985,
)
JOINED = Notation(
    "digit code with voltage code", "IEC 60062, EIA voltage code", "capacitor", 1.0, {"electrolytic": 0.1}
)
PLAIN_MICROFARADS = Notation(
    "plain microfarads",
    "makers' practice",
    "capacitor",
    0.06,
    {"electrolytic": 60, "tantalum": 4, "can": 2, "chip": 0.5, "disc": 0.02, "polystyrene": 0.01},
)
MICRO_CODE = Notation(
    "exponent code counted in µF", "electrolytic makers' practice", "capacitor", 0.008,
    {"electrolytic": 60, "tantalum": 3, "disc": 0.02},
)  # fmt: skip
TANTALUM_CODE = Notation(
    "digit code with voltage letter",
    "chip tantalum makers' practice",
    "capacitor",
    1.0,
    {"tantalum": 3, "chip": 2},
    since=1980,
)

FIGURES = {
    "A": 10, "B": 11, "C": 12, "D": 13, "E": 15, "F": 16, "G": 18, "H": 20, "J": 22, "K": 24, "L": 27,
    "M": 30, "N": 33,
    "P": 36, "Q": 39, "R": 43, "S": 47, "T": 51, "U": 56, "V": 62, "W": 68, "X": 75, "Y": 82, "Z": 91,
    "a": 25, "b": 35,
    "d": 40, "e": 45, "f": 50, "m": 60, "n": 70, "t": 80, "y": 90,
}  # fmt: skip


def femtofarads(figures: int, third: str) -> int:
    """Two or three figures and the multiplier digit, 8 and 9 being x0.01 and x0.1."""
    if third == "8":
        return figures * PICO // 100
    if third == "9":
        return figures * PICO // 10
    scale: int = 10 ** int(third)
    return figures * PICO * scale


def factor_text(third: str) -> str:
    return {"8": "x0.01 pF", "9": "x0.1 pF"}.get(third, f"x10^{third} pF")


def code_candidate(code: str, notation: Notation = DIGIT_CODE) -> Candidate | None:
    if code[0] == "0":
        return None
    used = ((code[:-1], "figures"), (code[-1], factor_text(code[-1])))
    weight = 0.3 if code[-1] in "789" else 1.0
    return Candidate(notation, femtofarads(int(code[:-1]), code[-1]), used, weight)


def micro_code_value(code: str) -> int | None:
    """Femtofarads of an exponent code counted in µF: 471, 4R7, R47. None for a leading zero."""
    if "R" in code:
        return pointed(code, code.index("R"), MICRO)
    return int(code[:2]) * 10 ** int(code[2]) * MICRO if code[0] != "0" else None


def three_digits(word: str) -> Iterator[Candidate]:
    candidate = code_candidate(word)
    if candidate is None:
        return
    yield candidate
    if word[2] == "7":
        value = int(word[:2]) * PICO // 1000
        caution = "very old charts count a third digit 7 as x0.001"
        used = ((word[:2], "figures"), (word[2], "x0.001 pF"))
        yield Candidate(DIGIT_CODE, value, used, 0.0005, cautions=(caution,))
    yield from plain_numbers(word)
    value = int(word[:2]) * 10 ** int(word[2]) * MICRO
    caution = "electrolytic makers' exponent codes count µF, not pF"
    used = ((word[:2], "figures"), (word[2], f"x10^{word[2]} µF"))
    yield Candidate(MICRO_CODE, value, used, 1.0, cautions=(caution,))


def plain_numbers(word: str) -> Iterator[Candidate]:
    """Bare digits as picofarads or, on a can, microfarads."""
    if word[0] == "0":
        return
    number = int(word)
    short = len(word) < 3
    cautions = () if short else ("old ceramics print plain pF, newer parts a digit code: measure",)
    yield Candidate(
        PLAIN_PICOFARADS if short else OLD_PICOFARADS, number * PICO, ((word, "pF"),), 1.0, cautions=cautions
    )
    if len(word) > 3:
        yield Candidate(FILM_PICOFARADS, number * PICO, ((word, "pF"),), 1.0 if number % 100 == 0 else 0.05)
    caution = "a bare number counts µF only on an electrolytic or tantalum body"
    weight = 1.0 if short or word[-1] == "0" else 0.02  # three figures without a nought are a code
    yield Candidate(PLAIN_MICROFARADS, number * MICRO, ((word, "µF"),), weight, cautions=(caution,))


def four_digits(word: str) -> Iterator[Candidate]:
    candidate = code_candidate(word, FOUR_DIGIT_CODE)
    if candidate is not None:
        yield candidate
        yield from plain_numbers(word)


def code_and_letter(word: str) -> Iterator[Candidate]:
    code, letter = word[:-1], word[-1]
    candidate = code_candidate(code, DIGIT_CODE if len(code) == 3 else FOUR_DIGIT_CODE)
    if candidate is None or candidate.value is None:
        return
    yield from with_tolerance(candidate, letter, capacitor_tolerances(letter, candidate.value))
    if len(code) == 3:
        old = Candidate(OLD_PICOFARADS, int(code) * PICO, ((code, "pF"),), 0.3)
        yield from with_tolerance(old, letter, capacitor_tolerances(letter, old.value or 0))
        yield from code_and_volt_letter(code, letter, candidate)


def code_and_volt_letter(code: str, letter: str, candidate: Candidate) -> Iterator[Candidate]:
    """107C: a tantalum's letter for rated volts. Likely from 0.1 µF up, and where the letter is no common
    tolerance.
    """
    value = candidate.value or 0
    for volts in LETTER_VOLTS.get(letter, ()):
        weight = (1.0 if value >= MICRO // 10 else 0.002) * (0.3 if letter in "JF" else 1.0)
        used = (*candidate.used, (letter, f"{volts:f} V"))
        caution = "the letter is a voltage on tantalums; table of letters from memory"
        yield Candidate(TANTALUM_CODE, value, used, weight, None, volts, (caution,))


def volt_letter_and_code(word: str) -> Iterator[Candidate]:
    candidate = code_candidate(word[1:])
    if candidate is None:
        return
    for volts in LETTER_VOLTS[word[0]]:
        weight = 1.0 if (candidate.value or 0) >= MICRO // 10 else 0.01
        used = ((word[0], f"{volts:f} V"), *candidate.used)
        yield Candidate(TANTALUM_CODE, candidate.value, used, weight, None, volts)


def plain_and_letter(word: str) -> Iterator[Candidate]:
    digits, letter = word[:-1], word[-1]
    if digits[0] == "0":
        return
    value = int(digits) * PICO
    candidate = Candidate(PLAIN_PICOFARADS, value, ((digits, "pF"),), 0.8)
    yield from with_tolerance(candidate, letter, capacitor_tolerances(letter, value))


def erie(word: str) -> Iterator[Candidate]:
    """47KC: plain pF, tolerance letter, temperature letter."""
    digits, tolerance, slope = word[:-2], word[-2], word[-1]
    if digits[0] == "0":
        return
    ppm = ERIE[slope]
    candidate = Candidate(ERIE_CODE, int(digits) * PICO, ((digits, "pF"),), 1.0, temperature=of_slope(ppm))
    for each in with_tolerance(candidate, tolerance, ERIE_TOLERANCE.get(tolerance, ())):
        yield each.after((slope, f"{ppm:+d} ppm/K" if ppm else "NP0"))


def pair(word: str) -> Iterator[Candidate]:
    letter, digit = word[-2], word[-1]
    figures = FIGURES[letter]
    value = figures * PICO // 100 if digit == "9" else figures * PICO // 10 * 10 ** int(digit)
    if digit == "8":
        return
    maker = ((word[0], ""),) if len(word) == 3 else ()
    multiplier = "x0.1 pF" if digit == "9" else f"x10^{digit} pF"
    used = (*maker, (letter, f"{figures / 10}"), (digit, multiplier))
    cautions = ("a letter and a digit may also be a year and month",) if len(word) == 2 else ()
    yield Candidate(PAIR, value, used, 1.0 if len(word) == 2 else 0.5, None, None, cautions)


def volts_then_code(word: str) -> Iterator[Candidate]:
    """2A474J, 1H103, and on electrolytics 1V182 counted in µF."""
    volts = EIA_VOLTS.get(word[:2])
    if volts is None:
        return
    code, letter = word[2:5], word[5:]
    cautions = (
        ("this voltage code follows the series but was seen in no stored source",)
        if word[:2] in FROM_LOGIC
        else ()
    )
    volt_used = ((word[:2], f"{volts:f} V"),)
    candidate = code_candidate(code, JOINED) if code.isdigit() else None
    if candidate is not None:
        weight = candidate.weight * (1.0 if letter else 0.15)
        whole = Candidate(
            JOINED, candidate.value, (*volt_used, *candidate.used), weight, None, volts, cautions
        )
        if letter:
            yield from with_tolerance(whole, letter, capacitor_tolerances(letter, whole.value or 0))
        else:
            yield whole
    value = micro_code_value(code)
    if value and volts <= 500:
        used = (*volt_used, (code, "exponent code in µF"))
        weight = (1.0 if volts < 50 else 0.2) * (200.0 if not letter else 0.3)
        counted = Candidate(MICRO_CODE, value, used, weight, None, volts, cautions)
        if letter:
            yield from with_tolerance(counted, letter, capacitor_tolerances(letter, value))
        else:
            yield counted


def code_then_volts(word: str) -> Iterator[Candidate]:
    """474J2A, 1042A."""
    volts = EIA_VOLTS.get(word[-2:])
    candidate = code_candidate(word[:3], JOINED)
    if volts is None or candidate is None:
        return
    letter = word[3:-2]
    whole = Candidate(JOINED, candidate.value, candidate.used, candidate.weight * 0.5, None, volts)
    found = (
        with_tolerance(whole, letter, capacitor_tolerances(letter, whole.value or 0))
        if letter
        else iter((whole,))
    )
    for each in found:
        yield each.after((word[-2:], f"{volts:f} V"))


def code_letter_plain_volts(word: str) -> Iterator[Candidate]:
    """104K100, 103Z50: volts in plain figures behind the tolerance letter."""
    volts = plain_volts(word[4:])
    candidate = code_candidate(word[:3])
    if volts is None or candidate is None:
        return
    whole = Candidate(DIGIT_CODE, candidate.value, candidate.used, candidate.weight * 0.8, None, volts)
    for each in with_tolerance(whole, word[3], capacitor_tolerances(word[3], whole.value or 0)):
        yield each.after((word[4:], f"{volts:f} V"))


FILM_VOLTS = frozenset(map(Decimal, (50, 63, 100, 160, 250, 400, 630)))


def micro_letter_volts(word: str) -> Iterator[Candidate]:
    """1J63: whole µF, tolerance letter, volts, on the ends of small film boxes (from memory)."""
    volts = plain_volts(word[2:])
    if volts not in FILM_VOLTS or word[0] == "0":
        return
    candidate = Candidate(FILM_MICROFARADS, int(word[0]) * MICRO, ((word[0], "µF"),), 1.0, volts=volts)
    for each in with_tolerance(candidate, word[1], capacitor_tolerances(word[1], candidate.value or 0)):
        yield each.after((word[2:], f"{volts:f} V"))


def pointed_letter_volts(word: str) -> Iterator[Candidate]:
    """4n7J100 where some of it cannot be read; what can be read whole is parted before (run_together)."""
    at = next(place for place, each in enumerate(word) if each in "pnµ")
    end = next(place for place, each in enumerate(word) if each in "JKM")
    volts, value = (
        plain_volts(word[end + 1 :]),
        pointed(word[:end], at, {"p": PICO, "n": NANO, "µ": MICRO}[word[at]]),
    )
    if volts not in FILM_VOLTS or not value or word[0] == "0":
        return
    used = ((word[:end], f"{word[at]} stands at the decimal point"),)
    candidate = Candidate(POINTED_FILM, value, used, 1.0, volts=volts)
    for each in with_tolerance(candidate, word[end], capacitor_tolerances(word[end], value)):
        yield each.after((word[end + 1 :], f"{volts:f} V"))


def micro_then_volts(word: str) -> Iterator[Candidate]:
    """22µ35: volts in plain figures behind the µ of a tantalum or electrolytic."""
    at = next(place for place, each in enumerate(word) if each in "µu")
    volts = plain_volts(word[at + 1 :])
    if volts is None or word[0] == "0":
        return
    used = ((word[:at], "figures"), (word[at], "microfarads"), (word[at + 1 :], f"{volts:f} V"))
    yield Candidate(PLAIN_MICROFARADS, int(word[:at]) * MICRO, used, 2.0, None, volts)


R = cell("R")
VOLT_FIGURES = (cell(DIGITS, DIGITS, "12456"), cell(DIGITS, DIGITS, "0356"), cell(DIGITS, DIGITS, "0"))


FILM_ORDER = Notation("film order code", "a maker's ordering, from memory", "capacitor", 2.0, {"film": 5})
_FILM_ORDER = re.compile(r"([1-9][0-9]{2}P)([1-9][0-9]{2})([0159])([1-68])([A-Z]{1,2}[0-9]?[A-Z]?)")
_FIGURE_TOLERANCE = {"0": "M", "1": "F", "5": "J", "9": "K"}


def film_order(text: str) -> Iterator[Candidate]:
    """715P22356LD3, 225P10391WD3: series, code in pF, figures for the tolerance and hundreds of volts."""
    match = _FILM_ORDER.fullmatch(text)
    candidate = code_candidate(match[2], FILM_ORDER) if match else None
    if match is None or candidate is None:
        return
    volts = Decimal(match[4]) * 100
    tolerance = capacitor_tolerances(_FIGURE_TOLERANCE[match[3]], candidate.value or 0)[0].tolerance
    used = (
        (match[1], "series"),
        *candidate.used,
        (match[3], tolerance.text),
        (match[4], f"{volts:f} V"),
        (match[5], ""),
    )
    yield candidate._replace(used=used, tolerance=tolerance, volts=volts)


def shapes() -> Iterator[Shape]:
    kind = "capacitor"
    for size in (1, 2, 3):
        for volt_figures in (2, 3):
            cells = (DIGIT,) * size + (cell("µu", "µ"),) + VOLT_FIGURES[:volt_figures]
            yield Shape(cells, kind, micro_then_volts, tuple(range(size)))
    unit, letter = cell("pnµ"), cell("JKM")
    for places in (1, 2, 0, 3):  # 4n7, 47n, µ47, 470n
        value = (DIGIT,) * places + (unit,) + (DIGIT,) * {0: 2, 1: 1}.get(places, 0)
        figures = tuple(place for place in range(len(value)) if place != places)
        for film_volts in ((cell("56"), cell("03")), (cell("12346"), cell("0356"), cell("0"))):
            yield Shape((*value, letter, *film_volts), kind, pointed_letter_volts, figures)
    code = (DIGIT,) * 3
    tolerance = cell(TOLERANCE_LETTERS + "e", USUAL_TOLERANCE_LETTERS + "V", FEW_TOLERANCE_LETTERS)
    strict = cell(TOLERANCE_LETTERS, "JKMGFZ", FEW_TOLERANCE_LETTERS)
    eia = (cell("0123", "0123", "12"), cell("ABCDEFGHJKLNPQTVWZ", "ACEGHJVWD", "ACEHJ"))
    maker_volts = (cell("Y"), cell("AD"))
    yield Shape(code, kind, three_digits, (0, 1))
    yield Shape((DIGIT,) * 4, kind, four_digits, (0, 1, 2))
    yield Shape((DIGIT,) * 5, kind, plain_numbers, (0, 1, 2, 3, 4))
    yield Shape((DIGIT,), kind, plain_numbers, (0,))
    yield Shape((DIGIT,) * 2, kind, plain_numbers, (0, 1))
    yield Shape((*code, tolerance), kind, code_and_letter, (0, 1))
    yield Shape((DIGIT,) * 4 + (strict,), kind, code_and_letter, (0, 1, 2))
    yield Shape((DIGIT, strict), kind, plain_and_letter, (0,))
    for volt_figures in (2, 3):
        cells = (DIGIT, cell("JKM"), *VOLT_FIGURES[:volt_figures])
        yield Shape(cells, kind, micro_letter_volts, (0,))
    yield Shape((DIGIT, DIGIT, strict), kind, plain_and_letter, (0, 1))
    yield Shape((cell("".join(LETTER_VOLTS), "AGJCDEV"), *code), kind, volt_letter_and_code, (1, 2))
    slopes = cell("".join(ERIE), "CHNA")
    for digits in (1, 2, 3):
        yield Shape((DIGIT,) * digits + (strict, slopes), kind, erie, tuple(range(digits)))
    letters = "".join(FIGURES)
    figures_of_pair = cell(letters, letters, "AEJNSW")
    yield Shape((figures_of_pair, DIGIT), kind, pair)
    yield Shape((cell("ABCDEFGHJKLMNPRSTUVWXYZ", "K"), figures_of_pair, DIGIT), kind, pair)
    for form, figures in ((code, (2, 3)), ((DIGIT, R, DIGIT), (2, 4)), ((R, DIGIT, DIGIT), (3, 4))):
        yield Shape((*eia, *form), kind, volts_then_code, figures)
        yield Shape((*eia, *form, strict), kind, volts_then_code, figures)
    yield Shape((*maker_volts, *code, strict), kind, volts_then_code, (2, 3))
    yield Shape((*code, *eia), kind, code_then_volts, (0, 1))
    yield Shape((*code, strict, *eia), kind, code_then_volts, (0, 1))
    for digits in (2, 3, 4):
        yield Shape((*code, strict) + (DIGIT,) * digits, kind, code_letter_plain_volts, (0, 1))
