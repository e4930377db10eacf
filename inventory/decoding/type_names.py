"""The published naming systems of diodes and transistors: JEDEC, Pro Electron, JIS, and makers' own series.

Sources: Pro Electron's letters as in Philips Semiconductors, General, Pro Electron type numbering; its
range suffixes from memory (E is 15 % in some books, 20 % in others); JIS C 7012 as Renesas and Toshiba give
it, with the "2S" left off in print; JEDEC EIA-370, which counts junctions and says no more, and valve-style
O.. numbers: from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, NamedTuple

from inventory.decoding import series_names
from inventory.decoding.series import TRACKS
from inventory.decoding.type_strings import TypeInWord, system, type_reading
from inventory.type_numbers import entry_of
from inventory.type_numbers.entries import function_of_series
from inventory.type_numbers.linear_table import CHIP_SERIES

JEDEC = ("JEDEC type", "JEDEC EIA-370")
PRO_ELECTRON = ("Pro Electron type", "Pro Electron")
JIS = ("JIS type", "JIS C 7012")
VALVE_STYLE = ("old European type", "valve-style designation before Pro Electron")
CHIP = ("maker's chip", "makers' data books")

_JEDEC_TYPE = re.compile(r"(JAN(?:TXV|TX|S)?)?([1-6I])N([0-9]{2,5})([A-Z]{0,3})(?:-([0-9]{1,2}))?")
_JEDEC_CUT = re.compile(r"N(4[0-9]{3}|5[0-9]{3}|914)([A-Z]{0,2})")


def jedec(word: str) -> Iterator[TypeInWord]:
    match = _JEDEC_TYPE.fullmatch(word)
    if not match:
        if short := _JEDEC_CUT.fullmatch(word):
            yield from _of_junctions("", "1", short[1], short[2], 0.1, "the 1 is not printed or worn away")
        elif word.isdigit() and len(word) in (3, 4) and entry_of("diode", f"1N{word}"):
            for found in _of_junctions("", "1", word, "", 0.3, "the 1N does not fit on the body"):
                yield found._replace(bare=True)
        return
    grade, count, digits, suffix, _ = match.groups()
    if count != "I":
        yield from _of_junctions(grade or "", count, digits, suffix, 0.9, "")
    elif len(digits) > 2:
        yield from _of_junctions(grade or "", "1", digits, suffix, 0.8, "the I is taken for a 1")


def _of_junctions(
    grade: str, count: str, digits: str, suffix: str, score: float, note: str
) -> Iterator[TypeInWord]:
    kind = {"1": "diode", "2": "transistor", "3": "transistor"}.get(count, "ic")
    meaning = {
        "1": "one junction: a diode of some kind",
        "2": "two junctions: a transistor, field-effect transistor or thyristor",
        "3": "three junctions: a four-lead transistor or dual-gate field-effect transistor",
    }.get(count, "an optocoupler")
    yield TypeInWord(
        type_reading(
            JEDEC,
            kind,
            f"{count}N{digits}{suffix}",
            [
                (grade, "military quality grade"),
                (f"{count}N", meaning),
                (digits, "registration"),
                (suffix, "version"),
            ],
            f"{count}N: {meaning}",
            "The registration number says nothing of polarity, volts or gain.",
            *([f"{grade}: tested to a military quality level"] if grade else []),
            score=score,
            cautions=(note,) if note else (),
            traits={"function": "optocoupler"} if kind == "ic" else {},
            function="optocoupler" if kind == "ic" else "",
        )
    )


class _Letter(NamedTuple):
    kind: str
    words: str
    function: str = ""


# The second letter of a Pro Electron number. P is a photodiode or a phototransistor, and comes as both.
_SECOND = {
    "A": (_Letter("diode", "signal diode, low power", "signal"),),
    "B": (_Letter("diode", "variable-capacitance diode", "varicap"),),
    "C": (_Letter("transistor", "low-power audio-frequency transistor"),),
    "D": (_Letter("transistor", "power audio-frequency transistor"),),
    "E": (_Letter("diode", "tunnel diode"),),
    "F": (_Letter("transistor", "low-power high-frequency transistor"),),
    "G": (_Letter("other", "device of several kinds"),),
    "L": (_Letter("transistor", "high-frequency power transistor"),),
    "N": (_Letter("ic", "optocoupler", "optocoupler"),),
    "P": (_Letter("diode", "light detector", "photodiode"), _Letter("transistor", "light detector")),
    "Q": (_Letter("diode", "light emitter", "led"),),
    "R": (_Letter("diode", "low-power trigger device: thyristor or the like"),),
    "S": (_Letter("transistor", "low-power switching transistor"),),
    "T": (_Letter("diode", "power thyristor or triac"),),
    "U": (_Letter("transistor", "power switching transistor"),),
    "X": (_Letter("diode", "multiplier diode"),),
    "Y": (_Letter("diode", "rectifier", "rectifier"),),
    "Z": (_Letter("diode", "voltage reference or regulator diode", "zener"),),
}
_MATERIAL = {"A": "germanium", "B": "silicon", "C": "gallium arsenide or the like", "R": "compound material"}
_ZENER_TOLERANCE = {"A": "1", "B": "2", "C": "5", "D": "10", "E": "15"}
_EUROPEAN = re.compile(r"([ABCR])([A-GLNP-UX-Z])([A-Z]{0,2})([0-9]{2,3})(?![0-9])(.{0,12})")
_ZENER_RANGE = re.compile(r"-?([A-E]?)([0-9]{1,3})(?:V([0-9]{1,2}))?(R?)(?:-?[A-Z][A-Z0-9]{0,4})?")
_PEAK_RANGE = re.compile(r"[A-Z]?-([0-9]{2,4})(R?)[A-Z]{0,2}")
_VERSION = re.compile(r"(?:-?[A-Z0-9]{1,6})?(?:-[A-Z0-9]{1,6})?")
_NEVER_GERMANIUM = frozenset("BHNQRTX")
"""Couplers, light, thyristors and varicaps were never of germanium: AN240 is a chip (from memory)."""
_LAST_AD = 299
_AD_PACKAGE = re.compile(r"[A-CJ-LST][DEHJNPQRY][A-Z]{0,2}")
"""AD633JN: Analog Devices' letters for range of temperature and package; AD161 to AD263 are germanium power
transistors, and none is known beyond (from memory of both makers' data books).
"""
_LAST_BA = 320
"""Diodes by BA are listed in a row to there; later ones are few, and Rohm's chips many (from memory)."""
_SHARED = 0.5
_OLD_EUROPEAN = re.compile(r"O(AZ|AP|CP|A|C)([0-9]{2,3})([A-Z]{0,2})")


def pro_electron(word: str) -> Iterator[TypeInWord]:
    match = _EUROPEAN.fullmatch(word)
    if not match:
        return
    first, second, industrial, serial, rest = match.groups()
    if len(industrial + serial) != 3 and not (len(serial) == 3 and len(industrial) < 2):
        return  # three figures, or one letter and two, later one letter and three
    if first == "C" and not industrial:
        return  # gallium arsenide is named CQY, CNX, CXY: CX160 is a chip, CL100 no known part
    if first == "A" and (second in _NEVER_GERMANIUM or is_analog_devices(first + second, serial, rest)):
        return
    if (first == "C" and second not in "ABEGLNPQXY") or (first == "R" and second != "P"):
        return  # R is of light-sensitive materials without a junction (from memory): no RGP10
    base = first + second + industrial + serial
    used = [
        (first, _MATERIAL[first]),
        (second, " / ".join(dict.fromkeys(letter.words for letter in _SECOND[second]))),
        (industrial + serial, "serial number" if industrial else "serial number, consumer types"),
    ]
    traits: dict[str, Any] = {"material": _MATERIAL[first] if first in "AB" else ""}
    reasons = [f"{first}: {_MATERIAL[first]}"]
    number, tolerance = base, ""
    if second == "Z" and rest:
        zener = _ZENER_RANGE.fullmatch(rest)
        if not zener:
            return
        letter, whole, tenths, reverse = zener.groups()
        tolerance = _ZENER_TOLERANCE.get(letter, "")
        number = f"{base}{'-' if letter == '' else ''}{letter}{whole}{f'V{tenths}' if tenths else ''}"
        volts = f"{int(whole)}.{tenths}" if tenths else str(int(whole))
        suppressor = industrial.startswith("W") and not letter
        traits["zener_volts" if not suppressor else "vr"] = volts
        if suppressor:
            used.append((rest, f"stand-off {volts} V"))
        else:
            used.append((rest, f"{volts} V" + (f", ±{tolerance} %" if tolerance else "")))
        reasons.append(f"{rest}: {used[-1][1]}")
        if reverse:
            reasons.append("R: reversed polarity")
    elif second in "YTR" and (peak := _PEAK_RANGE.fullmatch(rest)):
        traits["vr"] = peak[1]
        number = base + rest
        used.append((rest, f"{peak[1]} V peak" + (", reversed polarity" if peak[2] else "")))
        reasons.append(f"{rest}: repetitive peak {peak[1]} V")
    elif rest:
        if not _VERSION.fullmatch(rest):
            return
        number = base + rest
        used.append((rest, "gain group or version, as the maker defines it"))
    suppressing = second == "Z" and industrial.startswith("W")
    of_rohm = base.startswith("BA") and not industrial and int(serial) > _LAST_BA
    for letter_meaning in _SECOND[second]:
        function = "suppressor" if suppressing else letter_meaning.function
        if second in "TR":
            function = function_of_series("diode", base)
        own = {
            name: member for name, member in traits.items() if letter_meaning.kind in ("diode", "transistor")
        }
        yield TypeInWord(
            type_reading(
                PRO_ELECTRON,
                letter_meaning.kind,
                number,
                used,
                *reasons,
                f"{second}: {letter_meaning.words}",
                score=0.9 * (_SHARED if of_rohm else 1.0),
                tolerance=tolerance,
                traits={**own, "function": "" if letter_meaning.kind == "transistor" else function},
                function=letter_meaning.words,
            )
        )


def old_european(word: str) -> Iterator[TypeInWord]:
    match = _OLD_EUROPEAN.fullmatch(word)
    if not match:
        return
    letters, digits, suffix = match.groups()
    kind, function, words = {
        "A": ("diode", "", "diode"),
        "AZ": ("diode", "zener", "voltage reference diode"),
        "AP": ("diode", "photodiode", "photodiode"),
        "C": ("transistor", "", "transistor"),
        "CP": ("transistor", "", "phototransistor"),
    }[letters]
    yield TypeInWord(
        type_reading(
            VALVE_STYLE,
            kind,
            word,
            [("O", "semiconductor (no heater)"), (letters, words), (digits + suffix, "serial number")],
            f"O{letters}: {words}, named as valves were",
            score=0.7,
            traits={"function": function},
        )
    )


# The letter after the S; (kind, words, traits).
_JAPANESE: dict[str, tuple[str, str, dict[str, str]]] = {
    "A": ("transistor", "PNP, high frequency", {"polarity": "pnp", "device": "bipolar"}),
    "B": ("transistor", "PNP, audio frequency", {"polarity": "pnp", "device": "bipolar"}),
    "C": ("transistor", "NPN, high frequency", {"polarity": "npn", "device": "bipolar"}),
    "D": ("transistor", "NPN, audio frequency", {"polarity": "npn", "device": "bipolar"}),
    "F": ("diode", "thyristor", {"function": "thyristor"}),
    "H": ("transistor", "unijunction transistor", {"device": "unijunction"}),
    "J": ("transistor", "P-channel field-effect transistor", {"polarity": "p_channel"}),
    "K": ("transistor", "N-channel field-effect transistor", {"polarity": "n_channel"}),
    "M": ("diode", "triac", {"function": "triac"}),
}
_JAPANESE_DIODE = {"": "", "S": "signal", "R": "rectifier", "V": "varicap", "Z": "zener", "E": "", "T": ""}
_JIS_TYPE = re.compile(r"([1-4])S([A-HJKMRSTVZ]?)([0-9]{2,4})(A?-[A-Z]{1,3}|[A-Z]{0,3})")
_JIS_SHORT = re.compile(r"([ABCDFJKM])([0-9]{2,4})(A?-[A-Z]{1,3}|[A-Z]{0,3})")


_HIGHEST = {"A": 2300, "B": 1800, "C": 6200, "D": 2800, "F": 1000, "J": 800, "K": 4300, "M": 400}
UNREGISTERED = 0.005
"""About as far as numbers of each letter were registered (from memory): A4510D is no 2SA4510. Figures alone
may be half read, and say less.
"""
TAPERED = 0.02
"""A100K and B50K are the tracks of potentiometers: no gain group is a K or M (common practice, no source)."""
TWO_FIGURES, NO_GAIN_GROUP = 0.06, 0.1
"""A and B of two figures are the first germanium parts, which bore all of their number; J is on parts with a
tolerance (common practice, no source)."""


def jis(word: str) -> Iterator[TypeInWord]:
    if match := _JIS_TYPE.fullmatch(word):
        count, letter, digits, suffix = match.groups()
        if count == "1" and letter in _JAPANESE_DIODE:
            function = _JAPANESE_DIODE[letter]
            words = f"diode: {function}" if function else "diode"
            yield TypeInWord(
                type_reading(
                    JIS,
                    "diode",
                    f"1S{letter}{digits}",
                    [(f"1S{letter}", words), (digits, "registration"), (suffix, "version")],
                    f"1S{letter}: {words}",
                    score=0.9,
                    traits={"function": function},
                )
            )
        elif count != "1" and letter in _JAPANESE:
            yield _jis_reading(f"{count}S{letter}", letter, digits, suffix, 0.95, ())
    elif match := _JIS_SHORT.fullmatch(word):
        letter, digits, suffix = match.groups()
        # On parts too small for it the 2S is not printed; two figures alone are rare and may be anything.
        likely = 0.6 if len(digits) > 2 else TWO_FIGURES if letter in "AB" else 0.25
        likely *= NO_GAIN_GROUP if suffix == "J" else 1.0
        if letter in "ABC" and suffix in ("K", "M") and int(digits) in TRACKS:
            likely *= TAPERED
        if suffix and int(digits) > _HIGHEST[letter]:
            likely *= UNREGISTERED
        yield _jis_reading(letter, letter, digits, suffix, likely, ("the 2S is not printed",))
        if letter in "CDF" and len(digits) == 3:
            words = _SECOND[letter][0].words
            yield TypeInWord(
                type_reading(
                    PRO_ELECTRON,
                    "transistor",
                    f"B{letter}{digits}{suffix.lstrip('-')}",
                    [(letter, words), (digits, "serial number"), (suffix, "gain group or version")],
                    "a B may be left off in print: rarer than the 2S",
                    f"{letter}: {words}",
                    score=0.15,
                    traits={"material": "silicon"},
                )
            )


def _jis_reading(
    head: str, letter: str, digits: str, suffix: str, score: float, notes: tuple[str, ...]
) -> TypeInWord:
    kind, words, traits = _JAPANESE[letter]
    full = head if len(head) > 1 else f"2S{letter}"
    # An A is a later version of the part; other letters are gain groups, each maker's own.
    version = "A" if suffix in ("A", "-A") or suffix.startswith("A-") else ""
    group = suffix.removeprefix("-").removeprefix(version).removeprefix("-")
    return TypeInWord(
        type_reading(
            JIS,
            kind,
            f"{full}{digits}{version}",
            [
                (head, words),
                (digits, "registration"),
                (suffix, "version" if version else "gain group, as the maker defines it"),
            ],
            f"{full}: {words}",
            *notes,
            score=score,
            traits=traits,
            function=words,
            group=group if kind == "transistor" else "",
        )
    )


def is_analog_devices(letters: str, serial: str, rest: str) -> bool:
    return letters == "AD" and (int(serial) > _LAST_AD or _AD_PACKAGE.fullmatch(rest) is not None)


_SHORT_CHIP = re.compile(r"(AD|AN|BA|CX)([0-9]{3})([A-Z]{0,4})")


def short_chip(word: str) -> Iterator[TypeInWord]:
    """AD633JN, AN240P, BA401, CX160: of two letters and three figures those that no register has taken."""
    match = _SHORT_CHIP.fullmatch(word)
    if match is None:
        return
    letters, digits, suffix = match.groups()
    if letters in ("AN", "CX") or is_analog_devices(letters, digits, suffix) or int(digits) > _LAST_BA:
        yield chip_of_maker(letters, digits, suffix)


_CHIP = re.compile(r"([A-Z]{2,4})([0-9]{3,6}|16[FC][0-9]{2,3})([A-Z]{0,4}[0-9]?)(?:-[A-Z0-9]{1,4})?")


def makers_chip(word: str) -> Iterator[TypeInWord]:
    """A chip of which only the maker is told: MOS 6567, UPC1237.  Two letters and three figures do not do."""
    match = _CHIP.fullmatch(word)
    if not match:
        return
    letters, digits, suffix = match.groups()
    if letters in CHIP_SERIES and len(letters + digits) >= 6:
        yield chip_of_maker(letters, digits, suffix)


def chip_of_maker(letters: str, digits: str, suffix: str) -> TypeInWord:
    words = CHIP_SERIES[letters]
    return TypeInWord(
        type_reading(
            CHIP,
            "ic",
            letters + digits,
            [(letters, words), (digits, "number"), (suffix, "version or package, as the maker defines it")],
            f"{letters}: {words}",
            score=0.4,
            make=_owner(words),
            traits={"suffix": suffix},
            cautions=(f"What {letters}{digits} does is not in the list here: look it up.",),
        )
    )


def _owner(words: str) -> str:
    """The maker named at the head of a series' words: the part before what it makes."""
    match = _WHOSE.match(words)
    return match[1] if match else ""


_WHOSE = re.compile(
    r"((?:[A-Z][\w.-]*)(?: (?:or )?[A-Z][\w.-]*)*)"
    r" (?:linear|MOS|bipolar|digital|hybrid|sound|circuit|micro)"
)


SYSTEMS = (
    system(jedec, _JEDEC_TYPE, _JEDEC_CUT),
    system(pro_electron, _EUROPEAN),
    system(old_european, _OLD_EUROPEAN),
    system(jis, _JIS_TYPE, _JIS_SHORT),
    system(short_chip),
    *series_names.SYSTEMS,
)
