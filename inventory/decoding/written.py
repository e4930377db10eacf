"""A number with its unit written out, in any spelling met on parts: 0.1uF, .01 MFD, 25mmfd, 500 cm, 4.7kΩ,
330µH, 32.768 kHz.

Sources: a textbook (Grob 11e; .01 without a unit is µF); old units: common practice, no source. cm on
parts: from memory, the value of a statfarad is computed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from .candidates import Candidate, Notation
from .letter_codes import FARAD, MICRO, MILLI, NANO, OHM, ONE_FIGURE, PICO, meanings_of, with_tolerance
from .patterns import Cells, MarkingWord, gapped
from .ratings import TOLERANCE_LETTERS
from .shapes import DIGITS, Budget, Shape, cell, expand

WRITTEN_R = Notation("value with its unit", "SI", "resistor", 2.0)
WRITTEN_C = Notation("value with its unit", "SI", "capacitor", 2.0)
VINTAGE = Notation("value with an old unit", "old print, no standard", "capacitor", 2.0)
WRITTEN_L = Notation("value with its unit", "SI", "inductor", 2.0)
WRITTEN_F = Notation("frequency", "SI", "crystal", 2.0)
DECIMAL_MICROFARADS = Notation("plain decimal, µF", "makers' practice", "capacitor", 1.0)
DECIMAL_PICOFARADS = Notation(
    "plain decimal, pF", "makers' practice", "capacitor", 0.05, {"disc": 8, "electrolytic": 0.01}
)
PICOFARAD_LETTERS = "BCD"
PLAIN_OHMS = Notation("plain decimal, ohms", "makers' practice", "resistor", 0.3)
PLAIN_MICROHENRIES = Notation("plain decimal, µH", "makers' practice", "inductor", 0.3)
PLAIN_MEGAHERTZ = Notation("plain decimal, MHz", "makers' practice", "crystal", 1.0)

CENTIMETRE = Fraction(1_112_650, 1000)  # fF: 1 statfarad = 1.11265 pF
MICROHENRY = 10**6

Unit = tuple[Notation, Fraction, str, float]
UNITS: dict[str, list[Unit]] = {}


def spell(notation: Notation, units: int | Fraction, name: str, spellings: str, weight: float = 1.0) -> None:
    for spelling in spellings.split():
        UNITS.setdefault(spelling, []).append((notation, Fraction(units), name, weight))


spell(WRITTEN_R, OHM, "Ω", "Ω ohm ohms Ohm Ohms OHM OHMS R r")
spell(WRITTEN_R, OHM, "Ω (text copies print W or w for the ohm sign)", "w", 0.2)
spell(WRITTEN_R, OHM * 10**3, "kΩ", "kΩ kohm kohms kOhm Kohm KOHM k K kR")
spell(WRITTEN_R, OHM * 10**3, "kΩ", "KΩ", 0.5)
spell(WRITTEN_R, OHM * 10**6, "MΩ", "MΩ Mohm MOhm MOHM megohm Megohm MEGOHM meg Meg MEG M megohms")
spell(WRITTEN_R, OHM * 10**9, "GΩ", "GΩ Gohm G")
spell(WRITTEN_R, OHM // 10**3, "mΩ", "mΩ mohm mOhm milliohm milliohms")
spell(WRITTEN_C, PICO, "pF", "pF PF pf Pf p P picofarad picofarads")
spell(WRITTEN_C, NANO, "nF", "nF NF nf Nf n N nanofarad nanofarads")
spell(WRITTEN_C, MICRO, "µF", "µF µf uF UF uf Uf µ u microfarad microfarads")
spell(WRITTEN_C, FARAD, "F", "F farad farads Farad", 0.05)
spell(WRITTEN_C, MILLI, "mF, milli as in SI", "mF", 0.05)
spell(VINTAGE, MICRO, "microfarads, old spelling", "MFD mfd Mfd MF mf mF Mf mFd MFd mfds MFDS M.F.D.")
spell(
    VINTAGE,
    PICO,
    "pF, old spelling",
    "mmf mmF MMF mmfd MMFD MMFd mmFd µµF uuF uuf UUF uufd UUFD µµf µµFd pfd PFD pFd",
)
spell(VINTAGE, PICO, "pF, old spelling", "micromicrofarad micromicrofarads")
spell(VINTAGE, NANO, "thousands of pF", "kpF KPF Kpf kpf KpF kPF")
spell(VINTAGE, CENTIMETRE, "centimetres, 1.11265 pF each", "cm CM Cm")
spell(WRITTEN_L, MICROHENRY, "µH", "µH µh uH UH uh µHy uHy")
spell(WRITTEN_L, MICROHENRY // 10**3, "nH", "nH NH nh")
spell(WRITTEN_L, MICROHENRY * 10**3, "mH", "mH MH mh mHy MHY mHY")
spell(WRITTEN_L, MICROHENRY * 10**6, "H", "H Hy henry henries", 0.3)
spell(WRITTEN_F, 10**3, "Hz", "Hz HZ hz")
spell(WRITTEN_F, 10**6, "kHz", "kHz KHz KHZ khz kc KC Kc")
spell(WRITTEN_F, 10**9, "MHz", "MHz MHZ Mhz mhz mc MC Mc")

JOINING = frozenset(each for each in UNITS if len(each) > 1 or each in "Ωµunpk")
LONGEST_UNIT = max(map(len, UNITS))
OLD_UNITS = frozenset(spelling for spelling, units in UNITS.items() if units[0][0] is VINTAGE)
"""Seldom what stands there where some of it cannot be read (common practice, no source)."""
UNREAD_UNITS = {1: ("µ", "K", "J", "M"), 2: ("µF", "nF")}
"""What is likeliest behind a number with a point where nothing of it can be read (common practice, no
source).
"""
POINTS = ".,"
MEGAHERTZ = 10**9
CRYSTAL_TAILS: dict[str, int | Fraction] = {
    "": 1,
    "M": 1,
    "m": 1,
    "K": Fraction(1, 1000),
    "k": Fraction(1, 1000),
    **dict.fromkeys(("G", "T", "MG", "MT", "MX", "MGW"), 1),  # endings of ceramic resonators, from memory
}
RESONATOR = re.compile(
    r"(CS[ABT][A-Z]{0,2}|ZT[ABT]|FCR|KBR-?|SF[EGJZ]|SFSH|TP[ST]|CD[AB]|CF[UWM]|CRB)"
    r"([0-9]{3}|[0-9]{1,2}\.[0-9]{1,3})([A-Z]{0,3}[0-9]{0,2})"
)
FILTERS = ("SF", "CF", "TP", "CD")
"""Filters, traps and discriminators, which pass or stop a frequency and keep no oscillator to it (the maker's
catalogue of filters, traps and discriminators).
"""
CRYSTAL_ORDER = re.compile(r"([A-Z]{1,4}[0-9/A-Z]{0,4}-)([0-9]{1,2}\.[0-9]{3,6})((?:-[0-9A-Z]{1,4})*)")
ORDERED = Notation("frequency inside an order code, MHz", "makers' ordering", "crystal", 0.5)
"""A-8.000-18: series, megahertz, load (common practice, no source)."""
RESONATOR_TYPE = Notation("ceramic resonator type", "makers' practice", "crystal", 2.0)
KILOHERTZ = Notation("plain kHz", "makers' practice", "crystal", 1e-5, {"crystal": 20_000.0})
_KILOHERTZ = re.compile(r"((?:3[7-9]|4[0-9]|5[0-6])[0-9])([A-Z]?)")
"""455E, 500B: ceramic resonators of radios and remote controls (common practice, no source)."""
NUMBER_CELL = cell(DIGITS + POINTS, DIGITS)
LONGEST_NUMBER = 9
LONGEST_CODE = 4
"""Figures of a letter code."""


def readings(word: MarkingWord, budget: Budget, kind: str) -> Iterator[Candidate]:
    """Number and unit in one word, or a bare decimal; nothing for words without a point or a unit of their
    own.
    """
    whole = word.whole
    if whole:
        end = 0
        while end < len(whole) and (whole[end] in DIGITS or whole[end] in POINTS):
            end += 1
        if end:
            yield from read(whole[:end], whole[end:], kind)
            if end == 3 and kind in ("", "crystal") and (match := _KILOHERTZ.fullmatch(whole)):
                used = ((match[1], "kHz"), *(((match[2], ""),) if match[2] else ()))
                yield Candidate(KILOHERTZ, int(match[1]) * MEGAHERTZ // 1000, used)
        elif kind in ("", "crystal"):
            yield from resonator(whole)
        return
    speaks_of = kind or (next(iter(budget.near)) if len(budget.near) == 1 else "")
    for end in range(1, min(len(word.cells), LONGEST_NUMBER) + 1):
        seen = word.cells[end - 1]
        if seen is not None and not any(each in NUMBER_CELL.legal for each in seen):
            return
        tails = list(tails_of(word.cells[end:]))
        unread = end < len(word.cells) and all(each is None for each in word.cells[end:])
        apart = word.printed.find(" ")
        across = 0 < end < apart if "[" not in word.printed else False
        read_unit = end < len(word.cells) and any(each is not None for each in word.cells[end:])
        may_guess = read_unit or word.cells[0] == ("0",) or word.cells.count(None) == 1
        for cells in ways_to_point(word.cells[:end], may_guess) if tails else ():
            at = next((at for at, each in enumerate(cells) if each in POINT_CELLS), None)
            guessed = at is not None and word.cells[at] is None
            sets = any(each is not None and len(each) > 1 and "." in each for each in cells)
            if at == end - 1 or (at is None and not sets and all(len(tail) < 2 for tail in tails)):
                continue
            share = (UNREAD_UNIT if unread else 1.0) * (GUESSED_POINT if guessed else 1.0)
            share *= ACROSS_A_GAP if across else 1.0
            share *= NO_NOUGHT if guessed and at == 0 else 1.0
            figures = tuple(place for place in range(end) if place != at)
            shape = Shape((NUMBER_CELL,) * end, speaks_of, lambda _: (), figures)
            for number in expand(cells, shape, budget, 300):
                for tail in tails:
                    large = max(len(number) - LONGEST_WITH.get(tail, LONGEST_NUMBER), 0)
                    less = share * SELDOM_SO ** (large + needless(number))
                    if tail in OLD_UNITS and tail not in word.printed:
                        less *= SELDOM_SO
                    if guessed and len(tail) == 1:
                        less *= NO_NOUGHT
                    for candidate in read(number, tail, kind):
                        yield candidate.less(less)


ACROSS_A_GAP = 0.1
"""47? Ω: a k stands with its Ω, and hardly before the gap (common practice, no source)."""
UNREAD_UNIT, GUESSED_POINT, NO_NOUGHT = 0.3, 0.5, 0.3
"""Where the unit cannot be read it may be anything; a point that cannot be read is as a rule no character at
all; 2n2 is printed rather than 2.2n, and 0.22 than .22 (common practice, no source).
"""
POINT_CELLS = ((".",), (",",))


def ways_to_point(cells: Cells, may_guess: bool) -> Iterator[Cells]:
    """The number as it stands, and where no point is read, with one for each character that cannot be read:
    2?2µF as 2.2, 0??22µF as 0.022. No number ends on it. `may_guess`: something else says that it is a number
    with a point.
    """
    yield cells
    if not may_guess or any(each is not None and any(c in POINTS for c in each) for each in cells):
        return
    for at, each in enumerate(cells[:-1]):
        if each is None and (len(cells) < 4 or any(other is not None for other in cells)):
            yield (*cells[:at], (".",), *cells[at + 1 :])


LONGEST_WITH, SELDOM_SO = {"nF": 3, "pF": 5, "PF": 5, "NF": 3}, 0.05
"""Beyond so many figures the larger unit is printed, the more so the more there are (common practice, no
source).
"""


def needless(number: str) -> int:
    """How many of its noughts say nothing: such are seldom printed (common practice, no source)."""
    whole, point, fraction = number.partition(".")
    if not point:
        return len(number) - len(number.lstrip("0"))
    before = len(whole) - len(whole.lstrip("0")) - (whole.strip("0") == "" and whole != "")
    return before + len(fraction) - len(fraction.rstrip("0")) + (not fraction.strip("0"))


_VALUE = re.compile(r"[0-9]*[.,]?[0-9]+(?P<unit>[^0-9.,]{1,4}?)(?:[JKMFGZ]|[±+-].*)?")
_POINTED = re.compile(r"[0-9]*[pnµ][0-9]+[JKMFGZ]?[0-9]{0,4}")


def has_its_unit(text: str) -> bool:
    """Whether the word is a number with a unit that is no letter of another code: 0.22µF, 4n7, 100n."""
    if _POINTED.fullmatch(text):
        return True
    match = _VALUE.fullmatch(text)
    return (
        match is not None and match["unit"] in UNITS and (len(match["unit"]) > 1 or match["unit"] in "Ωµnp")
    )


_WITH_GAPS = re.compile(r"(?=.*[0-9])[0-9?.,]*(?:[pnµu][F?]?|[?]F)[0-9?]{0,2}[JKMFGZ?]?(?:[0-9?]{2,4})?")


def shows_its_unit(word: MarkingWord) -> bool:
    """Whether the word says its unit, though some of its characters cannot be read."""
    return has_its_unit(word.whole) if word.whole else bool(_WITH_GAPS.fullmatch(gapped(word.cells)))


def tails_of(cells: Cells) -> Iterator[str]:
    """The unit spellings, with or without a tolerance letter, that the rest of a partial word may be."""
    if not cells:
        yield ""
        return
    if len(cells) > LONGEST_UNIT + 1:
        return
    if all(each is not None and len(each) == 1 for each in cells):
        yield "".join(each[0] for each in cells if each)
        return
    if all(each is None for each in cells):
        yield from UNREAD_UNITS.get(len(cells), ())
        return
    if sum(each is None for each in cells) > 1:
        return
    for unit in UNITS:
        if len(unit) == len(cells) and all(
            seen is None or c in seen for c, seen in zip(unit, cells, strict=True)
        ):
            yield unit


def read(number: str, tail: str, kind: str) -> Iterator[Candidate]:
    has_point = "." in number or "," in number
    if not tail and not has_point:
        return
    if len(tail) == 1 and not has_point and tail != "w" and (tail != "Ω" or len(number) <= LONGEST_CODE):
        return  # 47K, 10n, 470Ω: letter codes, read there
    amounts = list(amounts_of(number))
    unit, letter = tail, ""
    if tail and tail not in UNITS and tail[-1] in TOLERANCE_LETTERS and (not tail[:-1] or tail[:-1] in UNITS):
        unit, letter = tail[:-1], tail[-1]
    for amount, caution in amounts:
        cautions = (caution,) if caution else ()
        if unit:
            for notation, units, name, weight in UNITS.get(unit, ()):
                if kind and notation.kind != kind:
                    continue
                above, below = amount.numerator * units.numerator, amount.denominator * units.denominator
                rounded, rest = divmod(above, below)
                if rest and notation is VINTAGE:
                    rounded = round(Fraction(above, below))
                if rounded <= 0 or (rest and notation is not VINTAGE):
                    continue
                if name.startswith("microfarads, old") and unit in ("mF", "mf", "MF"):
                    warned = (*cautions, "mF is microfarads on old parts; modern SI would be millifarads")
                else:
                    warned = cautions
                used = ((number, "number"), (unit, name))
                candidate = Candidate(
                    notation, rounded, used, weight * (0.3 if caution else 1.0), cautions=warned
                )
                if letter:
                    if len(number) + len(unit) == 2:
                        candidate = candidate.less(ONE_FIGURE)
                    yield from with_tolerance(candidate, letter, meanings_of(letter, notation.kind, rounded))
                else:
                    yield candidate
        elif has_point:
            yield from bare(number, amount, letter, kind, cautions)
        if tail in CRYSTAL_TAILS and has_point and kind in ("", "crystal"):
            yield from of_crystal(number, amount * CRYSTAL_TAILS[tail], tail)
        if tail in ("K", "J", "M", "F", "G") and has_point and unit:
            yield from bare(number, amount, tail, kind, cautions)


def bare(
    number: str, amount: Fraction, letter: str, kind: str, cautions: tuple[str, ...]
) -> Iterator[Candidate]:
    """A decimal without a unit: µF on a capacitor, ohms on a resistor, µH on an inductor."""
    forms = (
        (DECIMAL_MICROFARADS, MICRO, "µF"),
        (DECIMAL_PICOFARADS, PICO, "pF"),
        (PLAIN_OHMS, OHM, "Ω"),
        (PLAIN_MICROHENRIES, MICROHENRY, "µH"),
    )
    above, below = amount.numerator, amount.denominator
    for notation, units, name in forms:
        if kind and notation.kind != kind:
            continue
        value, rest = divmod(above * units, below)
        if rest or value <= 0:
            continue
        weight = 1.0 if notation is not DECIMAL_MICROFARADS or above < below else 0.4
        if notation is not DECIMAL_MICROFARADS and number[0] in POINTS:
            weight *= 0.2
        if len(number.partition("." if "." in number else ",")[2]) > 2 and above >= below:
            weight *= 0.05  # 25.000 is a frequency
        if letter and letter in PICOFARAD_LETTERS and above < 10 * below:
            weight *= 20.0 if notation is DECIMAL_PICOFARADS else 0.02  # 2.2C: the letter counts picofarads
        candidate = Candidate(notation, value, ((number, name),), weight, cautions=cautions)
        if letter:
            yield from with_tolerance(candidate, letter, meanings_of(letter, notation.kind, value))
        else:
            yield candidate


def of_crystal(number: str, megahertz: Fraction, tail: str) -> Iterator[Candidate]:
    """3.579545, 32.768K: the more figures behind the point, the likelier a frequency."""
    value = megahertz * MEGAHERTZ
    if value.denominator != 1 or not MEGAHERTZ // 40 <= value <= 200 * MEGAHERTZ:
        return
    places = len(number.replace(",", ".").partition(".")[2])
    weight = 3.0 if places > 3 else 0.5 if places == 3 and (tail or megahertz >= 1) else 0.05
    used = ((number, "figures"), (tail, "kHz" if tail in "kK" else "MHz")) if tail else ((number, "MHz"),)
    yield Candidate(PLAIN_MEGAHERTZ, int(value), used, weight)


def resonator(word: str) -> Iterator[Candidate]:
    """CSB455E, SFE10.7MA: the type of a ceramic resonator or filter carries kHz, or MHz with a point (from
    memory).
    """
    if match := CRYSTAL_ORDER.fullmatch(word):
        head, megahertz, tail = match.groups(default="")
        used = tuple(each for each in ((head, "series"), (megahertz, "MHz"), (tail, "")) if each[0])
        yield Candidate(ORDERED, int(Fraction(megahertz) * MEGAHERTZ), used, 1.0)
    match = RESONATOR.fullmatch(word)
    if match is None:
        return
    head, figures, tail = match.groups()
    unit, name = (MEGAHERTZ, "MHz") if "." in figures else (MEGAHERTZ // 1000, "kHz")
    value = Fraction(figures) * unit
    if head in ("CDA", "CDB") and not (440 <= Fraction(figures) <= 470 or "." in figures):
        return  # discriminators of 455 kHz and 10.7 MHz
    if head in ("TPS", "TPT") and "." not in figures:
        return  # traps are for the sound of television, 4.5 to 6.5 MHz; TPS54331 is a chip
    if value.denominator == 1:
        device = "ceramic_filter" if head.startswith(FILTERS) else "ceramic_resonator"
        used = ((head, device.replace("_", " ")), (figures, name), *(((tail, "version"),) if tail else ()))
        yield Candidate(RESONATOR_TYPE, int(value), used, 1.0, traits={"device": device})


def amounts_of(number: str) -> Iterator[tuple[Fraction, str]]:
    """The number, and where a comma may part thousands, that too. Nothing for two points or no digit."""
    points = number.count(".") + number.count(",")
    if points == 0:
        yield Fraction(int(number)), ""
        return
    if points > 1 or len(number) == 1:
        return
    whole, _, fraction = number.replace(",", ".").partition(".")
    yield Fraction(int((whole or "0") + fraction), 10 ** len(fraction)), ""
    if "," in number and len(fraction) == 3 and whole.strip("0"):
        yield Fraction(int(whole + fraction)), "the comma may part thousands or mark the decimals"
