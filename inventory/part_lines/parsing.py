"""The words of a line of parts read: references, how many, which part, and what becomes of every word.  Pure.

`claiming` says what words claim; here it is tried how many of them are references, what is left is read as a
marking, and both become the answer.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from inventory.decoding import Question
from inventory.decoding.named_parts import is_listed
from inventory.part_lines.claiming import (
    REF,
    Parse,
    claimed,
    is_rating,
    is_ref,
    only_refs,
    says_no_value,
    without_count,
)
from inventory.part_lines.cores import (
    MAX_READINGS,
    ON_CHIPS,
    ON_SMALL,
    Core,
    as_printed,
    cores_of,
    is_small_mark,
)
from inventory.part_lines.doubts import About, Doubt
from inventory.part_lines.words import LineWord, Token, tokens_of
from inventory.part_words.applying import apply_offers
from inventory.part_words.kind_words import CLASSES, NamedKind, plainly
from inventory.refs import split_ref
from inventory.spec import TRAITS, Spec, SpecError
from inventory.spec.spec import FIELDS
from inventory.type_numbers import entry_of
from inventory.whole_numbers import MAX_PIECES

_NEAR = 0.25  # a second reading with so much of the score of the first is worth a doubt

_BODIES = {"aluminium": "electrolytic", "aluminium_bipolar": "electrolytic", "tantalum": "tantalum"}
"""Which body the word for a dielectric tells of, where it settles what a bare figure counts."""
_FEWEST_OF_TYPE = 4
_ON_SMALL_BODIES = frozenset(("transistor", "diode"))
_IS_TURNED = ("variable", "yes")
_TIMES = re.compile(r"\s*([0-9]+) ?[x×*]\s*", re.IGNORECASE)
_DOZENS = re.compile(
    r"(?:([0-9]{1,6})|an?|ein|une?|uma?|et|een)?\s*"
    r"(?:dozens?|doz|dutzend|douzaines?|docenas?|dozzin[ae]|tuziny?|dusin|dozijn|duzias?|tucet|tucty)"
)
UNKNOWN = "no value, type or property is known that reads so"


@dataclass(frozen=True)
class PartReading:
    """One part that the line may mean, and what each word of the line says then.

    `quantity` where a figure is how many only if this is meant: of `12 100n` twelve, or one of 12 V.
    """

    spec: Spec
    words: tuple[LineWord, ...]
    quantity: int | None = None

    @property
    def unread(self) -> tuple[LineWord, ...]:
        return tuple(word for word in self.words if not word.understood)


@dataclass(frozen=True)
class PartLine:
    """What a line says: `readings` likeliest first, none where nothing in it says which part.

    `quantity` is None where no count is typed; `about` where it is only roughly so.  `doubts` are sentences;
    `ambiguous` where the first says that the line could mean several; `unitless` is the word where that is
    so because nothing says in what unit its figure is.
    """

    text: str
    refs: tuple[str, ...] = ()
    quantity: int | None = None
    about: bool = False
    readings: tuple[PartReading, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    ambiguous: bool = False
    unitless: Token | None = None
    without_part: tuple[LineWord, ...] = field(default=(), repr=False)

    @property
    def spec(self) -> Spec | None:
        return self.readings[0].spec if self.readings else None

    @property
    def words(self) -> tuple[LineWord, ...]:
        """Every word of the line, in order, as the likeliest reading has it."""
        return self.readings[0].words if self.readings else self.without_part

    @property
    def unread(self) -> tuple[LineWord, ...]:
        return tuple(word for word in self.words if not word.understood)


def parse_words(text: str, tokens: Sequence[Token], known: NamedKind | None, asking: Question) -> PartLine:
    """The line by its words; where they leave the part open, by the marking that they are together."""
    line = _by_words(text, tokens, known, asking)
    kind_open = line.ambiguous or bool(line.refs)
    unlisted = kind_open and any(doubt.about == About.UNLISTED_TYPE for doubt in line.doubts)
    if line.readings and not unlisted and all(word.reason != UNKNOWN for word in line.unread):
        return line  # a word that contradicts the part is no more of its marking
    aside = [word for word in line.words if word.property_name in ("reference", "quantity")]
    # N750 in front of a value is a temperature coefficient as well as a place on a board.
    for kept in ([], aside) if aside and unlisted and line.quantity is None else (aside,):
        rest = [token for token in tokens if not any(word.start <= token.start < word.end for word in kept)]
        core = as_printed(rest, known.kind if known else "", asking)
        letters = split_ref(line.refs[0])[0].upper() if kept and line.refs else ""
        if core is None or core.spec is None or core.kind not in CLASSES.get(letters, (core.kind,)):
            continue
        words = (*kept, *(_word_of(text, token, core) for token in rest))
        reading = PartReading(core.spec, tuple(sorted(words, key=lambda word: word.start)))
        if len(reading.unread) < len(line.unread) or not line.readings or unlisted:
            parse = Parse(
                text, refs=list(line.refs) if kept else [], quantity=line.quantity, about=line.about
            )
            return _finished(
                parse, (reading, *line.readings)[:MAX_READINGS], (core.doubt,) if core.doubt else ()
            )
    return line


def _word_of(text: str, token: Token, core: Core) -> LineWord:
    """What becomes of a word that is left, by what the reading says of it."""
    typed = text[token.start : token.end]
    if token not in core.read:
        return LineWord(typed, token.start, token.end, reason=UNKNOWN)
    return LineWord(typed, token.start, token.end, *core.read[token])


def _by_words(text: str, tokens: Sequence[Token], known: NamedKind | None, asking: Question) -> PartLine:
    """The line with as many references before or behind its part as leave the fewest words not understood."""
    before = next((at for at, token in enumerate(tokens) if not is_ref(token.text)), len(tokens))
    if before > 1 and is_rating(text, *tokens[before - 2 : before]):
        before -= 1
    if before == len(tokens) > 0 and (before > 1 or (not known and says_no_value(tokens[0]))):
        if before > 1 and (line := _type_like_a_ref(text, tokens, known, asking)) is not None:
            return line
        return _finished(only_refs(text, tokens), (), ())
    trailing = next((at for at, token in enumerate(reversed(tokens)) if not is_ref(token.text)), 0)
    plain = _read(text, tokens, 0, 0, known, asking)
    best = plain
    for count in range(before, 0, -1):
        line = _read(text, tokens, count, 0, known, asking)
        if line.readings and len(line.unread) <= len(plain.unread):
            return plain if _is_known_type(plain, line) or _is_its_value(plain, line) else line
    if before and not known and _is_property_of(plain, claimed(text, tokens, before, 0, known)):
        return _read(text, tokens, before, 0, known, asking)  # C10, 16 V and no value
    if before and plain.unread and plain.words[0].property_name in ("value", "marking"):
        return _read(text, tokens, before, 0, known, asking)  # R9 and something that nobody knows
    for count in range(trailing, 0, -1):
        line = _read(text, tokens, 0, count, known, asking)
        if line.readings and len(line.unread) < len(best.unread):
            best = line
    return best


def _type_like_a_ref(
    text: str, tokens: Sequence[Token], known: NamedKind | None, asking: Question
) -> PartLine | None:
    """The line whose last word is a part of the kind that the references before it have: Q7 D882, F1 T2A."""
    first, last = (REF.fullmatch(token.text) for token in (tokens[0], tokens[-1]))
    if first is None or last is None or first[1].upper() == last[1].upper():
        return None
    line = _read(text, tokens, len(tokens) - 1, 0, known, asking)
    if line.spec is None or line.unread or any(each.about is About.UNLISTED_TYPE for each in line.doubts):
        return None
    number, other = line.spec.number, CLASSES[last[1].upper()]
    of_few = other == ("other",) or (other == ("connector",) and len(last[0]) >= _FEWEST_OF_TYPE)
    if of_few and _is_in_tables(line.spec.kind, number):
        return line  # D1 M7, Q2 J310: a board has few of what else that is
    return line if not line.doubts and (is_listed(number) or line.spec.kind == "fuse") else None


def _is_in_tables(kind: str, number: str) -> bool:
    return len(number) >= _FEWEST_OF_TYPE and entry_of(kind, number) is not None


def _is_property_of(plain: PartLine, parse: Parse) -> bool:
    """Whether a reference and what is said of such parts was taken for an unlisted type that looks alike."""
    if plain.spec is None or not plain.spec.number or parse.left or is_listed(plain.spec.number):
        return False
    said = {name for claim in parse.claims for offer in claim.offers for name in offer} - {"kind"}
    return any(said & (set(FIELDS) | set(TRAITS[kind])) for kind in parse.kinds)


def _is_its_value(plain: PartLine, line: PartLine) -> bool:
    """Whether what looks like a reference is all that says how much: R22 5 % resistor is 0.22 ohm."""
    if plain.spec is None or line.spec is None or plain.unread or plain.spec.kind != line.spec.kind:
        return False
    return plain.spec.value is not None and line.spec.value is None and not line.spec.number


def _is_known_type(plain: PartLine, line: PartLine) -> bool:
    """Whether what looks like a reference of another kind is a type that the tables know, or how far leads
    are apart: C1815 NPN, P5 100n.
    """
    if plain.spec is None or plain.unread or plain.doubts:
        return False
    if not plain.spec.number and plain.words[0].property_name != "pitch_mm":
        return False
    if plain.spec.number and line.spec and line.spec.value is not None and not is_listed(plain.spec.number):
        return False  # C12 476C: nobody knows a 2SC12
    return plain.spec.kind not in CLASSES.get(split_ref(line.refs[0])[0].upper(), (plain.spec.kind,))


def _read(
    text: str, tokens: Sequence[Token], before: int, after: int, kind: NamedKind | None, asking: Question
) -> PartLine:
    """The line with so many references at its start and end; with any, only where a part stands beside."""
    parse = claimed(text, tokens, before, after, kind)
    if (before or after) and not parse.left and not _names_its_part(parse):
        return _finished(parse, (), ())
    readings, doubts = _readings(parse, asking)
    return _finished(parse, readings, doubts)


def read_quantity(text: str) -> PartLine:
    """How many a cell says there are: `20`, `ca. 20`, `30 pcs`; other words in it are not understood.

    `quantity` is None where it says no number of pieces that can be kept.
    """
    if times := _TIMES.fullmatch(text):
        text = times[1]
    if dozens := _DOZENS.fullmatch(plainly(text).strip()):
        pieces = 12 * int(dozens[1] or 1)
        word = LineWord(text, 0, len(text), "quantity", str(pieces))
        return PartLine(text, quantity=pieces, without_part=(word,))
    tokens = tokens_of(text)
    if len(tokens) == 1 and tokens[0].text.isascii() and tokens[0].text.isdigit():
        pieces = int(tokens[0].text) if len(tokens[0].text) < 12 else MAX_PIECES + 1
        if pieces <= MAX_PIECES:
            word = LineWord(tokens[0].text, tokens[0].start, tokens[0].end, "quantity", str(pieces))
            return PartLine(text, quantity=pieces, without_part=(word,))
    parse = Parse(text)
    parse.left += without_count(parse, tokens, of_parts=False)
    return _finished(parse, (), ())


# --- what is left, read as a marking


def _readings(parse: Parse, asking: Question) -> tuple[tuple[PartReading, ...], tuple[Doubt, ...]]:
    kinds = parse.kinds
    if any(offer.get("lead_style") == "smd" for claim in parse.claims for offer in claim.offers):
        asking = replace(asking, body=ON_CHIPS)
    elif bodies := [_BODIES[said] for said in parse.dielectrics if said in _BODIES]:
        asking = replace(asking, body=bodies[0])
    elif _IS_TURNED in parse.facts:
        asking = replace(asking, body="potentiometer")
    elif parse.refs and _ON_SMALL_BODIES & set(kinds) and is_small_mark(parse.left):
        asking = replace(asking, body=ON_SMALL)
    cores = list(cores_of(parse.left, kinds, asking))
    if not parse.left and not kinds and len(parse.named) == 1:
        kinds = tuple(parse.named)  # T1A glass: its rating says what it is
    if (
        not cores
        and kinds
        and (not parse.refs or _names_its_part(parse))
        and (parse.claims and not parse.left or _is_enough(parse, kinds))
    ):
        cores = [Core(None, kind, {}) for kind in kinds[:1]]
    made: list[tuple[tuple[Any, ...], PartReading, Core]] = []
    for order, core in enumerate(cores):
        reading = _with_claims(parse, core)
        if reading is not None:
            odd = _is_unusual(reading.spec, "watts")
            made.append(((len(reading.unread), odd, order), reading, core))
    made.sort(key=lambda each: each[0])
    distinct: dict[Spec, tuple[PartReading, Core, int]] = {}
    for (unread, odd, _order), reading, core in made:
        distinct.setdefault(reading.spec, (reading, core, unread + odd))
    best = list(distinct.values())[:MAX_READINGS]
    doubts = []
    if best:
        _reading, core, cost = best[0]
        if core.doubt:
            doubts.append(core.doubt)
        parse.ambiguous, parse.unitless = core.ambiguous, core.unitless
        if len(best) > 1 and best[1][2] == cost and best[1][1].score > _NEAR * core.score:
            doubts.append(Doubt(f"could also be {best[1][0].spec.text}", About.ANOTHER_READING))
    return tuple(reading for reading, _core, _cost in best), tuple(doubts)


_SAID_BY_CLASS = {"fuse": "amps", "connector": "ways", "socket": "ways"}
"""What says enough of a part whose reference says its kind: F1 1A 250V slow."""


def _names_its_part(parse: Parse) -> bool:
    """Whether a word says the kind that the reference has, or the figure that such parts go by."""
    figure = _SAID_BY_CLASS.get(parse.kinds[0]) if len(parse.kinds) == 1 else None
    offered = {name for claim in parse.claims for offer in claim.offers for name in offer}
    return bool(parse.named & set(parse.kinds)) or figure in offered or bool(offered and parse.facts)


def _is_enough(parse: Parse, kinds: tuple[str, ...]) -> bool:
    """Whether the words that are understood say something of a part beside words that are not."""
    return any(claim.offers and set(claim.offers[0]) - {"kind"} for claim in parse.claims)


def _is_unusual(spec: Spec, name: str) -> bool:
    """Whether no such part is sold by that property: capacitors have no watts."""
    return getattr(spec, name) is not None and spec.kind in ("capacitor", "inductor", "crystal")


# --- both together


def _with_claims(parse: Parse, core: Core) -> PartReading | None:
    """The part with what the other words say of it; None where they leave nothing that is a part."""
    data: dict[str, Any] = core.spec.to_dict() if core.spec else {"kind": core.kind}
    data = {name: value for name, value in data.items() if value not in (None, "", {})}
    facts = {name: value for name, value in parse.facts if name in TRAITS[core.kind]}
    listed = entry_of(core.kind, data.get("number", "")) if "polarity" in facts else None
    if listed and listed.get("polarity", facts["polarity"]) != facts["polarity"]:
        del facts["polarity"]
    if facts:
        data["traits"] = facts | data.get("traits", {})
    replaced = core.usual_tolerance and parse.says("tolerance_percent")
    if replaced:
        data.pop("tolerance_percent", None)
    spec = Spec.from_dict(data) if core.spec and (facts or replaced) else core.spec
    words = [_word_of(parse.line, token, core) for token in parse.left]
    for claim in parse.claims:
        if not claim.offers:
            words.append(claim.word(parse.line))
            continue
        one = apply_offers(claim.offers, data, core.kind)
        words.append(claim.word(parse.line, property_name=one.name, meaning=one.meaning, reason=one.reason))
        if one.spec is not None:
            spec, data = one.spec, one.data
    if spec is None:
        try:
            spec = Spec.from_dict(data)
        except SpecError:
            return None
        if len(data) < 2:
            return None
    return PartReading(spec, tuple(sorted(words, key=lambda word: word.start)))


def _finished(parse: Parse, readings: tuple[PartReading, ...], doubts: tuple[Doubt, ...]) -> PartLine:
    warnings = list(doubts)
    if parse.about:
        warnings.append(Doubt(f"about {parse.quantity}: count them when you can"))
    if parse.refs and parse.quantity not in (None, len(parse.refs)):
        several = "1 reference" if len(parse.refs) == 1 else f"{len(parse.refs)} references"
        warnings.append(Doubt(f"{several}, but {parse.quantity} pieces", About.COUNT_OF_REFERENCES))
    without: list[LineWord] = []
    if not readings:
        for claim in parse.claims:
            understood = bool(claim.property_name or claim.reason)
            reason = "nothing on the line says which part this is a property of"
            if claim.offers and set(claim.offers[0]) == {"kind"}:
                without.append(claim.word(parse.line, property_name="kind", meaning=claim.offers[0]["kind"]))
            else:
                without.append(
                    claim.word(parse.line) if understood else claim.word(parse.line, reason=reason)
                )
        without += [
            LineWord(parse.line[token.start : token.end], token.start, token.end, reason=UNKNOWN)
            for token in parse.left
        ]
    return PartLine(
        text=parse.line,
        refs=tuple(dict.fromkeys(parse.refs)),
        quantity=parse.quantity,
        about=parse.about,
        readings=readings,
        doubts=tuple(warnings),
        ambiguous=parse.ambiguous,
        unitless=parse.unitless,
        without_part=tuple(sorted(without, key=lambda word: word.start)),
    )
