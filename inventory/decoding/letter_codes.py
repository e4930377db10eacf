"""Letter-for-point codes (IEC 60062 "RKM"): 4k7, R33, 470R, 4n7, 6p8, 8N2, with a tolerance letter behind.

Sources: IEC 60062, from memory; a shunt maker's marking page (m as the point in milliohm); inductor makers
(R µH, N nH); capitals on capacitors: common practice, no source. T, E for R and µ on inductors: from
memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from .candidates import ONE_PERCENT, Candidate, Notation
from .ratings import (
    FEW_TOLERANCE_LETTERS,
    INDUCTOR_TOLERANCE,
    RESISTOR_TOLERANCE,
    TOLERANCE_LETTERS,
    USUAL_TOLERANCE_LETTERS,
    ToleranceMeaning,
    capacitor_tolerances,
)
from .series import usualness
from .shapes import DIGIT, Cell, Read, Shape, cell

IEC = "IEC 60062"

RESISTOR_CODE = Notation("letter code, ohms", IEC, "resistor", 1.0, {"chip": 1.5})
CAPACITOR_CODE = Notation("letter code, farads", IEC, "capacitor", 1.0, {"tantalum": 0.5})
CAPITAL_CODE = Notation("letter code in capitals, farads", IEC, "capacitor", 0.7)
INDUCTOR_CODE = Notation("letter code, henries", "makers' practice", "inductor", 1.0)
RPOINT_PICOFARADS = Notation(
    "R as the point, pF", "EIA-198, makers' practice", "capacitor", 0.6, {"electrolytic": 0.02}
)
RPOINT_MICROFARADS = Notation(
    "R as the point, µF", "makers' practice", "capacitor", 0.1, {"electrolytic": 20, "tantalum": 6, "film": 3}
)
KILO_PICOFARADS = Notation(
    "kilo-picofarads",
    "old print, no standard",
    "capacitor",
    0.12,
    {"old": 12, "film": 2, "chip": 0.05},
    until=1990,
)
VINTAGE_M = Notation(
    "M for microfarads",
    "old print, no standard",
    "capacitor",
    0.05,
    {"old": 6, "electrolytic": 100},
    until=1980,
)
SHUNT_M = Notation(
    "M as the point, milliohms",
    "one shunt maker's part code",
    "resistor",
    0.02,
    {"shunt": 4000, "chip": 2},
    since=1995,
)
MILLIFARAD_OR_MICRO = Notation(
    "m for microfarads", "old print, no standard", "capacitor", 0.03, {"old": 20}, until=1980
)

OHM = 10**6
TWO_FIGURES = 0.5
OHMS_BEHIND = 2.0
"""470Ω is the value with its unit, which is printed more often than any one letter code."""
# letter: (µΩ per unit, weight, notation)
RESISTOR_LETTERS: dict[str, tuple[int, float]] = {
    "R": (OHM, 1.0), "K": (10**3 * OHM, 1.0), "k": (10**3 * OHM, 1.0), "M": (10**6 * OHM, 1.0),
    "G": (10**9 * OHM, 1.0),
    "T": (10**12 * OHM, 0.3), "L": (10**3, 0.3), "m": (10**3, 0.5), "E": (OHM, 0.05), "r": (OHM, 0.3),
    "Ω": (OHM, 0.5),
}  # fmt: skip
PICO, NANO, MICRO, MILLI, FARAD = 10**3, 10**6, 10**9, 10**12, 10**15
CAPACITOR_LETTERS: dict[str, tuple[int, float]] = {
    "p": (PICO, 1.0), "n": (NANO, 1.0), "µ": (MICRO, 1.0), "u": (MICRO, 1.0), "m": (MILLI, 0.2),
    "F": (FARAD, 0.02),
}  # fmt: skip
CAPITAL_LETTERS: dict[str, tuple[int, float]] = {"P": (PICO, 1.0), "N": (NANO, 1.0), "U": (MICRO, 1.0)}
INDUCTOR_LETTERS: dict[str, tuple[int, float]] = {
    "R": (10**6, 1.0), "N": (10**3, 1.0), "n": (10**3, 1.0), "µ": (10**6, 0.5), "u": (10**6, 0.5),
    "U": (10**6, 0.1),
    "m": (10**9, 0.1),
}  # fmt: skip

NAMES = {"R": "ohms", "K": "kilo", "k": "kilo", "M": "mega", "G": "giga", "T": "tera", "L": "milliohms",
"m": "milli",
         "E": "ohms", "r": "ohms", "Ω": "ohms", "p": "pico", "n": "nano", "µ": "micro", "u": "micro",
         "F": "farads",
         "P": "pico", "N": "nano", "U": "micro"}  # fmt: skip


def pointed(word: str, letter_at: int, units: int) -> int | None:
    """The value with the point at the letter, None when it is not a whole number of smallest units."""
    fraction = word[letter_at + 1 :]
    scaled = int((word[:letter_at] or "0") + fraction) * units
    value, rest = divmod(scaled, 10 ** len(fraction))
    return None if rest else value


def misplaced_zero(word: str, letter_at: int) -> bool:
    """07K2 or 00R1: no printer writes these."""
    return letter_at > 1 and word[0] == "0"


def used_of(word: str, letter_at: int, name: str) -> tuple[tuple[str, str], ...]:
    return ((word, f"{word[letter_at]} is {name} and stands at the decimal point"),)


def with_tolerance(
    candidate: Candidate, letter: str, meanings: Iterable[ToleranceMeaning]
) -> Iterator[Candidate]:
    """The candidate once per meaning of its tolerance letter."""
    for meaning in meanings:
        tolerance, cautions = meaning.tolerance, candidate.cautions
        yield Candidate(  # the most called line of all: _replace takes three times as long
            candidate.notation, candidate.value, (*candidate.used, (letter, tolerance.text)),
            candidate.weight * meaning.weight, tolerance, candidate.volts,
            (*cautions, meaning.caution) if meaning.caution else cautions, candidate.reasons,
            candidate.temperature, candidate.traits, candidate.type, candidate.date, candidate.usual,
        )  # fmt: skip


def meanings_of(letter: str, kind: str, value: int) -> tuple[ToleranceMeaning, ...]:
    if kind == "resistor":
        return RESISTOR_TOLERANCE.get(letter, ())
    if kind == "inductor":
        return INDUCTOR_TOLERANCE.get(letter, ())
    return capacitor_tolerances(letter, value) if kind == "capacitor" and value else ()


def resistor_values(word: str, letter_at: int) -> Iterator[Candidate]:
    letter = word[letter_at]
    units, weight = RESISTOR_LETTERS[letter]
    value = pointed(word, letter_at, units)
    if value is None or misplaced_zero(word, letter_at):
        return
    if letter == "m" and letter_at != 1:
        weight *= 0.1
    if letter == "Ω" and letter_at == len(word) - 1:
        weight = OHMS_BEHIND
    if len(word) < 4 and usualness(value) < TWO_FIGURES:
        weight *= 0.1  # a value of E96 is printed with its three figures
    # Four characters below an ohm are current-sense chips, 1 % parts (thick-film data sheet RND 155, shunt
    # maker's page).
    usual = ONE_PERCENT if letter == "m" or (letter_at == 0 and len(word) >= 4) else None
    if milliohms(word, letter_at):
        weight *= 8  # so small a resistor is rare, but nothing else is printed like it
    yield Candidate(RESISTOR_CODE, value, used_of(word, letter_at, NAMES[letter]), weight, usual=usual)
    if letter == "M" and letter_at == 1 and len(word) == 4:
        milli = pointed(word, letter_at, 10**3)
        caution = "M is mega by IEC 60062 and milli in one shunt maker's part code: look at the body"
        yield Candidate(SHUNT_M, milli, used_of(word, letter_at, "milliohms"), 1.0, cautions=(caution,))
    if letter == "R" and letter_at == 0 and len(word) == 4 and word[1] not in "0":
        value = int(word[1:3]) * 10 ** int(word[3]) * OHM
        caution = "a leading R before three digits is the point; some read it as a mere prefix: measure"
        yield Candidate(
            RESISTOR_CODE, value, ((word[0], ""), (word[1:], "three-digit code")), 0.003, cautions=(caution,)
        )


def capacitor_values(word: str, letter_at: int) -> Iterator[Candidate]:
    letter = word[letter_at]
    if misplaced_zero(word, letter_at):
        return
    table, notation = (
        (CAPACITOR_LETTERS, CAPACITOR_CODE)
        if letter in CAPACITOR_LETTERS
        else (CAPITAL_LETTERS, CAPITAL_CODE)
    )
    if letter in table:
        units, weight = table[letter]
        value = pointed(word, letter_at, units)
        if value:
            if len(word) - letter_at > 3:
                weight *= 0.05
            if word[0] == "0":
                weight *= NEEDLESS_NOUGHT
            elif letter_at in (0, 3):
                weight *= ONE_OF_TWO_WAYS
            elif letter in "pP" and FIGURES_OF_A_CAPACITOR + 1 < len(word) != letter_at + 1:
                weight *= TOO_CLOSE
            weight *= idleness(word, letter_at)
            yield Candidate(notation, value, used_of(word, letter_at, NAMES[letter]), weight)
        if letter == "m":
            value = pointed(word, letter_at, MICRO)
            caution = "m is milli by IEC 60062, micro on old parts"
            yield Candidate(
                MILLIFARAD_OR_MICRO, value, used_of(word, letter_at, "micro"), 1.0, cautions=(caution,)
            )
    elif letter in "Rr":
        yield from capacitor_r_point(word, letter_at)
    elif letter in "Kk":
        value = pointed(word, letter_at, NANO)
        if value:
            ends = letter_at == len(word) - 1
            cautions = ("K may also be a 10 % tolerance letter",) if ends else ()
            weight = (0.3 if letter_at < 3 else 3.0 if word[:letter_at] == "100" else 0.3) if ends else 1.0
            if ends and letter_at == 1:
                weight = 2.0
            used = used_of(word, letter_at, "thousands of pF")
            yield Candidate(KILO_PICOFARADS, value, used, weight, cautions=cautions)
    elif letter == "M":
        value = pointed(word, letter_at, MICRO)
        if value:
            weight = 1.0 if letter_at < len(word) - 1 else 0.1
            yield Candidate(VINTAGE_M, value, used_of(word, letter_at, "microfarads"), weight)


def milliohms(word: str, letter_at: int) -> bool:
    """R010, R005, 0R01: how current-sense resistors are marked (shunt maker, chip data sheets)."""
    return word[letter_at] in "Rr" and (
        word[:2].upper() == "R0" and len(word) >= 4 or word[:3].upper() == "0R0"
    )


FIGURES_OF_A_CAPACITOR, TOO_CLOSE = 3, 0.1
"""12P10: nobody gives picofarads to four figures (common practice, no source); it may be a transistor."""
ONE_OF_TWO_WAYS = 0.5
"""220n is printed µ22 as often (IEC 60062)."""
NEEDLESS_NOUGHT = 0.2
"""n10 is printed rather than 0n1 (IEC 60062)."""
IDLE_POINT = 0.05
"""Nobody prints a point behind two figures and more with nothing but noughts behind it, 82R, 680R0, nor 4700n
for 4µ7.
"""


def idleness(word: str, letter_at: int) -> float:
    """IDLE_POINT where nobody would print it so, else 1: of farads as of henries."""
    nothing_behind = letter_at + 1 < len(word) and not word[letter_at + 1 :].strip("0")
    too_many = letter_at > 3 and word[letter_at] in "nN"
    return IDLE_POINT if letter_at > 1 and (nothing_behind or too_many) else 1.0


def capacitor_r_point(word: str, letter_at: int) -> Iterator[Candidate]:
    used = used_of(word, letter_at, "the point")
    in_pico = pointed(word, letter_at, PICO)
    in_micro = pointed(word, letter_at, MICRO)
    leading_zero = letter_at == 0 and len(word) > 2 and word[1] == "0"
    idle = letter_at > 1 and not word[letter_at + 1 :].strip("0") or len(word) - letter_at > 3
    likely = IDLE_POINT if idle else 1.0
    rule = "R as the point: picofarads below 10 pF, microfarads on film parts and electrolytics"
    if in_pico:
        yield Candidate(
            RPOINT_PICOFARADS, in_pico, used, likely * (0.01 if leading_zero else 1.0), cautions=(rule,)
        )
    if in_micro:
        weight = likely * (5.0 if leading_zero and not milliohms(word, letter_at) else 1.0)
        yield Candidate(RPOINT_MICROFARADS, in_micro, used, weight, cautions=(rule,))


def inductor_values(word: str, letter_at: int) -> Iterator[Candidate]:
    letter = word[letter_at]
    if letter not in INDUCTOR_LETTERS or misplaced_zero(word, letter_at):
        return
    units, weight = INDUCTOR_LETTERS[letter]
    value = pointed(word, letter_at, units)
    if value:
        name = {"R": "microhenries", "N": "nanohenries", "n": "nanohenries"}.get(letter, NAMES[letter])
        weight *= idleness(word, letter_at)
        yield Candidate(INDUCTOR_CODE, value, used_of(word, letter_at, name), weight)


ZENER = Notation("zener voltage", "makers' practice", "diode", 0.3)

UNIT_ENDINGS = {"p": "F", "n": "FH", "µ": "FH", "u": "FH", "m": "FH", "P": "F", "N": "FH", "U": "FH"}

VALUES: Mapping[str, tuple[Cell, object]] = {
    "resistor": (cell("RKkMGTLmErΩ", "RKMGL", "RKM"), resistor_values),
    "capacitor": (cell("pnµumFPNURrKkM", "pnµK", "pnµ"), capacitor_values),
    "inductor": (cell("RNnµuUm", "RNu"), inductor_values),
}


ONE_FIGURE = 0.3
"""2K0J is printed rather than 2KJ (common practice, no source)."""


def reader(kind: str, letter_at: int, size: int) -> Read:
    """Reads words of `size` cells with the letter at one place, and a tolerance letter behind when one is
    left over.
    """
    values = VALUES[kind][1]

    def read(word: str) -> Iterator[Candidate]:
        found: Iterable[Candidate] = values(word[:size], letter_at)  # type: ignore[operator]
        if len(word) == size:
            yield from found
            return
        if letter_at == size - 1 and word[size] in UNIT_ENDINGS.get(word[letter_at], ""):
            return  # 10nF, 330uH: the unit, not a tolerance
        for candidate in found:
            if size == 2:
                candidate = candidate.less(ONE_FIGURE)
            yield from with_tolerance(
                candidate, word[size], meanings_of(word[size], kind, candidate.value or 0)
            )

    return read


SEEN_V = Cell("V", "", "")
"""It must be read: a V that nobody sees would make a zener of any figures."""


def zener_volts(word: str) -> Iterator[Candidate]:
    """5V6 on a diode: the zener voltage, V at the point (from memory)."""
    whole, _, fraction = word.partition("V")
    volts = Decimal(f"{whole}.{fraction or 0}").normalize()
    if not word.startswith("0") and volts:
        used = ((word, f"V stands at the decimal point: {volts:f} V"),)
        yield Candidate(
            ZENER, None, used, 1.0, volts=volts, traits={"function": "zener", "zener_volts": f"{volts:f}"}
        )


def shapes() -> Iterator[Shape]:
    for before, after in ((1, 1), (2, 0), (1, 2), (2, 1), (1, 0)):
        yield Shape((DIGIT,) * before + (SEEN_V,) + (DIGIT,) * after, "diode", zener_volts)
    tolerance = cell(TOLERANCE_LETTERS, USUAL_TOLERANCE_LETTERS, FEW_TOLERANCE_LETTERS)
    places = [(before, after) for before in range(4) for after in range(5) if 1 <= before + after <= 4]
    places.append((4, 0))
    for kind, (letters, _) in VALUES.items():
        for before, after in places:
            size = before + 1 + after
            cells = (DIGIT,) * before + (letters,) + (DIGIT,) * after
            read = reader(kind, before, size)
            figures = tuple(place for place in range(size) if place != before)
            yield Shape(cells, kind, read, figures)
            yield Shape((*cells, tolerance), kind, read, figures)
