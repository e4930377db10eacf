"""The reader of what no table knows: a type string, so numbered, of a kind that the body suggests.

Without it the scores would be shared out among whatever happens to fit. How common such a string is against
the notations that are known is a judgement, checked by the reliability table of tests/benchmarks/decoding.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from inventory.type_numbers.linear_table import CHIP_SERIES

from .candidates import Candidate, NamedType, Notation
from .cyrillic import body_of_series
from .known import Known
from .patterns import UNREAD, MarkingWord, gapped, with_gaps
from .unlisted import ANY, CAUTION, LONG_TYPE, SURE, TYPE, of_makers
from .words import MarkingLine
from .written import has_its_unit, shows_its_unit

MARK = "mark not known here"
UNKNOWN = frozenset((TYPE, MARK))
KINDS = {"ic": 0.55, "transistor": 0.18, "diode": 0.15, "regulator": 0.04, "other": 0.08}
"""Of type strings that nothing here knows, with no body told (common practice, no source)."""
PASSIVE = {
    "capacitor": 0.03, "resistor": 0.03, "inductor": 0.02, "crystal": 0.01, "fuse": 0.01, "socket": 0.01,
    "switch": 0.01, "connector": 0.01, "transformer": 0.01, "lamp": 0.02,
}  # fmt: skip
"""Series names and order codes that hide their value."""
NOTATIONS = {kind: Notation(TYPE, "", kind, share) for kind, share in {**KINDS, **PASSIVE}.items()}
LETTERS = "A-Z\u0410-\u042f"
# Forms of type strings, each with its likelihood against a plain three-figure code (common practice).
_TAIL = rf"(?:[-/.][{LETTERS}0-9]{{1,5}})"
FORMS = tuple(
    (re.compile(form), weight)
    for form, weight in (
        (rf"[{LETTERS}]{{1,6}}-?[0-9]{{2,6}}(?:[{LETTERS}]{{1,4}}[0-9]{{0,3}}[{LETTERS}]?)?{_TAIL}*", 0.03),
        (rf"[{LETTERS}]{{2,4}}[0-9]{{1,2}}\.[0-9][{LETTERS}]{{0,2}}", 0.02),
        (rf"[{LETTERS}]{{1,5}}[0-9][{LETTERS}][{LETTERS}0-9.]{{1,8}}{_TAIL}*", 0.01),
        (rf"[{LETTERS}]{{2,4}}(?:-[{LETTERS}0-9]{{1,5}}){{1,3}}", 0.01),
        (rf"[0-9]{{1,3}}[{LETTERS}]{{1,4}}-?[0-9]{{1,5}}[{LETTERS}]{{0,3}}{_TAIL}?", 0.003),
        (rf"[0-9]{{1,2}}[{LETTERS}]-[0-9]{{1,2}}", 0.003),
        (r"[0-9]{4,6}[A-Z]{1,3}", 0.001),
        (r"[0-9]{4,5}", 0.0005),
        (r"(?=.*[0-9]).{4,24}", 0.0003),
    )
)
WITH_GAPS = tuple((re.compile(with_gaps(form.pattern)), weight) for form, weight in FORMS)
FEWEST_READ, MAX_GAPS = 3, 0.4
"""Of a type string so much must be read, or anything is one."""
SIGN = re.compile("[µΩ]")
RATING = re.compile(r"[0-9.,]{1,6}V(?:AC|DC)?")
LIKE_A_VALUE = re.compile(r"[0-9]{0,3}[RKMGLPNUµFV][0-9]{0,3}[JKMFGDCBZ]?|R[0-9]{4}")
MAX_KINDS = 3
SHORT, SHORTENED = 4, 0.1
"""A string of fewer characters is seldom a whole type."""


_HEADS = "|".join(sorted(filter(None, CHIP_SERIES), key=len, reverse=True))
CHIP_HEADS = re.compile(rf"(?:{_HEADS}|LM|MC|TL|NE|SN|CA|LF|LT|TDA|TBA)[0-9]")
NO_CHIP = 0.1
"""Letters that makers put before chips and seldom before anything else."""
SURFACE = re.compile(r"(?=.*[0-9])[A-Z0-9]{1,4}|[A-Z]{1,2}")
SURFACE_NOTATIONS = {
    kind: Notation(MARK, "", kind, 0.0005 * share, {"sot": 100})
    for kind, share in {"transistor": 1.0, "diode": 0.6, "ic": 0.6}.items()
}
SURFACE_CAUTION = "small bodies carry a code for the type, and makers differ in what it stands for"
CRYSTAL_NOTATION = Notation(MARK, "", "crystal", 1e-5, {"crystal": 3000.0})
"""Three figures are hardly ever a crystal's, unless the body is one (common practice, no source)."""
CRYSTAL_CAUTION = "three figures on a crystal are its maker's own: measure it, or look at the circuit"
THREE_FIGURES = re.compile("[0-9]{3}[A-Z]?")
PASSIVE_SERIES = re.compile(
    r"(?:MK[CHPST]|FK[CPS]|K[CPST]1)[0-9]{1,4}|PM[ERZ][0-9]{3}|PH[EZ][0-9]{3}|T[CEFGK][0-9]{3}"
)
"""Series of film capacitors as they stand before a value: WIMA, ERO, Rifa, Tesla, from memory."""
DECIMALS = re.compile(r"[0-9]*[.,][0-9]+.*")
"""Behind a maker's letters no type's number: KDS 24.000 is a frequency."""
BESIDE_ITS_SERIES = 0.01
VALUE_BESIDE, ANY_BESIDE = 0.02, 0.4
"""A value beside it says that the string is but a maker's name for a series."""


def unknown_types(line: MarkingLine, known: Known) -> Iterator[Candidate]:
    """Each word that looks like a type number, and the first two words together."""
    texts = [string_of(word) for word in line.seen[:6]]
    valued = [shows_its_unit(word) for word in line.words[:8]]
    beside = VALUE_BESIDE if any(valued) else ANY_BESIDE if len(texts) > 1 else 1.0
    if len(texts) > 1 and texts[0].isalpha() and texts[1] and not DECIMALS.fullmatch(texts[1]):
        texts.append(texts[0] + texts[1])
    for text in dict.fromkeys(texts):
        if has_its_unit(text) or RATING.fullmatch(text):
            continue
        series = len(texts) > 1 and (PASSIVE_SERIES.fullmatch(text) or body_of_series(text))
        forms = WITH_GAPS if UNREAD in text else FORMS
        weight = max((weight for form, weight in forms if form.fullmatch(text)), default=0.0)
        if weight:
            likely = (BESIDE_ITS_SERIES if series else beside) * shortened(text)
            yield from numbered(text, weight * likely, chip_of(text) * likely, known)
        if len(texts) == 1 and THREE_FIGURES.fullmatch(text) and known.asks("crystal"):
            used = ((text, "mark"),)
            yield Candidate(
                CRYSTAL_NOTATION, None, used, 1.0, cautions=(CRYSTAL_CAUTION,), type=NamedType(text)
            )
        if len(texts) == 1 and SURFACE.fullmatch(text):
            used = ((text, "mark"),)
            for kind, notation in SURFACE_NOTATIONS.items():
                if known.asks(kind):
                    yield Candidate(
                        notation, None, used, 1.0, cautions=(SURFACE_CAUTION,), type=NamedType(text)
                    )


def string_of(word: MarkingWord) -> str:
    """The word with UNREAD where it cannot be read; "" where too much of it is, or it shows a value."""
    if word.whole:
        return word.whole.upper()
    text = gapped(word.cells)
    gaps = text.count(UNREAD)
    if len(text) - gaps < FEWEST_READ or gaps > MAX_GAPS * len(text) or SIGN.search(text):
        return ""
    return text.upper()


def shortened(text: str) -> float:
    return (SHORTENED if len(text) < SHORT else 1.0) * (0.02 if LIKE_A_VALUE.fullmatch(text) else 1.0)


def chip_of(text: str) -> float:
    """How much a string that cannot be read whole speaks for a chip, by the letters of its maker."""
    if UNREAD not in text or not any(each.isalpha() for each in text[:2]):
        return 0.0
    chips = of_makers([ANY if each == UNREAD else each for each in text])
    return chips * SURE if len(text) >= LONG_TYPE else chips


def numbered(text: str, weight: float, chip: float, known: Known) -> list[Candidate]:
    """The kinds that it may be, the likeliest on such a body; `chip`: how much speaks for one beside that."""
    used = ((text, "type number"),)
    head = CHIP_HEADS.match(text)
    candidates = []
    for kind, notation in NOTATIONS.items():
        if known.asks(kind):
            likely = weight * NO_CHIP if head and kind not in ("ic", "regulator") else weight
            likely = max(likely, chip) if kind == "ic" else likely
            named = NamedType(text)
            candidates.append(Candidate(notation, None, used, likely, cautions=(CAUTION,), type=named))
    return sorted(candidates, key=known.weigh, reverse=True)[:MAX_KINDS]
