"""One question in, one ranked answer out: words -> readers -> candidates -> scores -> explanation."""

from __future__ import annotations

from collections.abc import Iterator

from . import band_reader, readers, words
from .candidates import Candidate, Notation
from .explanation import explained
from .known import Known
from .named_parts import read_named
from .reading import NOTHING, MalformedMarking, Question, Readings
from .scoring import Evidence, Scored, scored
from .shapes import Budget

EXPANSIONS, DOUBTED_EXPANSIONS = 560, 200
"""The likeliest come first, so that a bound leaves out what hardly anybody means; how high is a judgement."""
NONE = Notation("none of these", "", "other")
NONE_SHARE = 0.9
DISAGREES = "no reading agrees with what was measured: look again; it may be faulty, or measured in circuit"
UNMADE = 0.005
"""A value outside every series is a hint that something is misread, no more: what was seen stays first."""
VALUED = frozenset(("resistor", "capacitor", "inductor", "crystal"))
"""Of these a type that is not known says nothing by itself."""
UNASKED = 0.003


def decode(question: Question) -> Readings:
    """Every meaning that fits, best first. MalformedMarking for a question that cannot be read, and for
    nothing else.
    """
    if question.limit < 1:
        raise MalformedMarking("At least one reading must be asked for.", 0)
    if not question.bands and not question.marking.strip():
        raise MalformedMarking("There is nothing to read.", 0)
    named = read_named(question, of_what_stands) if question.marking else None
    return named or of_what_stands(question)


def of_what_stands(question: Question) -> Readings:
    bands = band_reader.bands_in(question)
    return of_marking(question) if bands is None else of_bands(question, bands)


def of_marking(question: Question) -> Readings:
    seen = words.seen_in(question)
    evidence = Evidence(question, seen.notes)
    known = known_of(question, evidence, any("year" in note for note in seen.notes))
    candidates = readers.read(seen.lines, known)
    if not candidates and known.budget.near:
        known.budget.without_meter()
        candidates = readers.read(seen.lines, known)
    if question.doubtful or not candidates:
        candidates += doubted_words(seen, known, asked=question.doubtful)
    if not candidates:
        candidates += readers.read(words.widened_lines(seen, question.kind), known)
    if candidates or question.kind not in VALUED:
        likeliest: dict[tuple[str, str], float] = {}
        for each in candidates:
            if each.type.number:
                number = each.kind, each.type.number
                likeliest[number] = max(likeliest.get(number, 0.0), evidence.weigh(each))
        last = readers.read(seen.lines, known, readers.LAST)
        candidates += [
            each for each in last if likeliest.get((each.kind, each.type.number), 0.0) < evidence.weigh(each)
        ]
    ranked = scored(candidates, evidence)
    share = 0.0 if question.doubtful else doubt(ranked, evidence)
    if share:
        candidates += [each.less(share) for each in doubted_words(seen, known, asked=False)]
        ranked = scored(candidates, evidence)
    return answer(ranked, evidence, question, seen.truncated or known.budget.spent_out)


def of_bands(question: Question, seen: band_reader.SeenBands) -> Readings:
    evidence = Evidence(question, [question.scheme], of_bands=True)
    known = known_of(question, evidence)
    candidates = list(band_reader.read_bands(seen, known, evidence.prior))
    if question.doubtful or not candidates:
        candidates += doubted_bands(seen, known, evidence)
    ranked = scored(candidates, evidence)
    share = 0.0 if question.doubtful else doubt(ranked, evidence)
    if share:
        candidates += [each.less(share) for each in doubted_bands(seen, known, evidence)]
        ranked = scored(candidates, evidence)
    return answer(ranked, evidence, question, known.budget.spent_out)


def answer(ranked: list[Scored], evidence: Evidence, question: Question, truncated: bool) -> Readings:
    if question.measured is not None and doubt(ranked, evidence) == 1:
        ranked = with_none_of_these(ranked, question.kind)
    return explained(ranked, evidence, question, truncated)


def doubt(ranked: list[Scored], evidence: Evidence) -> float:
    """How far the evidence doubts the best reading: 1 where it contradicts it, 0 where it does not."""
    if not ranked:
        return 0.0
    best = ranked[0].candidate
    return 1.0 if evidence.contradicts(best) else UNMADE if evidence.is_unmade(best) else 0.0


def with_none_of_these(ranked: list[Scored], kind: str) -> list[Scored]:
    """A reading beyond its tolerance is never sure: as likely the part is misread, or faulty."""
    none = Candidate(NONE._replace(kind=kind or NONE.kind), None, (), cautions=(DISAGREES,))
    return [ranked[0], Scored(none, ranked[0].weight * NONE_SHARE), *ranked[1:]]


def doubted_words(seen: words.SeenMarking, known: Known, *, asked: bool) -> list[Candidate]:
    """Unasked, a letter taken for another makes a known type of many an unknown one: that weighs less."""
    known.budget.left = min(known.budget.left, DOUBTED_EXPANSIONS)
    doubted = readers.read(words.doubtful_lines(seen, known.kind), known)
    return [each.less(UNASKED) if each.type.number and not asked else each for each in doubted]


def doubted_bands(seen: band_reader.SeenBands, known: Known, evidence: Evidence) -> Iterator[Candidate]:
    for changed, caution in band_reader.doubtful_bands(seen):
        for candidate in band_reader.read_bands(changed, known, evidence.prior):
            yield candidate.less(words.DOUBT, caution)


def known_of(question: Question, evidence: Evidence, lone_year: bool = False) -> Known:
    budget = Budget(EXPANSIONS, evidence.measured or NOTHING, evidence.unlikely_kinds())
    return Known(question.kind, question.era, lone_year, budget, evidence.weigh)
