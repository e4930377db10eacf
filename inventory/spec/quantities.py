"""Values of parts: whole numbers of the kind's smallest unit, read from and written as the trade's own text.

What may mean two things (`10mF`, `1,000`, `100` on a capacitor) is refused with the choices, never guessed.
Tables after IEC 60062 (letter at the point) and older notations in common print. Exact integers throughout.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

UNITS: dict[str, tuple[str, int]] = {
    "resistor": ("Ω", 10**6),
    "capacitor": ("F", 10**15),
    "inductor": ("H", 10**12),
    "crystal": ("Hz", 10**3),
}
"""Kind -> (unit, smallest units in one unit): µΩ, fF, pH, mHz."""

SAME_CHARACTER = str.maketrans({"\u2126": "Ω", "\u03bc": "µ", "\u00a0": " ", "\u202f": " ", "\u2009": " "})
"""Ohm sign and Greek mu to the one spelling that is kept, unusual spaces to the usual one."""
MOST = 2**63 - 1  # what a BigInteger column holds
LONGEST_TEXT = 40
LONGEST_SEARCH = 200


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


def parse_value(kind: str, text: str) -> int:
    """Exact units of what the text says.

    >>> parse_value("resistor", "4k7"), parse_value("capacitor", ".1 MFD"), parse_value("inductor", "100 µH")
    (4700000000, 100000000, 100000000)
    >>> parse_value("capacitor", "10mF")
    Traceback (most recent call last):
    ...
    inventory.spec.quantities.AmbiguousValue: "10mF" could be "10000µ" or "10µ": write the one that is meant
    """
    readings = _readings(kind, text)
    if len(readings) == 1:
        return readings[0]
    raise AmbiguousValue(text.strip(), tuple((print_value(kind, units), units) for units in readings))


def print_value(kind: str, units: int) -> str:
    """The value as the trade writes it; `parse_value` reads it back to the same units.

    >>> print_value("resistor", 220_000), print_value("capacitor", 2_200_000), print_value("inductor", 10**8)
    ('R22', '2n2', '100µH')
    """
    notation = _notation(kind)
    _check_range(kind, units)
    letter, exponent = next((step for step in notation.steps if units >= 10 ** step[1]), notation.steps[-1])
    whole, rest = divmod(units, 10**exponent)
    fraction = f"{rest:0{exponent}d}".rstrip("0") if rest else ""
    if notation.point_is_dot:
        return f"{whole}{'.' if fraction else ''}{fraction} {letter}"
    unit = "" if letter == notation.unit_after else notation.unit_after
    return f"{whole if whole or not fraction else ''}{letter}{fraction}{unit}"


def plain_value(kind: str, units: int) -> str:
    """The value in Ω, F, H or Hz as a decimal without exponent or trailing zeros: "4700", "0.0000001"."""
    _check_range(kind, units)
    per_unit = UNITS[kind][1]
    whole, rest = divmod(units, per_unit)
    if not rest:
        return str(whole)
    return f"{whole}.{rest:0{len(str(per_unit)) - 1}d}".rstrip("0")


def values_in_text(text: str) -> tuple[tuple[str, int], ...]:
    """Every (kind, units) that words typed into a search box could mean: "4k7", "100n", "4.7 µH", "10"."""
    words = text[:LONGEST_SEARCH].split()
    found: dict[tuple[str, int], None] = {}
    position = 0
    while position < len(words):
        pair = " ".join(words[position : position + 2])
        in_pair = _every_value(pair) if " " in pair else []
        found.update(dict.fromkeys(in_pair or _every_value(words[position])))
        position += 2 if in_pair else 1
    return tuple(found)


def _every_value(word: str) -> list[tuple[str, int]]:
    values: list[tuple[str, int]] = []
    for kind in UNITS:
        try:
            values.extend((kind, units) for units in _readings(kind, word))
        except UnreadableValue:
            continue
    return values


# ── The notations, as data ───────────────────────────────────────────────────────────────────────


@dataclass(frozen=True)
class _Notation:
    """How one kind is written. Numbers are powers of ten of the base unit; two of them mean two readings."""

    expected: str
    words: Mapping[str, tuple[int, ...]]  # after the number: looked up as written, then in lower case
    points: Mapping[str, tuple[int, ...]]  # letter that stands at the decimal point
    old_points: Mapping[
        str, tuple[int, ...]
    ]  # the same in old capitals, up to two figures: 1N4148 is a diode
    units: frozenset[str]  # in lower case; may follow a letter at the point
    steps: tuple[tuple[str, int], ...]  # for printing: letter and power of ten of the smallest unit
    unit_after: str = ""
    point_is_dot: bool = False


def _powers(text: str) -> dict[str, tuple[int, ...]]:
    """`"R:0 m:-3|6"` -> {"R": (0,), "m": (-3, 6)}."""
    pairs = (pair.split(":") for pair in text.split())
    return {letter: tuple(map(int, powers.split("|"))) for letter, powers in pairs}


def _words(units: str, prefixes: str) -> dict[str, tuple[int, ...]]:
    """Each prefix, `:0` for none, before each unit."""
    return {prefix + unit: powers for prefix, powers in _powers(prefixes).items() for unit in units.split()}


_NOTATIONS = {
    "resistor": _Notation(
        expected="a resistance such as 4k7, 4.7 kΩ, 4700 or 4R7",
        words=_words("Ω ω ohm ohms Ohm Ohms OHM OHMS", ":0 k:3 K:3 M:6 G:9 T:12 m:-3 µ:-6 u:-6")
        | _words("ohm ohms", "kil:3 kilo:3 meg:6 mega:6 giga:9 milli:-3 micro:-6")
        | _powers("r:0 e:0 k:3 M:6 meg:6 megs:6 G:9 T:12")
        | _powers("m:-3|6"),  # milli by the book, mega from a hurried hand
        points=_powers("R:0 r:0 E:0 Ω:0 K:3 k:3 M:6 G:9 T:12 L:-3 m:-3|6"),  # L: IEC 60062:2016
        old_points={},
        units=frozenset(("ω", "ohm", "ohms")),
        steps=(("T", 18), ("G", 15), ("M", 12), ("k", 9), ("R", 6)),
    ),
    "capacitor": _Notation(
        expected="a capacitance such as 100n, 0.1 µF, 4n7 or 22 pF",
        words=_words("f fd farad farads", ":0")
        | _words("f fd", "p:-12 n:-9 kp:-9 µ:-6 u:-6 mm:-12 uu:-12 µµ:-12")
        | _words("farad farads", "micromicro:-12 pico:-12 nano:-9 micro:-6 milli:-3")
        | _powers("ff:-15 p:-12 n:-9 u:-6 µ:-6 mfd:-6 mfds:-6")
        | _powers("m:-3|-6 mf:-3|-6")  # milli today, micro on old parts
        | _powers("M:-6|-12 k:-9|-12"),  # micro or thousand pF, or pF and the 20 % or 10 % letter
        points=_powers("p:-12 n:-9 u:-6 µ:-6 m:-3 F:0"),
        old_points=_powers("P:-12 N:-9 U:-6 M:-6 K:-9 R:-12|-6"),
        units=frozenset(("f",)),
        steps=(("F", 15), ("µ", 9), ("n", 6), ("p", 3)),
    ),
    "inductor": _Notation(
        expected="an inductance such as 100 µH, 4u7, 2m2 or 10 H",
        words=_words("h hy", ":0 m:-3 µ:-6 u:-6 n:-9 p:-12")
        | _words("henry henrys henries", ":0 milli:-3 micro:-6 nano:-9")
        | _powers("m:-3 u:-6 µ:-6 n:-9 p:-12")
        | _powers("M:-3|-6"),  # milli in old capitals, or µH and the 20 % letter
        points=_powers("H:0 m:-3 u:-6 µ:-6 n:-9 p:-12"),
        old_points=_powers("R:-6 U:-6 N:-9"),
        units=frozenset(("h", "hy")),
        steps=(("H", 12), ("m", 9), ("µ", 6), ("n", 3)),
        unit_after="H",
    ),
    "crystal": _Notation(
        expected="a frequency such as 3.579545 MHz, 32768 or 455 kc",
        words=_words("hz c c/s cs cps", "k:3 m:6 g:9")  # no crystal counts in milli: m is mega in either case
        | _words("hertz cycles", ":0 kilo:3 mega:6 giga:9")
        | _powers("hz:0 c/s:0 cps:0 k:3 m:6 g:9"),
        points=_powers("k:3 K:3 M:6 m:6 G:9"),
        old_points={},
        units=frozenset(("hz",)),
        steps=(("MHz", 9), ("kHz", 6), ("Hz", 3)),
        point_is_dot=True,
    ),
}

# ── Reading ──────────────────────────────────────────────────────────────────────────────────────

_NUMBER = re.compile(r"([0-9]*)(?:([.,])([0-9]+))?")
_AT_POINT = re.compile(r"([^0-9]+)([0-9]+)([^0-9]*)")
_POWER_OF_TEN = re.compile(r"[eE]([+-]?)([0-9]{1,2})([^0-9]*)")


def _notation(kind: str) -> _Notation:
    try:
        return _NOTATIONS[kind]
    except KeyError:
        raise UnreadableValue("", f"a {kind} has no value; only {', '.join(UNITS)} have one") from None


def _readings(kind: str, text: str) -> list[int]:
    """All values that the text can mean, as units, first the one it would have by the book; never empty."""
    notation = _notation(kind)
    if len(text) > LONGEST_TEXT:
        raise UnreadableValue(text[:LONGEST_TEXT], f"longer than {LONGEST_TEXT} characters")
    written = text.translate(SAME_CHARACTER).strip()
    candidates = list(_candidates(kind, notation, written))
    if not candidates:
        hint = ", without thousands separators" if sum(map(written.count, ",.'")) > 1 else ""
        raise UnreadableValue(text.strip(), f'"{text.strip()}" is not {notation.expected}{hint}')
    exponent = len(str(UNITS[kind][1])) - 1
    readings: dict[int, None] = {}
    refusals = []
    for mantissa, power in candidates:
        try:
            readings[_exact_units(kind, mantissa, power + exponent)] = None
        except ValueError as refused:
            refusals.append(str(refused))
    if not readings:
        raise UnreadableValue(text.strip(), f'"{text.strip()}": {refusals[0]}')
    return list(readings)


def _exact_units(kind: str, mantissa: int, power: int) -> int:
    """mantissa × 10^power as a whole number within range; never rounded."""
    shift: int = 10 ** abs(power)
    units, lost = (mantissa * shift, 0) if power >= 0 else divmod(mantissa, shift)
    if lost:
        raise ValueError(f"finer than the smallest step kept, {plain_value(kind, 1)} {UNITS[kind][0]}")
    _check_range(kind, units)
    return units


def _check_range(kind: str, units: int) -> None:
    if kind not in UNITS:
        raise ValueError(f"a {kind} has no value")
    smallest = 0 if kind == "resistor" else 1  # a zero-ohm link is a part
    if not smallest <= units <= MOST:
        unit, least, most = UNITS[kind][0], plain_value(kind, 1), plain_value(kind, MOST)
        raise ValueError(f"outside what can be kept, {least} {unit} to {most} {unit}")


def _candidates(kind: str, notation: _Notation, written: str) -> Iterator[tuple[int, int]]:
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
            for meant in _bare_powers(kind, whole, fraction):
                yield mantissa, power + meant
        if not separator:
            yield from _three_figure_code(kind, whole)
    elif not any(c in "0123456789" for c in rest):
        word = "".join(rest.split())
        powers = notation.words.get(word) or notation.words.get(word.lower(), ())
        for meant in powers:
            for mantissa, power in _mantissas(whole, separator, fraction):
                yield mantissa, power + meant
        if powers and word in _TOLERANCE_OR_SCALE and not separator:
            yield from _three_figure_code(kind, whole)
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


def _letter_at_point(notation: _Notation, whole: str, rest: str) -> Iterator[tuple[int, int]]:
    found = _AT_POINT.fullmatch(rest)
    if found is None or (found[3] and found[3].strip().lower() not in notation.units):
        return
    letter, fraction = found[1], found[2]
    powers = notation.points.get(letter, ())
    if not powers and len(fraction) <= 2:
        powers = notation.old_points.get(letter, ())
    for power in powers:
        yield int(whole + fraction), power - len(fraction)


def _power_of_ten(
    notation: _Notation, whole: str, fraction: str, separator: str | None, rest: str
) -> Iterator[tuple[int, int]]:
    """`1E-7`, `4.7e3`: what spreadsheets make of a value."""
    found = _POWER_OF_TEN.fullmatch(rest)
    if found is None or separator == "," or (found[3] and found[3].strip().lower() not in notation.units):
        return
    yield int(whole + fraction), int(found[1] + found[2]) - len(fraction)


def _bare_powers(kind: str, whole: str, fraction: str) -> tuple[int, ...]:
    """What a number without unit or letter may be counted in: the base unit, then what habit leaves out.

    Answers are plain decimals of the base unit, so what can sensibly be that is read as that: 0.0000001 F.
    """
    written_small = whole == "0"  # "0.0001", not ".0001": old print leaves the nought out
    leading_zeros = len(fraction) - len(fraction.lstrip("0"))
    if kind == "resistor" or (kind == "crystal" and len(whole) >= 5):
        return (0,)
    if kind == "crystal":
        return (0, 3, 6)
    if kind == "inductor":
        return (0,) if written_small and leading_zeros >= 1 else (0, -6)
    if written_small and (leading_zeros >= 2 or (leading_zeros == 1 and fraction[1:2] in ("1", "2"))):
        return (0,)  # below 30 000 µF
    return (0, -6, -12) if whole.strip("0") else (0, -6)


def _three_figure_code(kind: str, whole: str) -> Iterator[tuple[int, int]]:
    """`104` on a capacitor: two figures and a power of ten, in pF; on an inductor in µH."""
    if len(whole) == 3 and whole[0] != "0" and kind in ("capacitor", "inductor"):
        power = {"8": -2, "9": -1}.get(whole[2], int(whole[2]))
        yield int(whole[:2]), power + (-12 if kind == "capacitor" else -6)
