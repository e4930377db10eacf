"""Places in the text of a list: `Schublade 7` over its parts, `drawer 12 BC547` beside one.  Pure."""

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from inventory.part_lines import read_line
from inventory.part_words.kind_words import named_by, plainly

_NAMES = frozenset(
    word
    for line in """
    drawer box bin tray shelf cabinet tin jar bag crate rack schublade kiste fach regal kasten dose
    tiroir boite caja cajon cassetto scatola szuflada pudelko skuffe skuff kasse hylde hylle lada hylla
    lade doos gaveta caixa prateleira suplik zasuvka krabice krabicka lokero laatikko hylly fiok doboz
    polc sertar cutie raft ящик коробка полка
    """.splitlines()
    for word in line.split()
)
"""What drawers and the like are called, without accents; from memory."""
_NUMBER = re.compile(r"[A-Z]{0,2}-?[0-9]{1,4}[A-F]?|[A-Z]")
_NUMBER_FOLLOWS = frozenset(("no", "nr", "#", "n°"))
_BEFORE_A_PLACE = frozenset(("in", "im", "en", "dans", "w", "i", "v", "na"))
_SIGNS = " ,;:.-–()[]"
_MOST_BEFORE = 2
"""Words before the name of a place that belong to it: top left drawer."""


class Located(NamedTuple):
    """A place, and the text without it."""

    place: str
    rest: str


def is_place(text: str) -> bool:
    """Whether a text begins as the name of a drawer or the like."""
    first = re.split(r"[\s,;:.]", text.strip(), maxsplit=1)[0]
    return plainly(first) in _NAMES


def is_only_place(text: str) -> bool:
    """Whether a text is a place with its number and nothing else.

    >>> is_only_place("drawer 12"), is_only_place("drawer 12 BC547"), is_only_place("box")
    (True, False, False)
    """
    words = [found[0].strip(_SIGNS) for found in re.finditer(r"\S+", text)]
    return len(words) > 1 and _end_of(words, 0) == len(words)


def located(text: str) -> Located | None:
    """The place at the start or the end of a text, where what is left says a part; None where none is.

    >>> located("drawer 12: BC547"), located("2N3055 in tray 5"), located("fuse box 3")
    (Located(place='drawer 12', rest='BC547'), Located(place='tray 5', rest='2N3055'), None)
    """
    found = [(len(line.unread), each) for each in _candidates(text) if (line := read_line(each.rest)).spec]
    return min(found, key=lambda pair: pair[0])[1] if found else None


def _candidates(text: str) -> Iterator[Located]:
    spans = list(re.finditer(r"\S+", text))
    words = [found[0].strip(_SIGNS) for found in spans]
    for at in range(len(words)):
        if plainly(words[at]) not in _NAMES:
            continue
        end = _end_of(words, at)
        before = [words[first:at] for first in range(max(0, at - _MOST_BEFORE), at + 1)]
        for own in before:
            first = at - len(own)
            numbered = end > at + 1
            if not (numbered or own) or any(map(_is_no_part_of_it, own)):
                continue
            if named_by(" ".join(words[first : at + 1])):
                continue  # a fuse box
            place = text[spans[first].start() : spans[end - 1].end()].strip(_SIGNS)
            if first == 0 and end < len(words):
                yield Located(place, text[spans[end].start() :].strip(_SIGNS))
            elif end == len(words) and numbered:
                last = first - (plainly(words[first - 1]) in _BEFORE_A_PLACE)
                if last > 0:
                    yield Located(place, text[: spans[last - 1].end()].rstrip(_SIGNS))


def _is_no_part_of_it(word: str) -> bool:
    return not word.isalpha() or plainly(word) in _BEFORE_A_PLACE or named_by(word) is not None


def _end_of(words: Sequence[str], at: int) -> int:
    """Before which word the place ends whose name stands there: behind its number, where it has one."""
    if plainly(words[at]) not in _NAMES:
        return at
    number = at + 1
    if number < len(words) and plainly(words[number]) in _NUMBER_FOLLOWS:
        number += 1
    return number + 1 if number < len(words) and _NUMBER.fullmatch(words[number].lstrip("#")) else at + 1
