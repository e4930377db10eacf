"""How many: `12 x`, `30 pcs`, `ca. 20`, `x5`, in the words of six languages.  Pure."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.decoding.named_parts import is_listed
from inventory.part_lines.words import Token
from inventory.part_words.figures import offers_of
from inventory.part_words.kind_words import plainly
from inventory.part_words.vocabulary import ABOUT, PIECES, PIECES_IN_COUNTS, SAFETY_CLASSES
from inventory.whole_numbers import MAX_PIECES


def _any_of(words: frozenset[str]) -> str:
    return "|".join(sorted(map(re.escape, words), key=len, reverse=True))


_ABOUT = rf"(?P<about>(?:{_any_of(ABOUT)})\.? ?)"
_COUNT = r"(?P<count>[0-9]{1,10})"


def _forms(words: frozenset[str]) -> tuple[re.Pattern[str], ...]:
    pieces = rf"(?:{_any_of(words)})"
    return tuple(
        re.compile(form)
        for form in (
            rf"{_ABOUT}?{_COUNT}(?P<more>\+)? ?{pieces}",
            rf"{_ABOUT}{_COUNT}",
            rf"{_COUNT}(?P<more>\+)",
            rf"{pieces}[.:=]? ?{_ABOUT}?{_COUNT}",
        )
    )


_ANYWHERE = _forms(PIECES)
_IN_COUNTS = _forms(PIECES_IN_COUNTS)
_AS_TYPES_BEGIN = re.compile(r"[A-Z]{2}[0-9]{3,5}")
"""PC817, CA3140, ST232, KS0108: makers' letters that are words for pieces too, without a sign between."""
_BARE = re.compile(r"[0-9]{1,10}")
_FIRST = re.compile(rf"{_COUNT} ?[x×*]")
_LATER = re.compile(rf"[x×*] ?{_COUNT}")
_RUN_INTO = re.compile(r"([0-9]{1,6})[x×*](?=.*[^0-9])", re.IGNORECASE)


@dataclass(frozen=True)
class Count:
    """How many pieces, only roughly so where `about`; said by the tokens from `first` to before `last`."""

    pieces: int
    about: bool
    first: int
    last: int


def count_in(tokens: Sequence[Token], line: str = "", *, of_parts: bool = True) -> Count | None:
    """The first count among the words; None where nothing says how many.

    `of_parts`: the words may name the part too, which those of a column of counts do not.
    A bare number in brackets at the end of the line is taken for one, roughly: `1N4007 (20)`.
    """
    for at in range(len(tokens)):
        for length in (3, 2, 1):
            if length == 1 and of_parts and _is_type(tokens[at].text):
                continue
            if at + length <= len(tokens) and (
                found := _count_at(tokens, at, length, _ANYWHERE if of_parts else _IN_COUNTS)
            ):
                pieces = int(found["count"])
                if pieces <= MAX_PIECES:
                    groups = found.groupdict()
                    about = bool(groups.get("about") or groups.get("more"))
                    return Count(pieces, about, at, at + length)
    last = tokens[-1] if len(tokens) > 1 else None
    if last is None or not _BARE.fullmatch(last.text) or int(last.text) > MAX_PIECES:
        return None
    bracketed = line[last.start - 1 : last.end + 1] in (f"({last.text})", f"[{last.text}]")
    return Count(int(last.text), True, len(tokens) - 1, len(tokens)) if bracketed else None


def _is_type(word: str) -> bool:
    return _AS_TYPES_BEGIN.fullmatch(word) is not None or is_listed(word)


def _count_at(
    tokens: Sequence[Token], at: int, length: int, forms: Sequence[re.Pattern[str]]
) -> re.Match[str] | None:
    phrase = plainly(" ".join(token.text for token in tokens[at : at + length]))
    for form in forms:
        if found := form.fullmatch(phrase):
            return found
    if at == 0 and length < len(tokens) and (found := _FIRST.fullmatch(phrase)):
        return found
    return None if phrase in SAFETY_CLASSES else _LATER.fullmatch(phrase)


def parted(tokens: Sequence[Token]) -> list[Token]:
    """The same with `12x4k7` at the start as two words."""
    if not tokens or (found := _RUN_INTO.match(tokens[0].text)) is None:
        return list(tokens)
    if offers_of(tokens[0].text):  # 5x20mm is a fuse by its size
        return list(tokens)
    whole = tokens[0]
    cut = whole.start + found.end()
    head = Token(whole.text[: found.end()], whole.start, cut)
    return [head, Token(whole.text[found.end() :], cut, whole.end), *tokens[1:]]
