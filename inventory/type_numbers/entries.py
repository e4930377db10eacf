"""Where a type stands in the tables: the row of its kind, the legs of a chip."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from inventory.type_numbers.chip_numbers import split_logic
from inventory.type_numbers.normaliser import type_number
from inventory.type_numbers.tables import Row, rows

_TABLES = {"transistor": "transistors", "diode": "diodes", "regulator": "regulators"}


@lru_cache(maxsize=8192)
def entry_of(kind: str, number: str) -> Row | None:
    """The row of the table of this kind: the very type, its gain group or version where that is listed.

    None where neither is. Beside facts it has the `package`, and of some kinds in `words` what it is.
    """
    if kind not in _TABLES:
        return None
    parts, table = type_number(kind, number), _table(kind)
    return table.get(_key(parts.base + parts.grade)) or table.get(_key(parts.base))


def function_of_series(kind: str, series: str) -> str:
    """What all listed types do that begin so, as BT151 of BT151-500; "" where none is or they differ."""
    return _functions(kind).get(series, "")


@cache
def _functions(kind: str) -> dict[str, str]:
    found: dict[str, set[str]] = {}
    for number, row in _table(kind).items():
        if match := _SERIES.match(number):
            found.setdefault(match[0], set()).add(row.get("function", ""))
    return {series: next(iter(functions)) for series, functions in found.items() if len(functions) == 1}


_SERIES = re.compile("[A-Z]{2,3}[0-9]{3}")


def lists_the_group(kind: str, number: str) -> bool:
    """Whether the table has a row for the gain group or version, and not for the type as a whole alone."""
    parts = type_number(kind, number)
    return bool(parts.grade) and _key(parts.base + parts.grade) in _table(kind)


@cache
def _table(kind: str) -> dict[str, Row]:
    return {_key(row["number"]): row for row in rows(_TABLES[kind])}


def _key(number: str) -> str:
    return number.replace("-", "") if not number.startswith(("LM", "LP", "LT", "L4")) else number


@cache
def _pinouts() -> dict[str, tuple[str, ...]]:
    return {row["number"]: tuple(row["legs"].split()) for row in rows("pinouts")}


def pinout_of(number: str) -> tuple[str, ...]:
    """What each leg of a chip carries, leg 1 first; () where it is not known for certain.

    A stroke before a name says that it is active when low.
    """
    base = type_number("ic", number).base
    parts = split_logic(base)
    if parts and parts.family in ("L", "H"):  # some of their numbers have other legs
        return ()
    return _pinouts().get(parts.digits if parts else base, ())
