"""A line taken apart: words with where they stand, and the few signs between them.  Pure."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from inventory.decoding.patterns import THOUSANDS, in_thousands
from inventory.part_words.conventions import Convention, by, is_open_in
from inventory.part_words.kind_words import CLASSES
from inventory.spec.wording import property_word

BETWEEN = frozenset(" \t\r\n\u00a0\u2009\u202f,;|()[]{}\"'“”„")
"""Signs that part words and say nothing themselves."""

_DECIMAL_COMMA = re.compile(
    r"(?:RM|[Pp]=?|[\u0400-\u04ff][^,]*-)?[0-9]+,[0-9]+[^,]*"
    r"|(?:FF|TT|[FTM])[0-9]+,[0-9]+m?A[^,]*"  # T1,6A is a slow fuse (IEC 60127-1)
)
_GROUPED = re.compile(
    r"[1-9][0-9]{0,2}(?:(?:\.[0-9]{3})+,[0-9]+|(?P<groups>(?:,[0-9]{3}){2,})(?P<decimals>\.[0-9]+)?)[^,]*"
)
_SIGNIFICANT = 3
"""Figures of the values that are made (IEC 60063: E192)."""
_NEVER_THOUSANDS = re.compile(
    r"[0-9.,]+ ?(?:[kMG]Hz|%|mm|ppm|ns|[mµu]?[WA](?![A-Za-z])|[kKMG](?:[VRΩ]|[Oo]hms?)?(?![A-Za-z0-9]))"
)
"""A figure of three decimals before a unit in which parts are never counted by thousands: 32.768 kHz; nobody
writes 4.700k for 4.7 megohms (common practice, no source)."""
_LISTED = re.compile(r"(?P<letters>[A-Za-z]{1,4})(?P<numbers>[1-9][0-9]{0,3}(?:,[1-9][0-9]{0,3})+)")
_UNIT_NEXT = re.compile(r" ?(?:%|[A-Za-zµμΩ]{1,3}(?![A-Za-z0-9]))")
_SECTIONS = re.compile(r"(?<!\S)([0-9]{1,3}(?:\+[0-9]{1,3}){1,3}) ([µμu]F|MFD)(?![A-Za-z0-9])", re.IGNORECASE)
"""8+8 uF: capacitors in one can."""
_JOINED = re.compile(r"(?<=[A-Za-zµμΩ%])/(?=[0-9])")


@dataclass(frozen=True)
class Token:
    """A word, from `start` to before `end` of the line, without the signs between its thousands.

    `typed` is it with them.
    """

    text: str
    start: int
    end: int
    typed: str = ""

    @property
    def as_typed(self) -> str:
        return self.typed or self.text


@dataclass(frozen=True)
class LineWord:
    """A word of the line as typed, from `start` to before `end`.

    `property_name` says what it is a word for, `meaning` what it was read as.  Of a word that is not
    understood both are blank and `reason` says why.
    """

    text: str
    start: int
    end: int
    property_name: str = ""
    meaning: str = ""
    reason: str = ""

    @property
    def understood(self) -> bool:
        return bool(self.property_name)

    @property
    def label(self) -> str:
        """The property as people call it."""
        return property_word(self.property_name)


@dataclass(frozen=True)
class Claim:
    """Words that stand together and what they may say of the part, or with a name what else they say."""

    tokens: tuple[Token, ...]
    offers: tuple[dict[str, Any], ...] = ()
    property_name: str = ""
    meaning: str = ""
    reason: str = ""

    def word(self, line: str, **changes: str) -> LineWord:
        start, end = self.tokens[0].start, self.tokens[-1].end
        facts = {
            "property_name": self.property_name,
            "meaning": self.meaning,
            "reason": self.reason,
        } | changes
        return LineWord(line[start:end], start, end, **facts)


def tokens_of(line: str) -> list[Token]:
    """The words of a line; a comma between figures is a decimal comma and stays, and so does one between the
    numbers of references; `10uF/16V` is two words, `1.234,5` one figure.

    >>> [token.text for token in tokens_of("R1,R3 2,2k 5%,0.25W (axial)")], tokens_of("R1,2,5 4k7")[0].text
    (['R1', 'R3', '2,2k', '5%', '0.25W', 'axial'], 'R1,2,5')
    >>> tokens_of("1.234,5 ohm")[0].text, tokens_of("1,234.5 ohm")[0].text
    ('1234,5', '1234.5')
    """
    found: list[Token] = []
    start = 0
    for at in range(len(line) + 1):
        if at < len(line) and (line[at] not in BETWEEN or _is_kept_comma(line, at, start)):
            continue
        found += _parted(line, start, at)
        start = at + 1
    return found


def _is_kept_comma(line: str, at: int, start: int) -> bool:
    if line[at] != ",":
        return False
    rest = line[start:]
    end = next((index for index, sign in enumerate(rest) if sign in BETWEEN and sign != ","), len(rest))
    word = rest[:end]
    is_figure = _DECIMAL_COMMA.fullmatch(word) or _GROUPED.fullmatch(word)
    return is_figure is not None or _are_refs(word, rest[end:])


def are_several(word: str) -> bool:
    """Whether commas part values, and not the thousands of one: no part has so many figures that count.

    >>> are_several("100,220,470"), are_several("1,500,000"), are_several("1,234,500.5")
    (True, False, False)
    """
    found = _GROUPED.fullmatch(word)
    if found is None or not found["groups"] or found["decimals"]:
        return False
    return len(word[: found.end("groups")].replace(",", "").rstrip("0")) > _SIGNIFICANT


def with_its_unit(line: str, tokens: Sequence[Token]) -> list[Token]:
    """The words with a figure that spaces part joined: 4 700 of 4 700 µF, and 8+8 uF with its unit.

    >>> [token.text for token in with_its_unit("4 700 µF 25V", tokens_of("4 700 µF 25V"))]
    ['4700', 'µF', '25V']
    """
    spans = [
        (found.start(), found.end(), "".join((found[1] + found[2]).split()))
        for found in THOUSANDS.finditer(line)
        if in_thousands(found) != found[0]
    ]
    spans += [(found.start(), found.end(), f"{found[1]}{found[2]}") for found in _SECTIONS.finditer(line)]
    joined = [token for token in tokens if not any(low <= token.start < high for low, high, _ in spans)]
    joined += [Token(text, low, high, line[low:high]) for low, high, text in spans]
    return sorted(joined, key=lambda token: token.start)


def open_figure(line: str, tokens: Sequence[Token]) -> Token | None:
    """The first word with a figure that may have thousands or decimals: 2.200; None where there is none."""
    return next(
        (
            token
            for token in tokens
            if is_open_in(token.text) and not _NEVER_THOUSANDS.match(line[token.start :])
        ),
        None,
    )


def by_sign(line: str, tokens: Sequence[Token], sign: str) -> list[Token]:
    """The words with figures such as 2.200 by this decimal sign, which becomes a point."""
    return [
        replace(
            token,
            text=by(Convention(sign), token.text).replace(",", "."),
            typed=line[token.start : token.end],
        )
        if open_figure(line, [token])
        else token
        for token in tokens
    ]


def _are_refs(word: str, after: str) -> bool:
    """Whether a word is a list as `R1,2,5`: rising numbers of a class of parts, and no size with a unit.

    P2,54 is a pitch.
    """
    listed = _LISTED.fullmatch(word)
    if listed is None or listed["letters"].upper() not in CLASSES or _UNIT_NEXT.match(after):
        return False
    numbers = [int(number) for number in listed["numbers"].split(",")]
    rising = all(one < next_one for one, next_one in zip(numbers, numbers[1:], strict=False))
    return rising and (listed["letters"].upper() != "P" or len(numbers) > 2)


def _parted(line: str, start: int, end: int) -> list[Token]:
    cuts = [start, *(start + each.start() for each in _JOINED.finditer(line[start:end])), end]
    pieces = []
    for index, (low, high) in enumerate(zip(cuts, cuts[1:], strict=False)):
        low += index > 0  # the stroke itself says nothing
        if low < high:
            typed = line[low:high]
            plain = typed if are_several(typed) else by(Convention(), typed)
            pieces.append(Token(plain, low, high, "" if plain == typed else typed))
    return pieces
