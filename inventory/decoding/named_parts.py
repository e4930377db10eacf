"""What a person typed beside a marking, and what it settles: a word for the kind, a reference before it.

`RL1 12V relay 2 c/o` is a relay whatever `12V` and `2` might be on a part that nobody named. The words, and
the letters of references, are those of lines of parts (`inventory.part_words`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, NamedTuple

from inventory.part_words.applying import apply_offers, is_of_coils, offers_in
from inventory.part_words.kind_words import CLASSES, DEVICES_OF_CLASS, Leading, NamedKind, leading
from inventory.spec import Spec
from inventory.type_numbers import entry_of

from .reading import Question, Reading, Readings
from .semiconductors import WELL_KNOWN
from .stated import IN_TRAITS
from .unknown_types import UNKNOWN

NAMED = "named in words"
SURE_WORD = "the word for the kind is taken as it stands"
BY_REFERENCE = "the letters of the reference say the kind (IEEE 315)"
_REF = re.compile(r"([A-Za-z]{1,3})[0-9]{1,3}:?")
_DEVICE_REF = re.compile(r"[A-Za-z]{1,3}[0-9]{1,2}:?")
_UNSURE = re.compile(r"[?\[\]|(){}]")
MAX_WORDS = 12
LONGEST_PHRASE = 4
_UNIT = re.compile(
    r"[0-9]*[.,]?[0-9]+ ?(?:[pnuµm]F?|[kKM]?(?:R|Ω|ohms?)|[kKM]|[unµm]?H|[kMG]?Hz)|[0-9]+[RkKMpnuµm][0-9]+"
)
"""A value that shows its unit."""
_CODE = re.compile(r"[0-9]{3}[FGJKM]?")
_FARADS = re.compile(r"[0-9] ?(?:[pnuµ]F|MFD|MMF)(?![A-Za-z])", re.IGNORECASE)
_TYPE = re.compile(
    r"(?!(?i:[0-9.,/]+(?:m?[WAV]|kV|mm)|x[0-9]{1,2})$)(?=.*[0-9])(?=.*[A-Za-z])[A-Za-z0-9][A-Za-z0-9./+-]{1,30}"
)
"""No rating, as 400mW is one, and no number of pieces."""
SEMICONDUCTORS = frozenset(("diode", "transistor", "ic", "regulator"))
FEWEST_OF_TYPE = 4
FOR_A_TYPE = frozenset(("heatsink", "insulator"))
SUFFIXES = "ABCDEGNPT"
"""Letters of versions and packages behind a number: LM358N, ULN2003A (common practice, no source)."""
BY_MARK = frozenset(("fuse", "other", "socket"))
"""Kinds whose marks say more than the words that stand in them: a cell's chemistry, a fuse's number."""
_CODED = frozenset(("resistor", "capacitor", "inductor"))

Decoder = Callable[[Question], Readings]


class _Typed(NamedTuple):
    """The words of a marking: the reference before the others, and the word that names the kind."""

    words: tuple[str, ...]
    ref: str
    word: Leading | None


def read_named(question: Question, decode: Decoder) -> Readings | None:
    """The answer where a word or a reference says the kind; None where neither does, or `decode` has to do
    with characters that nobody could read.
    """
    typed = _typed(question.marking)
    if typed is None:
        return None
    if typed.word is not None:
        return _by_word(question, typed, typed.word, decode)
    return _by_reference(question, typed, decode) if typed.ref else None


def _typed(marking: str) -> _Typed | None:
    words = marking.split()
    if not 1 <= len(words) <= MAX_WORDS or _UNSURE.search(marking):
        return None
    ref = _REF.fullmatch(words[0]) if len(words) > 1 else None
    first = 1 if ref is not None and ref[1].upper() in CLASSES else 0
    word = leading(words[first:])
    if word is not None:
        word = Leading(word.first + first, word.last + first, word.named)
    return _Typed(tuple(words), words[0] if first else "", word)


def _by_word(question: Question, typed: _Typed, word: Leading, decode: Decoder) -> Readings | None:
    named = word.named
    if question.kind not in ("", named.kind):
        return None
    if named.kind != "capacitor" and _FARADS.search(question.marking):
        return None  # RED LAMP .033 MFD is a maker's name
    words = typed.words
    at = 1 if typed.ref else 0
    rest = [*words[at : word.first], *words[word.last :]]
    stated = _stated(rest, named)
    if not rest or (not stated.left and named.kind not in BY_MARK):
        return Readings((_reading(typed, stated, SURE_WORD),))
    if named.kind not in SEMICONDUCTORS and any(map(is_listed, stated.left)):
        if _for_a_type(named):
            return Readings((_reading(typed, stated, SURE_WORD),))
        return None  # motor BC547 driver: a type that everybody knows outweighs a word beside it
    if named.kind == "thermistor":
        rated = _of_value(question, typed, named, rest, decode)
        if rated is not None:
            return rated
    answer = decode(replace(question, marking=" ".join(rest), kind=named.kind))
    readings = tuple(_with_facts(each, typed, named) for each in answer.readings if _says_part(each))
    best = next((each for each in readings if each.notation not in UNKNOWN), None)
    if best is not None and (stated.left or best.number):
        return replace(answer, readings=readings)
    if len(stated.used) > len(stated.left) or named.facts or not readings:
        return Readings((_reading(typed, stated, SURE_WORD),))
    return replace(answer, readings=readings)


def _for_a_type(named: NamedKind) -> bool:
    """A heat sink, an insulator or a socket is named by what it is for."""
    return named.kind == "socket" or dict(named.facts).get("device") in FOR_A_TYPE


def is_listed(word: str) -> bool:
    """Whether the word is a type of a semiconductor that the tables list, with its suffix or without."""
    number = word.upper()
    return len(number) > FEWEST_OF_TYPE and (
        not WELL_KNOWN.isdisjoint((number, number.rstrip(SUFFIXES)))
        or any(entry_of(kind, number) for kind in SEMICONDUCTORS)
    )


def _of_value(
    question: Question, typed: _Typed, named: NamedKind, rest: list[str], decode: Decoder
) -> Readings | None:
    """PTC 18R, NTC 10k: the ohms beside the word are the thermistor's own."""
    answer = decode(replace(question, marking=" ".join(rest), kind="resistor"))
    if not answer.readings or not _UNIT.fullmatch(rest[0]):
        return None
    return replace(
        answer,
        readings=tuple(_with_facts(replace(each, kind=named.kind), typed, named) for each in answer.readings),
    )


def _by_reference(question: Question, typed: _Typed, decode: Decoder) -> Readings | None:
    """Only where what stands behind the reference is a part of its class: BT136 600E is no battery."""
    letters = typed.ref.rstrip(":0123456789").upper()
    rest = typed.words[1:]
    for kind in CLASSES[letters]:
        if question.kind not in ("", kind):
            continue
        device = DEVICES_OF_CLASS.get(letters) if _DEVICE_REF.fullmatch(typed.ref) else None
        named = NamedKind(kind, (("device", device),) if device else ())
        if device is not None:
            stated = _stated(rest, named)
            if not stated.left:
                return Readings((_reading(typed, stated, BY_REFERENCE),))
        answer = decode(replace(question, marking=" ".join(rest), kind=kind))
        if answer.readings and _tells(answer.readings[0], rest):
            readings = tuple(_with_facts(each, typed, named) for each in answer.readings)
            return replace(answer, readings=readings)
    return None


def _tells(best: Reading, rest: tuple[str, ...]) -> bool:
    """Whether it is sure to be such a part: a value with its unit, a code of three figures, a known type."""
    if best.value is not None and not best.number:
        return bool(_UNIT.fullmatch(rest[0])) or (best.kind in _CODED and bool(_CODE.fullmatch(rest[0])))
    return bool(best.number) and best.notation not in UNKNOWN


_CATALOGUED = re.compile(r"\b[0-9]{4} [0-9]{3} [0-9]{5}\b")
"""Twelve figures in three groups, as one large maker numbers all it makes (from memory of its catalogues)."""


class _Stated(NamedTuple):
    """What the words say by themselves, each with its meaning, and those that they leave."""

    spec: Spec
    used: tuple[tuple[str, str], ...]
    left: tuple[str, ...]


def _stated(rest: list[str] | tuple[str, ...], named: NamedKind) -> _Stated:
    """The part of that kind that the words say; of what is left a word like a type number is its number."""
    data: dict[str, Any] = {"kind": named.kind}
    if named.facts:
        data["traits"] = dict(named.facts)
    used: list[tuple[str, str]] = []
    left: list[str] = []
    at = 0
    while at < len(rest):
        for length in range(min(LONGEST_PHRASE, len(rest) - at), 0, -1):
            text = " ".join(rest[at : at + length]).rstrip(",;")
            offers = offers_in(text)
            if not offers or (is_of_coils(offers) and named.kind != "other"):
                continue
            if named.kind != "capacitor" and any("safety_class" in offer for offer in offers):  # two: x2
                continue
            one = apply_offers(offers, data, named.kind)
            if one.reason:
                continue
            data = one.data or data
            used.append((text, f"{one.name.replace('_', ' ')}: {one.meaning}"))
            at += length
            break
        else:
            left.append(rest[at])
            used.append((rest[at], ""))
            at += 1
    number = next((each for each in left if _TYPE.fullmatch(each)), "")
    if catalogued := _CATALOGUED.search(" ".join(left)):
        number = catalogued[0]
        used = [(text, meaning or "catalogue number") for text, meaning in used]
    if number:
        data["number"] = number
        used = [(text, meaning or ("type number" if text == number else "")) for text, meaning in used]
    return _Stated(Spec.from_dict(data), tuple(used), tuple(left))


def _says_part(reading: Reading) -> bool:
    return reading.value is not None or bool(reading.number or reading.traits)


def _reading(typed: _Typed, stated: _Stated, reason: str) -> Reading:
    """The words as a reading: what it is, in one line, as its function."""
    spec = stated.spec
    traits = {**spec.traits, **_fields_of(spec)}
    if traits.get("function") == "zener" and spec.volts is not None:
        traits["zener_volts"] = spec.volts
    return Reading(
        spec.kind,
        tolerance_percent=spec.tolerance_percent,
        volts=spec.volts,
        number=spec.number,
        package=spec.package,
        function=spec.text,
        traits=traits,
        notation=NAMED,
        standard="common practice",
        score=1.0,
        reasons=(reason,),
        used=_in_order(typed, stated.used),
    )


def _fields_of(spec: Spec) -> dict[str, Any]:
    """What no Reading has a field for, under the name that a Spec has for it."""
    return {name: fact for name in IN_TRAITS if (fact := getattr(spec, name)) not in (None, "")}


def _with_facts(reading: Reading, typed: _Typed, named: NamedKind) -> Reading:
    """A reading of the rest with what the word says, and the word among what was used."""
    facts = {name: fact for name, fact in named.facts if name not in reading.traits}
    return replace(reading, traits={**reading.traits, **facts}, used=_in_order(typed, reading.used))


def _in_order(typed: _Typed, used: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
    """With the reference before it and the word for the kind where it stood, as near as that can be told."""
    pieces = list(used)
    if typed.word is not None:
        text = " ".join(typed.words[typed.word.first : typed.word.last])
        before, at, seen = "".join(typed.words[bool(typed.ref) : typed.word.first]), 0, 0
        while at < len(pieces) and seen < len(before):
            seen += len("".join(pieces[at][0].split()))
            at += 1
        pieces.insert(at, (text, "names the kind"))
    return (*_reference(typed), *pieces)


def _reference(typed: _Typed) -> Iterator[tuple[str, str]]:
    if typed.ref:
        yield typed.ref, "reference"
