"""Tolerance letters and voltage codes: our own tables of published facts, with where they clash.

Sources, by table (row by row in tests/decoding/data): tolerance letters: IEC 60062 (from memory), ordering
codes of KEMET and Samsung; of inductors, two makers' sheets; ERIE letters: common practice, no source.
Voltage codes: Panasonic's part numbers, a kit maker's table, sheets of Panasonic, Nichicon and AVX
tantalums; codes that only follow the series logic, or only memory, are in FROM_LOGIC.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from .candidates import Tolerance, lopsided, nanohenries, percent, picofarads


class ToleranceMeaning(NamedTuple):
    """One meaning of a tolerance letter, how likely it is against its rivals, and what to say about it."""

    tolerance: Tolerance
    weight: float
    caution: str = ""


def only(tolerance: Tolerance, weight: float = 1.0, caution: str = "") -> tuple[ToleranceMeaning, ...]:
    return (ToleranceMeaning(tolerance, weight, caution),)


RARE = "this tolerance letter is rare: check it is not something else"
CLASH = "sources differ on this tolerance letter"

RESISTOR_TOLERANCE: dict[str, tuple[ToleranceMeaning, ...]] = {
    "J": only(percent("5")),
    "F": only(percent("1")),
    "K": only(percent("10"), 0.8),
    "M": only(percent("20"), 0.4),
    "G": only(percent("2"), 0.5),
    "D": only(percent("0.5"), 0.2),
    "C": only(percent("0.25"), 0.1),
    "B": only(percent("0.1"), 0.1),
    "H": only(percent("3"), 0.03, RARE),
    "N": only(percent("30"), 0.03, RARE),
    "W": only(percent("0.05"), 0.02, RARE),
    "P": only(percent("0.02"), 0.02, RARE),
    "L": only(percent("0.01"), 0.02, RARE),
    "E": only(percent("0.005"), 0.02, RARE),
    "A": only(percent("0.05"), 0.02, "A = 0.05 % is the pairing from before 2016"),
}

CAPACITOR_TOLERANCE: dict[str, tuple[ToleranceMeaning, ...]] = {
    "K": only(percent("10")),
    "J": only(percent("5")),
    "M": only(percent("20")),
    "Z": only(lopsided("-20", "80"), 0.5),
    "G": only(percent("2"), 0.4),
    "F": only(percent("1"), 0.4),
    "D": only(percent("0.5"), 0.2),
    "C": only(percent("0.25"), 0.1),
    "B": only(percent("0.1"), 0.1),
    "N": only(percent("30"), 0.05, RARE),
    "H": only(percent("3"), 0.05, RARE),
    "S": only(lopsided("-20", "50"), 0.1),
    "Q": only(lopsided("-10", "30"), 0.05),
    "T": only(lopsided("-10", "50"), 0.05),
    "P": (
        ToleranceMeaning(
            lopsided("0", "100"), 0.05, "P: +100/-0 in two sources, +80/-0 in another, ±0.02 % by IEC 60062"
        ),
        ToleranceMeaning(lopsided("0", "80"), 0.02, CLASH),
        ToleranceMeaning(percent("0.02"), 0.005, CLASH),
    ),
    "Y": (
        ToleranceMeaning(lopsided("0", "50"), 0.02, "Y: +50/-0 or +50/-20, sources differ"),
        ToleranceMeaning(lopsided("-20", "50"), 0.02, "Y: +50/-0 or +50/-20, sources differ"),
    ),
    "W": (
        ToleranceMeaning(lopsided("-20", "40"), 0.02, "W: +40/-20 by makers, ±0.05 % by IEC 60062"),
        ToleranceMeaning(percent("0.05"), 0.01, CLASH),
    ),
    "R": only(lopsided("-20", "30"), 0.02, RARE),
    "V": only(lopsided("-10", "100"), 0.03, RARE),
    "L": (
        ToleranceMeaning(percent("15"), 0.02, "L: ±15 % by makers, ±0.01 % by IEC 60062"),
        ToleranceMeaning(percent("0.01"), 0.005, CLASH),
    ),
    "E": (
        ToleranceMeaning(percent("0.5"), 0.01, "E: ±0.5 % on one page, ±0.005 % by IEC 60062"),
        ToleranceMeaning(percent("0.005"), 0.005, CLASH),
    ),
}

# Below 10 pF the letters are picofarads; exactly at 10 pF tables differ.
SMALL_CAPACITOR_TOLERANCE: dict[str, tuple[ToleranceMeaning, ...]] = {
    "B": only(picofarads("0.1")),
    "C": (
        ToleranceMeaning(picofarads("0.25"), 1.0),
        ToleranceMeaning(picofarads("0.2"), 0.005, "one article prints C as 0.2 pF"),
    ),
    "D": only(picofarads("0.5")),
    "F": only(picofarads("1"), 0.6),
    "G": only(picofarads("2"), 0.2),
    "A": only(picofarads("0.05"), 0.05, RARE),
    "W": only(picofarads("0.05"), 0.02, RARE),
    "J": only(percent("5"), 0.2),
    "K": only(percent("10"), 0.2),
    "M": only(percent("20"), 0.2),
}

# ERIE and other old tubular ceramics (reference page on ERIE codes): letters that differ from IEC.
ERIE_TOLERANCE: dict[str, tuple[ToleranceMeaning, ...]] = {
    **CAPACITOR_TOLERANCE,
    "H": only(percent("2.5"), 0.3, "ERIE letter code: H is 2.5 %, IEC-style tables say 3 %"),
    "N": only(lopsided("-20", "40"), 0.3, "ERIE letter code: N is +40/-20, elsewhere 30 %"),
    "P": only(lopsided("-20", "80"), 0.3, "ERIE letter code: P is +80/-20"),
    "R": only(lopsided("0", "100"), 0.3, "ERIE letter code: R is +100/-0"),
}

INDUCTOR_TOLERANCE: dict[str, tuple[ToleranceMeaning, ...]] = {
    "K": only(percent("10")),
    "M": only(percent("20")),
    "J": only(percent("5"), 0.8),
    "G": only(percent("2"), 0.2),
    "F": only(percent("1"), 0.1),
    "H": only(percent("3"), 0.05),
    "L": only(percent("15"), 0.05),
    "V": only(percent("25"), 0.05),
    "N": only(percent("30"), 0.2),
    "B": (
        ToleranceMeaning(nanohenries("0.15"), 0.05, "B: 0.15 nH, another maker 0.1 nH"),
        ToleranceMeaning(nanohenries("0.1"), 0.02, CLASH),
    ),
    "C": only(nanohenries("0.2"), 0.05),
    "S": only(nanohenries("0.3"), 0.05),
    "D": only(nanohenries("0.5"), 0.05),
}

TOLERANCE_LETTERS = "JKMFGZDCBNHSQTPYWRVLEA"
USUAL_TOLERANCE_LETTERS, FEW_TOLERANCE_LETTERS = "JKMFGZDCB", "JKM"

R10 = {
    "A": "1",
    "B": "1.25",
    "C": "1.6",
    "D": "2",
    "E": "2.5",
    "F": "3.15",
    "G": "4",
    "H": "5",
    "J": "6.3",
    "K": "8",
}
EXTRA_VOLTS = {
    "0L": "5.5", "1V": "35", "1N": "75", "2Q": "110", "2T": "150", "2Z": "180", "2P": "220", "2V": "350",
    "2W": "450",
    "0V": "3.5", "1W": "45", "3L": "1200", "3Z": "1800", "YA": "35", "YD": "300",
}  # fmt: skip
_FROM_LOGIC = """
    0A 0B 0C 0D 0E 0F 0V 0H 0K 1B 1D 1F 1G 1W 2K 3L 3B 3C 3Z 3D 3E 3F 3G 3H 3J 3K YA YD
"""
FROM_LOGIC = frozenset(_FROM_LOGIC.split())
EIA_VOLTS: dict[str, Decimal] = {
    f"{power}{letter}": Decimal(figure) * 10**power for power in range(4) for letter, figure in R10.items()
} | {code: Decimal(volts) for code, volts in EXTRA_VOLTS.items()}

# Letters on chip tantalums and small electrolytics. Only A has a stored source; the rest from memory.
LETTER_VOLTS: dict[str, tuple[Decimal, ...]] = {
    "e": (Decimal("2.5"),), "G": (Decimal(4),), "J": (Decimal("6.3"),), "A": (Decimal(10),),
    "C": (Decimal(16),),
    "D": (Decimal(20),), "E": (Decimal(25),), "V": (Decimal(35),), "T": (Decimal(50),), "H": (Decimal(50),),
    "F": (Decimal("2.5"),),
}  # fmt: skip

# Three-digit rated volts in tantalum order codes (tantalum makers' ordering information); 006 means 6.3.
ORDER_VOLTS = {code: Decimal(int(code)) for code in ("004", "010", "015", "016", "020", "025", "035", "050")}
ORDER_VOLTS |= {"006": Decimal("6.3"), "6R3": Decimal("6.3"), "2R5": Decimal("2.5"), "003": Decimal(3)}

# Rated volts that are printed plainly (preferred ratings of IEC 60063 R10/R5 and those of the tables above).
_PLAIN = """
    2.5 3 4 5 6 6.3 7.5 10 12 12.5 15 16 18 20 25 30 31.5 35 40 45 50 60 63 64 70 75 80 90
    100 110 125 150 160 180 200 220 225 250 275 300 305 310 315 330 350 375 385 400 420 440
    450 475 500 525 550 600 630 700 750 800 850 900 1000 1200 1250 1500 1600 1800 2000 2500
    3000 3150 4000 5000 6000 6300 8000 10000 15000 20000
"""
PLAIN_VOLTS = frozenset(Decimal(each) for each in _PLAIN.split())


def plain_volts(digits: str) -> Decimal | None:
    """Volts printed as a bare number, when it is a rating that parts have."""
    volts = Decimal(digits)
    return volts if volts in PLAIN_VOLTS else None


TEN_PICOFARADS = 10_000


LEAST_BESIDE = {"F": 2200, "G": 4700}
"""Nobody marks 1 pF as right to 1 pF (common practice, no source)."""


def capacitor_tolerances(letter: str, femtofarads: int) -> tuple[ToleranceMeaning, ...]:
    """What a tolerance letter may mean on a capacitor of this value, () for a letter that means nothing
    there.
    """
    if femtofarads < TEN_PICOFARADS:
        if letter in "FG" and femtofarads < LEAST_BESIDE[letter]:
            return ()
        return SMALL_CAPACITOR_TOLERANCE.get(letter, ())
    if femtofarads == TEN_PICOFARADS and letter in "CDFG":
        caution = "at exactly 10 pF sources differ on whether the letter is pF or per cent"
        by_amount = SMALL_CAPACITOR_TOLERANCE[letter][0].tolerance
        by_percent = CAPACITOR_TOLERANCE[letter][0]
        return (
            ToleranceMeaning(by_amount, 0.6, caution),
            ToleranceMeaning(by_percent.tolerance, by_percent.weight * 0.5, caution),
        )
    meanings = CAPACITOR_TOLERANCE.get(letter, ())
    if femtofarads == TEN_PICOFARADS:  # 5 % and wider are seldom printed on so small a part
        return tuple(each._replace(weight=each.weight * 0.15) for each in meanings)
    return meanings
