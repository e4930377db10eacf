"""Linear and interface chips, processors, regulators and optocouplers by their type strings.

Functions and makers' letters are in linear_table.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from inventory.decoding import linear_table as linears
from inventory.decoding.type_strings import Found, any_of, system, type_reading

LINEAR = ("linear type", "makers' data books")
REGULATOR = ("regulator type", "makers' data books")

_LINEAR = re.compile(r"(M5[LW]|[A-Z]{0,4}?)([0-9]{3,5})([A-Z][A-Z0-9]{0,5})?(?:-[A-Z0-9]{1,4})?")


def linear(word: str) -> Iterator[Found]:
    name, prefix, suffix = _linear_name(word)
    if not name:
        return
    part = linears.LINEARS[name]
    bare = word == name and name.isdigit()
    maker = linears.OWN_LETTERS.get(prefix, "") or _maker_within(word)
    if prefix in ("MC", "R") and part.function in ("cpu", "interface"):
        maker = "Motorola" if prefix == "MC" else "Rockwell"
    elif prefix in ("P", "D", "C", "I") and part.function in ("cpu", "interface"):
        maker = "NEC" if prefix == "D" and suffix.split("-")[0].endswith("C") else "Intel"
        maker = "" if prefix == "D" and maker == "Intel" else maker
    elif prefix == "D" and suffix:
        maker = "NEC"
    yield Found(
        type_reading(
            LINEAR,
            "ic",
            name,
            [
                (prefix, maker or "maker"),
                (word[len(prefix) : len(word) - len(suffix)], part.words),
                (suffix, "version or package"),
            ],
            f"{name}: {part.words}",
            score=1.0 if not bare else 0.3 if len(name) > 3 else 0.1,
            traits={"function": part.function, "pins": str(part.pins), "suffix": suffix},
            make=maker,
            function=part.words,
        ),
        bare,
    )


def _maker_within(word: str) -> str:
    """Whose letters head a name that is this maker's own: HA17741, UPC1555, TD62003."""
    for length in (4, 3, 2):
        if (
            word[:length] in linears.OWN_LETTERS
            and word not in linears.LINEARS
            and not word[:length].isdigit()
        ):
            head = word[:length]
            return "" if head in linears.SECOND_SOURCED else linears.OWN_LETTERS[head]
    return ""


def _linear_name(word: str) -> tuple[str, str, str]:
    """(name in the list, prefix, suffix): the whole name with its letters first, then its figures alone."""
    for start in range(4):
        prefix = word[:start]
        if prefix and prefix not in linears.LINEAR_MAKERS:
            continue
        for length in range(len(word), start + 2, -1):
            name, rest = word[start:length], word[length:]
            # Figures behind a Z8400 or a Z84C00 are its clock.
            if rest[:1].isdigit() and name not in ("Z84C00", "Z80"):
                continue
            if rest and name[-1].isalpha() and rest[0].isalpha() and name[:3] != "Z80" and name != "D780C":
                continue
            if name in linears.LINEAR_NAMES:
                return linears.LINEAR_NAMES[name], prefix, rest
            if name in linears.LINEARS and not name.isdigit() and (not prefix or name[0].isdigit()):
                return name, prefix, rest
    match = _LINEAR.fullmatch(word)
    if match and match[2] in linears.BY_DIGITS and (not match[1] or match[1] in linears.LINEAR_MAKERS):
        return linears.BY_DIGITS[match[2]], match[1], word[match.end(2) :]
    return "", "", ""


_FIXED = re.compile(r"([A-Z]{0,4}?|HA1)(7[89])([LMNSTH]?)0?([0-9]{2})([A-Z][A-Z0-9]{0,5})?")
_NAMED = re.compile(r"(?:LM|MC|UA|SG)?(340|320|309)([A-Z]{0,3})-?([0-9]{1,2})?(?:\.[0-9])?")
_ADJUSTABLE = re.compile(r"(MC1(?=723)|[A-Z]{1,4})(317|337|338|350|723|431)([LM]?)([A-Z][A-Z0-9]{0,4})?")


def fixed_regulator(word: str) -> Iterator[Found]:
    if "7" not in word:
        return
    match = _FIXED.fullmatch(word)
    if not match:
        return
    prefix, sign, current, figures, suffix = (group or "" for group in match.groups())
    volts = linears.REGULATOR_VOLTS.get(figures)
    if volts is None:
        return
    polarity = "positive" if sign == "78" else "negative"
    bare = not (prefix or current or suffix)
    maker = "Hitachi" if prefix == "HA1" else linears.OWN_LETTERS.get(prefix, "")
    yield Found(
        type_reading(
            REGULATOR,
            "regulator",
            f"{sign}{current}{figures}",
            [
                (prefix, maker or "maker"),
                (sign, f"fixed {polarity} regulator"),
                (current, linears.REGULATOR_CURRENT[current]),
                (figures, f"{volts} V"),
                (suffix, "version or package"),
            ],
            f"{sign}: fixed {polarity} regulator",
            f"{figures}: {volts} V",
            f"{current or 'no letter'}: {linears.REGULATOR_CURRENT[current]} class",
            score=0.6 if bare else 1.0,
            traits={
                "output_volts": volts if sign == "78" else f"-{volts}",
                "polarity": polarity,
            },
            cautions=("The legs of positive and negative regulators are not in the same order.",),
            make=maker,
            function=f"fixed {polarity} regulator, {volts} V",
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
                    function=f"fixed {sign} regulator, {output} V",
                )
            )
    if match := _ADJUSTABLE.fullmatch(word):
        prefix, digits, current, suffix = (group or "" for group in match.groups())
        if prefix in linears.LINEAR_MAKERS | {"TL", "MC1"}:
            polarity, words = linears.ADJUSTABLE[digits]
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
                    make=linears.OWN_LETTERS.get(prefix, "") if prefix not in linears.SECOND_SOURCED else "",
                    function=words,
                )
            )


_BY_DASH = re.compile(
    r"([A-Z]{1,4}[0-9]{4})([A-Z]{0,4}?)(?:-?(ADJ)|V([0-9]{2})|[-V]([0-9]{1,2}(?:\.[0-9])?))?([A-Z]{0,3})"
)
_ALONE = re.compile(r"((?:LM|BA)[0-9]{2,3})([A-Z]{0,4})")
_L200 = re.compile(r"L200([A-Z]{0,3})")


def named_by_dash(word: str) -> Iterator[Found]:
    """LM2940CT-5.0, LD1117V33, L4940V5: the output stands behind a dash or a V; without it it is not said."""
    if match := _ALONE.fullmatch(word):
        alone = linears.FIXED_ALONE.get(match[1])
        if alone and match[1] != "LM309":
            volts, words = alone
            yield _regulator(match[1], [(match[1], words), (match[2], "package")], words, volts)
        return
    if match := _L200.fullmatch(word):
        words = "adjustable regulator of voltage and current"
        yield _regulator("L200", [("L200", words), (match[1], "package")], words, "", adjustable=True)
        return
    match = _BY_DASH.fullmatch(word)
    if not match:
        return
    name, package, adjustable, two, plain, tail = (group or "" for group in match.groups())
    number = linears.SAME_AS.get(name, name)
    if number not in linears.FIXED_BY_DASH:
        return
    words = linears.FIXED_BY_DASH[number][1]
    volts = f"{two[0]}.{two[1]}" if two and two != "12" else two or plain
    volts = volts.removesuffix(".0")
    used = [(name, words), (package, "package"), (word[len(name + package) :], f"{volts} V" if volts else "")]
    label = f"{number}-{volts}" if volts else number
    yield _regulator(label, used, words, volts, adjustable=bool(adjustable))


def _regulator(
    number: str, used: list[tuple[str, str]], words: str, volts: str, *, adjustable: bool = False
) -> Found:
    return Found(
        type_reading(
            REGULATOR,
            "regulator",
            number,
            used,
            f"{number}: {words}",
            traits={"output_volts": volts, "polarity": "positive", "adjustable": adjustable},
            function=words,
        )
    )


_COUPLER = re.compile(rf"({any_of(linears.OPTOCOUPLERS)})(?:(-?[1-4])(?![0-9]))?([A-Z]{{0,3}})")


def optocoupler(word: str) -> Iterator[Found]:
    match = _COUPLER.fullmatch(word)
    if not match or not match[1]:
        return
    name, grade, tail = (group or "" for group in match.groups())
    number = linears.OPTOCOUPLER_NAMES.get(name, name) + (grade if name == "CNY17" else "")
    words = f"optocoupler, {linears.OPTOCOUPLERS[name]}"
    letters = name.rstrip("0123456789")
    yield Found(
        type_reading(
            LINEAR,
            "ic",
            number,
            [(name, words), (grade, "gain group or channels"), (tail, "gain group")],
            f"{name}: {words}",
            score=1.0,
            traits={"function": "optocoupler"},
            make=linears.OPTOCOUPLER_MAKERS.get(letters, ""),
            function=words,
        )
    )


# The table as a form: any of its names, and whatever may stand around it.
_LINEAR_FORM = re.compile(
    rf"{any_of([*linears.LINEARS, *linears.LINEAR_NAMES])}.{{0,12}}|"
    rf"[A-Z]{{0,4}}?{any_of(linears.BY_DIGITS)}(?:[A-Z][A-Z0-9]{{0,5}})?(?:-[A-Z0-9]{{1,4}})?"
)
_BY_DASH_FORM = re.compile(
    rf"{any_of([*linears.FIXED_BY_DASH, *linears.SAME_AS])}[A-Z]{{0,4}}"
    r"(?:[-V][0-9]{1,2}(?:\.[0-9])?|-?ADJ)?[A-Z]{0,3}"
)
SYSTEMS = (
    system(linear, _LINEAR_FORM),
    system(fixed_regulator, _FIXED),
    system(named_regulator, _NAMED, _ADJUSTABLE),
    system(named_by_dash, _BY_DASH_FORM, _ALONE, _L200),
    system(optocoupler, _COUPLER),
)
