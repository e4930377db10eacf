"""One type, one number: makers' letters before it and package, grade and speed behind it taken off.

Pure and total. Decoding takes numbers apart by the same `chip_numbers`; fits() compares what comes out here.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache, partial
from typing import NamedTuple

from inventory.type_numbers import linear_table as linears
from inventory.type_numbers import logic_table as logic
from inventory.type_numbers import memory_table as memories
from inventory.type_numbers.chip_numbers import (
    ONE_OUTPUT,
    MemoryNumber,
    Named,
    maker_of_linear,
    maker_of_memory,
    package_of,
    split_adjustable,
    split_by_dash,
    split_cmos,
    split_coupler,
    split_fixed,
    split_graded,
    split_linear,
    split_logic,
    split_memory,
    split_mitsubishi,
    split_named,
)
from inventory.type_numbers.device_numbers import split_device
from inventory.type_numbers.eastern import eastern_number


class TypeNumber(NamedTuple):
    """A type number taken apart. Two numbers of one `base` are one type, whoever made them.

    `make` is set where the letters before the number are one maker's alone, `package` where the letters
    behind it say so. `grade` is what else stands there: version, speed, gain group, temperature range.
    `cmos` is set of the CMOS version of a chip that was first made otherwise (82C55, TLC555). `other_body` is
    set where letters of a regulator stand for a body, but nobody here knows for which.
    """

    base: str
    make: str = ""
    package: str = ""
    grade: str = ""
    cmos: bool = False
    other_body: bool = False


LONGEST = 40
_MU = "µ".upper()  # as in µPD4164


@lru_cache(maxsize=8192)
def type_number(kind: str, number: str) -> TypeNumber:
    """The number of a part of this kind, in whatever case; of no known system it is its own base.

    >>> type_number("ic", "SN74LS00N")[:3]
    ('74LS00', 'Texas Instruments', 'plastic dual in line')
    >>> type_number("ic", "R6502P").base, type_number("regulator", "L7805CV").base
    ('6502', '7805')
    """
    word = "".join(number.upper().replace(_MU, "U").split())
    if eastern := eastern_number(kind, word):
        return TypeNumber(_plain(eastern.base), grade=eastern.grade)
    read = _READERS.get(kind)
    return (read(word) if read and len(word) <= LONGEST else None) or TypeNumber(_plain(word))


def _plain(word: str) -> str:
    return "".join(filter(str.isalnum, word))


# ── Chips ────────────────────────────────────────────────────────────────────────────────────────


def _chip(word: str) -> TypeNumber | None:
    for read in (_own_memory, _cmos, _memory, _logic, _linear, _coupler, _regulator, _figures_of_memory):
        if found := read(word):
            return found
    return None


def _own_memory(word: str) -> TypeNumber | None:
    """A maker's own number for a memory, which may be another chip's without his letters: TMS4016, CD4016."""
    parts = next(split_memory(word), None)
    return _of_memory(parts) if parts and parts.prefix + parts.printed in memories.MEMORY_NAMES else None


def _memory(word: str) -> TypeNumber | None:
    parts = next(split_memory(word), None)
    return _of_memory(parts) if parts else None


_OWN_FIGURES = re.compile(r"[A-Z]{0,4}([0-9]{4,6})(?![0-9])")


def _figures_of_memory(word: str) -> TypeNumber | None:
    """The figures of a maker's own number without his letters, or behind letters that no list has: 4864."""
    match = _OWN_FIGURES.match(word)
    number = memories.BY_FIGURES.get(match[1]) if match else None
    return TypeNumber(number) if number else None


def _of_memory(parts: MemoryNumber) -> TypeNumber:
    own = parts.prefix + parts.printed
    base = own if own in memories.NOT_QUITE else parts.number
    elder = base.replace("C", "", 1)
    cmos = elder != base and elder in memories.MEMORIES
    half = parts.half or (parts.letters if parts.letters in ("H", "L") else "")
    grade = "-".join(filter(None, (parts.speed, half)))
    maker = maker_of_memory(parts.prefix, parts.printed, parts.letters)
    return TypeNumber(elder if cmos else base, maker, "", grade, cmos)


def _cmos(word: str) -> TypeNumber | None:
    parts = split_cmos(word)
    if parts is None:
        return None
    maker = logic.LOGIC_MAKERS.get(parts.prefix, "")
    package, version = package_of(parts.suffix, maker)
    version = version or ("UB" if parts.suffix.startswith("UB") else "")
    return TypeNumber(parts.number, maker, package, version)


def _logic(word: str) -> TypeNumber | None:
    parts = split_logic(word) or split_mitsubishi(word)
    if parts is None:
        return None
    maker = "Mitsubishi" if parts.prefix.startswith("M53") else logic.LOGIC_MAKERS.get(parts.prefix, "")
    package, version = package_of(parts.suffix, maker)
    return TypeNumber(
        f"74{parts.family}{parts.digits}", maker, package, "54" if parts.series == "54" else version
    )


def _linear(word: str) -> TypeNumber | None:
    parts, range_figures = split_graded(word)
    cmos = False
    if parts is None:  # 82C55 is the 8255 in CMOS
        first, c, rest = word.partition("C")
        parts = split_linear(first + rest) if c and first[-2:].isdigit() and rest[:2].isdigit() else None
        cmos = parts is not None
    if parts is None:
        return None
    base, printed = parts.name, parts.printed
    if elder := linears.CMOS_OF.get(base) or _without_c(base):
        base, cmos = elder, True
    cmos = cmos or printed.startswith(("Z84C", "HD63")) and base != "6309"
    speed = match[1] if (match := re.match(r"(?:HD)?6[38]([ABC])[0-9]{2}", printed)) else ""
    speed = speed or (match[1] if (match := re.match(r"Z80([AB])[A-Z]{3,4}$", printed)) else "")
    package, grade = _linear_package(parts.suffix, maker_of_linear(word, parts))
    return TypeNumber(base, maker_of_linear(word, parts), package, range_figures + speed + grade, cmos)


def _without_c(name: str) -> str:
    """8031 of 80C31, where both are chips of the list."""
    elder = re.sub(r"(?<=[0-9])C(?=[0-9])", "", name)
    return elder if elder != name and elder in linears.LINEARS else ""


_PACKAGES = {
    **dict.fromkeys(("N", "P", "PC"), "plastic dual in line"),
    **dict.fromkeys(("J", "JG"), "ceramic dual in line"),
    **dict.fromkeys(("Z", "LP"), "TO-92"),
    **dict.fromkeys(("T", "V", "KC", "UC"), "TO-220"),
    **dict.fromkeys(("H", "HC", "HM"), "metal can"),
    "K": "TO-3", "DT": "TO-252", "D2T": "TO-263", "M": "small outline",
    "PW": "thin shrink small outline", "DB": "shrink small outline",
}  # fmt: skip
"""Behind the number of a linear part, where most makers mean the same by it (from memory: data books of
National, Texas, Motorola, SGS, Fairchild)."""
_OF_MAKER = {
    ("Intel", "D"): "ceramic dual in line", ("NEC", "D"): "ceramic dual in line",
    ("NEC", "C"): "plastic dual in line", ("Fairchild", "KC"): "TO-3", ("JRC", "D"): "plastic dual in line",
    ("Motorola", "L"): "ceramic dual in line",
}  # fmt: skip
_TAIL = re.compile(
    r"([ABCEIM]{0,2}?)(PC|JG|LP|KC|UC|HC|HM|D2T|DT|PW|DB|[NPJHZTVDMLCKSFG])?([-/0-9][A-Z0-9/-]*|R)?"
)
_BY_LETTERS = re.compile(r"([CEIM])([PJSWD])[A-Z]")
"""Maxim and Intersil: range of temperature, package, number of legs (from memory: their data books)."""


def _linear_package(suffix: str, maker: str) -> tuple[str, str]:
    """(package, grade): a C alone is the commercial range, which is what everybody means."""
    if match := _BY_LETTERS.fullmatch(suffix):
        package = {"P": "plastic dual in line", "J": "ceramic dual in line"}.get(match[2], "small outline")
        return package if match[2] != "D" else "", match[1].replace("C", "")
    match = _TAIL.fullmatch(suffix)
    if match is None:
        return "", suffix
    letters, package, rest = (group or "" for group in match.groups())
    named = _OF_MAKER.get((maker, package)) or _PACKAGES.get(package, "")
    return named, letters.replace("C", "") + ("" if rest == "R" else rest)


def _coupler(word: str) -> TypeNumber | None:
    parts = split_coupler(word)
    if parts is None:
        return None
    maker = linears.OPTOCOUPLER_MAKERS.get(parts.name.rstrip("0123456789"), "")
    return TypeNumber(parts.number, maker, "", parts.tail or parts.grade if parts.name != "CNY17" else "")


# ── Regulators ───────────────────────────────────────────────────────────────────────────────────


def _regulator(word: str) -> TypeNumber | None:
    if fixed := split_fixed(word):
        number, maker = f"{fixed.sign}{fixed.current}{fixed.figures}", fixed.maker
        if fixed.current == "L" and fixed.suffix in _SMALL_PLASTIC:
            return TypeNumber(number, maker, "TO-92", fixed.suffix[:-1].replace("C", ""))
        found = _regulator_package(fixed.suffix, maker or _MAKER_OF.get(fixed.current, ""))
        return found._replace(base=number, make=maker)
    if (named := split_named(word)) and named.volts:
        return _regulator_package(named.package, "")._replace(base=_base_of_named(named), grade="")
    if adjustable := split_adjustable(word):
        prefix = adjustable.prefix
        maker = linears.OWN_LETTERS.get(prefix, "") if prefix not in linears.SECOND_SOURCED else ""
        found = _regulator_package(adjustable.suffix, maker)
        colder = adjustable.printed[0] if adjustable.printed != adjustable.digits else ""
        return found._replace(base=adjustable.number, make=maker, grade=colder + found.grade)
    if parts := split_by_dash(word):
        volts = f"-{parts.volts}" if parts.volts else "-ADJ" if parts.adjustable else ""
        return _regulator_package(parts.package, "")._replace(base=f"{parts.number}{volts}", grade="")
    return None


_SMALL_PLASTIC = frozenset(("P", "CP", "ACP"))
"""Motorola's P behind 78L and 79L is TO-92 (from memory: its data book)."""
_MAKER_OF = {"H": "Fairchild"}
"""78H05 and the like are Fairchild's own, whoever's letters are left out (from memory: its data book)."""


def _regulator_package(suffix: str, maker: str) -> TypeNumber:
    """Package and grade. D is a small outline here, and ranges of temperature are not printed in Maxim's way
    (from memory: data books of Texas and Motorola).
    """
    match = _TAIL.fullmatch(suffix)
    if match is None:
        return TypeNumber("", "", "", suffix, other_body=True)
    letters, package, rest = (group or "" for group in match.groups())
    named = _OF_MAKER.get((maker, package)) or ("small outline" if package == "D" else _PACKAGES.get(package))
    grade = letters.replace("C", "") + ("" if rest == "R" else rest)
    return TypeNumber("", "", named or "", grade, other_body=package not in ("", "C") and named is None)


def _base_of_named(named: Named) -> str:
    """National's LM340 and LM320 are the 78 and 79 series (from memory: its data books)."""
    if named.digits in ONE_OUTPUT:
        return f"LM{named.digits}"
    series, volts = ("79", named.volts[1:]) if named.digits == "320" else ("78", named.volts)
    return f"{series}{volts:0>2}"


# ── Diodes and transistors ───────────────────────────────────────────────────────────────────────


def _device(kind: str, word: str) -> TypeNumber | None:
    parts = split_device(kind, word)
    return TypeNumber(parts.base, grade=parts.grade) if parts else None


def _regulator_or_chip(word: str) -> TypeNumber | None:
    return _regulator(word) or _chip(word)


_READERS: dict[str, Callable[[str], TypeNumber | None]] = {
    "ic": _chip,
    "regulator": _regulator_or_chip,
    "diode": partial(_device, "diode"),
    "transistor": partial(_device, "transistor"),
}
