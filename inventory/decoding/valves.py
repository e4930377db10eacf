"""Valves by their types: European letters, American volts of the heater, the Soviet form.

Sources: Mullard's valve type nomenclature (letters of heater and systems, first figure for the base);
RETMA's and the Soviet form (ГОСТ 13393) from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from .candidates import Candidate, NamedType, Notation

VALVE = Notation("valve type", "makers' nomenclature", "other", 1.0, {"old": 3.0, "glass": 50.0})
CAUTION = (
    "Valve circuits hold hundreds of volts, also after switching off: discharge the smoothing capacitors and"
    " measure before touching anything."
)

_SYSTEMS = {
    "A": "diode", "B": "double diode", "C": "triode", "D": "output triode", "E": "tetrode", "F": "pentode",
    "H": "hexode or heptode", "K": "octode or heptode", "L": "output tetrode or pentode",
    "M": "tuning indicator", "N": "thyratron", "Q": "nonode", "X": "full-wave gas rectifier",
    "Y": "half-wave rectifier", "Z": "full-wave rectifier",
}  # fmt: skip
_HEATERS = {
    "D": "1.4 V", "E": "6.3 V", "G": "5 V", "P": "300 mA", "U": "100 mA",
}  # fmt: skip
"""A, B, C and K begin semiconductors as well."""
_SERIAL = "(?:[1348][0-9]|2[12]|9[0-9]|18[0-9]|20[0-9]|5[01][0-9]|80[0-9])"
_EUROPEAN = re.compile(
    rf"(?:([DEPU])([ABCDFHKLMQYZ]{{1,3}})({_SERIAL})|(G)(Z)(3[0-9]|41)|(E)([1-9][0-9]{{1,2}})([CFHL]{{1,2}}))"
    r"(?:S|WA)?"
)
"""Ferrite cores are EF16, EF20 and EF25; EL817 is an optocoupler, UF4004 a diode."""
_AMERICAN = re.compile(
    r"(1|2|3|5|6|7|8|12|14|17|19|25|35|50|117)([A-Z]{1,2})([1-9])(?:(G|GT|GTA|GTB|GA|GB|GC|GY|W|WA|WB|WGB|A|B)?)"
)
_OF_GAS = re.compile("[O0][A-D][23](?:WA)?")
_NO_SYSTEM = frozenset("NRKMPGEFVZ")
"""Single letters that part a value at its point, or stand between volts and a class: 1R5, 6K8, 5V6, 1N5."""
_ONE_LETTER, _PLAIN = 0.01, 0.4
_SOVIET = re.compile(r"[1-9][0-9]?[АБВГДЕЖИКЛНПРСФХЦ][0-9]{1,2}[ПСБАДКЛЖР](?:-?[ВЕДИР]{1,2})?")
_OF_LINES = re.compile("2S[A-D][0-9]|[1-6]N[0-9]|1S[A-Z][0-9]")


def valve(text: str) -> Iterator[Candidate]:
    """ECC83, 12AX7, 6SN7GT, 6П14П, and gas-filled OB2."""
    words, weight = "", 1.0
    if match := _EUROPEAN.fullmatch(text):
        heater, systems = next(
            (one[0], one[1] if one[1].isalpha() else one[2])
            for one in (match.groups()[at : at + 3] for at in (0, 3, 6))
            if one[0]
        )
        parts = " and ".join(dict.fromkeys(_SYSTEMS[each] for each in systems))
        double = "double " if len(systems) == 2 and systems[0] == systems[1] else ""
        words = f"valve: {double}{parts}, heater {_HEATERS[heater]}"
    elif (match := _AMERICAN.fullmatch(text)) and not _OF_LINES.match(text):
        volts, letters, _elements, shell = match.groups()
        if len(letters) == 1 and letters in _NO_SYSTEM and not (shell and shell.startswith("G")):
            return
        weight = _ONE_LETTER if len(letters) == 1 and not shell else _PLAIN
        words = f"valve, heater about {volts} V"
    elif _OF_GAS.fullmatch(text):
        words, weight = "valve: gas-filled voltage stabiliser", _PLAIN
    elif _SOVIET.fullmatch(text):
        words = "valve"
    if words:
        yield Candidate(
            VALVE, None, ((text, words),), weight, cautions=(CAUTION,), reasons=(words,),
            traits={"device": "valve"}, type=NamedType(text, function=words),
        )  # fmt: skip
