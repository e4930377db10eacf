"""Date codes: IEC 60062 letter year and month, four digits, three digits, with all years that fit.

Sources: IEC 60062 (year/month and year/week codes, clauses 5.1 and 5.2 of EN 60062:1994); its letters,
three digits and WWYY: from memory.
"""

from __future__ import annotations

import re
from math import exp
from typing import NamedTuple

YEAR_LETTERS = "ABCDEFHJKLMNPRSTUVWX"  # A = 1970, 1990, 2010: twenty letters without G I O Q Y Z
MONTHS = {str(month): month for month in range(1, 10)} | {"O": 10, "N": 11, "D": 12}
MONTH_NAMES = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
"October",
               "November", "December")  # fmt: skip
FIRST_YEAR, LAST_YEAR = 1948, 2030
# With no era given: the middle and spread of the years that salvaged, date-coded parts come from (common
# practice, no source).
USUAL_YEAR, USUAL_SPREAD = 2004, 14.0
ERA_SPREAD = 4.0
_WITH_LOT = re.compile(r"([A-Z]{0,2})([0-9]{4})([A-Z]{0,2})")
LOT, WHOLE_YEAR = 0.5, 0.3
"""How likely letters glued to four figures are a lot's, and not a type's; and 19xx or 20xx a week of a year
and not the year of a copyright (common practice, no source)."""
_MONTH_LETTERS = "ABCDEFGHJKLM"  # without I; from memory of makers in Japan
_TYPE_LIKE = re.compile(
    r"(?:[ABCDFJKMSN]|[ABR][CDFUY]|[LT][ABFLM]|AN|HA|CD|MC|NE|UA|KA|IR|MJ|SN|DM|OP|CA)[0-9]{4}[A-Z]?"
)
"""Letters that more often begin a type: with them the year must be one that the era allows."""
_PACKAGE = re.compile("[0-9]{4}[DJNPK]")
"""8303N: letters of chips' packages behind figures (common practice of makers, no source)."""


def is_of_a_lot(word: str) -> bool:
    """8144B, QQ8139: four figures that are a year and a week, with letters on one side that begin no type."""
    match = _WITH_LOT.fullmatch(word) if 5 <= len(word) <= 6 else None
    return (
        match is not None
        and not _TYPE_LIKE.fullmatch(word)
        and not (match[1] and match[3])
        and 1 <= int(match[2][2:]) <= 53
        and FIRST_YEAR <= century(int(match[2][:2])) <= LAST_YEAR
    )


def may_be_a_type(word: str) -> bool:
    """Whether what looks like a date with its lot is as often a chip: XC9536, 8303N."""
    return word[0].isalpha() or _PACKAGE.fullmatch(word) is not None


def is_of_era(word: str, era: int | None) -> bool:
    """Whether a date with its lot lies within some years of the era, where one is told."""
    figures = _WITH_LOT.fullmatch(word)
    return era is None or figures is None or abs(century(int(figures[2][:2])) - era) <= 3 * ERA_SPREAD


_COPYRIGHT = re.compile(r"(?:©|\(C\)|\bCOPR\.?|\bCOPYRIGHT)\s*(?:19|20)[0-9]{2}\b", re.IGNORECASE)


def without_copyright(text: str) -> str:
    """The text without the year of a copyright: the mask was drawn then, the chip made later."""
    return _COPYRIGHT.sub(" ", text) if "19" in text or "20" in text else text


class DateReading(NamedTuple):
    """One date a code may stand for: ISO text, words, relative weight, the system it follows."""

    iso: str
    words: str
    weight: float
    system: str


def likely(year: int, era: int | None) -> float:
    """How likely a part is of that year: a bell round the era given, or round the usual years; never 0."""
    middle, spread = (USUAL_YEAR, USUAL_SPREAD) if era is None else (era, ERA_SPREAD)
    return exp(-0.5 * ((year - middle) / spread) ** 2) + 0.001


def century(two_digits: int) -> int:
    return (1900 if two_digits > LAST_YEAR % 100 else 2000) + two_digits


def week_date(year: int, week: int, weight: float, system: str) -> DateReading:
    return DateReading(f"{year}-W{week:02d}", f"{year} week {week}", weight, system)


def dates_in(word: str, era: int | None, *, year_letter: bool = False) -> list[DateReading]:
    """Every date the word may stand for. A lone letter counts only with `year_letter`, the person having said
    so.
    """
    found: list[DateReading] = []
    if len(word) == 4 and word.isascii() and word.isdigit():
        first, second = int(word[:2]), int(word[2:])
        if 1 <= second <= 53 and century(first) >= FIRST_YEAR:
            found.append(
                week_date(century(first), second, likely(century(first), era), "year and week, YYWW")
            )
        if 1 <= first <= 53 and century(second) >= FIRST_YEAR:
            weight = 0.2 * likely(century(second), era) * (WHOLE_YEAR if first in (19, 20) else 1.0)
            found.append(week_date(century(second), first, weight, "week and year, WWYY"))
    elif len(word) == 3 and word.isascii() and word.isdigit() and 1 <= int(word[1:]) <= 53:
        for year in range(1960 + int(word[0]), 2010, 10):
            found.append(
                week_date(year, int(word[1:]), 0.3 * likely(year, era), "last digit of the year and week")
            )
    elif len(word) == 3 and word[0] in YEAR_LETTERS and word[1:].isascii() and word[1:].isdigit():
        if 1 <= int(word[1:]) <= 53:
            for year in years_of(word[0]):
                found.append(week_date(year, int(word[1:]), 0.1 * likely(year, era), "year letter and week"))
    elif len(word) == 2 and word[1] in MONTHS:
        month = MONTHS[word[1]]
        if word[0] in YEAR_LETTERS:
            for year in years_of(word[0]):
                words = f"{MONTH_NAMES[month - 1]} {year}"
                found.append(
                    DateReading(f"{year}-{month:02d}", words, likely(year, era), "IEC 60062 year and month")
                )
        elif word[0].isascii() and word[0].isdigit():
            for year in range(1970 + int(word[0]), 2030, 10):
                words = f"{MONTH_NAMES[month - 1]} {year}"
                system = "IEC 60062 ten-year cycle"
                found.append(DateReading(f"{year}-{month:02d}", words, 0.01 * likely(year, era), system))
    elif 5 <= len(word) <= 6 and (match := _WITH_LOT.fullmatch(word)):
        year, week = century(int(match[2][:2])), int(match[2][2:])
        if 1 <= week <= 53 and year >= FIRST_YEAR:
            weight = LOT * likely(year, era) * (0.05 if _TYPE_LIKE.fullmatch(word) and era is None else 1.0)
            found.append(week_date(year, week, weight, "year and week, YYWW, with letters of the lot"))
    elif len(word) == 3 and word[0].isdigit() and word[1] in _MONTH_LETTERS and word[2].isdigit():
        month = _MONTH_LETTERS.index(word[1]) + 1
        for year in range(1970 + int(word[0]), LAST_YEAR, 10):
            words = f"{MONTH_NAMES[month - 1]} {year}"
            weight = likely(year, era)
            found.append(
                DateReading(f"{year}-{month:02d}", words, weight, "last digit of the year, month letter, lot")
            )
    elif year_letter and len(word) == 1 and word in YEAR_LETTERS:
        for year in years_of(word):
            found.append(DateReading(str(year), str(year), likely(year, era), "IEC 60062 year letter"))
    return found


def years_of(letter: str) -> list[int]:
    return list(range(1970 + YEAR_LETTERS.index(letter), LAST_YEAR + 1, 20))
