"""The last step: the best candidates put into words, with their reasons and the next check."""

from __future__ import annotations

from inventory.spec import Spec, of_type_text

from .candidates import Candidate
from .checks import next_check
from .reading import Question, Reading, Readings
from .scoring import Evidence, Scored
from .series import USUAL
from .unknown_types import UNKNOWN

WORTH_A_LINE = 0.002
TYPED = frozenset(("diode", "transistor", "regulator", "ic"))
LONGEST_NUMBER = 40


def explained(scored: list[Scored], evidence: Evidence, question: Question, truncated: bool) -> Readings:
    """The answer: at most as many readings as were asked for, their scores summing to one."""
    bands = bool(question.bands) or evidence.of_bands
    scored = [each for each in scored if not idle(each, scored[0])]
    shown = scored[: question.limit]
    truncated = truncated or len(scored) > len(shown)
    total = sum(each.weight for each in shown)
    readings = [reading_of(each.candidate, each.weight / total, evidence) for each in shown]
    if not readings:
        return Readings((), truncated, hints(question, bands))
    advice = hints(question, bands) if shown[0].candidate.notation.name in UNKNOWN else ()
    return Readings(
        tuple(readings), truncated, advice, next_check(readings, bands, question.measured is not None)
    )


def idle(scored: Scored, best: Scored) -> bool:
    """A type that is not known is not worth a line beside what is as good as sure."""
    return scored.candidate.notation.name in UNKNOWN and scored.weight < WORTH_A_LINE * best.weight


def reading_of(candidate: Candidate, score: float, evidence: Evidence) -> Reading:
    tolerance, cautions = candidate.tolerance, candidate.cautions
    usual = candidate.usual if tolerance is None else None
    if usual is not None:
        tolerance = usual
        cautions = (*cautions, f"no tolerance is printed: {usual.text} is usual with this code")
    return Reading(
        candidate.kind,
        candidate.value,
        tolerance.percent if tolerance else None,
        tolerance.absolute if tolerance else None,
        tolerance.low if tolerance else None,
        tolerance.high if tolerance else None,
        usual is not None,
        candidate.volts,
        *candidate.type,
        candidate.traits,
        candidate.temperature,
        candidate.date,
        candidate.notation.name,
        candidate.notation.standard,
        score,
        (*candidate.reasons, *of_the_type(candidate), *reasons_of(candidate, evidence)),
        cautions,
        tuple(
            (seen, meaning if isinstance(meaning, str) else meaning.text) for seen, meaning in candidate.used
        ),
    )


def of_the_type(candidate: Candidate) -> tuple[str, ...]:
    """What the tables of types say of this number, on one line."""
    if candidate.kind not in TYPED or not 0 < len(candidate.type.number) <= LONGEST_NUMBER:
        return ()
    type_text = of_type_text(Spec(candidate.kind, number=candidate.type.number))
    return (f"the type, by the data books: {type_text}",) if type_text else ()


def reasons_of(candidate: Candidate, evidence: Evidence) -> list[str]:
    """What the figures, the meter, the position and the bench say of a reading, in words."""
    value = candidate.value
    reasons: list[str] = []
    if value is None:
        return reasons
    if value:
        figures = int(str(value).rstrip("0"))
        preferred = USUAL.get(figures, 0.0)
        reasons.append(
            "a common preferred value (E24)" if preferred >= 0.9
            else "a preferred value (E96)" if preferred == 0.2
            else "a preferred value (E192)" if preferred == 0.015
            else "a round value of old parts, in no E series" if preferred
            else "not a preferred value: a hint, not an error"
        )  # fmt: skip
    if evidence.measured is not None and value:
        measured = evidence.measured.get(candidate.kind)
        if measured is None:
            reasons.append("what was measured is not a quantity of this kind")
        else:
            off = 100 * (measured - value) / value
            reasons.append(f"measured {off:+.1f} % from this value")
    if evidence.expected is not None and evidence.expected.get(candidate.kind) == value:
        reasons.append("the value expected at the position")
    if (candidate.kind, value) in evidence.wanted:
        reasons.append("an open job needs this value")
    if (candidate.kind, value) in evidence.held:
        reasons.append("this bench already holds this value")
    return reasons


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
        found.append("alcohol takes some inks off: try it at a corner first, and never scrape")
    found.append("measure the part: the meter settles most of it")
    return tuple(found)
