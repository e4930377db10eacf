"""How a value is written and read: whole numbers of the smallest unit from and to the trade's own text.

What may mean two things (`10mF`, `1,000`, `100` on a capacitor) is refused with the choices, never guessed.
Tables after IEC 60062 (letter at the point) and older notations in common print. Exact integers throughout.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

SAME_CHARACTER = str.maketrans({"\u2126": "Ω", "\u03bc": "µ", "\u00a0": " ", "\u202f": " ", "\u2009": " "})
"""Ohm sign and Greek mu to the one spelling that is kept, unusual spaces to the usual one."""
MAX_UNITS = 2**63 - 1  # what a BigInteger column holds
LONGEST_TEXT = 40


class UnreadableValue(ValueError):
    """The text is no value of that kind; the message says what would be."""

    def __init__(self, text: str, message: str) -> None:
        super().__init__(message)
        self.text = text


class AmbiguousValue(UnreadableValue):
    """The text means more than one value; `choices` holds each as (unmistakable text, units)."""

    def __init__(self, text: str, choices: tuple[tuple[str, int], ...]) -> None:
        listed = " or ".join(f'"{choice}"' for choice, _ in choices)
        super().__init__(text, f'"{text}" could be {listed}: write the one that is meant')
        self.choices = choices


def powers(text: str) -> dict[str, tuple[int, ...]]:
    """`"R:0 m:-3|6"` -> {"R": (0,), "m": (-3, 6)}."""
    pairs = (pair.split(":") for pair in text.split())
    return {letter: tuple(map(int, each.split("|"))) for letter, each in pairs}


def words(units: str, prefixes: str) -> dict[str, tuple[int, ...]]:
    """Each prefix, `:0` for none, before each unit."""
    return {prefix + unit: each for prefix, each in powers(prefixes).items() for unit in units.split()}


def base_unit_only(_whole: str, _fraction: str) -> tuple[int, ...]:
    return (0,)


@dataclass(frozen=True, eq=False)
class ValueNotation:
    """How the values of one kind are counted and written.

    Numbers are powers of ten of the base unit; two of them mean two readings.
    """

    unit: str  # Ω, F, H, Hz
    quantity: str  # what a meter calls it: ohms, farads
    exponent: int  # smallest units in one unit, as a power of ten: 6 for µΩ
    expected: str
    words: Mapping[str, tuple[int, ...]]  # after the number: looked up as written, then in lower case
    points: Mapping[str, tuple[int, ...]]  # letter that stands at the decimal point
    units: frozenset[str]  # in lower case; may follow a letter at the point
    steps: tuple[tuple[str, int], ...]  # for printing: letter and power of ten of the smallest unit
    old_points: Mapping[str, tuple[int, ...]] | None = None
    """The same in old capitals, up to two figures: 1N4148 is a diode."""
    unit_after: str = ""
    point_is_dot: bool = False
    least: int = 1  # 0 where nought is a part: a zero-ohm link
    bare: Callable[[str, str], tuple[int, ...]] = base_unit_only
    """What a number of these figures before and after the point may be counted in, without unit or letter:
    the base unit, then what habit leaves out. Answers are plain decimals of the base unit, so what can
    sensibly be that is read as that: 0.0000001 F."""
    three_figure_power: int | None = None  # `104`: two figures and a power of ten of this

    @property
    def per_unit(self) -> int:
        """Smallest units in one base unit."""
        return int(10**self.exponent)

    def read(self, text: str) -> int:
        """Exact units of what the text says; raises UnreadableValue, AmbiguousValue."""
        readings = self.readings(text)
        if len(readings) == 1:
            return readings[0]
        raise AmbiguousValue(text.strip(), tuple((self.text(units), units) for units in readings))

    def text(self, units: int) -> str:
        """The value as the trade writes it; `read` reads it back to the same units."""
        self.check(units)
        letter, exponent = next((step for step in self.steps if units >= 10 ** step[1]), self.steps[-1])
        whole, rest = divmod(units, 10**exponent)
        fraction = f"{rest:0{exponent}d}".rstrip("0") if rest else ""
        if self.point_is_dot:
            return f"{whole}{'.' if fraction else ''}{fraction} {letter}"
        unit = "" if letter == self.unit_after else self.unit_after
        return f"{whole if whole or not fraction else ''}{letter}{fraction}{unit}"

    def plain(self, units: int) -> str:
        """In base units, a decimal without exponent or trailing zeros: "4700", "0.0000001"."""
        self.check(units)
        whole, rest = divmod(units, self.per_unit)
        return f"{whole}.{rest:0{self.exponent}d}".rstrip("0") if rest else str(whole)

    def check(self, units: int) -> None:
        if not self.least <= units <= MAX_UNITS:
            least, most = self.plain(1), self.plain(MAX_UNITS)
            raise ValueError(f"outside what can be kept, {least} {self.unit} to {most} {self.unit}")

    def readings(self, text: str) -> list[int]:
        """All values that the text can mean, in units, first the one by the book; never empty."""
        if len(text) > LONGEST_TEXT:
            raise UnreadableValue(text[:LONGEST_TEXT], f"longer than {LONGEST_TEXT} characters")
        written = text.translate(SAME_CHARACTER).strip()
        candidates = list(_candidates(self, written))
        if not candidates:
            hint = ", without thousands separators" if sum(map(written.count, ",.'")) > 1 else ""
            raise UnreadableValue(text.strip(), f'"{text.strip()}" is not {self.expected}{hint}')
        readings: dict[int, None] = {}
        refusals = []
        for mantissa, power in candidates:
            try:
                readings[self._exact_units(mantissa, power + self.exponent)] = None
            except ValueError as refused:
                refusals.append(str(refused))
        if not readings:
            raise UnreadableValue(text.strip(), f'"{text.strip()}": {refusals[0]}')
        return list(readings)

    def _exact_units(self, mantissa: int, power: int) -> int:
        """mantissa × 10^power as a whole number within range; never rounded."""
        shift: int = 10 ** abs(power)
        units, lost = (mantissa * shift, 0) if power >= 0 else divmod(mantissa, shift)
        if lost:
            raise ValueError(f"finer than the smallest step kept, {self.plain(1)} {self.unit}")
        self.check(units)
        return units


# ── Reading ──────────────────────────────────────────────────────────────────────────────────────

_NUMBER = re.compile(r"([0-9]*)(?:([.,])([0-9]+))?")
_AT_POINT = re.compile(r"([^0-9]+)([0-9]+)([^0-9]*)")
_POWER_OF_TEN = re.compile(r"[eE]([+-]?)([0-9]{1,2})([^0-9]*)")


def _candidates(notation: ValueNotation, written: str) -> Iterator[tuple[int, int]]:
    """(mantissa, power of ten of the base unit) of every reading."""
    number = _NUMBER.match(written)
    assert number is not None  # every part of the pattern is optional
    whole, separator, fraction = number[1], number[2], number[3] or ""
    rest = written[number.end() :].strip()
    if len(whole) > 1 and whole[0] == "0":  # 0805 is a body size and 0100 a code
        return
    if not whole and not fraction:
        yield from _letter_at_point(notation, "", rest)
    elif not rest:
        for mantissa, power in _mantissas(whole, separator, fraction):
            for meant in notation.bare(whole, fraction):
                yield mantissa, power + meant
        if not separator:
            yield from _three_figure_code(notation, whole)
    elif not any(c in "0123456789" for c in rest):
        word = "".join(rest.split())
        meant_powers = notation.words.get(word) or notation.words.get(word.lower(), ())
        for meant in meant_powers:
            for mantissa, power in _mantissas(whole, separator, fraction):
                yield mantissa, power + meant
        if meant_powers and word in _TOLERANCE_OR_SCALE and not separator:
            yield from _three_figure_code(notation, whole)
    else:
        yield from _power_of_ten(notation, whole, fraction, separator, rest)
        if not separator:
            yield from _letter_at_point(notation, whole, rest)


_TOLERANCE_OR_SCALE = ("K", "k", "M")  # 104K is 100 nF, 10 %


def _mantissas(whole: str, separator: str | None, fraction: str) -> Iterator[tuple[int, int]]:
    """The number as an integer and a power of ten; `1,000` is both one and a thousand."""
    yield int(whole + fraction), -len(fraction)
    if separator == "," and len(fraction) == 3 and 1 <= len(whole) <= 3 and whole != "0":
        yield int(whole + fraction), 0


def _letter_at_point(notation: ValueNotation, whole: str, rest: str) -> Iterator[tuple[int, int]]:
    found = _AT_POINT.fullmatch(rest)
    if found is None or (found[3] and found[3].strip().lower() not in notation.units):
        return
    letter, fraction = found[1], found[2]
    meant_powers = notation.points.get(letter, ())
    if not meant_powers and len(fraction) <= 2:
        meant_powers = (notation.old_points or {}).get(letter, ())
    for power in meant_powers:
        yield int(whole + fraction), power - len(fraction)


def _power_of_ten(
    notation: ValueNotation, whole: str, fraction: str, separator: str | None, rest: str
) -> Iterator[tuple[int, int]]:
    """`1E-7`, `4.7e3`: what spreadsheets make of a value."""
    found = _POWER_OF_TEN.fullmatch(rest)
    if found is None or separator == "," or (found[3] and found[3].strip().lower() not in notation.units):
        return
    yield int(whole + fraction), int(found[1] + found[2]) - len(fraction)


def _three_figure_code(notation: ValueNotation, whole: str) -> Iterator[tuple[int, int]]:
    """`104` on a capacitor: two figures and a power of ten, in pF; on an inductor in µH."""
    if notation.three_figure_power is not None and len(whole) == 3 and whole[0] != "0":
        power = {"8": -2, "9": -1}.get(whole[2], int(whole[2]))
        yield int(whole[:2]), power + notation.three_figure_power
