"""Cells that are not part of a Spec: whole numbers, money, words of a list, text.  Pure: no Django.

Each takes a row and a column, names the cell as bad where it will not do, and then answers None (text: "").
"""

import re
from collections.abc import Mapping
from decimal import Decimal

from inventory.sheets.table import SheetRow, plain
from inventory.whole_numbers import MAX_PIECES

_WHOLE = re.compile(r"[0-9]{1,18}")
_DECIMAL = re.compile(r"([+-]?)([0-9]{0,9})(?:[.,]([0-9]{1,9}))?")
_CURRENCY = re.compile(r"^(?:[^\W\d_]{1,3}\.?)?\s*[£$€¥]?\s*|\s*[£$€¥]?\s*(?:[^\W\d_]{1,3}\.?)?$")

YES_NO = {
    "yes": True,
    "y": True,
    "true": True,
    "1": True,
    "no": False,
    "n": False,
    "false": False,
    "0": False,
}


def whole(row: SheetRow, key: str, *, least: int = 0, most: int = MAX_PIECES) -> int | None:
    """A whole number; None where the cell is blank or bad."""
    text = row[key]
    if not text:
        return None
    if _WHOLE.fullmatch(text) and least <= int(text) <= most:
        return int(text)
    row.bad(key, f"expected a whole number from {least} to {most:,}")
    return None


def money(row: SheetRow, key: str) -> Decimal | None:
    """An amount of money, in whatever currency the bench counts; None where the cell is blank or bad."""
    if not row[key]:
        return None
    return _decimal(row, key, _CURRENCY.sub("", row[key]), digits=8, places=4, signed=False, like="0.25")


def figure(row: SheetRow, key: str, *, digits: int, places: int, like: str) -> Decimal | None:
    """A figure not below 0; None where the cell is bad."""
    return _decimal(row, key, row[key].rstrip("% "), digits=digits, places=places, signed=False, like=like)


def coordinate(row: SheetRow, key: str) -> Decimal | None:
    """A coordinate on a picture; None where the cell is blank or bad."""
    return _decimal(row, key, row[key], digits=3, places=6, signed=True, like="0.1538") if row[key] else None


def _decimal(
    row: SheetRow, key: str, text: str, *, digits: int, places: int, signed: bool, like: str
) -> Decimal | None:
    found = _DECIMAL.fullmatch(text)
    if found and (found[2] or found[3]) and (signed or found[1] != "-"):
        whole_part, fraction = found[2].lstrip("0"), (found[3] or "").rstrip("0")
        if len(whole_part) <= digits and len(fraction) <= places:
            return Decimal(f"{found[1]}{whole_part or 0}.{fraction or 0}")
    row.bad(
        key,
        f"expected a number such as {like}, with at most {digits} before the point and {places} after",
    )
    return None


def word(row: SheetRow, key: str, words: Mapping[str, str], *, blank: str = "") -> str:
    """One of a list of words, in any of its spellings; `blank` where the cell is blank or bad."""
    if not row[key]:
        return blank
    meant = words.get(plain(row[key]))
    if meant is None:
        row.bad(key, f"expected one of {', '.join(dict.fromkeys(words.values()))}")
        return blank
    return meant


def yes_or_no(row: SheetRow, key: str) -> bool | None:
    """Yes or no; None where the cell is blank or bad."""
    if not row[key]:
        return None
    meant = YES_NO.get(plain(row[key]))
    if meant is None:
        row.bad(key, "expected yes or no")
    return meant


def text(row: SheetRow, key: str, longest: int) -> str:
    """Text of at most so many characters."""
    if len(row[key]) > longest:
        row.bad(key, f"at most {longest:,} characters, found {len(row[key]):,}")
        return ""
    return row[key]
