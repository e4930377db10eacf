"""What the words of a line claim before any is read as a marking: references, how many, properties.  Pure.

`claimed` makes a `Parse`, which later steps go on with; what no word claims stays in `left`.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from inventory.decoding.series import series_of
from inventory.part_lines.cores import BARE, are_bands, in_english
from inventory.part_lines.counts import count_in, parted
from inventory.part_lines.words import BETWEEN, Claim, Token, are_several
from inventory.part_words.applying import is_of_coils, is_of_crystals, offers_in
from inventory.part_words.kind_words import (
    CLASSES,
    DEVICES_OF_CLASS,
    LONE_LETTERS,
    NamedKind,
    leading,
    plainly,
)
from inventory.refs import UnreadableRefs, parse_refs, split_ref
from inventory.spec import parse_value, plain_value, values_in_text

REF = re.compile(
    r"([A-Za-z]{1,4})[0-9]{1,4}(?:[A-Za-z]?(?:[-–—…](?:[A-Za-z]{1,4})?[0-9]{1,4})?|(?:,[0-9]{1,4})+):?"
)
_CELL = re.compile(r"[CB]R[123][0-9]{3}", re.IGNORECASE)
"""CR2032 is a cell (IEC 60086), not the diode of that number."""
_SHORT_CLASSES, _SHORT_REF = frozenset(("BT", "LS", "LA", "MK", "DL", "M", "RE", "TH")), 2
"""Letters that types begin with too: BT136, LS138, MK4116 are none of so many batteries and speakers."""
_OHMS = re.compile(r"[0-9]*[.,]?[0-9]+(?:m|k|M)?(?:R|Ω|ohms?)|[0-9]*[Rr][0-9]+")
_AMPS = re.compile(r"(?:FF|TT|[FTM])?[0-9]+(?:[.,][0-9]+)?m?A[LEH]?")
_RATING = re.compile(r"(?:FF|TT|[FTM])[0-9]+m?A", re.IGNORECASE)
_OF_AN_LED = ("function", "led")
_OF_A_ZENER = ("function", "zener")
_NUMBERED = re.compile(r"[0-9]{1,3}:")
_OF_A_LIST = "a number before a colon says nothing of the part: write 10 x for ten pieces"
_SEVERAL = "several values in one line: write each on a line of its own"


@dataclass
class Parse:
    """A line while it is read: what is claimed, and what is left to be read as a marking."""

    line: str
    kinds: tuple[str, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    refs: list[str] = field(default_factory=list)
    quantity: int | None = None
    about: bool = False
    claims: list[Claim] = field(default_factory=list)
    left: list[Token] = field(default_factory=list)
    ambiguous: bool = False
    unitless: Token | None = None

    @property
    def named(self) -> set[str]:
        """The kinds that words of the line name."""
        return {offer["kind"] for claim in self.claims for offer in claim.offers if "kind" in offer}

    def says(self, name: str) -> bool:
        """Whether a word may be one for that property."""
        return any(name in offer for claim in self.claims for offer in claim.offers)

    @property
    def dielectrics(self) -> list[str]:
        """The dielectrics that words of the line name."""
        return [
            offer["dielectric"] for claim in self.claims for offer in claim.offers if "dielectric" in offer
        ]

    def claim(self, tokens: Sequence[Token], property_name: str, meaning: str) -> None:
        self.claims.append(Claim(tuple(tokens), property_name=property_name, meaning=meaning))


def is_ref(text: str) -> bool:
    found = REF.fullmatch(text)
    if found is None or found[1].upper() not in CLASSES or _CELL.fullmatch(text):
        return False
    return len(text.partition(",")[0]) - len(found[1]) <= _SHORT_REF or found[1].upper() not in _SHORT_CLASSES


def is_rating(line: str, ref: Token, rating: Token) -> bool:
    """Whether what looks like a reference stands on the fuse before it, as T1A does (IEC 60127-1)."""
    beside = not line[ref.end : rating.start].strip()
    of_a_fuse = CLASSES.get(split_ref(ref.text)[0].upper()) == ("fuse",)
    return beside and of_a_fuse and _RATING.fullmatch(rating.text) is not None


def says_no_value(token: Token) -> bool:
    """R9 is a place on a board: nobody makes 0.9 ohm; so are R1,2. R47 may be either and is read as one."""
    if "," in token.text:
        return True
    letter, figures = token.text[:1].upper(), token.text[1:]
    return letter == "R" and figures.isdigit() and series_of(int(figures)) not in ("E6", "E12", "E24")


def only_refs(line: str, tokens: Sequence[Token]) -> Parse:
    parse = Parse(line)
    for token in tokens:
        _take_ref(parse, token)
    return parse


def _take_ref(parse: Parse, token: Token) -> None:
    written = token.text.rstrip(":")
    written = written.upper() if written[0].islower() else written
    try:
        parse.refs += (refs := parse_refs(written))
    except UnreadableRefs as refused:
        parse.claims.append(Claim((token,), reason=str(refused)))
        return
    parse.claim([token], "reference", ", ".join(refs))


def claimed(line: str, tokens: Sequence[Token], before: int, after: int, kind: NamedKind | None) -> Parse:
    """The line with so many references at its start and at its end."""
    parse = Parse(line, (kind.kind,), kind.facts) if kind else Parse(line)
    end = len(tokens) - after
    for token in (*tokens[:before], *tokens[end:]):
        _take_ref(parse, token)
    if parse.refs and not kind:
        letters = split_ref(parse.refs[0])[0].upper()
        parse.kinds = CLASSES.get(letters, ())
        if letters in DEVICES_OF_CLASS:
            parse.facts = (("device", DEVICES_OF_CLASS[letters]),)
    numbered = end - before > 1 and _NUMBERED.fullmatch(tokens[before].text)
    if numbered:
        parse.claims.append(Claim((tokens[before],), reason=_OF_A_LIST))
    rest = without_count(parse, parted(tokens[before + bool(numbered) : end]))
    for token in [each for each in rest if are_several(each.text)]:
        parse.claims.append(Claim((token,), reason=_SEVERAL))
        rest.remove(token)
    if (lone := _lone_letter(rest)) and (not parse.kinds or lone.kind in parse.kinds):
        parse.kinds = (lone.kind,)
        parse.claims.append(Claim((rest.pop(0),), ({"kind": lone.kind},)))
    if are_bands(rest):
        parse.left = in_english(rest)
        return parse
    word = leading([_with_comma(line, token) for token in rest])
    if word is not None and kind is None:
        parse.kinds, parse.facts = (word.named.kind,), word.named.facts
    if word is None and kind is None and (fuse := _fuse_in_french(rest)) is not None:
        parse.kinds = ("fuse",)
        parse.claims.append(Claim((fuse,), ({"kind": "fuse"},)))
        rest.remove(fuse)
    at = 0
    while at < len(rest):
        for length in range(_longest_at(rest, at), 0, -1):
            words = rest[at : at + length]
            together = len(words) == length and _are_neighbours(line, words)
            claim = _claim_of(words, parse, alone=len(rest) == length) if together else None
            if claim is not None:
                parse.claims.append(claim)
                at += length
                break
        else:
            parse.left.append(rest[at])
            at += 1
    _read_as_beside(parse)
    return parse


def _longest_at(rest: Sequence[Token], at: int) -> int:
    """How many words may say one thing together: four, or windings of a transformer and what adds them."""
    length = 4
    while rest[at + length - 2 : at + length - 1] and any(
        token.text == "+" for token in rest[at + length - 3 : at + length]
    ):
        length += 1
    return length


def _fuse_in_french(tokens: Sequence[Token]) -> Token | None:
    """The word `fusible` where amps and no ohms stand beside it: in French and Spanish a fuse."""
    if not any(_AMPS.fullmatch(token.text) for token in tokens):
        return None
    if any("resistor" in {kind for kind, _units in values_in_text(token.text)} for token in tokens):
        return None
    return next((token for token in tokens if plainly(token.text) == "fusible"), None)


def _lone_letter(tokens: Sequence[Token]) -> NamedKind | None:
    """The kind that a letter before a figure or a value names: `R 470` and `C 100n` are no printed codes."""
    if len(tokens) < 2 or (named := LONE_LETTERS.get(tokens[0].text.upper())) is None:
        return None
    kinds = {kind for kind, _units in values_in_text(tokens[1].text)}
    return named if named.kind in kinds or BARE.fullmatch(tokens[1].text) else None


def _with_comma(line: str, token: Token) -> str:
    """The word, and the comma where one ends its phrase."""
    return token.text + ("," if line[token.end : token.end + 1] in (",", ";") else "")


def _are_neighbours(line: str, tokens: Sequence[Token]) -> bool:
    """Whether nothing but signs that part words stands between these: no word that was claimed before."""
    pairs = zip(tokens, tokens[1:], strict=False)
    return all(BETWEEN.issuperset(line[one.end : other.start].replace("/", " ")) for one, other in pairs)


def without_count(parse: Parse, tokens: Sequence[Token], *, of_parts: bool = True) -> list[Token]:
    """Claim the words that say how many; answer the others."""
    count = count_in(tokens, parse.line, of_parts=of_parts)
    if count is None:
        return list(tokens)
    parse.quantity, parse.about = count.pieces, count.about
    meaning = f"about {count.pieces}" if count.about else str(count.pieces)
    parse.claim(tokens[count.first : count.last], "quantity", meaning)
    return [*tokens[: count.first], *tokens[count.last :]]


def _claim_of(tokens: Sequence[Token], parse: Parse, *, alone: bool) -> Claim | None:
    offers = offers_in(" ".join(token.text for token in tokens), alone=alone)
    if not offers or (is_of_coils(offers) and parse.kinds[:1] != ("other",)):
        return None
    if is_of_crystals(offers) and parse.kinds[:1] != ("crystal",):
        return None
    if _OF_A_ZENER in parse.facts:  # the volts at which it holds
        offers = tuple(sorted(offers, key=lambda offer: "zener_volts" not in offer))
    if _OF_AN_LED in parse.facts:  # 5 mm is across its body, and not between its leads
        offers = tuple(sorted(offers, key=lambda offer: "package" not in offer))
    return Claim(tuple(tokens), offers)


def _read_as_beside(parse: Parse) -> None:
    """A second value, of another kind than the first: `46u 0.4R` is a capacitor and its series resistance."""
    kinds = {token: {kind for kind, _units in values_in_text(token.text)} for token in parse.left}
    storing = [token for token in parse.left if kinds[token] & {"capacitor", "inductor", "crystal"}]
    for token in list(parse.left):
        others = [each for each in storing if each is not token and "resistor" not in kinds[each]]
        if _OHMS.fullmatch(token.text) and others:
            figure = plain_value("resistor", parse_value("resistor", token.text))
            offers: tuple[dict[str, Any], ...] = ({"esr_ohm": figure}, {"dcr_ohm": figure})
        elif kinds[token] == {"capacitor"} and any(kinds[each] == {"crystal"} for each in storing):
            picofarads = Decimal(parse_value("capacitor", token.text)) / 1000
            offers = ({"load_pf": f"{picofarads:f}"},)
        else:
            continue
        parse.left.remove(token)
        parse.claims.append(Claim((token,), offers))
