"""Makers' own series of diodes and transistors: the letters say what kind of part it is, and no more.

From memory of the makers' data books; bridges by B, volts of alternating current, C, milliamps: two rectifier
makers' sheets of B40C1500 (pdf.datasheet.directory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, Final

from inventory.type_numbers.chip_numbers import any_of
from inventory.type_numbers.device_numbers import JUNCTION_FETS

from .series import E24
from .type_strings import TypeInWord, system, type_reading

SERIES = ("maker's type", "makers' data books")
SURFACE = ("maker's surface rectifier", "makers' data books")

_TRANSISTORS = """
    TIP MJ MJE MJF MPS MPSA MPSH PN ZTX MPF KSC KSA KSD KSB KTC KTA FMMT SS TIS KSP BUL MJD MPSW CTP
    MRF NKT MMBT MMBTA
"""
TRANSISTORS: Final = frozenset(_TRANSISTORS.split())
_MOSFETS = """
    IRF IRFZ IRFP IRFD IRFR IRFB IRFU IRFBC IRL IRLZ IRLB MTP MTD MTH RFP VN VP ZVN ZVP
    STP STW STD STB FQP FQA FDP FQPF SPP IPP IXFH
"""
MOSFETS: Final = frozenset(_MOSFETS.split())
_HOUSE = re.compile(r"([A-Z]{2,5})([0-9]{1,5})([A-Z]{0,3})(?:-[0-9A-Z]{1,3})?")
_BY_AMPS = re.compile(
    r"(STP|STW|STD|STB|FQP|FQPF|FQA|FDP|IPP|SPP|IXFH|GT)([0-9]{1,3})([A-Z]{1,3})([0-9]{1,4})([A-Z]{0,3})"
)
_AMPS_AND_VOLTS = re.compile(
    r"([A-Z]{0,4})([1-9][0-9]{0,2})([NP])([A-Z]{0,2}?)"
    r"(0[3-8]|10|12|15|20|25|30|40|50|55|60|65|70|75|80|90|100|120|150)([A-Z][A-Z0-9]{0,3})?"
)
"""11N60C3, P55NF06, 75N75: amps, N or P for the channel, volts by ten (common practice of many makers)."""
_REGISTERED = re.compile(r"[1-3]N[0-9]+[A-Z]*|[46]N[1-4][0-9]|6N1[0-9]{2}[A-Z]*")
"""JEDEC's diodes, transistors and optocouplers look the same."""
_NO_MOSFET = re.compile(r"[1-9][0-9]?[NP][0-9]{1,2}[PSBEK]|[1-9][0-9]{2}[NP][0-9]{2}")
"""Soviet valves in Latin letters, 6P15P, and values: 4P10K, 100n65 (from memory)."""
_NO_VALUE = re.compile(r"[4-9]N(?:60|65|80|90)")
"""4N60 of 600 V: values are hardly printed so (from memory)."""
_LIKE_A_VALUE = {"N": 0.003, "P": 0.0005}
"""75N75 by itself may be nanofarads, 33P50 picofarads, and P channels are seldom (common practice, no
source).
"""
_TESLA = re.compile(r"K(?:C|F|U|FY|SY|UY)[1-9][0-9]{1,2}[A-Z]?")
_TESLA_KNOWN = re.compile(
    r"KC(?:14[89]|23[7-9]|30[7-9]|50[7-9]|510|63[5-9]|81[0-9])[A-C]?"
    r"|KF(?:1[2-7][0-9]|25[0-9]|5[0-5][0-9]|6[23]0)[A-C]?|KU6[01][0-9][A-C]?|K(?:F|U|S)Y[0-9]{2}"
)
"""Which Tesla made, from memory; KC156A is a Soviet zener in Latin letters, KU202N a Soviet thyristor."""
_TESLA_RARE = 0.001
_SMALL_SIGNAL = re.compile(r"(SS|S|H|L|STS|C|KSP)?(90(?:1[1-68])|8050|8550)([A-J]{0,2}[0-9]{0,3})")
_BRIDGE = re.compile(r"B([0-9]{2,3})C([0-9]{3,5})(R|G|L|M|DM)?(?:/[0-9]{2,4})?")
_BRIDGES = re.compile(
    r"(?:KBPC|KBP|KBL|KBU|GBU|GBJ|GBPC|GBL|KBJ|RBU|PBPC|RB|RS)[0-9]{2,5}[A-Z]{0,2}"
    r"|(?:GBU|KBU|KBL|GBJ)[0-9]{1,2}[A-M]"
    r"|W(?:00|01|02|04|06|08|10)[MG]?|[12]W(?:005|01|02|04|06|08|10)[MG]?"
    r"|DB10[1-7]S?|MB[1-8][FMS]|DF(?:005|01|02|04|06|08|10)[MS]?"
)
_SUPPRESSORS = re.compile(r"(?:P6KE|P4KE|1\.5KE|1V5KE|SA|SMAJ|SMBJ|SMCJ|5KP|P6SMB)[0-9]{1,3}(?:\.[0-9])?C?A?")
_FAST = re.compile(
    r"(?:MUR|UF|FR|HER|BYG|MURA|MURS|RGP|PR|EGP|HFA|RHRP|STTH|STTA|STTB)[0-9]{2,5}[A-Z]{0,4}|SF(?:[0-9]{2}){1,2}[A-Z]{0,2}"
)
_SCHOTTKY = re.compile(
    r"(?:MBR|SB|SR|STPS|BYS|MBRS)[0-9]{2,5}[A-Z]{0,4}"
    r"|S[SK](?:[1-9]|10)(?:[2-6]|[89]|10|12|15|20)[A-Z]{0,2}"
)
"""SS14, SK310: amps and tens of volts. SK100 is a transistor, SK3004 a replacement's number (from memory)."""
_THYRISTORS = re.compile(
    r"(?:TIC1|MCR|TYN|TYS|S60|X0)[0-9]{2,4}[A-Z]{0,2}(?:-[0-9]{1,2})?"
    r"|C1(?:06|07|22)[YFABCDEMS]1?|[2-8]P[2-6]M|S[26]800[A-Z]"
)
_TRIACS = re.compile(
    r"TIC2[0-9]{2}[A-Z]{0,2}|MAC[0-9]{1,3}[A-Z]{0,2}[0-9]{0,2}(?:-[0-9]{1,2})?"
    r"|T[0-9]{3,4}-[0-9]{3}[A-Z]?|Z0[0-9]{3}[A-Z]{2}"
)
_EITHER = re.compile(r"TIC[03-9][0-9]{1,3}[A-Z]{0,2}(?:-[0-9]{1,2})?|TAG[0-9]{1,3}(?:-[0-9]{3})?")
"""Makers' letters and numbers of thyristors and triacs: from memory of their data books."""
_DIACS = re.compile(r"DB3|DB4|DB6|DC34|BR100|D30|ST2|HT3[2-5]")
_LEDS = re.compile(
    r"TIL(?:2[0-9]{2}|3[28]|906)[A-Z]?|HLMP-?[0-9A-Z]{4}|LTL-?[0-9]{3,4}[A-Z0-9]{0,6}|LD2[0-9]{2}[A-Z]?|LD[1357][0-9]"
    r"|VQA[0-9]{2}[A-Z]?|CQX[0-9]{2}[A-Z]?|MV5[0-9]{3}[A-Z]?|FLV[0-9]{3}|TLR[0-9]{3}[A-Z]?|TLG[0-9]{3}[A-Z]?|TSAL[0-9]{4}"
)
_RECTIFIERS = re.compile(r"S[1-6]V(?:BA?)?[1-8]0[A-Z]?")
"""S3V40 of Shindengen, from memory: volts by ten, and no zener of 3.4 V."""
_SURFACE = re.compile(r"(S|GS|RS|US|ES|HS|FS)([1-9])([ABDGJKM])")
_SURFACE_SORTS: Final = {
    "S": ("rectifier", "rectifier"), "GS": ("rectifier", "rectifier"),
    **dict.fromkeys(("RS", "US", "ES", "HS", "FS"), ("fast_rectifier", "fast rectifier")),
}  # fmt: skip
_SURFACE_VOLTS: Final = dict(zip("ABDGJKM", (50, 100, 200, 400, 600, 800, 1000), strict=True))
"""S1M, US1J: amps, and the letter of the 1N4001 to 1N4007's volts (makers' data books, from memory)."""
_DIODES: Final = (
    # form, function, words
    (_RECTIFIERS, "rectifier", "rectifier"),
    (_BRIDGE, "bridge", "bridge rectifier"),
    (_BRIDGES, "bridge", "bridge rectifier"),
    (_SUPPRESSORS, "suppressor", "transient suppressor"),
    (_FAST, "fast_rectifier", "fast rectifier"),
    (_SCHOTTKY, "schottky", "Schottky rectifier"),
    (_THYRISTORS, "thyristor", "thyristor"),
    (_TRIACS, "triac", "triac"),
    (_EITHER, "", "thyristor or triac"),
    (_DIACS, "diac", "diac"),
    (_LEDS, "led", "light-emitting diode"),
)
_SURE = re.compile(r"B[0-9]{2,3}C|C1|[GK]B|P[46]KE|1|TIL|HLMP|LTL|MUR|MBR|UF|FR|HER|TIC|MCR|DB|D[FB]|STPS")


def surface_rectifiers(word: str) -> Iterator[TypeInWord]:
    match = _SURFACE.fullmatch(word)
    if match is None:
        return
    letters, amps, letter = match.groups()
    function, words = _SURFACE_SORTS[letters]
    volts = _SURFACE_VOLTS[letter]
    yield TypeInWord(
        type_reading(
            SURFACE,
            "diode",
            word,
            [(letters, f"{words} for surface mounting"), (amps, f"{amps} A"), (letter, f"{volts} V")],
            f"{word}: {words} for surface mounting",
            f"{amps} A, {volts} V",
            score=0.5,
            traits={"function": function},
            function=words,
        )
    )


def diodes(word: str) -> Iterator[TypeInWord]:
    for form, function, words in _DIODES:
        match = form.fullmatch(word)
        if match is None:
            continue
        used = [(word, words)]
        reasons = [f"{word}: {words}"]
        if form is _BRIDGE:
            volts, milliamps, tail = match.groups()
            used = [
                ("B", words),
                (volts, f"{volts} V AC"),
                ("C", "into a capacitor"),
                (milliamps, f"{milliamps} mA"),
            ]
            used += [(tail, "form of the body")] if tail else []
            reasons.append(f"for {volts} V of alternating current, {milliamps} mA into a capacitor")
        score = 0.9 if _SURE.match(word) else 0.5
        traits: dict[str, Any] = {"function": function}
        yield TypeInWord(
            type_reading(SERIES, "diode", word, used, *reasons, score=score, traits=traits, function=words)
        )
        return


def transistors(word: str) -> Iterator[TypeInWord]:
    if match := _SMALL_SIGNAL.fullmatch(word):
        prefix, number, tail = (group or "" for group in match.groups())
        group = tail if tail.isalpha() else ""
        yield TypeInWord(
            type_reading(
                SERIES,
                "transistor",
                prefix + number,
                [
                    (prefix, "maker's letters"),
                    (number, "small transistor"),
                    (tail, "gain group" if group else ""),
                ],
                f"{number}: a small transistor that many makers print so",
                "The number says nothing of polarity, volts or gain.",
                score=0.8 if prefix else 0.3,
                group=group,
            )
        )
    if JUNCTION_FETS.fullmatch(word):
        yield TypeInWord(
            type_reading(
                SERIES,
                "transistor",
                word,
                [("J", "maker's series of junction FETs"), (word[1:], "number")],
                "J: a maker's series of junction field-effect transistors",
                score=0.9,
                traits={"device": "jfet"},
            )
        )
    if match := _BY_AMPS.fullmatch(word):
        device = "igbt" if match[1] == "GT" else "mosfet"
        used = [
            (match[1], "maker's series"),
            (match[2], "current class"),
            ("".join(match.groups()[2:]), "number"),
        ]
        yield TypeInWord(
            type_reading(
                SERIES,
                "transistor",
                word,
                used,
                f"{match[1]}: a maker's {device} series",
                score=0.8,
                traits={"device": device},
            )  # fmt: skip
        )
    elif (match := _AMPS_AND_VOLTS.fullmatch(word)) and not (
        _REGISTERED.fullmatch(word) or _NO_MOSFET.fullmatch(word)
    ):
        head, amps, channel, process, tens, tail = (group or "" for group in match.groups())
        volts = int(tens) * 10
        used = [
            (head, "maker's letters"),
            (amps, f"about {amps} A"),
            (channel + process, f"{channel} channel"),
            (tens, f"{volts} V"),
            (tail, ""),
        ]
        yield TypeInWord(
            type_reading(
                SERIES,
                "transistor",
                word,
                [each for each in used if each[0]],
                f"{word}: amps, channel and volts of a power MOSFET or IGBT, as many makers number them",
                score=0.6 if head or tail or _NO_VALUE.fullmatch(word) else _LIKE_A_VALUE[channel],
            )  # fmt: skip
        )
    if _TESLA.fullmatch(word):
        yield TypeInWord(
            type_reading(
                SERIES,
                "transistor",
                word,
                [(word, "Tesla's transistor series")],
                "KC, KF, KU: Tesla's transistors",
                score=0.5 if _TESLA_KNOWN.fullmatch(word) else _TESLA_RARE,
            )
        )
    match = _HOUSE.fullmatch(word)
    if not match:
        return
    letters, digits, suffix = match.groups()
    mosfet = letters in MOSFETS
    if mosfet or (letters in TRANSISTORS and not (letters == "SS" and len(digits) != 4)):
        yield TypeInWord(
            type_reading(
                SERIES,
                "transistor",
                word,
                [(letters, "maker's transistor series"), (digits + suffix, "number")],
                f"{letters}: a maker's transistor series",
                "The number says nothing of polarity, volts or gain.",
                score=0.8,
                traits={"device": "mosfet"} if mosfet else {},
            )
        )


# ZPD5.1 and ZPY12 of European makers; on glass too small for the type only what follows its letters.
_ZENER = re.compile(r"(Z(?:PD|PY|PU|TE|Y|F|G|D|B))([0-9]{1,3})(?:[.,V]([0-9]))?")
_BY_MAKER = re.compile(
    r"(MTZJ?|RD|02CZ|05Z|UZ-?|GZA|UDZS?|ZMM|EQA0[12]-|DZ|RLZ|TZM)([0-9]{1,2})(?:[.,V]([0-9]))?([A-Z]{0,3}[0-9]?)"
)
_HITACHI = re.compile(r"HZ([0-9]{1,2})([ABCL])(L?)-?([1-3]?)(L?)")
LOWEST_ZENER = 2.4  # volts, of BZX79 and BZX55 (makers' data books, from memory)
# The serials of zeners after BZ and a letter, as makers' data books list them (from memory).
_ZENER_SHORT = re.compile(
    r"(Z?[DGMTVWXY]?(?:0[3-6]|2[37]|4[6-9]|5[25]|6[01]|7[0589]|8[01345678]|9[0-7]))?([BC])([0-9]{1,2})V([0-9]?)"
)


def zeners(word: str) -> Iterator[TypeInWord]:
    if match := _ZENER.fullmatch(word):
        letters, whole, tenths = match.groups()
        volts = f"{int(whole)}.{tenths}" if tenths and tenths != "0" else str(int(whole))
        number = f"{letters}{whole}{f'V{tenths}' if tenths else ''}"
        yield TypeInWord(
            type_reading(
                SERIES,
                "diode",
                number,
                [(letters, "maker's zener series"), (word[len(letters) :], f"{volts} V")],
                f"{letters}: a maker's zener series",
                f"{volts} V",
                score=0.9 if len(letters) > 2 else 0.6,
                traits={"function": "zener", "zener_volts": volts},
                function="zener diode",
            )  # fmt: skip
        )
    elif match := _HITACHI.fullmatch(word):
        # The rest picks a window out of a class; its volts are in the maker's sheet only.
        window = word[2 + len(match[1]) :]
        yield TypeInWord(
            type_reading(
                SERIES,
                "diode",
                word,
                [
                    ("HZ", "Hitachi zener"),
                    (match[1], f"class of {match[1]} V"),
                    (window, "window"),
                ],
                "HZ: Hitachi's zeners",
                f"{match[1]}: volts by class, not exactly",
                score=0.9,
                traits={"function": "zener"},
                make="Hitachi",
                function="zener diode",
            )
        )
    elif match := _BY_MAKER.fullmatch(word):
        letters, whole, tenths, group = (part or "" for part in match.groups())
        volts = f"{int(whole)}.{tenths}" if tenths and tenths != "0" else str(int(whole))
        yield TypeInWord(
            type_reading(
                SERIES,
                "diode",
                word,
                [
                    (letters, "maker's zener series"),
                    (word[len(letters) : len(word) - len(group)], f"{volts} V"),
                    (group, "window or power class, as the maker defines it"),
                ],
                f"{letters}: a maker's zener series",
                f"{volts} V, give or take the window",
                score=0.9 if tenths or group else 0.3,
                traits={"function": "zener", "zener_volts": volts},
                function="zener diode",
            )
        )
    elif match := _ZENER_SHORT.fullmatch(word):
        series, letter, whole, tenths = (group or "" for group in match.groups())
        figures = int(f"{whole}{tenths}".rstrip("0").ljust(2, "0"))
        if figures not in E24 or float(f"{whole}.{tenths or 0}") < LOWEST_ZENER:
            return
        volts = f"{int(whole)}.{tenths}" if tenths.strip("0") else str(int(whole))
        tolerance = {"B": "2", "C": "5"}[letter]
        yield TypeInWord(
            type_reading(
                SERIES,
                "diode",
                "",
                [
                    (series, "end of the type's number"),
                    (letter, f"±{tolerance} %"),
                    (f"{whole}V{tenths}", f"{volts} V"),
                ],
                "the end of a Pro Electron zener type: the letters before it do not fit on the glass",
                score=0.8,
                tolerance=tolerance,
                traits={"function": "zener", "zener_volts": volts},
                function="zener diode",
            )  # fmt: skip
        )


def _house_form() -> str:
    return rf"{any_of(TRANSISTORS | MOSFETS)}[0-9]{{1,5}}[A-Z]{{0,3}}(?:-[0-9A-Z]{{1,3}})?"


SYSTEMS = (
    system(transistors, _house_form, _BY_AMPS, _SMALL_SIGNAL, JUNCTION_FETS, _TESLA),
    system(diodes, *(form for form, _, _ in _DIODES)),
    system(surface_rectifiers, _SURFACE),
    system(zeners, _ZENER, _ZENER_SHORT, _BY_MAKER, _HITACHI),
)
