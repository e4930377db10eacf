"""What a person says about a part, all of it as text, made into a question for the decoder. Pure.

The API, the command and the pages ask in the same words: `marking` or `bands`, and any of `kind`, `measured`,
`measured_tolerance`, `expected`, `body`, `era`, `scheme`, `doubtful`, `limit`.
"""

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from inventory.decoding import Question
from inventory.decoding.band_reader import BAND_SCHEMES
from inventory.refusals import Code
from inventory.spec import KINDS, UNITS, AmbiguousValue, UnreadableValue, parse_value
from inventory.whole_numbers import whole_number

NAMES = (
    "marking", "bands", "kind", "measured", "measured_tolerance", "expected", "body", "era", "scheme",
    "doubtful", "limit",
)  # fmt: skip
MAX_READINGS = 1000
USUAL_READINGS = 20
LONGEST_WORDS = 200
BARE = re.compile(r"[0-9.,]+")
ERA = re.compile(r"((?:18|19|20)[0-9]{2})(s?)")
PERCENT = re.compile(r"[0-9]{1,3}(?:\.[0-9]{1,4})?")
PLAIN_SCHEMES = frozenset(scheme.notation.kind for scheme in BAND_SCHEMES if not scheme.keywords)
"""Kinds whose own bands need no scheme to be named: resistor, inductor, diode."""


class Wrong(NamedTuple):
    """One thing that cannot be understood: which of NAMES, a stable word for programs, and what is wanted."""

    name: str
    code: Code
    detail: str


class BadQuestion(ValueError):
    """What was said cannot be made into a question; `problems` is everything wrong with it."""

    def __init__(self, problems: list[Wrong]) -> None:
        super().__init__("; ".join(f"{each.name}: {each.detail}" for each in problems))
        self.problems = tuple(problems)


class _BadQuestion(ValueError):
    def __init__(self, detail: str, code: Code = Code.UNREADABLE) -> None:
        super().__init__(detail)
        self.code = code


def question_of(texts: Mapping[str, str]) -> Question:
    """The question; BadQuestion names everything that cannot be understood.

    >>> question = question_of({"bands": "yellow,violet,red|orange,gold", "measured": "4.68k"})
    >>> question.bands, question.measured["resistor"]
    (('yellow', 'violet', 'red|orange', 'gold'), 4680000000)
    """
    problems: list[Wrong] = []
    if ("marking" in texts) == ("bands" in texts):
        detail = "expected either a marking or bands" if "marking" in texts else "say a marking, or bands"
        problems.append(Wrong("marking", Code.REQUIRED, detail))
    stated: dict[str, Any] = {}
    for name, read in _READERS.items():
        if name in texts:
            try:
                stated[name] = read(texts[name])
            except _BadQuestion as refused:
                problems.append(Wrong(name, refused.code, str(refused)))
    kind = _kind_stated(stated, problems)
    if not any(problem.name == "kind" for problem in problems):
        ohms = not kind and "bands" in texts and not stated.get("scheme")
        for name in ("measured", "expected"):
            if name in texts:
                try:
                    stated[name] = _units(texts[name].strip(), kind, ohms)
                except _BadQuestion as refused:
                    problems.append(Wrong(name, refused.code, str(refused)))
    if "measured_tolerance" in texts and "measured" not in texts:
        problems.append(Wrong("measured_tolerance", Code.REQUIRED, "says nothing without what was measured"))
    if problems:
        raise BadQuestion(problems)
    return Question(**stated)


def _kind_stated(stated: dict[str, Any], problems: list[Wrong]) -> str:
    """The kind, also where it is only said as a scheme: `resistor bands`."""
    scheme = str(stated.get("scheme", "")).lower().removesuffix(" bands").strip()
    if scheme in PLAIN_SCHEMES:
        stated["scheme"] = ""
        if stated.setdefault("kind", scheme) != scheme:
            problems.append(
                Wrong("scheme", Code.CONTRADICTION, f"{scheme} bands are not of a {stated['kind']}")
            )
    return str(stated.get("kind", ""))


def _bands(text: str) -> tuple[str, ...]:
    """The colours; between commas, else between strokes and spaces, but never inside square brackets."""
    between = "," if "," in re.sub(r"\[[^\]]*\]", "", text) else r"-|\s+"
    return tuple(each.strip() for each in re.split(rf"(?:{between})(?![^\[]*\])", text.strip()))


def _kind(text: str) -> str:
    if text not in KINDS:
        raise _BadQuestion(
            f"{text[:40]!r} is not a kind of part; expected one of {', '.join(KINDS)}", Code.INVALID_CHOICE
        )
    return text


def _units(text: str, kind: str, ohms: bool) -> int | dict[str, int]:
    """Smallest units of that kind; of every kind that the unit allows where the kind is not said.

    `ohms`: a bare figure is one of ohms.
    """
    if kind:
        if kind not in UNITS:
            raise _BadQuestion(f"a {kind} has no value to be measured", Code.NOT_OF_KIND)
        return _parsed(kind, text)
    if BARE.fullmatch(text):
        if not ohms:
            raise _BadQuestion(
                f"{text[:40]} of what? Say the kind, or write it with its unit: 4.7k, 98n, 10 µH",
                Code.AMBIGUOUS,
            )
        return {"resistor": _parsed("resistor", text)}
    found: dict[str, int] = {}
    unclear = ""
    for each in UNITS:
        try:
            found[each] = parse_value(each, text)
        except AmbiguousValue as refused:
            unclear = str(refused)
        except UnreadableValue:
            continue
    if not found:
        raise _BadQuestion(
            unclear or f"{text[:40]!r}: expected a value such as 4k7, 98n or 10 µH",
            Code.AMBIGUOUS if unclear else Code.UNREADABLE,
        )
    return found


def _parsed(kind: str, text: str) -> int:
    try:
        return parse_value(kind, text)
    except UnreadableValue as refused:
        raise _BadQuestion(
            str(refused), Code.AMBIGUOUS if isinstance(refused, AmbiguousValue) else Code.UNREADABLE
        ) from None


def _per_cent(text: str) -> Decimal:
    if not PERCENT.fullmatch(text) or not 0 < Decimal(text) <= 100:
        raise _BadQuestion("expected per cent above 0, at most 100, such as 1.5")
    return Decimal(text)


def _year(text: str) -> int:
    found = ERA.fullmatch(text.strip())
    if not found or (found[2] and found[1][3] != "0"):
        raise _BadQuestion("expected a year such as 1982, or a decade such as 1980s")
    return int(found[1]) + (5 if found[2] else 0)


def _scheme(text: str) -> str:
    """Any words that hold a word which some scheme goes by."""
    low = _words(text).lower()
    if low.removesuffix(" bands").strip() not in PLAIN_SCHEMES and not any(
        word in low for scheme in BAND_SCHEMES for word in scheme.keywords
    ):
        raise _BadQuestion(
            f"{text[:40]!r} names no colour scheme: decode/schemes/ lists them", Code.INVALID_CHOICE
        )
    return text


def _words(text: str) -> str:
    if len(text) > LONGEST_WORDS:
        raise _BadQuestion(f"at most {LONGEST_WORDS} characters", Code.MAX_LENGTH)
    return text


def _yes_or_no(text: str) -> bool:
    if text not in ("true", "false"):
        raise _BadQuestion("expected true or false")
    return text == "true"


def _limit(text: str) -> int:
    number = whole_number(text) or 0
    if not 1 <= number <= MAX_READINGS:
        raise _BadQuestion(f"expected a whole number from 1 to {MAX_READINGS}")
    return number


_READERS: dict[str, Callable[[str], Any]] = {
    "marking": str,
    "bands": _bands,
    "kind": _kind,
    "measured_tolerance": _per_cent,
    "body": _words,
    "era": _year,
    "scheme": _scheme,
    "doubtful": _yes_or_no,
    "limit": _limit,
}
