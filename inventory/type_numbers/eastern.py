"""Type numbers of the Soviet Union, the GDR and Czechoslovakia: what their systems and handbooks say of them.

Sources, from memory: ГОСТ 10862 and ОСТ 11.336.919 for Soviet devices, ОСТ 11.073.915 for chips, TGL 38015
for the GDR; the handbooks named in `tables/eastern*.csv`. Letters are read in Cyrillic; a Latin К, Т or the
like is taken for the letter that looks alike only where a chip or device of that number is listed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import NamedTuple

from inventory.type_numbers.logic_table import CMOS_4000, LOGIC
from inventory.type_numbers.tables import rows


class Eastern(NamedTuple):
    """`base`: the number without prefix, version and package. `facts` as in a Spec; `like`: the Western
    number of the same function and legs, "" where there is none or books differ; `words` say what it is;
    `generic`: the number that all makers of such a chip share, of logic and memories.
    """

    kind: str
    base: str
    words: str
    facts: Mapping[str, str]
    like: str = ""
    listed: bool = False
    generic: str = ""


_ALIKE = str.maketrans("ABCEHKMOPTXY", "АВСЕНКМОРТХУ")
_SOUND = str.maketrans("ABVGDEZIKLMNOPRSTUF", "АБВГДЕЗИКЛМНОПРСТУФ")
"""Letters as they are written where no Cyrillic ones can be: KR142EN5A."""
_CHIP = re.compile(r"К?[РМЕАБФНИ]?([0-9]{3,4})([А-Я]{2})([0-9]{1,3})([А-Я]{0,2})")
_DEVICE = re.compile(r"([ГКАИ1-4]([ТПДЦВСНУЛОАИ])([0-9]{3,4}))([А-Я0-9]{0,2})")
_OLD_DEVICE = re.compile(r"((?:МП|П|Д)[0-9]{1,3})([А-Я]?)")
_GDR_DEVICE = re.compile(r"([GS])([ACDFSUYZ])([XYZ]?)([0-9]{2,3})(?:([A-F])|/([0-9]{1,2}(?:[.,][0-9])?))?")
_TESLA_DEVICE = re.compile(r"([KG])([ABCDFSTUYZ])[YZSU]?([0-9]{3})(?:/([0-9]{1,3})(?:V([0-9]))?)?([A-C]?)")
_TESLA_NUMBERS: Mapping[str, tuple[int, ...]] = {
    head: tuple(number for first, last in ranges for number in range(first, last + 1))
    for head, ranges in {
        "KA": ((136, 136), (206, 207), (221, 225), (236, 236), (261, 267), (501, 504)),
        "KB": ((105, 105), (109, 109), (113, 113), (205, 205)),
        "KD": ((333, 340), (366, 368), (501, 502), (601, 617)),
        "KY": ((130, 132), (189, 199), (701, 712), (715, 719), (721, 726)),
        "KZ": ((140, 141), (260, 260), (703, 715), (721, 724), (751, 755)),
        "GA": ((200, 207),),
        "GC": ((500, 502), (507, 512), (515, 522)),
        "GD": ((607, 609), (617, 619)),
        "GF": ((501, 507),),
    }.items()
}
"""Numbers that its catalogues have, from memory; with others the letters may be anybody's. KC, KF, KS and KU
are read as series of transistors.
"""
_GDR_LOGIC = re.compile(r"(?:([DE])([12])([0-9]{2})|DL([0-9]{3})|V(4[0-9]{3}))[CD]")
_POWER = re.compile(r"(ТС|Т|ТБ|ТО|ТЧ)([0-9]{3})-[0-9]{2,3}(?:-[0-9]{1,2})?(?:-.*)?")
"""ТС106-10-4: a triac, a thyristor without С; amps and hundreds of volts (ГОСТ 20859, from memory)."""
_FAMILIES = {
    "155": "std", "133": "std", "131": "h", "530": "s", "531": "s", "533": "ls", "555": "ls", "1531": "f",
    "1533": "als", "1554": "ac", "1564": "hc",
}  # fmt: skip
_AS_THEMSELVES = {"192": "192", "193": "193"}
_CMOS = frozenset(("164", "176", "561", "564", "1561"))
_MATERIAL = {
    "Г": "germanium",
    "1": "germanium",
    "К": "silicon",
    "2": "silicon",
    "G": "germanium",
    "S": "silicon",
}
_SORTS = {
    "Т": ("transistor", "transistor", {"device": "bipolar"}),
    "П": ("transistor", "field-effect transistor", {}),
    "Д": ("diode", "diode", {}),
    "Ц": ("diode", "rectifier stack or bridge", {}),
    "В": ("diode", "varicap", {"function": "varicap"}),
    "С": ("diode", "zener diode", {"function": "zener"}),
    "Н": ("diode", "trigger diode", {}),
    "У": ("diode", "thyristor", {"function": "thyristor"}),
    "Л": ("diode", "light-emitting diode", {"function": "led"}),
    "О": ("ic", "optocoupler", {"function": "optocoupler"}),
    "А": ("diode", "microwave diode", {}),
    "И": ("diode", "tunnel diode", {}),
}
_GDR_SORTS = {
    "A": ("diode", "signal diode", {}),
    "C": ("transistor", "audio-frequency transistor", {"device": "bipolar"}),
    "D": ("transistor", "audio-frequency power transistor", {"device": "bipolar"}),
    "F": ("transistor", "high-frequency transistor", {"device": "bipolar"}),
    "S": ("transistor", "switching transistor", {"device": "bipolar"}),
    "U": ("transistor", "power switching transistor", {"device": "bipolar"}),
    "Y": ("diode", "rectifier", {"function": "rectifier"}),
    "Z": ("diode", "zener diode", {"function": "zener"}),
}
_TESLA_SORTS = {
    **_GDR_SORTS,
    "B": ("diode", "varicap", {"function": "varicap"}),
    "T": ("diode", "thyristor or triac", {}),
}
_FUNCTIONS = {
    "УД": "op-amp", "УН": "audio amplifier", "СА": "comparator", "ЕН": "voltage regulator", "ВМ": "processor",
    "ВЕ": "microcontroller", "ВВ": "interface", "ВИ": "timer", "РУ": "memory", "РЕ": "read-only memory",
    "РТ": "PROM", "РФ": "EPROM", "ИЕ": "counter", "ИР": "register", "ИД": "decoder", "КП": "multiplexer",
    "ИМ": "adder", "АГ": "monostable", "АП": "bus driver", "ТМ": "D flip-flop", "ТВ": "JK flip-flop",
    "ТР": "RS flip-flop", "ТЛ": "Schmitt trigger", "ЛА": "NAND gates", "ЛЕ": "NOR gates", "ЛИ": "AND gates",
    "ЛЛ": "OR gates", "ЛН": "inverters", "ЛП": "logic", "ЛР": "AND-OR-invert gates", "ПА": "DAC", "ПВ": "ADC",
    "КТ": "analogue switch", "КН": "analogue switch", "ХА": "circuit for radio or television",
    "ПУ": "level shifter",
    "ИП": "arithmetic or parity", "ГФ": "generator", "ПС": "mixer", "НТ": "transistor array",
}  # fmt: skip


@lru_cache(maxsize=2048)
def eastern_type(number: str) -> Eastern | None:
    """What such a number says, None where it is of neither system."""
    whole = "".join(number.upper().split())
    if not whole.isascii() and (match := _POWER.fullmatch(whole.translate(_ALIKE))):
        words = "triac" if match[1] == "ТС" else "thyristor"
        return Eastern("diode", match[1] + match[2], words, {"function": words}, listed=True)
    word = whole.replace("-", "")
    if found := _gdr(word):
        return found
    cyrillic = in_cyrillic(word) if word.isascii() else word.translate(_ALIKE)
    if cyrillic:
        return _soviet_chip(cyrillic) or _soviet_device(cyrillic)
    return _tesla(word)


def in_cyrillic(number: str) -> str:
    """A listed Soviet number in its own letters, whether typed by look or by sound; "" for any other."""
    word = "".join(number.upper().replace("-", "").split())
    alike = word.translate(_ALIKE)
    if _listed(alike):
        return alike
    sound = word.translate(_SOUND)
    match = _CHIP.fullmatch(sound) if word.isascii() else None
    return sound if match and _row_of(match) else ""


class EasternNumber(NamedTuple):
    """`base` in Cyrillic letters; `grade`: the group of a diode or transistor, as it is printed."""

    base: str
    grade: str = ""


def eastern_number(kind: str, number: str) -> EasternNumber | None:
    """A listed Soviet number of this kind in either alphabet, by look or by sound; None for any other.

    The letter of a device is its group, but where the list tells groups apart: Д814А is of 8 V, Д814Б of 9 V.
    """
    word = "".join(number.upper().replace("-", "").split())
    found = in_cyrillic(word)
    if found and _CHIP.fullmatch(found):
        eastern = eastern_type(found)
        return EasternNumber(found) if eastern and eastern.kind == kind else None
    for spelling in (word.translate(_ALIKE), word.translate(_SOUND)):
        match = _DEVICE.fullmatch(spelling) or _OLD_DEVICE.fullmatch(spelling)
        base = spelling if spelling in _devices() else match[1] if match else ""
        if base in _devices() and _devices()[base]["kind"] == kind:
            return EasternNumber(base, "".join(map(_group, word[len(base) :])))
    return None


def _group(letter: str) -> str:
    """In Cyrillic where look and sound do not differ: B may be В or Б, and stays."""
    found = {chr(table[ord(letter)]) for table in (_ALIKE, _SOUND) if ord(letter) in table}
    return found.pop() if len(found) == 1 else letter


@cache
def _chips() -> dict[tuple[str, str], dict[str, str]]:
    return {(row["series"], row["number"]): row for row in rows("eastern")}


@cache
def _devices() -> dict[str, dict[str, str]]:
    return {row["number"]: row for row in rows("eastern_devices")}


def _listed(word: str) -> bool:
    if match := _CHIP.fullmatch(word):
        return _row_of(match) is not None
    match = _DEVICE.fullmatch(word) or _OLD_DEVICE.fullmatch(word)
    return match is not None and (match[1] in _devices() or word in _devices())


def _row_of(match: re.Match[str]) -> dict[str, str] | None:
    series, letters, digits, version = match.groups()
    whole = f"{series}{letters}{digits}"
    group = "cmos" if series in _CMOS else "ttl" if series in _FAMILIES else ""
    chips = _chips()
    return (
        chips.get(("whole", whole + version[:1]))
        or chips.get(("whole", whole))
        or chips.get((group, f"{letters}{digits}"))
    )


def _soviet_chip(word: str) -> Eastern | None:
    match = _CHIP.fullmatch(word)
    if match is None:
        return None
    series, letters, digits, _ = match.groups()
    row = _row_of(match)
    words = row["words"] if row else _FUNCTIONS.get(letters, "")
    kind = row["kind"] if row else "regulator" if letters == "ЕН" else "ic"
    like = row.get("like", "") if row else ""
    facts: dict[str, str] = {}
    generic = like if "memory" in words or "EPROM" in words else ""
    if like and series in _FAMILIES:
        family = _FAMILIES[series]
        facts, like = {"function": like, "family": family}, _number_of(family, like)
        generic = like
    elif like and series in _CMOS:
        facts, generic = {"function": like, "family": "cmos_4000"}, like
    return Eastern(kind, f"{series}{letters}{digits}", words, facts, like, row is not None, generic)


def _number_of(family: str, function: str) -> str:
    return f"74{'' if family == 'std' else family.upper()}{function}"


def _soviet_device(word: str) -> Eastern | None:
    match = _DEVICE.fullmatch(word)
    if match:
        kind, words, facts = _SORTS[match[2]]
        material = _MATERIAL.get(word[0])
        facts = {**facts, **({"material": material} if material and kind != "ic" else {})}
        if match[2] == "С" and (volts := _zener_volts(match[3])):
            facts["zener_volts"] = volts
    else:
        match = _OLD_DEVICE.fullmatch(word)
        if match is None:
            return None
        kind, words, facts = ("diode", "diode", {}) if word[0] == "Д" else ("transistor", "transistor", {})
    row = _devices().get(word) or _devices().get(match[1])
    if row is None and word[0] == "П":
        return None  # a capacitor's pF stand before figures as well
    return Eastern(kind, match[1], words, _with(facts, row), "", row is not None)


def _zener_volts(digits: str) -> str:
    """КС156: the last two figures are tenths of a volt in classes 1, 4 and 7, volts in 2, 5 and 8."""
    if len(digits) != 3 or digits[0] not in "124578":
        return ""
    volts = int(digits[1:])
    return f"{volts}" if digits[0] in "258" else f"{volts / 10:g}"


def _with(facts: Mapping[str, str], row: Mapping[str, str] | None) -> dict[str, str]:
    more = {name: fact for name, fact in (row or {}).items() if name not in ("number", "kind")}
    return {**facts, **more}


def _gdr(word: str) -> Eastern | None:
    if row := _chips().get(("whole", word)):
        like = row.get("like", "")
        return Eastern(
            row["kind"], word, row["words"], {}, like, True, like if "memory" in row["words"] else ""
        )
    if match := _GDR_LOGIC.fullmatch(word):
        return _gdr_logic(match)
    match = _GDR_DEVICE.fullmatch(word)
    if match is None:
        return None
    material, sort, second, digits, _, volts = match.groups()
    base = f"{material}{sort}{second}{digits}"
    row = _devices().get(base)
    if row is None and not volts:
        return None
    kind, words, facts = _GDR_SORTS[sort]
    if volts:
        facts = {**facts, "zener_volts": volts.replace(",", ".")}
    return Eastern(kind, base, words, _with({**facts, "material": _MATERIAL[material]}, row), "", True)


def _tesla(word: str) -> Eastern | None:
    """KC508, KY132/80, KZ260/5V1: Czechoslovak, Pro Electron's second letter behind K or G."""
    match = _TESLA_DEVICE.fullmatch(word)
    if match is None:
        return None
    material, sort, digits, whole, tenths, _ = match.groups()
    kind, words, facts = _TESLA_SORTS[sort]
    if not (whole or int(digits) in _TESLA_NUMBERS.get(material + sort, ())):
        return None
    facts = {**facts, "material": _MATERIAL["К" if material == "K" else "G"]}
    if sort == "Z" and whole:
        facts["zener_volts"] = f"{whole}.{tenths}" if tenths else whole
    elif sort == "Y" and whole:
        facts["volts"] = whole
    return Eastern(kind, f"{material}{sort}{digits}", words, facts, "", True)


def _gdr_logic(match: re.Match[str]) -> Eastern | None:
    """D100D is 7400, D200D 74H00, DL000D 74LS00, V4011D 4011."""
    _, row, short, low_power, cmos = match.groups()
    if cmos:
        known, number, facts = CMOS_4000.get(cmos), cmos, {"function": cmos, "family": "cmos_4000"}
    else:
        function = _AS_THEMSELVES.get(f"{row}{short}", short or f"{int(low_power or 0):02}")
        family = "ls" if low_power else {"1": "std", "2": "h"}[row]
        known, number = LOGIC.get(function), _number_of(family, function)
        facts = {"function": function, "family": family}
    return Eastern("ic", match[0], known.words, facts, number, True, number) if known else None
