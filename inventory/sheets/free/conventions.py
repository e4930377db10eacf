"""Whether `2.200` is two thousand two hundred: decided by the whole column, said, and asked where it is not.

Pure: no Django.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

_FIGURE = re.compile(r"(?<![0-9.,])[0-9]+(?:[.,][0-9]+)+(?![0-9.,])")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2}(?:([.,])[0-9]{3})+")


@dataclass(frozen=True)
class Convention:
    """`decimal` is "," or "." where the column shows it, blank where nothing in it does.

    `mixed` where it shows both; `open` where a figure in it, `example`, could be read in two ways.
    """

    decimal: str = ""
    mixed: bool = False
    example: str = ""
    why: str = ""

    @property
    def open(self) -> bool:
        return bool(self.example) and not self.decimal


def convention_of(cells: Iterable[str]) -> Convention:
    """What the figures in these cells show.

    >>> convention_of(["2.200", "0,5"]).decimal, convention_of(["2.200"]).open
    (',', True)
    """
    shown: dict[str, str] = {}
    example = ""
    for cell in cells:
        for figure in _FIGURE.findall(cell):
            if decimal := _decimal_shown(figure):
                shown.setdefault(decimal, figure)
            elif not example:
                example = figure
    if len(shown) == 1:
        ((decimal, figure),) = shown.items()
        return Convention(decimal, example=example, why=f"{figure} shows it")
    return Convention(mixed=len(shown) > 1, example=example)


def _decimal_shown(figure: str) -> str:
    """The decimal sign that a figure shows; blank where it may be a sign between thousands just as well."""
    signs = [sign for sign in figure if sign in ".,"]
    if len(set(signs)) == 2:
        return signs[-1] if signs.count(signs[-1]) == 1 else ""
    if len(signs) > 1:  # 1.000.000 shows that the sign is none
        return "," if signs[0] == "." else "."
    return "" if _THOUSANDS.fullmatch(figure) else signs[0]


def by(convention: Convention, cell: str) -> str:
    """The cell without signs between thousands; with no convention as it is.

    >>> by(Convention(","), "2.200 pF"), by(Convention("."), "2.200 pF"), by(Convention("."), "1,000")
    ('2200 pF', '2.200 pF', '1000')
    """
    if not convention.decimal:
        return cell
    between = "." if convention.decimal == "," else ","

    def plain(found: re.Match[str]) -> str:
        whole, decimal, fraction = found[0].partition(convention.decimal)
        if between in whole and _THOUSANDS.fullmatch(whole):
            whole = whole.replace(between, "")
        return f"{whole}{decimal}{fraction}"

    return _FIGURE.sub(plain, cell)


def is_open_in(cell: str) -> bool:
    """Whether a figure in the cell could be read in two ways.

    >>> is_open_in("1.000"), is_open_in("4.7k"), is_open_in("0.470")
    (True, False, False)
    """
    return any(not _decimal_shown(figure) for figure in _FIGURE.findall(cell))
