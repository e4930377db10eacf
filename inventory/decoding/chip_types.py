"""Integrated circuits and regulators by their type strings: logic, memory, linear parts, processors.

Functions, organisations and makers' letters are in semiconductor_types.py, with their sources.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from inventory.decoding import semiconductor_types as types
from inventory.decoding.type_strings import Found, any_of, system, type_reading

LOGIC = ("logic type", "54/74 series, makers' data books")
CMOS = ("logic type", "4000 series CMOS, JEDEC 13-B")
MEMORY = ("memory type", "makers' data books")
LINEAR = ("linear type", "makers' data books")
REGULATOR = ("regulator type", "makers' data books")

_TTL = re.compile(r"([A-Z]{0,4}?)([57]4)([A-Z]{0,4}?)([0-9]{2,5})([A-Z][A-Z0-9]{0,5})?(?:-[A-Z0-9]{1,4})?")


def ttl(word: str) -> Iterator[Found]:
    if "4" not in word:
        return
    match = _TTL.fullmatch(word)
    if not match:
        return
    prefix, series, family, digits, suffix = (group or "" for group in match.groups())
    if family not in types.FAMILIES or (prefix and prefix not in types.LOGIC_MAKERS):
        return
    function = types.LOGIC.get(digits) or types.CMOS_4000.get(digits)
    bare = not (prefix or family or suffix)
    if function is None and (bare or len(digits) < 3):
        return
    number = f"{series}{family}{digits}"
    package, version = _package(suffix, types.LOGIC_MAKERS.get(prefix, ""))
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
                (prefix, types.LOGIC_MAKERS.get(prefix, "")),
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
                "family": types.FAMILIES[family],
                "pins": str(function.pins) if function else "",
                "open_collector": function.open_collector if function else False,
                "suffix": suffix,
            },
            cautions=cautions,
        ),
        bare,
    )


_4000 = re.compile(r"([A-Z]{0,4}?)(1?)(4[0-9]{3,4})([A-Z][A-Z0-9]{0,4})?")


def cmos_4000(word: str) -> Iterator[Found]:
    if "4" not in word:
        return
    match = _4000.fullmatch(word)
    if not match:
        return
    prefix, one, number, suffix = (group or "" for group in match.groups())
    function = types.CMOS_4000.get(number)
    # MC14011 and HD14011 are the 4011 of makers that put a 1 before it.
    if (
        function is None
        or (prefix and prefix not in types.LOGIC_MAKERS)
        or (one and prefix not in ("MC", "HD"))
    ):
        return
    maker = types.LOGIC_MAKERS.get(prefix, "")
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
        ),
        bare,
    )


def _package(suffix: str, maker: str) -> tuple[str, str]:
    """(package, what else to say): the maker's own list first, then what most mean."""
    for tail, version in ((suffix, ""), (suffix[1:], suffix[:1])):
        for owner in (maker, ""):
            package = types.PACKAGES.get(owner, {}).get(tail, "")
            if package:
                return (f"version {version}, {package}" if version else package), ""
    return "", "version or package, as the maker defines it" if suffix else ""


_MEMORY_TAIL = re.compile(r"([A-Z]{0,4}?)(?:-?([0-9]{1,3}))?-?([A-Z]{0,4})([34]?)")
_LEADING = re.compile(r"(M5[KLM]|[A-Z]{0,4})")


def memory(word: str) -> Iterator[Found]:
    for prefix, printed, number in _memory_numbers(word):
        tail = _MEMORY_TAIL.fullmatch(word[len(prefix) + len(printed) :])
        if not tail:
            continue
        part = types.MEMORIES[number]
        letters, speed, package, half = tail.groups()
        bare = not (prefix or letters or speed or package)
        own_name = prefix + printed in types.MEMORY_NAMES
        rails = part.rails
        cautions: list[str] = []
        if prefix + printed == types.THREE_RAIL_2716:
            rails = types.THREE_RAILS
            cautions.append("The Texas 2716 needs three rails; other makers' 2716 does not fit its place.")
        if len(rails) == 3:
            cautions.append("Three rails: destroyed without its negative rail.")
        working = ""
        if part.half:
            working = half or (package or letters if (package or letters) in ("H", "L") else "")
            cautions.append(
                "Half of a part twice the size works: one bank wants the same make and half throughout."
            )
        reasons = [f"{number}: {part.organisation} {part.function.upper()}"]
        if own_name:
            reasons.append(f"{prefix + printed} is this maker's name for a {number}")
        maker = types.MEMORY_MAKERS.get(prefix, "")
        for access, weight, why in _access(part, number, speed or ""):
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
                        (half, "which half works"),
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
                ),
                bare,
            )


def _memory_numbers(word: str) -> Iterator[tuple[str, str, str]]:
    """(prefix, number as printed, industry number): a maker's own name first, then a known number."""
    match = _LEADING.match(word)
    prefix = match[1] if match else ""
    rest = word[len(prefix) :]
    for length in range(min(10, len(word)), 4, -1):
        name = word[:length]
        if name in types.MEMORY_NAMES and not word[length : length + 1].isdigit():
            yield prefix, name[len(prefix) :], types.MEMORY_NAMES[name]
            return
    if prefix not in types.MEMORY_MAKERS:
        return
    for length in range(7, 3, -1):
        printed = rest[:length]
        if rest[length : length + 1].isdigit():
            continue
        # 41C256 is the CMOS 41256; a C in an EPROM's number is part of its name.
        number = printed if printed in types.MEMORIES else printed.replace("C", "", 1)
        if number in types.MEMORIES and (number == printed or types.MEMORIES[number].function == "dram"):
            yield prefix, printed, number
            return


# Up to this two figures are tens of ns for certain: no faster part was made under the number.
_SLOWEST_IN_TENS = {"dram": 20, "sram": 20, "eprom": 35, "eeprom": 35, "flash": 25, "rom": 45, "prom": 0}
_FAST = ("2147", "2148", "2149", "6147", "6167", "6168")  # never made in hundreds of ns


def _access(part: types.Memory, number: str, speed: str) -> Iterator[tuple[str, float, str]]:
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
        if part.function == "dram" and not part.older and figure >= 6:
            yield tens[0], 1.0, tens[1]
        else:
            yield "", 1.0, f"-{speed}: the maker's speed grade"
    elif number in _FAST and figure >= 20:
        yield ones[0], 1.0, ones[1]
    elif speed[0] == "0" or (part.older and figure <= 65) or figure <= _SLOWEST_IN_TENS[part.function]:
        yield tens[0], 1.0, tens[1]
    elif figure >= 50 or part.older:
        yield ones[0], 1.0, ones[1]
    else:
        yield tens[0], 0.7, tens[1]
        yield ones[0], 0.7, ones[1]


_LINEAR = re.compile(r"([A-Z]{0,4}?)([0-9]{3,5})([A-Z][A-Z0-9]{0,5})?(?:-[A-Z0-9]{1,4})?")


def linear(word: str) -> Iterator[Found]:
    name, prefix, suffix = _linear_name(word)
    if not name:
        return
    part = types.LINEARS[name]
    bare = word == name and name.isdigit()
    yield Found(
        type_reading(
            LINEAR,
            "ic",
            name,
            [
                (prefix, "maker"),
                (word[len(prefix) : len(word) - len(suffix)], part.words),
                (suffix, "version or package"),
            ],
            f"{name}: {part.words}",
            score=1.0 if not bare else 0.3 if len(name) > 3 else 0.1,
            traits={"function": part.function, "pins": str(part.pins), "suffix": suffix},
        ),
        bare,
    )


def _linear_name(word: str) -> tuple[str, str, str]:
    """(name in the list, prefix, suffix): the whole name with its letters first, then its figures alone."""
    for length in range(len(word), 2, -1):
        name, rest = word[:length], word[length:]
        if rest[:1].isdigit() or (rest and name[-1].isalpha() and rest[0].isalpha()):
            continue
        if name in types.LINEAR_NAMES:
            return types.LINEAR_NAMES[name], "", rest
        if name in types.LINEARS and not name.isdigit():
            return name, "", rest
    match = _LINEAR.fullmatch(word)
    if match and match[2] in types.BY_DIGITS and (not match[1] or match[1] in types.LINEAR_MAKERS):
        return types.BY_DIGITS[match[2]], match[1], word[match.end(2) :]
    return "", "", ""


_FIXED = re.compile(r"([A-Z]{0,4}?)(7[89])([LMNSTH]?)([0-9]{2})([A-Z][A-Z0-9]{0,5})?")
_NAMED = re.compile(r"(?:LM|MC|UA|SG)?(340|320|309)([A-Z]{0,3})-?([0-9]{1,2})?(?:\.[0-9])?")
_ADJUSTABLE = re.compile(r"([A-Z]{1,4})(317|337|338|350|723|431)([LM]?)([A-Z][A-Z0-9]{0,4})?")


def fixed_regulator(word: str) -> Iterator[Found]:
    if "7" not in word:
        return
    match = _FIXED.fullmatch(word)
    if not match:
        return
    prefix, sign, current, figures, suffix = (group or "" for group in match.groups())
    volts = types.REGULATOR_VOLTS.get(figures)
    if volts is None:
        return
    polarity = "positive" if sign == "78" else "negative"
    bare = not (prefix or current or suffix)
    yield Found(
        type_reading(
            REGULATOR,
            "regulator",
            f"{sign}{current}{figures}",
            [
                (prefix, "maker"),
                (sign, f"fixed {polarity} regulator"),
                (current, types.REGULATOR_CURRENT[current]),
                (figures, f"{volts} V"),
                (suffix, "version or package"),
            ],
            f"{sign}: fixed {polarity} regulator",
            f"{figures}: {volts} V",
            f"{current or 'no letter'}: {types.REGULATOR_CURRENT[current]} class",
            score=0.6 if bare else 1.0,
            traits={
                "output_volts": volts if sign == "78" else f"-{volts}",
                "polarity": polarity,
            },
            cautions=("The legs of positive and negative regulators are not in the same order.",),
        ),
        bare,
    )


def named_regulator(word: str) -> Iterator[Found]:
    if match := _NAMED.fullmatch(word):
        digits, _package_letters, volts = match.groups()
        if digits == "309":
            volts = "5"
        if volts:
            sign = "negative" if digits == "320" else "positive"
            output = f"-{int(volts)}" if sign == "negative" else str(int(volts))
            yield Found(
                type_reading(
                    REGULATOR,
                    "regulator",
                    f"LM{digits}" if digits == "309" else f"LM{digits}-{int(volts)}",
                    [(word, f"fixed {sign} regulator, {output} V")],
                    f"LM{digits}: fixed {sign} regulator, {output} V",
                    traits={"output_volts": output, "polarity": sign},
                )
            )
    if match := _ADJUSTABLE.fullmatch(word):
        prefix, digits, current, suffix = (group or "" for group in match.groups())
        if prefix in types.LINEAR_MAKERS | {"TL"}:
            polarity, words = types.ADJUSTABLE[digits]
            number = ("TL" if digits == "431" else "LM") + digits + current
            yield Found(
                type_reading(
                    REGULATOR,
                    "regulator",
                    number,
                    [
                        (prefix, "maker"),
                        (digits, words),
                        (current, "lower current"),
                        (suffix, "version or package"),
                    ],
                    f"{number}: {words}",
                    traits={"polarity": polarity, "adjustable": True},
                )
            )


# The tables as forms: any of their names, and whatever may stand around it.
_TTL_FORM = re.compile(
    rf"{any_of(types.LOGIC_MAKERS)}[57]4{any_of(types.FAMILIES)}[0-9]{{2,5}}(?:[A-Z][A-Z0-9]{{0,5}})?(?:-[A-Z0-9]{{1,4}})?"
)
_MEMORY_FORM = re.compile(
    rf"[A-Z0-9]{{0,5}}?{any_of(types.MEMORY_NAMES)}.{{0,12}}|"
    rf"[A-Z0-9]{{0,4}}?(?:{'|'.join('C?'.join(number) for number in types.MEMORIES)}).{{0,12}}"
)
_LINEAR_FORM = re.compile(
    rf"{any_of([*types.LINEARS, *types.LINEAR_NAMES])}.{{0,12}}|"
    rf"[A-Z]{{0,4}}?{any_of(types.BY_DIGITS)}(?:[A-Z][A-Z0-9]{{0,5}})?(?:-[A-Z0-9]{{1,4}})?"
)
SYSTEMS = (
    system(ttl, _TTL_FORM),
    system(cmos_4000, _4000),
    system(memory, _MEMORY_FORM),
    system(linear, _LINEAR_FORM),
    system(fixed_regulator, _FIXED),
    system(named_regulator, _NAMED, _ADJUSTABLE),
)
