"""Integrated circuits and regulators by their type strings: logic, memory, linear parts, processors.

Functions, organisations and makers' letters are in logic_table.py, memory_table.py and linear_table.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from inventory.decoding import logic_table as logic
from inventory.decoding import memory_table as memories
from inventory.decoding import numbered_chips
from inventory.decoding.type_strings import Found, any_of, system, type_reading

LOGIC = ("logic type", "54/74 series, makers' data books")
CMOS = ("logic type", "4000 series CMOS, JEDEC 13-B")
MEMORY = ("memory type", "makers' data books")

_TTL = re.compile(
    r"([A-Z]{0,4}?)([57]4)([A-Z]{0,4}?)([123]G[0-9]{2,3}|[0-9]{2,5})([A-Z][A-Z0-9]{0,5})?(?:-[A-Z0-9]{1,4})?"
)


def ttl(word: str) -> Iterator[Found]:
    if "4" not in word:
        return
    match = _TTL.fullmatch(word)
    if not match:
        return
    prefix, series, family, digits, suffix = (group or "" for group in match.groups())
    if family not in logic.FAMILIES or (prefix and prefix not in logic.LOGIC_MAKERS):
        return
    function = logic.LOGIC.get(digits) or logic.CMOS_4000.get(digits)
    bare = not (prefix or family or suffix)
    if function is None and (bare or len(digits) < 3):
        return
    number = f"{series}{family}{digits}"
    package, version = _package(suffix, logic.LOGIC_MAKERS.get(prefix, ""))
    cautions: tuple[str, ...] = ()
    if function is None:
        cautions = (f"What a {series}{digits} does is not in the list here: look it up.",)
    if family in ("HC", "AC", "AHC", "C") and function:
        cautions += ("CMOS input levels: not for a place driven by TTL without pull-ups.",)
    yield Found(
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


_MITSUBISHI = re.compile(r"M53([23])([0-9]{2})([A-Z]?)")


def mitsubishi_ttl(word: str) -> Iterator[Found]:
    """M53204P is Mitsubishi's 7404, M53393P its 74193."""
    match = _MITSUBISHI.fullmatch(word)
    if not match:
        return
    digits = match[2] if match[1] == "2" else f"1{match[2]}"
    function = logic.LOGIC.get(digits)
    if function is None:
        return
    yield Found(
        type_reading(
            LOGIC,
            "ic",
            f"74{digits}",
            [
                ("M53" + match[1], "Mitsubishi, standard TTL"),
                (match[2], function.words),
                (match[3], "package"),
            ],
            f"M53{match[1]}{match[2]} is this maker's name for a 74{digits}: {function.words}",
            traits={
                "function": digits,
                "family": "std",
                "pins": str(function.pins),
                "open_collector": function.open_collector,
                "suffix": match[3],
            },
            make="Mitsubishi",
            package="plastic dual in line" if match[3] == "P" else "",
            function=function.words,
        )  # fmt: skip
    )


_4000 = re.compile(r"([A-Z]{0,4}?)([18]?)(4[0-9]{3,4})([A-Z][A-Z0-9]{0,4})?")


def cmos_4000(word: str) -> Iterator[Found]:
    if "4" not in word:
        return
    match = _4000.fullmatch(word)
    if not match:
        return
    prefix, one, number, suffix = (group or "" for group in match.groups())
    function = logic.CMOS_4000.get(number)
    # MC14011 and HD14011 are the 4011 of makers that put a 1 before it; Fujitsu puts an 8.
    if (
        function is None
        or (prefix and prefix not in logic.LOGIC_MAKERS)
        or (one == "1" and prefix not in ("MC", "HD"))
        or (one == "8" and prefix != "MB")
    ):
        return
    maker = logic.LOGIC_MAKERS.get(prefix, "")
    package, version = _package(suffix, maker)
    bare = not (prefix or suffix)
    yield Found(
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
    """(package, what else to say): the maker's own list first, then what most mean."""
    for tail, version in ((suffix, ""), (suffix[1:], suffix[:1])):
        for owner in (maker, ""):
            package = logic.PACKAGES.get(owner, {}).get(tail, "")
            if package:
                return (f"version {version}, {package}" if version else package), ""
    return "", "version or package, as the maker defines it" if suffix else ""


_MEMORY_TAIL = re.compile(
    r"([A-Z]{0,5})(?:-?([0-9]{1,3}))?((?:-?[A-Z]{1,5}|-(?:[A-Z0-9]{1,4})){0,3})([0-9]{0,2}[A-Z]?)"
)
_LEADING = re.compile(r"(M5[KLM]|[A-Z]{0,4})")


def memory(word: str) -> Iterator[Found]:
    for prefix, printed, number in _memory_numbers(word):
        tail = _MEMORY_TAIL.fullmatch(word[len(prefix) + len(printed) :])
        if not tail:
            continue
        part = memories.MEMORIES[number]
        letters, speed, package, half = tail.groups()
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
                "Half of a part twice the size works: one bank wants the same make and half throughout."
            )
        reasons = [f"{number}: {part.organisation} {part.function.upper()}"]
        if own_name:
            reasons.append(f"{prefix + printed} is this maker's name for a {number}")
        maker = _maker_of_memory(prefix, printed, letters)
        for access, weight, why in _access(part, number, speed or "", maker):
            yield Found(
                type_reading(
                    MEMORY,
                    "ic",
                    number,
                    [
                        (prefix, maker),
                        (printed, f"{part.organisation} {part.function.upper()}"),
                        (letters, "version or package, as the maker defines it"),
                        (speed or "", why),
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


def _maker_of_memory(prefix: str, printed: str, letters: str) -> str:
    """Whose letters these are; NEC prints D for µPD and a C or D behind the number, Intel D for ceramic."""
    if prefix == "D" and (f"UPD{printed}" in memories.MEMORY_NAMES or printed[:1] == "4"):
        return "NEC"
    if prefix == "D" and letters[-1:] in ("C", "D"):
        return "NEC"
    return memories.MEMORY_MAKERS.get(prefix, "")


def _memory_numbers(word: str) -> Iterator[tuple[str, str, str]]:
    """(prefix, number as printed, industry number): a maker's own name first, then a known number."""
    match = _LEADING.match(word)
    prefix = match[1] if match else ""
    rest = word[len(prefix) :]
    for length in range(min(10, len(word)), 3, -1):
        name = word[:length]
        goes_on = name[-1:].isdigit() and word[length : length + 1].isdigit()
        if name in memories.MEMORY_NAMES and not goes_on:
            yield prefix, name[len(prefix) :], memories.MEMORY_NAMES[name]
            return
    if prefix not in memories.MEMORY_MAKERS:
        return
    for length in range(7, 3, -1):
        printed = rest[:length]
        if rest[length : length + 1].isdigit():
            continue
        if printed in memories.MEMORY_NAMES:
            yield prefix, printed, memories.MEMORY_NAMES[printed]
            return
        # 41C256 is the CMOS 41256; a C in an EPROM's number is part of its name. 24LC16 is a 24C16.
        number = printed if printed in memories.MEMORIES else printed.replace("C", "", 1)
        if printed[:4] in ("24LC", "24AA", "24FC", "93LC"):
            number = printed[:2] + "C" + printed[4:]
        if number in memories.MEMORIES and (
            number == printed or memories.MEMORIES[number].function in TOLD_APART
        ):
            yield prefix, printed, number
            return


TOLD_APART = ("dram", "sram", "eeprom")
"""Of these a C inside the number says only that it is CMOS."""

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
_TTL_FORM = re.compile(
    rf"{any_of(logic.LOGIC_MAKERS)}[57]4{any_of(logic.FAMILIES)}[0-9]{{2,5}}(?:[A-Z][A-Z0-9]{{0,5}})?(?:-[A-Z0-9]{{1,4}})?"
)
_MEMORY_FORM = re.compile(
    rf"[A-Z0-9]{{0,5}}?{any_of(memories.MEMORY_NAMES)}.{{0,12}}|"
    rf"[A-Z0-9]{{0,4}}?(?:{'|'.join('C?'.join(number) for number in memories.MEMORIES)}).{{0,12}}"
)
SYSTEMS = (
    system(ttl, _TTL_FORM),
    system(mitsubishi_ttl, _MITSUBISHI),
    system(cmos_4000, _4000),
    system(memory, _MEMORY_FORM),
    *numbered_chips.SYSTEMS,
)
