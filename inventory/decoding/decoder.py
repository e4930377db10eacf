"""One question in, one ranked answer out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product
from typing import Any

from . import axial_bands, capacitor_schemes, lines, resistor_bands
from .bands import CONFUSED as CONFUSED_COLOURS
from .bands import RARE_ENTRY, Bands, Scheme, colours_of, described, read
from .candidates import Candidate
from .checks import next_check
from .patterns import CONFUSED, Budget, Word, doubted, tidy, words_of
from .reading import Answer, MalformedMarking, Question, Reading
from .scoring import Evidence

EXPANSIONS = 2000
DOUBT = 0.06
"""Weight of a reading that needs one character or colour to be another than what was seen."""
MOST_VARIANTS = 16
MOST_DOUBTS, FEW_DOUBTS, MOST_DOUBTED = 60, 6, 4
LONGEST_TEXT = 300
LARGEST = 2**63 - 1
"""Smallest units that a column holds; a larger value is no part."""
MOST_BANDS = 9

BAND_SCHEMES: tuple[Scheme, ...] = (
    *resistor_bands.SCHEMES,
    *axial_bands.INDUCTOR_SCHEMES,
    *capacitor_schemes.SCHEMES,
    *axial_bands.DIODE_SCHEMES,
)
NAMED_ONLY = frozenset((resistor_bands.BODY.name,))


def decode(question: Question) -> Answer:
    """Every meaning that fits, best first. MalformedMarking for a question that cannot be read, and for
    nothing else.
    """
    if question.limit < 1:
        raise MalformedMarking("At least one reading must be asked for.", 0)
    if question.bands:
        return bands_answer(question, question.bands, question.scheme)
    if not question.marking.strip():
        raise MalformedMarking("There is nothing to read.", 0)
    row = described(question.marking[:LONGEST_TEXT])
    if row is not None:
        return bands_answer(question, row.bands, f"{question.scheme} {row.scheme}")
    return marking_answer(question)


def marking_answer(question: Question) -> Answer:
    variants, truncated = variants_of(question.marking)
    budget = Budget(EXPANSIONS)
    found: list[Candidate] = []
    notes: list[str] = []
    parsed: list[list[Word]] = []
    for variant in variants:
        words, said, cut = words_of(variant)
        truncated = truncated or cut
        notes.extend(said)
        parsed.append(words)
    if question.scheme:
        notes.append(question.scheme)
    evidence = Evidence(question, notes)
    for words in parsed:
        if words:
            found.extend(lines.readings(words, notes, question.kind, question.era, budget))
    if question.doubtful or not found:
        budget.spent_out = budget.spent_out or len(parsed) > MOST_DOUBTED
        for words in parsed[:MOST_DOUBTED]:
            found.extend(doubtful_readings(words, notes, question, budget))
            if not found and len(words) == 1:
                found.extend(widened_readings(words, notes, question, budget))
    return answer_of(found, question, evidence, truncated or budget.spent_out, bands=False)


def variants_of(marking: str) -> tuple[list[str], bool]:
    """The marking with each `this|that` between spaces resolved, at most MOST_VARIANTS ways."""
    text = tidy(marking[:LONGEST_TEXT])
    if "|" not in text:
        return [text], len(marking) > LONGEST_TEXT
    choices: list[list[str]] = []
    for word in text.split():
        inside = "[" in word
        parts = [word] if inside else [each for each in word.split("|") if each]
        if not parts:
            raise MalformedMarking("A bar needs something on both sides.", max(marking.find("|"), 0))
        choices.append(parts)
    size = 1
    for each in choices:
        size *= len(each)
    rows = [" ".join(row) for _, row in zip(range(MOST_VARIANTS), product(*choices), strict=False)]
    return rows, size > MOST_VARIANTS or len(marking) > LONGEST_TEXT


def widened_readings(
    words: list[Word], notes: list[str], question: Question, budget: Budget
) -> Iterable[Candidate]:
    """Readings with every character free to be one it is mistaken for, the last resort."""
    changed = [Word(doubted(word.cells), word.printed, "") for word in words[:4]]
    for candidate in lines.readings(changed, notes, question.kind, question.era, budget):
        candidate.weight *= DOUBT * DOUBT
        candidate.cautions = (
            *candidate.cautions,
            "takes more than one character for another it is mistaken for",
        )
        yield candidate


def doubtful_readings(
    words: list[Word], notes: list[str], question: Question, budget: Budget
) -> Iterable[Candidate]:
    """Readings with exactly one character taken for another it is often mistaken for."""
    unreadable = any(seen is None for word in words for seen in word.cells)
    tries = FEW_DOUBTS if unreadable else max(FEW_DOUBTS, MOST_DOUBTS // len(words)) if words else 0
    for place, word in enumerate(words[:6]):
        for at, seen in enumerate(word.cells[:12]):
            if seen is None or len(seen) != 1:
                continue
            for other in CONFUSED.get(seen[0], ""):
                tries -= 1
                if tries < 0 or budget.left <= 0:
                    budget.spent_out = True
                    return
                cells = (*word.cells[:at], (other,), *word.cells[at + 1 :])
                whole = word.whole[:at] + other + word.whole[at + 1 :] if word.whole else ""
                changed = [*words[:place], Word(cells, word.printed, whole), *words[place + 1 :]]
                caution = f"takes the “{seen[0]}” for a worn “{other}”"
                for candidate in lines.readings(changed, notes, question.kind, question.era, budget):
                    candidate.weight *= DOUBT
                    candidate.cautions = (*candidate.cautions, caution)
                    yield candidate


def bands_answer(question: Question, words: Sequence[str], scheme: str) -> Answer:
    if len(words) > MOST_BANDS:
        raise MalformedMarking(f"No code here uses more than {MOST_BANDS} bands.", MOST_BANDS)
    bands = colours_of(words)
    budget = Budget(EXPANSIONS)
    low = f"{scheme} {question.body}".lower()
    evidence = Evidence(question, [scheme])
    found = list(band_readings(bands, question, low, bool(scheme.strip()), evidence, budget))
    if question.doubtful or not found:
        for place, seen in enumerate(bands):
            if seen is None or len(seen) != 1:
                continue
            for other in CONFUSED_COLOURS[seen[0]]:
                changed = (*bands[:place], (other,), *bands[place + 1 :])
                for candidate in band_readings(
                    changed, question, low, bool(scheme.strip()), evidence, budget
                ):
                    candidate.weight *= DOUBT
                    candidate.cautions = (*candidate.cautions, f"takes the {seen[0]} band for {other}")
                    found.append(candidate)
    return answer_of(found, question, evidence, budget.spent_out, bands=True)


def band_readings(
    bands: Bands, question: Question, described_as: str, named: bool, evidence: Evidence, budget: Budget
) -> Iterable[Candidate]:
    """All schemes of this many bands; one that the person named goes alone when it fits."""
    fitting = [each for each in BAND_SCHEMES if len(each.places) == len(bands)]
    kind = question.kind
    if kind:
        fitting = [each for each in fitting if each.notation.kind == kind]
    chosen = [each for each in fitting if named and any(word in described_as for word in each.keywords)]
    if chosen:
        longest = max(len(word) for each in chosen for word in each.keywords if word in described_as)
        fitting = [
            each
            for each in chosen
            if any(len(word) == longest for word in each.keywords if word in described_as)
        ]
    else:
        fitting = [each for each in fitting if each.notation.name not in NAMED_ONLY or "body" in described_as]
    found: list[Candidate] = []
    for scheme in fitting:
        # With the kind unknown, a scheme seldom met is read only in its usual colours.
        prior = 1.0 if kind or chosen else evidence.prior(scheme.notation, scheme.notation.kind)
        found.extend(read(bands, scheme, question.era, budget, RARE_ENTRY / min(max(prior, 1e-6), 1.0)))
    return found


def answer_of(
    found: list[Candidate], question: Question, evidence: Evidence, truncated: bool, *, bands: bool
) -> Answer:
    """Weigh, join what means the same, rank, cut at the limit, and put the reasons into words."""
    merged: dict[tuple[Any, ...], Candidate] = {}
    weights: dict[tuple[Any, ...], float] = {}
    best: dict[tuple[Any, ...], float] = {}
    for candidate in found:
        if evidence.supposing:
            evidence.suppose(candidate)
        weight = evidence.weigh(candidate)
        value = candidate.value
        if weight <= 0 or (
            value is not None and (value > LARGEST or (value == 0 and candidate.kind != "resistor"))
        ):
            continue
        key = candidate.key()
        if key not in merged:
            merged[key], weights[key], best[key] = candidate, weight, weight
            continue
        weights[key] += weight
        if weight > best[key]:
            merged[key], best[key] = candidate, weight
    order = sorted(weights, key=weights.__getitem__, reverse=True)
    if len(order) > question.limit:
        truncated = True
        order = order[: question.limit]
    total = sum(weights[key] for key in order)
    readings: list[Reading] = []
    for key in order:
        candidate = merged[key]
        reasons = (*candidate.reasons, *evidence.reasons(candidate))
        readings.append(candidate.reading(weights[key] / total, reasons))
    if not readings:
        return Answer((), truncated, hints(question, bands))
    return Answer(tuple(readings), truncated, (), next_check(readings, bands, question.measured is not None))


def hints(question: Question, bands: bool) -> tuple[str, ...]:
    """What to try when nothing fits."""
    found = []
    if question.kind:
        found.append(f"nothing reads as a {question.kind}: try without naming the kind")
    if bands:
        found.append("try the other schemes for colours, and put a ? for any band you are not sure of")
    else:
        found.append("put a ? for each character you cannot read, or [38] where it is one of two")
        found.append(
            "light from the side, a wipe with chalk and a look from both ways up often bring a marking out"
        )
    found.append("measure the part: the meter settles most of it")
    return tuple(found)
