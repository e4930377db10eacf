"""Integrated circuits and regulators by their type strings: logic, memory, linear parts, processors.

Functions, organisations and makers' letters are in logic_table.py, memory_table.py and linear_table.py.
"""

from __future__ import annotations

from collections.abc import Iterator

from inventory.decoding import numbered_chips
from inventory.decoding.type_strings import TypeInWord, system, type_reading
from inventory.type_numbers import logic_table as logic
from inventory.type_numbers import memory_table as memories
from inventory.type_numbers.chip_numbers import (
    CMOS_4000,
    MITSUBISHI,
    any_of,
    maker_of_memory,
    package_of,
    split_cmos,
    split_logic,
    split_memory,
    split_mitsubishi,
)

LOGIC = ("logic type", "54/74 series, makers' data books")
CMOS = ("logic type", "4000 series CMOS, JEDEC 13-B")
MEMORY = ("memory type", "makers' data books")


def ttl(word: str) -> Iterator[TypeInWord]:
    parts = split_logic(word)
    if parts is None:
        return
    prefix, series, family, digits, suffix = parts
    function = logic.LOGIC.get(digits) or logic.CMOS_4000.get(digits)
    bare = not (prefix or family or suffix)
    number = f"{series}{family}{digits}"
    package, version = _package(suffix, logic.LOGIC_MAKERS.get(prefix, ""))
    cautions: tuple[str, ...] = ()
    if function is None:
        cautions = (f"What a {series}{digits} does is not in the list here: look it up.",)
    if family in ("HC", "AC", "AHC", "C") and function:
        cautions += ("CMOS input levels: not for a place driven by TTL without pull-ups.",)
    yield TypeInWord(
        type_reading(
            LOGIC,
            "ic",
            number,
            [
                (prefix, logic.LOGIC_MAKERS.get(prefix, "")),
                (series, "military temperature range" if series == "54" else "54/74 series"),
                (family, f"family {family}"),
                (digits, function.words if function else "function"),
                (suffix, package or version),
            ],
            f"{number}: {function.words if function else 'function not in the list'}",
            f"family {family}" if family else "no family letters: standard TTL",
            *([f"{suffix}: {package}"] if package else []),
            score=1.0 if function and not bare else 0.6 if function else 0.4,
            traits={
                "function": digits,
                "family": logic.FAMILIES[family],
                "pins": str(function.pins) if function else "",
                "open_collector": function.open_collector if function else False,
                "suffix": suffix,
            },
            cautions=cautions,
            make=logic.LOGIC_MAKERS.get(prefix, ""),
            package=package,
            function=function.words if function else "",
        ),
        bare,
    )


def mitsubishi_ttl(word: str) -> Iterator[TypeInWord]:
    """M53204P is Mitsubishi's 7404, M53393P its 74193."""
    parts = split_mitsubishi(word)
    if parts is None:
        return
    digits, function = parts.digits, logic.LOGIC[parts.digits]
    yield TypeInWord(
        type_reading(
            LOGIC,
            "ic",
            f"74{digits}",
            [
                (parts.prefix, "Mitsubishi, standard TTL"),
                (digits[-2:], function.words),
                (parts.suffix, "package"),
            ],
            f"{parts.prefix}{digits[-2:]} is this maker's name for a 74{digits}: {function.words}",
            traits={
                "function": digits,
                "family": "std",
                "pins": str(function.pins),
                "open_collector": function.open_collector,
                "suffix": parts.suffix,
            },
            make="Mitsubishi",
            package="plastic dual in line" if parts.suffix == "P" else "",
            function=function.words,
        )  # fmt: skip
    )


def cmos_4000(word: str) -> Iterator[TypeInWord]:
    parts = split_cmos(word)
    if parts is None:
        return
    prefix, one, number, suffix = parts
    function = logic.CMOS_4000[number]
    maker = logic.LOGIC_MAKERS.get(prefix, "")
    package, version = _package(suffix, maker)
    bare = not (prefix or suffix)
    yield TypeInWord(
        type_reading(
            CMOS,
            "ic",
            number,
            [(prefix + one, maker), (number, function.words), (suffix, package or version)],
            f"{number}: {function.words}",
            "4000 series CMOS",
            *([f"{suffix}: {package}"] if package else []),
            score=0.6 if bare else 1.0,
            traits={"function": number, "family": "cmos_4000", "pins": str(function.pins), "suffix": suffix},
            make=maker,
            package=package,
            function=function.words,
        ),
        bare,
    )


def _package(suffix: str, maker: str) -> tuple[str, str]:
    """(package, what else to say)."""
    package, version = package_of(suffix, maker)
    if package:
        return (f"version {version}, {package}" if version else package), ""
    return "", "version or package, as the maker defines it" if suffix else ""


def memory(word: str) -> Iterator[TypeInWord]:
    for prefix, printed, number, letters, speed, package, half in split_memory(word):
        part = memories.MEMORIES[number]
        bare = not (prefix or letters or speed or package)
        own_name = prefix + printed in memories.MEMORY_NAMES
        rails = part.rails
        cautions: list[str] = []
        if prefix + printed == memories.THREE_RAIL_2716:
            rails = memories.THREE_RAILS
            cautions.append("The Texas 2716 needs three rails; other makers' 2716 does not fit its place.")
        if len(rails) == 3:
            cautions.append("Three rails: destroyed without its negative rail.")
        working = ""
        package = package.lstrip("-")
        if part.half:
            working = half if half in ("3", "4") else ""
            working = working or (package or letters if (package or letters) in ("H", "L") else "")
            cautions.append(
                "Half of a part twice the size works: one bank needs the same make and half throughout."
            )
        reasons = [f"{number}: {part.organisation} {part.function.upper()}"]
        if own_name:
            reasons.append(f"{prefix + printed} is this maker's name for a {number}")
        maker = maker_of_memory(prefix, printed, letters)
        for access, weight, why in _access(part, number, speed, maker):
            yield TypeInWord(
                type_reading(
                    MEMORY,
                    "ic",
                    number,
                    [
                        (prefix, maker),
                        (printed, f"{part.organisation} {part.function.upper()}"),
                        (letters, "version or package, as the maker defines it"),
                        (speed, why),
                        (package, "package, as the maker defines it"),
                        (half, "which half works" if part.half else "package, as the maker defines it"),
                    ],
                    *reasons,
                    why,
                    score=weight * (0.6 if bare else 1.0),
                    traits={
                        "function": part.function,
                        "organisation": part.organisation,
                        "access_ns": access,
                        "pins": str(part.pins) if part.pins else "",
                        "rails": list(rails) or "",
                        "half": working.lower(),
                    },
                    cautions=tuple(
                        cautions
                        if access or not speed
                        else [
                            *cautions,
                            f"-{speed} is a grade: its access time is in the maker's sheet only.",
                        ]
                    ),
                    make=maker,
                    function=f"{part.organisation} {part.function.upper()}",
                ),
                bare,
            )


# Up to this two figures are tens of ns for certain: no faster part was made under the number.
_SLOWEST_IN_TENS = {"dram": 20, "sram": 20, "eprom": 35, "eeprom": 35, "flash": 25, "rom": 45, "prom": 0}
_FAST = ("2147", "2148", "2149", "6147", "6167", "6168")  # never made in hundreds of ns


def _access(part: memories.Memory, number: str, speed: str, maker: str) -> Iterator[tuple[str, float, str]]:
    """(ns, weight, why). Two figures are tens of ns on slow parts, ns on fast ones; both where both exist."""
    if not speed:
        yield "", 1.0, ""
        return
    figure = int(speed)
    if figure == 0:
        return
    tens = (str(figure * 10), f"-{speed}: {figure * 10} ns")
    ones = (str(figure), f"-{speed}: {figure} ns")
    if len(speed) == 3:
        yield ones[0], 1.0, ones[1]
    elif len(speed) == 1 and (graded := memories.GRADES.get((maker, number, speed))):
        yield graded, 1.0, f"-{speed}: {graded} ns with {maker}"
    elif len(speed) == 1:
        # -7 and -8 mean 70 and 80 ns on large parts; a lower figure is each maker's own grade.
        large = number in ("62256", "628128", "628512") and figure in (5, 7)
        if large or (part.function == "dram" and not part.older and figure >= 6):
            yield tens[0], 1.0, tens[1]
        else:
            yield "", 1.0, f"-{speed}: the maker's speed grade"
    elif (number in _FAST and figure >= 20) or maker in memories.PLAIN_NANOSECONDS:
        yield ones[0], 1.0, ones[1]
    elif speed[0] == "0" or (part.older and figure <= 65) or figure <= _SLOWEST_IN_TENS[part.function]:
        yield tens[0], 1.0, tens[1]
    elif figure >= 50 or part.older:
        yield ones[0], 1.0, ones[1]
    else:
        yield tens[0], 0.7, tens[1]
        yield ones[0], 0.7, ones[1]


# The tables as forms: any of their names, and whatever may stand around it.
def _ttl_form() -> str:
    return (
        rf"{any_of(logic.LOGIC_MAKERS)}[57]4{any_of(logic.FAMILIES)}[0-9]{{2,5}}"
        r"(?:[A-Z][A-Z0-9]{0,5})?(?:-[A-Z0-9]{1,4})?"
    )


def _memory_form() -> str:
    return (
        rf"[A-Z0-9]{{0,5}}?{any_of(memories.MEMORY_NAMES)}.{{0,12}}|"
        rf"[A-Z0-9]{{0,4}}?(?:{'|'.join('C?'.join(number) for number in memories.MEMORIES)}).{{0,12}}"
    )


SYSTEMS = (
    system(ttl, _ttl_form),
    system(mitsubishi_ttl, MITSUBISHI),
    system(cmos_4000, CMOS_4000),
    system(memory, _memory_form),
    *numbered_chips.SYSTEMS,
)
