"""Plain figures beside the value: volts, watts, percent, nanoseconds. Exact decimals throughout."""

import re
from decimal import Decimal

from inventory.spec.notation import SAME_CHARACTER

LONGEST_TEXT = 40

_FIGURE = re.compile(r"([+-]?)([0-9]*)(?:([.,])([0-9]+)|/([0-9]+))?\s*([A-Za-zµΩ%°]*)")
_SCALES = {"": 0, "k": 3, "K": 3, "M": 6, "m": -3, "µ": -6, "u": -6, "n": -9}
_FRACTIONS = str.maketrans({"½": "1/2", "¼": "1/4", "⅛": "1/8"})


def read_figure(
    given: object, unit: str = "", *, least: Decimal, most: Decimal, places: int, above_least: bool = False
) -> Decimal:
    """The figure as a Decimal without trailing zeros, or ValueError saying what would do.

    Takes numbers and text: "63", "63 V", "1.2kV", "0,25 W", "1/4 W". A float is its shortest decimal text.
    `above_least` shuts the lower bound out.
    """
    figure = _as_decimal(given, unit)
    if figure is None:
        raise ValueError(f"expected a number{f' of {unit}' if unit else ''}, found {short(given)}")
    if not (least < figure or (figure == least and not above_least)) or figure > most:
        bound = "above" if above_least else "from"
        raise ValueError(f"expected a number {bound} {plain(least)} to {plain(most)}, found {short(given)}")
    if len(figure.as_tuple().digits) > 25 or _places(figure) > places:
        raise ValueError(f"at most {places} decimal places are kept, found {short(given)}")
    return Decimal(plain(figure))


def _places(figure: Decimal) -> int:
    exponent = figure.normalize().as_tuple().exponent
    assert isinstance(exponent, int)  # a finite figure has one
    return -exponent


def plain(figure: Decimal) -> str:
    """No exponent, no trailing zeros: "63", "0.25"."""
    return format(figure.normalize(), "f") if figure else "0"


def short(given: object) -> str:
    """What was found, quoted and cut to a length that fits a message."""
    text = given if isinstance(given, str) else repr(given)
    text = "".join(c if c.isprintable() else "?" for c in text[:LONGEST_TEXT])
    return f'"{text}"' if isinstance(given, str) else text


def _as_decimal(given: object, unit: str) -> Decimal | None:
    if isinstance(given, bool):
        return None
    if isinstance(given, Decimal):
        return given if given.is_finite() and abs(given.adjusted()) < LONGEST_TEXT else None
    if isinstance(given, int):
        return Decimal(given) if given.bit_length() < 100 else None
    if isinstance(given, float):  # JSON numbers arrive so; their text is what was sent
        return _as_decimal(Decimal(repr(given)), unit)
    if not isinstance(given, str) or len(given) > LONGEST_TEXT:
        return None
    found = _FIGURE.fullmatch(given.translate(SAME_CHARACTER).translate(_FRACTIONS).strip())
    if found is None:
        return None
    sign, whole, _point, fraction, divisor, word = found.groups()
    if not (whole or fraction) or (divisor and (not whole or not int(divisor))):
        return None
    scale = _scale(word, unit)
    if scale is None:
        return None
    figure = Decimal(f"{sign}{whole or 0}.{fraction or 0}").scaleb(scale)
    return figure / int(divisor) if divisor else figure


def _scale(word: str, unit: str) -> int | None:
    """Power of ten of a unit word such as kV, mA or mm; None where it is another unit."""
    if not word:
        return 0
    for spelling in (unit, unit.upper(), unit.lower()):
        if spelling and word.endswith(spelling):
            prefix = word.removesuffix(spelling)
            if prefix in _SCALES and (len(unit) == 1 and unit not in "%°" or not prefix):
                return _SCALES[prefix]
    return None
