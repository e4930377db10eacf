"""What a person sees in a cell of a workbook, from what is stored in it."""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from openpyxl.styles.numbers import is_date_format

from inventory.sheets.grid import Odd

_MADE_OF_IT = "which the spreadsheet program made of what was typed: set the column to Text and type it again"

NO_RESULT = Odd(
    "", "a formula without a stored result: save the file in a spreadsheet program and send it again"
)


def number_as_shown(stored: str, number_format: str) -> str:
    """A number by its format, never rounded: `00805`, `5%`, `4.70`; without a format `103`, not `103.0`.

    ValueError where it is no number.
    """
    value = _number(stored)
    shape = _shape_of(number_format)
    if shape.date:
        return _date(value)
    text = _plain(value)
    if shape.scientific:
        return powers_as_shown(text, figure=True)
    if shape.percent:
        return f"{_plain(value * 100)}%"
    if abs(value) >= 10**15:  # the program keeps 15 figures
        return Odd(text, f"a number of more figures than are kept, {_MADE_OF_IT}", figure=True)
    whole, point, fraction = text.partition(".")
    if shape.zeros > 1 and whole.isdigit():
        whole = whole.zfill(shape.zeros)
    if shape.places > len(fraction):
        point, fraction = ".", fraction.ljust(shape.places, "0")
    return f"{whole}{point}{fraction}"


def error_as_shown(stored: str) -> Odd:
    return Odd(stored, "an error of the spreadsheet's own: mend the formula")


def date_as_shown(stored: str) -> Odd:
    return Odd(stored, f"a date or time, {_MADE_OF_IT}")


def powers_as_shown(text: str, *, figure: bool = False) -> Odd:
    return Odd(text, f"a number in powers of ten, {_MADE_OF_IT}", figure=figure)


def _number(stored: str) -> Decimal:
    """The stored number by the 15 figures that a spreadsheet program keeps of it."""
    try:
        value = Decimal(stored)
    except InvalidOperation:
        raise ValueError("a cell that should hold a number does not") from None
    if not value.is_finite() or abs(value.adjusted()) > 308:
        raise ValueError("a number out of range")
    return Decimal(f"{value:.14e}") if len(value.as_tuple().digits) > 15 else value


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}" if value else "0"


def _date(value: Decimal) -> Odd:
    try:
        text = str(datetime(1899, 12, 30) + timedelta(days=float(value)))
    except OverflowError:
        text = _plain(value)
    return date_as_shown(text.removesuffix(" 00:00:00"))


@dataclass(frozen=True)
class _Shape:
    zeros: int
    places: int
    percent: bool
    scientific: bool
    date: bool


@lru_cache(maxsize=500)
def _shape_of(number_format: str) -> _Shape:
    first = _LITERAL.sub("", number_format).partition(";")[0]
    found = _PLAIN_FORMAT.fullmatch(first.strip())
    return _Shape(
        zeros=len(found[1]) if found else 0,
        places=len(found[2] or "") if found else 0,
        percent="%" in first,
        scientific="E+" in first or "E-" in first,
        date=is_date_format(number_format),
    )


_LITERAL = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]|[_*].')
_PLAIN_FORMAT = re.compile(r"[#,]*(0+)(?:\.(0+))?")
