"""Digits on chip resistors: three and four digits, EIA-96, zero links, shunts with an implied point, plain
ohms.

Sources: data sheets of thick-film makers (RND 155, Walsin WFxxR) and the marking guide of NIC after
EIA-575; a shunt maker's marking page. R, S and H in EIA-96, of which two pairings are met: common practice,
no source. Military and industrial type strings and body codes: from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from .candidates import FIVE_PERCENT, ONE_PERCENT, Candidate, Notation, percent
from .letter_codes import OHM, with_tolerance
from .ratings import (
    FEW_TOLERANCE_LETTERS,
    RESISTOR_TOLERANCE,
    TOLERANCE_LETTERS,
    USUAL_TOLERANCE_LETTERS,
)
from .series import E96
from .shapes import DIGIT, Shape, cell

CHIP = {"chip": 4.0, "network": 2.0, "axial": 0.05, "old": 0.02}
THREE_DIGITS = Notation(
    "three-digit code, ohms", "IEC 60062, EIA practice", "resistor", 1.0, CHIP, since=1975
)
FOUR_DIGITS = Notation("four-digit code, ohms", "IEC 60062, EIA practice", "resistor", 1.0, CHIP, since=1980)
EIA96 = Notation("EIA-96", "EIA-96 / IEC 60062:2016 Annex A", "resistor", 1.0, CHIP, since=1990)
ZERO = Notation("zero-ohm link", "makers' practice", "resistor", 1.0, CHIP)
IMPLIED_POINT = Notation(
    "three digits after an implied R, ohms",
    "shunt makers' practice",
    "resistor",
    0.3,
    {"shunt": 20, "chip": 2},
    since=1995,
)
PLAIN_OHMS = Notation("plain ohms", "makers' practice", "resistor", 0.3)
TYPE_STRING = Notation(
    "industrial type designation", "RMA/EIA practice", "resistor", 1.0, {"chip": 0.1}, until=1990
)
PRINTED_CODE = Notation(
    "digit code with tolerance letter, ohms", "IEC 60062", "resistor", 0.15, {"network": 8}
)

EIA96_MULTIPLIER: dict[str, tuple[tuple[int, float, str], ...]] = {
    # letter: (µΩ per unit of the three figures, weight, caution); of two pairings of S and R each is offered
    "Z": ((OHM // 1000, 0.2, ""),),
    "Y": ((OHM // 100, 0.7, ""),),
    "X": ((OHM // 10, 1.0, ""),),
    "S": (
        (OHM // 100, 0.1, "S is x0.01 in some tables, x0.1 in others: measure"),
        (OHM // 10, 0.03, "the other pairing of S and R: measure"),
    ),
    "R": (
        (OHM // 10, 0.1, "R is x0.1 in some tables, x0.01 in others: measure"),
        (OHM // 100, 0.03, "the other pairing of S and R: measure"),
    ),
    "A": ((OHM, 1.0, ""),),
    "B": ((OHM * 10, 1.0, ""),),
    "H": (
        (OHM * 10, 0.3, "H is x10 in most tables, 10^7 in one maker's sheet"),
        (OHM * 10**7, 0.002, "one maker's sheet"),
    ),
    "C": ((OHM * 100, 1.0, ""),),
    "D": ((OHM * 1000, 1.0, ""),),
    "E": ((OHM * 10**4, 0.8, ""),),
    "F": ((OHM * 10**5, 0.4, ""),),
    "G": ((OHM * 10**6, 0.02, "G = 10^6 is one maker's extension"),),
}


def three_digits(word: str) -> Iterator[Candidate]:
    if word == "000":
        yield from zero(word)
    elif word[0] == "0":
        whole = ((word, f"R{word}, the R not printed"),)
        caution = "a leading zero is legal only on shunts with an implied R; try the part the other way up"
        yield Candidate(IMPLIED_POINT, int(word) * OHM // 1000, whole, 1.0, cautions=(caution,))
    else:
        value = int(word[:2]) * 10 ** int(word[2]) * OHM
        cautions = (
            ("often misread as plain ohms: the last digit is the number of zeros",) if word[2] == "0" else ()
        )
        used = ((word[:2], "figures"), (word[2], f"x10^{word[2]} Ω"))
        yield Candidate(THREE_DIGITS, value, used, 1.0, cautions=cautions, usual=FIVE_PERCENT)


def four_digits(word: str) -> Iterator[Candidate]:
    if word == "0000":
        yield from zero(word)
    elif word[0] != "0":
        used = ((word[:3], "figures"), (word[3], f"x10^{word[3]} Ω"))
        yield Candidate(FOUR_DIGITS, int(word[:3]) * 10 ** int(word[3]) * OHM, used, usual=ONE_PERCENT)


def zero(word: str) -> Iterator[Candidate]:
    caution = "a link, some tens of milliohms at most"
    yield Candidate(ZERO, 0, ((word, "zero ohms"),), 1.0, cautions=(caution,))


def plain(word: str) -> Iterator[Candidate]:
    if not word.strip("0"):
        yield from zero(word)
    elif word[0] != "0":
        weight = 1.0 if len(word) == 2 else 0.1
        yield Candidate(PLAIN_OHMS, int(word) * OHM, ((word, "ohms"),), weight)


def eia96(word: str) -> Iterator[Candidate]:
    place = int(word[:2])
    if not 1 <= place <= 96:
        return
    figures = E96[place - 1]
    for units, weight, caution in EIA96_MULTIPLIER[word[2].upper()]:
        used = ((word[:2], f"figure {place} of E96: {figures}"), (word[2], f"x{Decimal(units) / OHM:f} Ω"))
        cautions = (caution,) if caution else ()
        weight = weight if word[2].isupper() else weight * 0.2
        # Every EIA-96 value is in E96, which the value prior would punish against E24: that is partly undone
        # here.
        yield Candidate(EIA96, figures * units, used, weight * 1.5, ONE_PERCENT, None, cautions)


def coded_with_tolerance(word: str) -> Iterator[Candidate]:
    code, letter = word[:-1], word[-1]
    if code[0] == "0":
        return
    value = int(code[:-1]) * 10 ** int(code[-1]) * OHM
    used = ((code[:-1], "figures"), (code[-1], f"x10^{code[-1]} Ω"))
    yield from with_tolerance(Candidate(PRINTED_CODE, value, used), letter, RESISTOR_TOLERANCE[letter])


BODY_WATTS = {"BB": "1/8 W", "CB": "1/4 W", "EB": "1/2 W", "GB": "1 W", "HB": "2 W"}
TOLERANCE_FIGURE = {"1": percent("10"), "2": percent("20"), "5": percent("5")}


def industrial_type(word: str) -> Iterator[Candidate]:
    body, code, figure = word[:2], word[2:5], word[5]
    if body not in BODY_WATTS or code[0] == "0" or figure not in TOLERANCE_FIGURE:
        return
    tolerance = TOLERANCE_FIGURE[figure]
    value = int(code[:2]) * 10 ** int(code[2]) * OHM
    used = (
        (body, BODY_WATTS[body]),
        (code[:2], "figures"),
        (code[2], f"x10^{code[2]} Ω"),
        (figure, tolerance.text),
    )
    yield Candidate(TYPE_STRING, value, used, 1.0, tolerance, traits={"rated_power": BODY_WATTS[body]})


def shapes() -> Iterator[Shape]:
    tolerance = cell(
        "".join(each for each in TOLERANCE_LETTERS if each in RESISTOR_TOLERANCE),
        USUAL_TOLERANCE_LETTERS.replace("Z", ""),
        FEW_TOLERANCE_LETTERS,
    )
    yield Shape((DIGIT,) * 3, "resistor", three_digits, (0, 1))
    yield Shape((DIGIT,) * 4, "resistor", four_digits, (0, 1, 2))
    yield Shape((DIGIT,), "resistor", plain, (0,))
    yield Shape((DIGIT,) * 2, "resistor", plain, (0, 1))
    letters = "".join(EIA96_MULTIPLIER)
    yield Shape((DIGIT, DIGIT, cell(letters + letters.lower(), "ABCDEFXYRSH", "ABCDX")), "resistor", eia96)
    yield Shape((DIGIT,) * 3 + (tolerance,), "resistor", coded_with_tolerance, (0, 1))
    yield Shape((DIGIT,) * 4 + (tolerance,), "resistor", coded_with_tolerance, (0, 1, 2))
    yield Shape(
        (cell("BCEGH"), cell("B")) + (DIGIT,) * 3 + (cell("125"),), "resistor", industrial_type, (2, 3)
    )
