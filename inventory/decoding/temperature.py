"""Temperature characteristics of capacitors: what the code says and how far the value may drift.

EIA-198 class 1 and class 2 letters, industry names (N750), JIS two-letter names and ERIE letters. Sources:
class 1: EIA-198, from memory (C0G, C0H, C0J, U2J and S2L: makers' sheets); class 2: TI application note
SLAA701B, its A to F and L (+15/-40 %) from memory; JIS: Murata's part numbering; ERIE: common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import cache, lru_cache
from typing import Any

CLASS1_FIGURE = {"C": "0", "B": "0.3", "L": "0.8", "A": "0.9", "M": "1.0", "P": "1.5", "R": "2.2",
"S": "3.3", "T": "4.7",
                 "V": "5.6", "U": "7.5", "Q": "1.0"}  # fmt: skip
CLASS1_FACTOR = {"0": -1, "1": -10, "2": -100, "3": -1000, "4": 1, "6": 10, "7": 100, "8": 1000}
CLASS1_SPREAD = {"G": 30, "H": 60, "J": 120, "K": 250, "L": 500, "M": 1000, "N": 2500}
INDUSTRY_NAME = {"M7G": "P100", "C0G": "NP0", "B2G": "N030", "U1G": "N075", "P2G": "N150", "R2G": "N220",
"S2H": "N330",
                 "T2H": "N470", "U2J": "N750", "Q3K": "N1000", "P3K": "N1500", "R3L": "N2200", "S3N": "N3300",
                 "T3M": "N4700"}  # fmt: skip
EIA_NAME = {industry: eia for eia, industry in INDUSTRY_NAME.items()}

CLASS2_LOW = {"X": -55, "Y": -30, "Z": 10}
CLASS2_HIGH = {"2": 45, "4": 65, "5": 85, "6": 105, "7": 125, "8": 150, "9": 200}
CLASS2_CHANGE = {
    "A": ("-1", "1"), "B": ("-1.5", "1.5"), "C": ("-2.2", "2.2"), "D": ("-3.3", "3.3"), "E": ("-4.7", "4.7"),
    "F": ("-7.5", "7.5"), "P": ("-10", "10"), "R": ("-15", "15"), "S": ("-22", "22"), "T": ("-33", "22"),
    "U": ("-56", "22"), "V": ("-82", "22"), "L": ("-40", "15"),
}  # fmt: skip

JIS = {"CH": (0, 60), "PH": (-150, 60), "RH": (-220, 60), "SH": (-330, 60), "TH": (-470, 60), "CJ": (0, 120)}
ERIE = {"W": 470, "A": 100, "B": 30, "C": 0, "D": -30, "E": -50, "F": -80, "G": -150, "H": -220, "J": -330,
"K": -470,
        "L": -560, "N": -750}  # fmt: skip

CLASS1_RANGE = (-55, 125)
REFERENCE_TEMPERATURE = 25


def class1(code: str, ppm: Decimal, spread: int, name: str, standard: str) -> dict[str, Any]:
    """Drift in per cent at the two ends of the usual range, worst case of the slope and its spread."""
    low, high = CLASS1_RANGE
    slopes = (ppm - spread, ppm + spread)
    changes = [slope * (end - REFERENCE_TEMPERATURE) / 10_000 for slope in slopes for end in (low, high)]
    return {
        "code": code, "class": 1, "name": name, "standard": standard, "ppm_per_kelvin": ppm,
        "spread_ppm_per_kelvin": spread, "low_celsius": low, "high_celsius": high,
        "drift_low_percent": min(changes), "drift_high_percent": max(changes),
        "dielectric": "c0g" if ppm == 0 else "class1",
    }  # fmt: skip


@lru_cache(maxsize=4096)
def characteristic(text: str) -> Mapping[str, Any] | None:
    """What a printed temperature characteristic says, None when the text is none.

    Keys: code, class (1 or 2), standard, low_celsius, high_celsius, drift_low_percent, drift_high_percent,
    dielectric; class 1 adds name, ppm_per_kelvin, spread_ppm_per_kelvin.
    """
    code = text.upper()
    if code in ("NP0", "NPO", "COG", "C0G"):
        return class1("C0G", Decimal(0), 30, "NP0", "EIA-198")
    if len(code) == 3 and code[0] in CLASS2_LOW and code[1] in CLASS2_HIGH and code[2] in CLASS2_CHANGE:
        change = CLASS2_CHANGE[code[2]]
        return {
            "code": code, "class": 2, "standard": "EIA-198", "low_celsius": CLASS2_LOW[code[0]],
            "high_celsius": CLASS2_HIGH[code[1]], "drift_low_percent": Decimal(change[0]),
            "drift_high_percent": Decimal(change[1]), "dielectric": "class2",
        }  # fmt: skip
    if len(code) == 3 and code[0] in CLASS1_FIGURE and code[1] in CLASS1_FACTOR and code[2] in CLASS1_SPREAD:
        ppm = Decimal(CLASS1_FIGURE[code[0]]) * CLASS1_FACTOR[code[1]]
        return class1(code, ppm + 0, CLASS1_SPREAD[code[2]], INDUSTRY_NAME.get(code, ""), "EIA-198")
    if code in EIA_NAME:
        eia = EIA_NAME[code]
        ppm = Decimal(int(code[1:])) * (-1 if code[0] == "N" else 1)
        return class1(code, ppm, CLASS1_SPREAD[eia[2]], eia, "industry name for EIA-198 class 1")
    if code in JIS:
        nominal, spread = JIS[code]
        return class1(code, Decimal(nominal), spread, "", "JIS C 5101 (maker's table)")
    if code == "SL":
        low, high = CLASS1_RANGE
        ends = [
            Decimal(slope * (end - REFERENCE_TEMPERATURE)) / 10_000
            for slope in (350, -1000)
            for end in (low, high)
        ]
        return {
            "code": "SL", "class": 1, "name": "", "standard": "JIS C 5101 (maker's table)",
            "low_ppm_per_kelvin": -1000,
            "high_ppm_per_kelvin": 350, "low_celsius": low, "high_celsius": high,
            "drift_low_percent": min(ends),
            "drift_high_percent": max(ends), "dielectric": "class1",
        }  # fmt: skip
    return None


@cache
def of_slope(ppm: int, code: str = "") -> Mapping[str, Any]:
    """A temperature coefficient known only by its slope (ERIE letter, colour): no spread is published, none
    assumed.
    """
    name = "NP0" if ppm == 0 else f"{'N' if ppm < 0 else 'P'}{abs(ppm):03d}"
    return class1(code or name, Decimal(ppm), 0, name, "colour or ERIE letter")


@cache
def of_class(name: str) -> Mapping[str, Any]:
    """High K or medium K: a class-2 dielectric of unknown limits."""
    return {"code": name, "class": 2, "dielectric": "class2"}


@cache
def of_resistor(ppm: int) -> Mapping[str, Any]:
    """A resistor's temperature coefficient band."""
    return {"code": f"{ppm} ppm/K", "ppm_per_kelvin": ppm}


ALL_CODES = tuple(
    [a + b + c for a in CLASS2_LOW for b in CLASS2_HIGH for c in CLASS2_CHANGE]
    + [a + b + c for a in CLASS1_FIGURE for b in CLASS1_FACTOR for c in CLASS1_SPREAD]
    + list(EIA_NAME)
    + list(JIS)
    + ["SL", "NPO", "COG"]
)
_USUAL_CODES = """
    X7R X5R X6S X7S X8R Y5V Y5U Y5P Y5E Y5F Z5U Z5V NP0 NPO C0G COG CH SL PH RH SH TH CJ N750 N150
    N330 N470 N220 N1500 U2J P100 P2H S2L
"""
USUAL_CODES = frozenset(_USUAL_CODES.split())
