"""A line of parts read, and what nobody can know of it asked: how many or volts, thousands or not.  Pure."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from inventory.decoding import Question
from inventory.decoding.named_parts import is_listed
from inventory.decoding.series import series_of
from inventory.part_lines.cores import BARE, MAX_READINGS, no_unit
from inventory.part_lines.doubts import About, Doubt
from inventory.part_lines.parsing import UNKNOWN, PartLine, PartReading, parse_words
from inventory.part_lines.words import (
    LineWord,
    Token,
    by_sign,
    open_figure,
    tokens_of,
    with_its_unit,
)
from inventory.part_words.kind_words import NamedKind
from inventory.spec import (
    Spec,
    parse_value,
    values_in_text,
)
from inventory.whole_numbers import MAX_PIECES

LONGEST = 200
_PIECES = re.compile(r"[1-9][0-9]{0,5}")
_CODE = re.compile(r"[0-9]{3}[A-Z]")
"""104K (IEC 60062): what stands beside such a code is printed, too (common practice, no source)."""
_UNPRINTED = "V not printed"
_DATE = re.compile(r"(?:.*; )?(?:[0-9]{4} week [0-9]{1,2}|[A-Z][a-z]+ [0-9]{4})")
_YEAR_AND_WEEK = re.compile(r"[6-9][0-9]{3}")
"""The date of a part of the last century, beside its type number: nobody types that many pieces.  What else
may be a date is as likely how many (common practice, no source).
"""
_FOUR = re.compile(r"[0-9]{4}")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2}(?: [0-9]{3})+")
_BY_NUMBER = frozenset(("diode", "transistor", "ic", "regulator", "crystal"))
"""Kinds whose figures are never counted by thousands: 2.495 V, 3.579 MHz."""
_NOTHING_KNOWN = Question()


def read_line(
    text: str,
    *,
    kind: str | NamedKind = "",
    asking: Question = _NOTHING_KNOWN,
    counted: bool = False,
    decided: bool = False,
) -> PartLine:
    """Read one line of parts, such as `R1, R3 47k 5% 0.25W` or `12 x 100n 275V X2`.

    `kind` is what the part is where that is known beforehand, by name or as a word named it; `asking`
    brings what a bench holds and wants, by which doubtful markings are ranked.  `counted`: how many there
    are stands elsewhere; `decided`: 2.200 has decimals, and no thousands.  Every word is in `words`:
    understood, or with the reason why not.
    """
    if len(text) > LONGEST:
        word = LineWord(text, 0, len(text), reason=f"at most {LONGEST} characters for each part")
        return PartLine(text, without_part=(word,))
    known = kind if isinstance(kind, NamedKind) else NamedKind(kind) if kind else None
    tokens = with_its_unit(text, apart := tokens_of(text))
    if (figure := open_figure(text, tokens)) is None:
        line = _with_count(text, tokens, known, asking, counted)
        if counted or line.refs or line.quantity is not None or tokens[:1] == apart[:1]:
            return line
        return _or_pieces(line, tokens[0], parse_words(text, apart[1:], known, asking))
    sign = next(each for each in figure.text if each in ".,")
    with_decimals = _with_count(text, by_sign(text, tokens, sign), known, asking, counted)
    if decided:
        return with_decimals
    other = "," if sign == "." else "."
    return _either(
        text, figure, with_decimals, _with_count(text, by_sign(text, tokens, other), known, asking, counted)
    )


def _either(text: str, figure: Token, with_decimals: PartLine, with_thousands: PartLine) -> PartLine:
    """The line of which nobody knows whether a figure has decimals or thousands, where it may have either."""
    first, second = with_decimals.spec, with_thousands.spec
    if (
        second is not None
        and second.number
        and second.number in figure.text.replace(".", "").replace(",", "")
    ):
        return with_decimals  # 2.540 beside a header is no type number 2540
    if first is None or second is None or len(with_thousands.unread) > len(with_decimals.unread):
        return with_decimals if first or second is None else with_thousands
    if first == second or any(word.start == figure.start for word in with_decimals.unread):
        return with_decimals
    typed = text[figure.start : figure.end]
    unitless = with_decimals.unitless is not None and with_decimals.unitless.start == figure.start
    if unitless and any(each.about is About.NO_UNIT for each in with_decimals.doubts):
        decimals, thousands = f"{Decimal(typed.replace(',', '.')).normalize():f}", re.sub("[.,]", "", typed)
        doubt = no_unit(typed, decimals, thousands)
        second = Spec(kind="resistor", value=parse_value("resistor", f"{thousands} Ω"))
    elif _may_have_thousands(first, second):
        doubt = Doubt(f"{typed} could be {first.text} or {second.text}: write the one that is meant")
    else:
        return with_decimals
    words = with_thousands.readings[0].words
    both = {second: PartReading(second, words), first: with_decimals.readings[0]}
    rest = (each for line in (with_decimals, with_thousands) for each in line.readings[1:])
    readings = [both[first], both[second], *(each for each in rest if each.spec not in both)]
    settled = {About.ANOTHER_READING, *([About.NO_UNIT] if unitless else [])}
    doubts = (doubt, *(each for each in with_decimals.doubts if each.about not in settled))
    return replace(with_decimals, readings=tuple(readings[:MAX_READINGS]), doubts=doubts, ambiguous=True)


def _or_pieces(line: PartLine, figure: Token, rest: PartLine) -> PartLine:
    """2 200 µF is 2200 µF or two of 200 µF; nobody makes 700 µF or counts to 0."""
    if not _THOUSANDS.fullmatch(figure.as_typed) or rest.spec is None or not line.spec or rest.unread:
        return line
    pieces, one = figure.as_typed.split(maxsplit=1)
    if one.startswith("0") or series_of(int("".join(one.split()))) not in ("E6", "E12", "E24"):
        return line
    behind = line.text[figure.end :].strip()
    doubt = Doubt(
        f"{figure.as_typed} {behind} could be {figure.text} {behind}, or {pieces} of {one} {behind}"
    )
    word = LineWord(pieces, figure.start, figure.start + len(pieces), "quantity", pieces)
    other = replace(_with_word(rest.readings[:1], word)[0], quantity=int(pieces))
    readings = (line.readings[0], other, *line.readings[1:])[:MAX_READINGS]
    return replace(line, readings=readings, doubts=(doubt, *line.doubts), ambiguous=True)


def _may_have_thousands(first: Spec, second: Spec) -> bool:
    """Whether parts of the kind are sold by thousands of what differs (common practice, no source).

    Ohms and farads are, the volts of capacitors and the ohms of a relay's coil; a battery of 1500 V or a
    speaker of 8000 ohms is not meant.
    """
    if first.value != second.value:
        return first.kind not in _BY_NUMBER
    if first.volts != second.volts:
        return first.kind == "capacitor"
    return first.traits.get("device") == "relay" and first.facts.get("ohms") != second.facts.get("ohms")


def _with_count(
    text: str, tokens: Sequence[Token], known: NamedKind | None, asking: Question, counted: bool
) -> PartLine:
    """The line, where a bare whole number at its start or end may say how many if nothing else does."""
    line = parse_words(text, tokens, known, asking)
    if line.quantity is not None or len(tokens) < 2:
        return line
    if _FOUR.fullmatch(tokens[0].text) and not line.refs:
        behind = parse_words(text, [*tokens[1:], tokens[0]], known, asking)
        if behind.spec and behind.spec.number and _date_in(behind, tokens[0]):
            line = behind
    for figure in (tokens[0], tokens[-1]):
        if _PIECES.fullmatch(figure.text) and int(figure.text) <= MAX_PIECES:
            rest = [token for token in tokens if token is not figure]
            without = parse_words(text, rest, known, asking)
            if counted or line.refs:
                found = _beside_a_type(line, figure, without)
            else:
                found = _as_pieces(line, figure, rest, without)
            if found is not None:
                return found
    return replace(line, doubts=(*line.doubts, *_unlikely(line, tokens, counted)))


def _unlikely(line: PartLine, tokens: Sequence[Token], counted: bool) -> Iterator[Doubt]:
    """What is said of a bare figure that was read as volts or as a date beside what a person wrote."""
    is_written = any(_is_written(token.text) for token in tokens)
    for word in line.words:
        if is_written and _UNPRINTED in word.meaning:
            yield Doubt(f"{word.text} is read as {word.meaning}")
        date = _date_of(word)
        printed = counted and _YEAR_AND_WEEK.fullmatch(word.text)
        if date and not printed and (is_written or (line.spec and line.spec.number)):
            yield Doubt(f"{word.text} is read as a date, {date}")


def _date_of(word: LineWord) -> str:
    """The date that a bare figure was read as; blank where it was not."""
    is_date = word.property_name == "marking" and word.text.isdigit() and _DATE.fullmatch(word.meaning)
    return word.meaning.rpartition("; ")[2] if is_date else ""


def _date_in(line: PartLine, figure: Token) -> str:
    return next((_date_of(word) for word in line.words if word.start == figure.start), "")


def _beside_a_type(line: PartLine, figure: Token, without: PartLine) -> PartLine | None:
    """The line by the type beside a bare figure that was read for the part; None where it is no such line."""
    part, taken = without.spec, line.spec
    if part is None or not part.number or without.doubts or (taken is not None and taken.number):
        return None
    word = LineWord(line.text[figure.start : figure.end], figure.start, figure.end, reason=UNKNOWN)
    return replace(without, text=line.text, readings=_with_word(without.readings, word))


def _with_word(readings: Sequence[PartReading], word: LineWord) -> tuple[PartReading, ...]:
    return tuple(
        replace(each, words=tuple(sorted((*each.words, word), key=lambda one: one.start)))
        for each in readings
    )


def _as_pieces(line: PartLine, figure: Token, rest: Sequence[Token], without: PartLine) -> PartLine | None:
    """The line with a figure for how many, where the `rest` is a part by itself; None where it is none.

    What is printed on parts stays what it is: 104K 100 and 47 16 are so many volts, and beside a type number
    8213 is a date, before it or behind it.
    """
    part, date = without.spec, _date_in(line, figure)
    if any(word.understood and word.start == figure.start and word.end > figure.end for word in line.words):
        return None  # 4 ns, 2 W
    unit = next((token.text for token in rest if token.start > figure.start), "")
    if unit.isalpha() and values_in_text(f"{figure.text} {unit}"):
        return None  # 100 UF
    if date and line.spec and line.spec.number and _YEAR_AND_WEEK.fullmatch(figure.text):
        return None
    if part is None or without.refs or without.ambiguous or len(without.unread) > len(line.unread):
        return None
    if not (part.number or any(_is_written(token.text) for token in rest)):
        return None
    word = LineWord(line.text[figure.start : figure.end], figure.start, figure.end, "quantity", figure.text)
    readings = _with_word(without.readings, word)
    pieces = int(figure.text)
    if len(without.unread) < len(line.unread) and not date:
        doubt = Doubt(f"{figure.text} is taken for how many there are")
        return replace(
            without, text=line.text, readings=readings, quantity=pieces, doubts=(doubt, *without.doubts)
        )
    in_volts = any(word.meaning.startswith(f"{figure.text} V, the {_UNPRINTED}") for word in line.words)
    if not in_volts and not date and not (part.number and line.spec and not line.spec.number):
        return None
    rest_typed = " ".join(line.text[token.start : token.end] for token in rest)
    volts = (f", or {figure.text} V", f" or {figure.text}V {rest_typed}") if in_volts else ("", "")
    or_date = f" or a date, {date}" if date else ""
    doubt = Doubt(
        f"{figure.text} could be how many{volts[0]}{or_date}: write {figure.text} x {rest_typed}{volts[1]}"
    )
    others = [each for each in line.readings if all(word.start != figure.start for word in each.unread)]
    either = (replace(readings[0], quantity=pieces), *others)
    return replace(line, readings=either[:MAX_READINGS], doubts=(doubt, *line.doubts), ambiguous=True)


def _is_written(text: str) -> bool:
    """Whether it is a value as people write it, or a listed type, and no code as it is printed on a part."""
    is_value = bool(values_in_text(text)) and not BARE.fullmatch(text)
    return (is_value and not _CODE.fullmatch(text)) or is_listed(text)
