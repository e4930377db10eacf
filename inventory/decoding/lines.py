"""A whole marking: which word carries the value, and what the words round it add."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import product

from . import capacitor_codes, chip_resistors, inductor_codes, letter_codes, order_codes, written
from .attributes import NOT_PRINTED, NOTHING_UNLIKELY, SAFETY_NOTE, Attribute, attributes
from .candidates import DIGITS, Candidate, Shapes
from .capacitor_codes import MICRO_CODE, PLAIN_MICROFARADS
from .letter_codes import FARAD, MICRO, meanings_of
from .patterns import Budget, Cells, Word, expand, turned
from .run_together import joined, part_of, split
from .types_in_lines import beside, types
from .valueless import alone
from .written import DECIMAL_MICROFARADS

SHAPES = Shapes(
    (*letter_codes.shapes(), *chip_resistors.shapes(), *capacitor_codes.shapes(), *inductor_codes.shapes())
)

UPSIDE_DOWN = 0.02
IN_CAPITALS = 0.1
WITHOUT_CAPITALS = frozenset("mµ")  # m and M differ by nine decades
STRIPPED = 0.2
"""Leading letters taken for a maker's: only when the word reads as nothing with them."""
CLAIM = {
    "volts": "volts",
    "letter volts": "volts",
    "letter": "tolerance",
    "tolerance": "tolerance",
    "temperature": "temperature",
    "date": "date",
}
MOST_VALUES = 120
MOST_COMBINED = 1500
MOST_COMBINATIONS = 24


def values_of(word: Word, kind: str, budget: Budget) -> list[Candidate]:
    """Every value this one word may carry, alone."""
    found = list(shaped(word.cells, word.whole, kind, budget))
    found.extend(written.readings(word, budget, kind))
    if word.whole:
        found.extend(order_codes.readings(word.whole, kind))
    found.extend(rotated(word, kind, budget))
    whole = word.whole
    if whole and whole.upper() != whole and not set(whole) & WITHOUT_CAPITALS:
        as_printed = {candidate.notation.name for candidate in found}
        for candidate in told_apart(capitals_of(word), kind, budget, IN_CAPITALS, "read in capitals"):
            if candidate.notation.name not in as_printed:
                found.append(candidate)
    if not whole:
        twins = tuple(
            seen if seen is None else tuple(dict.fromkeys(map(capital, seen))) for seen in word.cells
        )
        if twins != word.cells:
            found.extend(
                told_apart(Word(twins, word.printed, ""), kind, budget, IN_CAPITALS, "read in capitals")
            )
    if not found and whole and len(whole) > 3:
        for start in range(1, min(3 if kind else 2, len(whole) - 2)):
            if not whole[start - 1].isalpha():
                break
            found.extend(
                told_apart(
                    part_of(word, start, len(whole)), kind, budget, STRIPPED, "", ((whole[:start], ""),)
                )
            )
    return found


def told_apart(
    word: Word,
    kind: str,
    budget: Budget,
    weight: float,
    caution: str,
    before: tuple[tuple[str, str], ...] = (),
) -> Iterator[Candidate]:
    """The word's readings at a lower weight, with what was done to it said."""
    for candidate in (*shaped(word.cells, word.whole, kind, budget), *written.readings(word, budget, kind)):
        candidate.weight *= weight
        candidate.used = (*before, *candidate.used)
        if caution:
            candidate.cautions = (*candidate.cautions, caution)
        yield candidate


def capital(character: str) -> str:
    return character if character in WITHOUT_CAPITALS else character.upper()


def capitals_of(word: Word) -> Word:
    whole = word.whole.upper()
    return Word(tuple((each,) for each in whole), word.printed, whole)


def shaped(cells: Cells, whole: str, kind: str, budget: Budget) -> Iterator[Candidate]:
    if whole:
        for shape in SHAPES.of_word(whole):
            if not kind or shape.kind == kind:
                yield from shape.read(whole)
        return
    for shape in SHAPES.by_length.get(len(cells), ()):
        if not kind or shape.kind == kind:
            for text in expand(cells, shape, budget):
                yield from shape.read(text)


def rotated(word: Word, kind: str, budget: Budget) -> Iterator[Candidate]:
    """Digits read upside down, a tolerance letter behind them left in its place: 681 and 189, 820 and 028."""
    cells, tail = word.cells, ()  # type: tuple[Cells, Cells]
    last = cells[-1]
    if len(cells) > 2 and last is not None and not any(each in DIGITS for each in last):
        cells, tail = cells[:-1], cells[-1:]
    if not 2 <= len(cells) <= 4 or sum(each is None for each in cells) > 1:
        return
    other = turned(cells)
    if other is None or other == cells:
        return
    whole = "".join(each[0] for each in (*other, *tail) if each and len(each) == 1) if word.whole else ""
    soft = any(each is not None and set(each) & {"2", "5"} for each in cells)
    for candidate in shaped((*other, *tail), whole, kind, budget):
        if candidate.kind != "inductor" and not (candidate.used and candidate.used[0][0].startswith("0")):
            candidate.weight *= UPSIDE_DOWN * (0.2 if soft else 1.0)
            candidate.cautions = (
                *candidate.cautions,
                "read upside down: look for a bar, notch or maker's mark for “up”",
            )
            yield candidate


def readings(
    words: list[Word], notes: list[str], kind: str, era: int | None, budget: Budget
) -> list[Candidate]:
    """Every reading of the words as one marking."""
    words = joined([part for word in words for part in split(word)], kind)
    year_letter = any("year" in note for note in notes)
    found = values_of(words[0], kind, budget) if len(words) == 1 else combined(words, kind, era, budget)
    found.extend(named(words, kind, era, budget))
    found.extend(alone(words, kind, era, year_letter))
    return found


def text_of(word: Word) -> str:
    """The word as it is taken here: of a doubtful character what it is taken for, not what was printed."""
    return word.whole or word.printed


def named(words: list[Word], kind: str, era: int | None, budget: Budget) -> Iterator[Candidate]:
    """Semiconductor types, with the date or rating that the other words give."""
    for candidate, taken in types(" ".join(text_of(word) for word in words), kind, era, budget):
        others = [[(word, role) for role in attributes(word, era)] for word in beside(words, taken)[:6]]
        if not others:
            yield candidate
            continue
        for row in sorted(leading(others), key=row_weight, reverse=True)[:6]:
            whole = dressed(candidate, row, 0)
            if whole is not None:
                yield whole


def combined(words: list[Word], kind: str, era: int | None, budget: Budget) -> list[Candidate]:
    roles = [attributes(word, era) for word in words[:12]]
    found: list[Candidate] = []
    carrying = [place for place in range(len(roles)) if not spoken_for(roles[place])]
    for place, word in enumerate(words[:12]):
        if place not in carrying and carrying:
            continue
        values = values_of(word, kind, budget)
        if not values:
            continue
        if len(values) > MOST_VALUES:
            budget.spent_out = True
            values = sorted(values, key=lambda each: each.weight, reverse=True)[:MOST_VALUES]
        others = [
            [(words[other], role) for role in roles[other]] for other in range(len(roles)) if other != place
        ]
        room = MOST_COMBINATIONS if len(values) < 60 else 4
        rows = sorted(filter(agreeing, leading(others)), key=row_weight, reverse=True)[:room]
        rows = rows or [in_turn(others)]
        least = row_weight(rows[0]) / 200
        rows = [row for row in rows if row_weight(row) >= least]
        if len(found) > MOST_COMBINED:
            budget.spent_out = True
            break
        for candidate in values:
            for row in rows:
                whole = dressed(candidate, row, place)
                if whole is not None:
                    found.append(whole)
    return found


def spoken_for(roles: list[Attribute]) -> bool:
    """100V, X7R, ±5%: a word that plainly is no value."""
    return roles[0].weight >= 0.9 and roles[0].role in ("volts", "temperature", "tolerance", "trait")


Row = tuple[tuple[Word, Attribute], ...]


def leading(others: list[list[tuple[Word, Attribute]]]) -> Iterator[Row]:
    """Combinations of roles; with many words only the likeliest roles of each are combined."""
    depth = 5 if len(others) <= 2 else 3 if len(others) <= 4 else 2 if len(others) <= 7 else 1
    return product(*(each[:depth] for each in others))


def agreeing(row: Row) -> bool:
    """No two words claim the same thing."""
    claims = [CLAIM.get(attribute.role) for _, attribute in row]
    return all(claims.count(claim) == 1 for claim in claims if claim is not None)


def in_turn(others: list[list[tuple[Word, Attribute]]]) -> Row:
    """Each word's likeliest role that no earlier word has claimed; of a second rating nothing is made."""
    claimed: set[str] = set()
    row: list[tuple[Word, Attribute]] = []
    for choices in others:
        for word, attribute in choices:
            claim = CLAIM.get(attribute.role)
            if claim is None or claim not in claimed:
                claimed.update((claim,) if claim else ())
                row.append((word, attribute))
                break
        else:
            row.append((choices[0][0], NOTHING_UNLIKELY))
    return tuple(row)


def row_weight(row: Row) -> float:
    weight = 1.0
    for _, attribute in row:
        weight *= attribute.weight
    return weight


def dressed(candidate: Candidate, row: Row, place: int) -> Candidate | None:
    """The candidate with what the other words say; None when two words claim the same thing."""
    weight = candidate.weight
    tolerance, volts, temperature, traits = (
        candidate.tolerance,
        candidate.volts,
        candidate.temperature,
        candidate.traits,
    )
    cautions = candidate.cautions
    date = ""
    before: list[tuple[str, str]] = []
    after: list[tuple[str, str]] = []
    for index, (word, attribute) in enumerate(row):
        role, amount, text, likelihood = attribute
        weight *= likelihood
        if role == "volts":
            if volts is not None:
                return None
            volts = amount
            if index < place and text.endswith(NOT_PRINTED):
                weight *= 0.2  # printers put the value before bare volts
            if candidate.kind != "capacitor":
                weight *= 0.05
        elif role == "letter":
            meanings = meanings_of(amount, candidate.kind, candidate.value or 0)
            if tolerance is not None or not meanings or candidate.value is None:
                return None
            tolerance, text = meanings[0].tolerance, meanings[0].tolerance.text
            weight *= meanings[0].weight
        elif role == "tolerance":
            if tolerance is not None:
                return None
            tolerance = amount
            if amount.low is not None and candidate.kind != "capacitor":
                weight *= 0.01  # only capacitors are let run further to one side
        elif role == "letter volts":
            if volts is not None or candidate.notation not in COUNTED_IN_MICROFARADS:
                return None
            volts = amount
        elif role == "temperature":
            if temperature:
                return None
            temperature = amount
            if candidate.kind != "capacitor":
                weight *= 0.01
        elif role == "date":
            if date:
                return None
            date = amount.iso
        elif role == "trait":
            traits = {**traits, **amount}
            if "safety_class" in amount:
                cautions = (*cautions, SAFETY_NOTE)
        (before if index < place else after).append((word.printed, text))
    if volts is not None and candidate.volts is None:
        weight *= suits_volts(candidate, volts)
    return Candidate(
        candidate.notation, candidate.value, (*before, *candidate.used, *after), weight, tolerance, volts,
        cautions,
        candidate.reasons, temperature, traits, candidate.number, date, candidate.kind, candidate.usual,
        candidate.said,
    )  # fmt: skip


COUNTED_IN_MICROFARADS = (PLAIN_MICROFARADS, MICRO_CODE, DECIMAL_MICROFARADS)
MEMORY_VOLTS = frozenset(map(Decimal, ("2.3", "2.5", "2.7", "5.5")))
"""Double-layer capacitors of tenths of a farad and more are rated so, and hardly any other (common practice,
no source).
"""


def suits_volts(candidate: Candidate, volts: Decimal) -> float:
    """Low volts speak for an electrolytic and its microfarads, high volts against."""
    if candidate.kind != "capacitor" or candidate.value is None:
        return 1.0
    if volts in MEMORY_VOLTS:
        return 10_000.0 if candidate.value >= FARAD // 100 else 0.05
    if candidate.notation is PLAIN_MICROFARADS or candidate.notation is MICRO_CODE:
        return 20.0 if volts <= 100 else 2.0 if volts <= 500 else 0.01
    if volts <= 35 and candidate.value < MICRO // 10:
        return 0.05 if volts <= 16 else 0.3
    if volts >= 400 and candidate.value > 1000 * MICRO:
        return 0.02
    return 1.0
