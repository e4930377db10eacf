"""What is left of a line once its other words are claimed, read as a value, a marking or a type.  Pure."""

import re
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from inventory.decoding import MalformedMarking, Question, Reading, decode, potentiometers, spec_of, unlisted
from inventory.decoding.bands import SPELLINGS, in_one_language
from inventory.decoding.cyrillic import in_latin
from inventory.decoding.patterns import UNREAD
from inventory.part_lines.doubts import About, Doubt
from inventory.part_lines.words import Token
from inventory.part_words.kind_words import plainly
from inventory.spec import (
    UNITS,
    AmbiguousValue,
    Spec,
    SpecError,
    UnreadableValue,
    parse_value,
    values_in_text,
)
from inventory.type_numbers import entry_of

MAX_READINGS = 4
ON_CHIPS = "smd"
"""The body of which the line says no more than that its leads are of that sort."""
ON_SMALL = "sot or smd"
"""The body that a mark of two or three characters behind the reference of a semiconductor stands on."""
_SMALL_MARK = re.compile(r"(?=.*[A-Z])[A-Z0-9]{2,3}")
_CHIP_CODE = re.compile(r"[0-9]{2}[1-9]|[0-9]{3}[1-9]")
"""With a nought behind it a code and plain ohms differ as little as a person takes care: 100, 4700."""
BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_TYPE = re.compile(r"(?=[^0-9]*[0-9])(?=.*[A-Za-z])[A-Za-z0-9][A-Za-z0-9./+_-]{1,40}|[0-9]{4,6}")
_MANY_OHMS = re.compile(r"[0-9]{5,9} ?[ΩR]")
"""More figures than a code on a part has: a person wrote them."""
_OF_CHIPS = re.compile(r"two-character|three-character|semiconductor code|mark not known|SMD", re.IGNORECASE)
_SURE = 0.8
_UNLIKELY = 0.01
"""The share of a reading of a kind that is not among the first where no kind is said."""
_BETWEEN = "-/"
"""What parts a type from its speed or version, and which a reading need not name."""
_RATING = re.compile(r"[0-9]{1,3}(?:[.,][0-9]+)? ?(?:V|A|mA|W|mm|%)", re.IGNORECASE)
"""What a person says of a part; it is printed alone on a zener too, which they would name."""
_COLOURS = frozenset(word for word in SPELLINGS if len(word) > 2)
"""Two letters are as often something else."""


def are_bands(tokens: Sequence[Token]) -> bool:
    """Whether all the words are colours, three or more: then red is a figure and not the light of a lamp."""
    return len(tokens) > 2 and _COLOURS.issuperset(in_one_language(_plain(tokens)))


def in_english(tokens: Sequence[Token]) -> list[Token]:
    """Bands by the words that the reader of colours has for them."""
    colours = in_one_language(_plain(tokens))
    return [
        replace(token, text=SPELLINGS[colour], typed=token.as_typed)
        for token, colour in zip(tokens, colours, strict=True)
    ]


def _plain(tokens: Sequence[Token]) -> list[str]:
    return [plainly(token.text) for token in tokens]


def is_small_mark(left: Sequence[Token]) -> bool:
    """3F, M7, 1AM: what stands on bodies that are too small for a type."""
    return len(left) == 1 and _SMALL_MARK.fullmatch(left[0].text) is not None


@dataclass(frozen=True)
class Core:
    """A part by what stands on it; `read` are the tokens that say so, with their meaning.

    `unitless` is a figure of which nothing says in what unit it is, or that it is a printed code.
    """

    spec: Spec | None
    kind: str
    read: dict[Token, tuple[str, str]]
    score: float = 1.0
    doubt: Doubt | None = None
    ambiguous: bool = False
    unitless: Token | None = None
    usual_tolerance: bool = False
    """Its tolerance is only what such codes usually have: one that is typed takes its place."""


def cores_of(left: Sequence[Token], kinds: tuple[str, ...], asking: Question) -> Iterator[Core]:
    if not left:
        return
    if are_bands(left):
        yield from _marked(left, "", replace(asking, bands=tuple(token.text for token in left)))
        return
    seen, beside = False, False
    many_ohms = any(_MANY_OHMS.fullmatch(text) for text in (*_texts(left), *_texts(left, 2)))
    if "resistor" in kinds and asking.body == ON_CHIPS:
        yield from _printed_codes(left, asking)
    for kind in kinds or (("resistor",) if many_ohms else ()):
        if any(entry_of(each, token.text) for each in kinds if each != kind for token in left):
            continue  # VR1 7805 and 78L05 are regulators, and no resistors of that value
        for core in _values(left, kind, asking):
            bare = [bool(BARE.fullmatch(token.text)) for token in left if token not in core.read]
            seen, beside = True, bool(bare) and all(bare) and core.unitless is None
            yield core
        if beside:
            yield from _marked(left, kind, asking)  # 10u 16 is 16 V
    if not seen:
        for subset in (left, *([token] for token in left if len(left) > 1)):
            is_bare = not kinds and len(subset) == 1 and bool(BARE.fullmatch(subset[0].text))
            for core in _bare_figure(subset[0], asking) if is_bare else _of_kinds(subset, kinds, asking):
                seen = True
                yield core if kinds else _as_bare(core, subset)
            if seen:
                break
    if not seen and kinds:
        types = (each for each in left if _TYPE.fullmatch(each.text) and not values_in_text(each.text))
        token = next(types, None)
        if token is not None:
            kind = kinds[0]
            spec = Spec(kind=kind, number=token.text)
            doubt: Doubt | None = _unknown_type(token.text, kind_known=True)
            yield Core(spec, kind, {token: ("number", token.text)}, doubt=doubt)


def _printed_codes(left: Sequence[Token], asking: Question) -> Iterator[Core]:
    """103 said of a chip resistor: its print, and what else it would be as plain ohms (IEC 60062)."""
    token = next((each for each in left if _CHIP_CODE.fullmatch(each.text)), None)
    if token is None:
        return
    for core in _marked([token], "resistor", asking):
        if core.spec is not None:
            said = f"{core.spec.value_text} by the code on chips: write {token.as_typed} Ω if that is meant"
            doubt = Doubt(f"{token.as_typed} is read as {said}", About.NO_UNIT)
            yield replace(core, doubt=doubt, ambiguous=True, unitless=token)


def _texts(left: Sequence[Token], length: int = 1) -> list[str]:
    """Every so many words that follow each other, with spaces between."""
    return [" ".join(each.text for each in left[at : at + length]) for at in range(len(left) - length + 1)]


def _values(left: Sequence[Token], kind: str, asking: Question) -> Iterator[Core]:
    """What is left as a plain value of this kind."""
    if kind not in UNITS:
        return
    for at, token in enumerate(left):
        for together in (left[at : at + 2], [token]):
            text = " ".join(each.text for each in together)
            try:
                units = [parse_value(kind, text)]
                doubt = None
            except AmbiguousValue as several:
                units = _likeliest_first(text, [number for _text, number in several.choices], kind, asking)
                doubt = Doubt(str(several))
            except UnreadableValue:
                continue
            for number in units:
                spec = Spec(kind=kind, value=number)
                read = dict.fromkeys(together, ("value", spec.value_text))
                unitless = token if doubt and BARE.fullmatch(text) else None
                yield Core(spec, kind, read, doubt=doubt, ambiguous=bool(doubt), unitless=unitless)
            return


def _likeliest_first(text: str, units: Sequence[int], kind: str, asking: Question) -> list[int]:
    """The choices in the order in which the reader of markings ranks them."""
    decoded = _decoded(Question(marking=text, kind=kind, body=asking.body, limit=2 * MAX_READINGS))
    rank = {each.spec.value: at for at, each in reversed(list(enumerate(decoded)))}
    return sorted(units, key=lambda number: rank.get(number, len(rank)))


_TOLERANCES = frozenset("FGJKMZ")


def _as_bare(core: Core, words: Sequence[Token]) -> Core:
    """The same, in doubt where all that is read of several words is a figure without a unit: blue box 4."""
    (figure, *more) = core.read
    others = [each for each in more if each.text not in _TOLERANCES]  # 3300 and M: no unit either
    named = core.spec is not None and core.spec.number
    if others or named or len(words) < 2 or not BARE.fullmatch(figure.text):
        return core
    return replace(core, doubt=no_unit(figure.as_typed), ambiguous=True, unitless=figure)


def no_unit(figure: str, *others: str) -> Doubt:
    """What to ask of a figure that stands without its unit; `others` are ways to write what it may mean."""
    written = " or ".join(f"{each} Ω" for each in others or (figure,))
    sentence = f"{figure} has no unit: write {written}, a value such as 4k7, or say what it is"
    return Doubt(sentence, About.NO_UNIT)


def _bare_figure(token: Token, asking: Question) -> Iterator[Core]:
    """A figure without a unit, of nobody knows what."""
    doubt = no_unit(token.as_typed)
    for core in _marked([token], "", asking):
        a_value = core.spec is not None and core.spec.value is not None
        yield replace(core, doubt=doubt, ambiguous=True, unitless=token) if a_value else core
    try:
        with_unit = Spec(kind="resistor", value=parse_value("resistor", token.text))
    except (UnreadableValue, SpecError):
        return
    read = {token: ("value", with_unit.value_text)}
    yield Core(with_unit, "resistor", read, score=0.5, doubt=doubt, ambiguous=True, unitless=token)


def _of_kinds(left: Sequence[Token], kinds: tuple[str, ...], asking: Question) -> Iterator[Core]:
    """What is left as a marking of any of these kinds; of several, by what it is where no kind is said."""
    cores = [core for kind in kinds or ("",) for core in _marked(left, kind, asking)]
    if len(kinds) > 1:
        text = " ".join(token.text for token in left)
        free = _decoded(_asked(text, "", asking))
        scores: dict[Spec | None, float] = {each.spec: each.score for each in free}
        cores = [replace(core, score=scores.get(core.spec, _UNLIKELY * core.score)) for core in cores]
        cores.sort(key=lambda core: -core.score)
    yield from cores


def _marked(left: Sequence[Token], kind: str, asking: Question) -> Iterator[Core]:
    """What is left as a marking, by the reader of markings."""
    text = " ".join(token.text for token in left)
    marking = "" if asking.bands else text
    for decoded in _decoded(_asked(marking, kind, asking)):
        spec, read = decoded.spec, _read_of(left, decoded.used)
        doubt: Doubt | None = None
        if decoded.unknown:
            if not all(_TYPE.fullmatch(token.text) for token, whole in read.items() if whole):
                continue
            doubt = _unknown_type(spec.number, bool(kind))
        elif decoded.taper_in_doubt:
            doubt = Doubt(f"{text}: {potentiometers.CAUTION}, or say lin or log")
        elif decoded.sections:
            doubt = Doubt(
                f"{text}: several capacitors in one can, and one is kept here: note {decoded.sections} too"
            )
        elif decoded.of_chips and asking.body == ON_SMALL:
            doubt = _code_of(text, spec.number)
        elif (decoded.coloured and not asking.bands) or (decoded.of_chips and not asking.body):
            continue  # a colour alone is a word of the body; codes of chips stand on chips
        if any(read.values()):
            meanings = _meanings(spec, read, decoded.used)
            ambiguous = bool(doubt) and not kind
            yield Core(
                spec,
                spec.kind,
                meanings,
                decoded.score,
                doubt,
                ambiguous,
                usual_tolerance=decoded.usual_tolerance,
            )


def as_printed(tokens: Sequence[Token], kind: str, asking: Question) -> Core | None:
    """All these words as one marking, of which the reader of markings is sure; it may pass over signs."""
    text = " ".join(token.text for token in tokens)
    if _RATING.fullmatch(text):
        return None
    first = next(iter(_decoded(_asked(text, kind, asking))), None)
    if first is None or first.score < _SURE or first.unknown or first.coloured or first.of_chips:
        return None
    marks = _marks(first.used)
    read, doubts = {}, []
    for token, word in zip(tokens, _spelled(tokens), strict=True):
        meant, over = _take(marks, word)
        if any(meant):
            read[token] = ("marking", first.spec.text)
            doubts += [f"{over} of {token.as_typed} is not read"] if over else []
    if marks or not read:
        return None
    doubt = Doubt("; ".join(doubts)) if doubts else None
    return Core(first.spec, first.spec.kind, read, first.score, doubt)


def _code_of(mark: str, number: str) -> Doubt:
    if mark == number:
        return _unknown_type(number, kind_known=True)
    return Doubt(f"{mark} is a code of {number}, and with other makers of other types: test it")


def _unknown_type(number: str, kind_known: bool) -> Doubt:
    if kind_known:
        sentence = f"{number} is taken for its type number: no naming system that is known here reads it"
    else:
        sentence = f"{number} is a type that is not known here: say what kind of part it is"
    return Doubt(sentence, About.UNLISTED_TYPE)


def _meanings(
    spec: Spec, read: dict[Token, bool], used: Sequence[tuple[str, str]]
) -> dict[Token, tuple[str, str]]:
    """What each word that is read was read as: the value or type of the only one, else by its signs."""
    if len(read) == 1:
        name = "value" if spec.value is not None else "number" if spec.number else "marking"
        return dict.fromkeys(read, (name, spec.value_text or spec.number or spec.text))
    meanings, pieces = {}, list(used)
    for token in read:
        length, words = 0, []
        while pieces and length < len(token.text):
            characters, meaning = pieces.pop(0)
            length += len("".join(characters.split()))
            words.append(meaning)
        if read[token]:
            meanings[token] = ("marking", "; ".join(filter(None, words)) or spec.text)
    return meanings


@dataclass(frozen=True)
class _Decoded:
    """A reading of a marking that states a part; `unknown` where its type is in no list known here."""

    spec: Spec
    used: tuple[tuple[str, str], ...]
    score: float
    unknown: bool
    coloured: bool
    of_chips: bool
    taper_in_doubt: bool
    usual_tolerance: bool
    sections: str
    """Further capacitors in the same can: +8."""


def _asked(marking: str, kind: str, asking: Question) -> Question:
    return replace(asking, marking=marking, kind=kind, limit=2 * MAX_READINGS)


@lru_cache(maxsize=20_000)
def _decoded(question: Question) -> tuple[_Decoded, ...]:
    try:
        answer = decode(question)
    except MalformedMarking:
        return ()
    return tuple(
        _Decoded(
            spec,
            reading.used,
            reading.score,
            unknown=reading.notation == unlisted.TYPE,
            coloured="colour" in reading.notation or "band" in reading.notation,
            of_chips=_OF_CHIPS.search(reading.notation) is not None,
            taper_in_doubt=potentiometers.CAUTION in reading.cautions,
            sections=str(reading.traits.get("further_sections", "")),
            usual_tolerance=reading.usual_tolerance,
        )
        for reading in map(_as_typed, answer.readings)
        if (spec := spec_of(reading)) is not None
    )


def _as_typed(reading: Reading) -> Reading:
    """Without a tolerance that goes with a printed code where none is: 4k7 beside 0805 is a person's word."""
    if reading.usual_tolerance and not reading.used[0][0].isdigit():
        return replace(reading, tolerance_percent=None, usual_tolerance=False)
    return reading


def _read_of(left: Sequence[Token], used: Sequence[tuple[str, str]]) -> dict[Token, bool]:
    """Which words a reading reads to their last character."""
    marks = _marks(used)
    taken = {token: _take(marks, word) for token, word in zip(left, _spelled(left), strict=True)}
    if not marks and not any(over for _meant, over in taken.values()):
        return {token: all(meant) for token, (meant, _over) in taken.items()}
    if (
        len(left) == 1
        and all(meaning for _signs, meaning in used)
        and _sorted(used) == sorted("".join(_spelled(left)).casefold())
    ):
        return dict.fromkeys(left, True)  # 8+8uF is named as 8 uF and +8
    return {token: (token.text in {signs for signs, meaning in used if meaning}) for token in left}


def _sorted(used: Sequence[tuple[str, str]]) -> list[str]:
    return sorted("".join(signs for signs, _meaning in used).casefold().replace(" ", ""))


def _spelled(tokens: Sequence[Token]) -> list[str]:
    """The words as the reader of markings names them: 100мкФ as 100µF."""
    typed = [token.text for token in tokens]
    spelled = in_latin(" ".join(typed)).split()
    return spelled if len(spelled) == len(typed) else typed


def _marks(used: Sequence[tuple[str, str]]) -> deque[tuple[str, bool]]:
    """Every sign that a reading names, in order, and whether it gives it a meaning."""
    return deque(
        (sign.casefold(), bool(meaning))
        for characters, meaning in used
        for sign in characters
        if not sign.isspace()
    )


_MICRO = re.compile(r"[µμ](?=A[0-9]|P[A-D])")
"""The first letter of two makers' chips, which a type has as U: µA741, µPD4164."""


def _take(marks: deque[tuple[str, bool]], word: str) -> tuple[list[bool], str]:
    """Take the signs of a word off a reading: whether each means something, and those that it passes over."""
    meant, over = [], ""
    for sign in _MICRO.sub("u", word):
        if marks and (marks[0][0] == sign.casefold() or sign == UNREAD):
            meant.append(marks.popleft()[1])
        elif sign not in _BETWEEN:
            over += sign
    return meant, over
