"""Whether `2.200` is two thousand two hundred: decided by the whole column, said, and asked where it is not.

Thousands are grouped by points, commas, spaces or apostrophes: `2.200`, `2,200`, `2 200`, `2'200`.  Pure.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from inventory.part_words.kind_words import CLASSES

_WRITTEN = re.compile(r"(?<![0-9.,])[0-9]+(?:[.,][0-9]+)+(?![0-9.,])")
_GROUPED = r"[1-9][0-9]{0,2}(?:([.,])[0-9]{3})(?:\1[0-9]{3})*"
_THOUSANDS = re.compile(_GROUPED)
_FIGURE = re.compile(rf"[0-9]+[.,][0-9]+|{_GROUPED}(?:(?!\1)[.,][0-9]+)?")
_LETTERS = re.compile(r"(?<![A-Za-z])[A-Za-z]{1,3}$")
_SPACED = re.compile(
    r"(?<![\w.,])(?P<first>[1-9][0-9]{0,2})(?:(?P<between>[ '\u2019\u00a0\u202f\u2009])[0-9]{3})"
    r"(?:(?P=between)[0-9]{3})*(?!\w)"
)


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
        for figure in _figures(cell):
            if decimal := _decimal_shown(figure):
                shown.setdefault(decimal, figure)
            elif not example:
                example = figure
    if len(shown) == 1:
        ((decimal, figure),) = shown.items()
        return Convention(decimal, example=example, why=f"{figure} shows it")
    return Convention(mixed=len(shown) > 1, example=example)


def _figures(cell: str) -> Iterator[str]:
    return (found[0] for found in _WRITTEN.finditer(cell) if _is_figure(found))


def _is_figure(found: re.Match[str]) -> bool:
    """Whether it is one: no date, no list as in `10,22,47`, no references as in `R1,2`."""
    letters = _LETTERS.search(found.string[: found.start()])
    if letters and letters[0].upper() in CLASSES and "." not in found[0]:
        return False
    return _FIGURE.fullmatch(found[0]) is not None


def _decimal_shown(figure: str) -> str:
    """The decimal sign that a figure shows; blank where it may be a sign between thousands just as well."""
    signs = [sign for sign in figure if sign in ".,"]
    if len(set(signs)) == 2:
        return signs[-1]
    if len(signs) > 1:  # 1.000.000 shows that the sign is none
        return "," if signs[0] == "." else "."
    return "" if _THOUSANDS.fullmatch(figure) else signs[0]


def by(convention: Convention, cell: str) -> str:
    """The cell without signs between thousands; a figure of several signs shows itself which is which, and
    any other is as it is where there is no convention.

    >>> by(Convention(","), "2.200 pF"), by(Convention("."), "2.200 pF"), by(Convention("."), "1,000")
    ('2200 pF', '2.200 pF', '1000')
    >>> by(Convention(), "1.234,5 pF"), by(Convention("."), "1.234,5 pF"), by(Convention(), "2.200 pF")
    ('1234,5 pF', '1234,5 pF', '2.200 pF')
    """

    def plain(found: re.Match[str]) -> str:
        figure = found[0]
        several = sum(sign in ".," for sign in figure) > 1
        sign = _decimal_shown(figure) if several else convention.decimal
        if not sign or not _is_figure(found):
            return figure
        whole, decimal, fraction = figure.partition(sign)
        if _THOUSANDS.fullmatch(whole):
            whole = whole.replace("." if sign == "," else ",", "")
        return f"{whole}{decimal}{fraction}"

    return _WRITTEN.sub(plain, cell)


def is_open_in(cell: str) -> bool:
    """Whether a figure in the cell could be read in two ways.

    >>> is_open_in("1.000"), is_open_in("4.7k"), is_open_in("0.470"), is_open_in("R1,200")
    (True, False, False, False)
    """
    return any(not _decimal_shown(figure) for figure in _figures(cell))


def without_spaces(cell: str) -> str:
    """The cell without the spaces and apostrophes between thousands.

    >>> without_spaces("résistance 2 200"), without_spaces("10'000 Ω"), without_spaces("BC547 100")
    ('résistance 2200', '10000 Ω', 'BC547 100')
    """
    return _SPACED.sub(lambda found: found[0].replace(found["between"], ""), cell)


def may_be_a_count(cell: str) -> str:
    """The number that begins a cell and may be how many there are: the `5` of `5 100 Ω`; else blank."""
    found = _SPACED.match(cell)
    return found["first"] if found and found["between"] == " " and found[0].count(" ") == 1 else ""
