"""Linear and interface chips, processors, regulators and optocouplers by their type strings.

Functions and makers' letters are in linear_table.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from inventory.decoding.type_strings import TypeInWord, system, type_reading
from inventory.type_numbers import linear_table as linears
from inventory.type_numbers.chip_numbers import (
    ADJUSTABLE,
    ALONE,
    FIXED,
    NAMED,
    ONE_OUTPUT,
    any_of,
    maker_of_linear,
    split_adjustable,
    split_by_dash,
    split_coupler,
    split_fixed,
    split_graded,
    split_named,
)

LINEAR = ("linear type", "makers' data books")
REGULATOR = ("regulator type", "makers' data books")


def linear(word: str) -> Iterator[TypeInWord]:
    parts, figures = split_graded(word)
    if parts is None:
        return
    name, prefix, printed, suffix = parts
    part = linears.LINEARS[name]
    bare = word == name and name.isdigit()
    maker = maker_of_linear(word, parts)
    yield TypeInWord(
        type_reading(
            LINEAR,
            "ic",
            f"{prefix}{printed}" if figures else name,
            [
                (prefix, maker or "maker"),
                (printed, part.words),
                (suffix, "version or package"),
            ],
            f"{name}: {part.words}",
            *([f"{figures}: the {name} for a wider range of temperature"] if figures else []),
            score=1.0 if not bare else 0.3 if len(name) > 3 else 0.1,
            traits={"function": part.function, "pins": str(part.pins or ""), "suffix": suffix},
            make=maker,
            function=part.words,
        ),
        bare,
    )


def fixed_regulator(word: str) -> Iterator[TypeInWord]:
    parts = split_fixed(word)
    if parts is None:
        return
    prefix, sign, current, figures, suffix = parts
    volts, maker = parts.volts, parts.maker
    polarity = "positive" if sign == "78" else "negative"
    bare = not (prefix or current or suffix)
    yield TypeInWord(
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


_REFERENCE = re.compile(r"43[12][ABC]?")
"""431A: on a body of three legs the letters of the TL431 are left out (common practice, no source)."""


def named_regulator(word: str) -> Iterator[TypeInWord]:
    if (named := split_named(word)) and named.volts:
        sign = "negative" if named.volts.startswith("-") else "positive"
        whole = named.volts.removeprefix("-")
        yield TypeInWord(
            type_reading(
                REGULATOR,
                "regulator",
                f"LM{named.digits}" if named.digits in ONE_OUTPUT else f"LM{named.digits}-{whole}",
                [(word, f"fixed {sign} regulator, {named.volts} V")],
                f"LM{named.digits}: fixed {sign} regulator, {named.volts} V",
                traits={"output_volts": named.volts, "polarity": sign},
                function=f"fixed {sign} regulator, {named.volts} V",
            )
        )
    cut = bool(_REFERENCE.fullmatch(word))
    if adjustable := split_adjustable(f"TL{word}" if cut else word):
        polarity, words = linears.ADJUSTABLE[adjustable.digits]
        prefix = "" if cut else adjustable.prefix
        yield TypeInWord(
            type_reading(
                REGULATOR,
                "regulator",
                adjustable.number,
                [
                    (prefix, "maker"),
                    (adjustable.printed, words),
                    (adjustable.current, "lower current"),
                    (adjustable.suffix, "version or package"),
                ],
                f"{adjustable.number}: {words}",
                score=0.1 if cut else 1.0,
                traits={"polarity": polarity, "adjustable": True},
                make=linears.OWN_LETTERS.get(prefix, "") if prefix not in linears.SECOND_SOURCED else "",
                function=words,
            ),
            cut,
        )


_L200 = re.compile(r"L200([A-Z]{0,3})")


def named_by_dash(word: str) -> Iterator[TypeInWord]:
    """LM2940CT-5.0, LD1117V33, L4940V5: the output stands behind a dash or a V; without it it is not said."""
    if match := ALONE.fullmatch(word):
        alone = linears.FIXED_ALONE.get(match[1])
        if alone and match[1].removeprefix("LM") not in ONE_OUTPUT:
            volts, words = alone
            yield _regulator(match[1], [(match[1], words), (match[2], "package")], words, volts)
        return
    if match := _L200.fullmatch(word):
        words = "adjustable regulator of voltage and current"
        yield _regulator("L200", [("L200", words), (match[1], "package")], words, "", adjustable=True)
        return
    parts = split_by_dash(word)
    if parts is None:
        return
    number, volts = parts.number, parts.volts
    words = linears.FIXED_BY_DASH[number][1]
    behind = word[len(parts.name + parts.package) :]
    used = [(parts.name, words), (parts.package, "package"), (behind, f"{volts} V" if volts else "")]
    label = f"{number}-{volts}" if volts else number
    yield _regulator(label, used, words, volts, adjustable=parts.adjustable)


def _regulator(
    number: str, used: list[tuple[str, str]], words: str, volts: str, *, adjustable: bool = False
) -> TypeInWord:
    return TypeInWord(
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


def optocoupler(word: str) -> Iterator[TypeInWord]:
    parts = split_coupler(word)
    if parts is None:
        return
    name, grade, tail = parts
    words = f"optocoupler, {linears.OPTOCOUPLERS[name]}"
    letters = name.rstrip("0123456789")
    yield TypeInWord(
        type_reading(
            LINEAR,
            "ic",
            parts.number,
            [(name, words), (grade, "gain group or channels"), (tail, "gain group")],
            f"{name}: {words}",
            score=1.0,
            traits={"function": "optocoupler"},
            make=linears.OPTOCOUPLER_MAKERS.get(letters, ""),
            function=words,
        )
    )


def _linear_form() -> str:
    """The table as a form: any of its names that are often met, and whatever may stand around it."""
    names = [name for name in (*linears.LINEARS, *linears.LINEAR_NAMES) if name not in linears.SELDOM]
    figures = [digits for digits, name in linears.BY_DIGITS.items() if name not in linears.SELDOM]
    return (
        rf"{any_of(names)}.{{0,12}}|"
        rf"[A-Z]{{0,4}}?{any_of(figures)}(?:[A-Z][A-Z0-9]{{0,5}})?(?:-[A-Z0-9]{{1,4}})?"
    )


def _by_dash_form() -> str:
    return (
        rf"{any_of([*linears.FIXED_BY_DASH, *linears.SAME_AS])}[A-Z]{{0,4}}"
        r"(?:[-V][0-9]{1,2}(?:\.[0-9])?|-?ADJ)?[A-Z]{0,3}"
    )


def _coupler_form() -> str:
    names = [name for name in linears.OPTOCOUPLERS if name not in linears.SELDOM]
    return rf"({any_of(names)})(?:(-?[1-4])(?![0-9]))?([A-Z]{{0,3}})"


SYSTEMS = (
    system(linear, _linear_form),
    system(fixed_regulator, FIXED),
    system(named_regulator, NAMED, ADJUSTABLE),
    system(named_by_dash, _by_dash_form, ALONE, _L200),
    system(optocoupler, _coupler_form),
)
