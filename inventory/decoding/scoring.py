"""How readings are weighed: one model, all of it here, so that a score can be argued with.

    weight = how common the notation is, for such a kind, body and era      (notation prior)
           x what the notation's own table says of this form or colour      (candidate weight)
           x how usual the figures are: E12, E24, E96, other                (series.usualness)
           x how usual the size is for the kind                             (made.SIZES)
           x agreement with the meter: a bell on the log ratio whose width joins the meter's own error,
             a third of the part's tolerance and ageing, plus a floor for in-circuit and faulty parts
           x 60 when it is the value expected at the position, 4 near it
           x 3 when an open job wants the value, 1.5 when the bench already holds it

The same meaning reached through several notations adds up and is shown once. Weights are divided by their
sum. The constants are judgements of bench practice (common practice, no source) and are checked by the
reliability table of tests/benchmarks/decoding.py: readings with score s should be right about s of the time.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import exp, hypot, log
from typing import Any, NamedTuple

from .bodies import likelihood, tags_of, words_in
from .candidates import FIVE_PERCENT, ONE_PERCENT, Candidate, Notation
from .made import BEYOND, CLOSE_SERIES, SIZES, WHOLE_PICOFARADS, made_as_capacitor, sizes_on, spreads_on
from .patterns import UNREAD
from .reading import Question
from .series import UNUSUAL, usualness

KIND_PRIOR = {"resistor": 1.0, "capacitor": 0.8, "inductor": 0.12, "crystal": 0.3}

DEFAULT_METER = {"resistor": 0.04, "capacitor": 0.05, "inductor": 0.06}
AGEING = 0.015
FLOOR = 2e-4
MAX_LINK_MICROOHMS = 500_000  # µΩ: a link and a pair of meter leads
OTHER_KIND = 2e-5
"""Farads read off a meter say that the part is a capacitor, even a faulty one."""
EXPECTED, NEAR_EXPECTED, NEARNESS = 60.0, 4.0, 0.08
WANTED, HELD = 3.0, 1.5
ERA_FADE = 8.0
WIDE, ONLY_CLOSE, UNMADE = 5, 0.3, 0.15
"""Parts of 5 % and wider come in E24 and narrower series; others are misread (IEC 60063)."""
ABSURD = 1e-4
"""Nobody makes a part whose tolerance is more than its value."""
FEWEST_ALIKE, IN_COMMON, MAX_ALIKE = 3, 0.8, 2.5
"""However many letters may stand where one cannot be read, it is one letter: together they weigh so many
times what the likeliest does.
"""
CLEARER = 1.6
"""Where all is read and the body told, weights multiplied tell readings apart less than they should: each of
eleven folds of fresh markings, held back in turn, chose this power (tests/benchmarks/partial_markings.py
prints what came of it).
"""
UNREADABLE = "not readable"
UNLIKELY = 0.03
LARGEST_TANTALUM, ABSURD_SIZE = 5000 * 10**9, 0.01
"""fF times volts: what fits into the largest bead and chip (common practice, no source)."""
MOST_VOLTS_OF_A_BEAD = 50
"""From memory of makers' sheets: beads and chips of solid tantalum end there, those in metal do not."""
LARGEST = 2**63 - 1
"""Smallest units that a column holds; a larger value is no part."""


class Scored(NamedTuple):
    """A candidate with all that speaks for its meaning, other ways to read the same included."""

    candidate: Candidate
    weight: float


def scored(candidates: Iterable[Candidate], evidence: Evidence) -> list[Scored]:
    """Weighed, joined where they mean the same, best first. What is impossible is left out."""
    best: dict[tuple[Any, ...], Candidate] = {}
    weights: dict[tuple[Any, ...], float] = {}
    highest: dict[tuple[Any, ...], float] = {}
    for each in candidates:
        candidate = evidence.supposed(each)
        weight = evidence.weigh(candidate)
        if weight <= 0 or not possible(candidate):
            continue
        meaning = candidate.meaning()
        weights[meaning] = weights.get(meaning, 0.0) + weight
        if weight > highest.get(meaning, 0.0):
            best[meaning], highest[meaning] = candidate, weight
    found = [Scored(best[meaning], weight) for meaning, weight in weights.items()]
    if evidence.partial:
        found = with_what_is_certain(found)
    elif evidence.tags and evidence.unmeasured:
        found = told_apart(found)
    return sorted(bounded(found, told=bool(evidence.tags)), key=lambda each: each.weight, reverse=True)


def told_apart(found: list[Scored]) -> list[Scored]:
    """With what each says of the part, its kind and value or type, raised to the power CLEARER.

    What two conventions read differently stays as far apart as it was: no evidence tells them apart but a
    meter.
    """
    parts = [_said_of_the_part(each.candidate) for each in found]
    totals = dict.fromkeys(parts, 0.0)
    for part, each in zip(parts, found, strict=True):
        totals[part] += each.weight
    most = max(totals.values(), default=1.0)
    return [
        each._replace(weight=each.weight * (totals[part] / most) ** (CLEARER - 1))
        for part, each in zip(parts, found, strict=True)
    ]


_BY_CONVENTION = frozenset(("three-digit code, pF", "plain picofarads, three digits and more"))
"""100 is 10 pF by the one and 100 pF by the other."""


def _said_of_the_part(candidate: Candidate) -> tuple[Any, ...]:
    if candidate.notation.name in _BY_CONVENTION:
        return candidate.kind, _BY_CONVENTION
    return candidate.kind, candidate.value, candidate.type.number


def bounded(found: list[Scored], *, told: bool) -> list[Scored]:
    """With no notation above the highest score that it may have beside others; `told`: the body is known."""
    notations = [each.candidate.notation for each in found]
    limits = [each.most if told else min(each.most, each.most_unseen) for each in notations]
    most = min(limits, default=1.0)
    if most == 1:
        return found
    rest = sum(each.weight for each, limit in zip(found, limits, strict=True) if limit == 1)
    own = sum(each.weight for each, limit in zip(found, limits, strict=True) if limit < 1)
    share = min(most / (1 - most) * rest / own, 1.0) if rest and own else 1.0
    return [
        each if limit == 1 else each._replace(weight=each.weight * share)
        for each, limit in zip(found, limits, strict=True)
    ]


def with_what_is_certain(found: list[Scored]) -> list[Scored]:
    """Of readings that differ only in a tolerance or in volts that nobody can read, what they have in common
    is a reading too, and the likeliest: what is not readable stays unsaid in it.
    """
    alike: dict[tuple[Any, ...], list[Scored]] = {}
    shared: list[Scored] = []
    for each in found:
        candidate = each.candidate
        if candidate.value and (candidate.tolerance or candidate.volts):
            kind, value, _tolerance, _volts, *others = candidate.meaning()
            alike.setdefault((candidate.notation.name, kind, value, *others), []).append(each)
        else:
            shared.append(each)
    for several in alike.values():
        if len(several) < FEWEST_ALIKE:
            shared += several
            continue
        total = sum(each.weight for each in several)
        share = min(MAX_ALIKE * max(each.weight for each in several) / total, 1.0)
        shared.append(Scored(in_common(several), total * share * IN_COMMON))
        shared += [each._replace(weight=each.weight * share * (1 - IN_COMMON)) for each in several]
    return shared


def in_common(several: list[Scored]) -> Candidate:
    likeliest = max(several, key=lambda each: each.weight).candidate
    others = [each.candidate for each in several]
    tolerance, volts = ({each.tolerance for each in others}, {each.volts for each in others})
    return likeliest._replace(
        tolerance=likeliest.tolerance if len(tolerance) == 1 else None,
        volts=likeliest.volts if len(volts) == 1 else None,
        used=tuple(
            part if all(part in each.used for each in others) else (UNREAD, UNREADABLE)
            for part in likeliest.used
        ),
    )


def possible(candidate: Candidate) -> bool:
    """No part has a value beyond what a column holds; none but a link has none."""
    value = candidate.value
    return value is None or (value <= LARGEST and (value > 0 or candidate.notation.kind == "resistor"))


class Evidence:
    """Everything but the marking, worked out once per question."""

    def __init__(self, question: Question, notes: Iterable[str] = (), *, of_bands: bool = False) -> None:
        self.of_bands = of_bands
        self.partial = not of_bands and UNREAD in question.marking
        self.tags = tags_of(words_in(f"{question.body} {' '.join(notes)}"))
        self.kind = question.kind
        self.era = question.era
        self.measured = by_kind(question.measured, question.kind)
        self.expected = by_kind(question.expected, question.kind)
        self.unmeasured = not (of_bands or self.measured or self.expected or question.doubtful)
        self.wanted = question.wanted
        self.held = question.held
        self.meter = (
            float(question.measured_tolerance) / 100 if question.measured_tolerance is not None else None
        )
        self.priors: dict[str, float] = {}
        self.values: dict[tuple[str, int], float] = {}
        self.sizes = sizes_on(self.tags)
        self.spreads = spreads_on(self.tags)
        self.supposing = bool(self.tags & {"chip", "underlined"})

    def unlikely_kinds(self) -> frozenset[str]:
        """Kinds that a part of such a body hardly ever is, against the likeliest of those with a value."""
        if self.kind or not self.tags:
            return frozenset()
        shares = {kind: KIND_PRIOR.get(kind, 1.0) * likelihood(kind, self.tags) for kind in (*SIZES, "diode")}
        least = UNLIKELY * max(shares.values())
        return frozenset(kind for kind, share in shares.items() if share < least)

    def prior(self, notation: Notation, kind: str) -> float:
        """How common the notation is for such a kind, body and era."""
        name = notation.name + kind
        known = self.priors.get(name)
        if known is not None:
            return known
        prior = notation.prior
        for tag in self.tags:
            prior *= notation.favours.get(tag, 1.0)
        if not self.kind:
            prior *= KIND_PRIOR.get(kind, 1.0) * likelihood(kind, self.tags)
        if self.era is not None:
            outside = max(notation.since - self.era, self.era - notation.until, 0)
            prior *= max(exp(-outside / ERA_FADE), 0.01)
        self.priors[name] = prior
        return prior

    def supposed(self, candidate: Candidate) -> Candidate:
        """With the tolerance a chip resistor has when none is printed: three figures 5 %, four or underlined
        1 % (data sheet RND 155).
        """
        if (
            not self.supposing
            or candidate.notation.kind != "resistor"
            or candidate.tolerance
            or not candidate.value
        ):
            return candidate
        usual, printed = candidate.usual, len(candidate.used[0][0])
        if usual is None and "chip" in self.tags and 3 <= printed <= 4:
            usual = FIVE_PERCENT if printed == 3 else ONE_PERCENT
        if "underlined" in self.tags and usual is FIVE_PERCENT:
            usual = ONE_PERCENT
        return candidate if usual is candidate.usual else candidate._replace(usual=usual)

    def weigh(self, candidate: Candidate) -> float:
        weight = candidate.weight * self.prior(candidate.notation, candidate.notation.kind)
        value = candidate.value
        if not value:
            return weight * self.without_value(candidate)
        known = self.values.get((candidate.notation.kind, value))
        if known is None:
            known = self.values[candidate.notation.kind, value] = self.value_weight(
                candidate.notation.kind, value
            )
        weight *= known
        if (
            candidate.volts is not None
            and "tantalum" in self.tags
            and "axial" not in self.tags
            and (value * candidate.volts > LARGEST_TANTALUM or candidate.volts > MOST_VOLTS_OF_A_BEAD)
        ):
            weight *= ABSURD_SIZE
        tolerance = candidate.tolerance
        if tolerance is not None and (tolerance.absolute or 0) > value:
            weight *= ABSURD
        if tolerance is not None and (tolerance.percent or 0) >= WIDE and "old" not in self.tags:
            weight *= UNMADE if UNUSUAL < usualness(value) < ONLY_CLOSE else 1.0
        if self.measured is not None:
            weight *= self.agreement(candidate, value)
        return weight

    def without_value(self, candidate: Candidate) -> float:
        """Whether a reading of no value, or of zero, goes with what was measured and expected."""
        weight = 1.0
        for found in (self.measured, self.expected):
            if found is None:
                continue
            units = found.get(candidate.notation.kind)
            link = candidate.value == 0 and units is not None and units <= MAX_LINK_MICROOHMS
            weight *= 1.0 if link else FLOOR if candidate.value == 0 else OTHER_KIND
        return weight

    def value_weight(self, kind: str, value: int) -> float:
        """What speaks for the value itself, whatever the notation and tolerance."""
        weight = 1.0
        sizes = self.sizes.get(kind)
        if sizes is not None:
            digits = len(str(value)) - 1
            usual = usualness(value)
            if value < 10_000 and value % 500 == 0 and kind == "capacitor":
                usual = max(usual, WHOLE_PICOFARADS)
            if usual < 0.5 and kind != "resistor":
                usual = usual * CLOSE_SERIES if usual > UNUSUAL else usual
            elif kind == "capacitor":
                usual *= made_as_capacitor(value)
            weight *= usual * (sizes[digits] if digits < len(sizes) else BEYOND)
        if self.expected is not None:
            weight *= self.expectation(kind, value)
        if self.wanted and (kind, value) in self.wanted:
            weight *= WANTED
        if self.held and (kind, value) in self.held:
            weight *= HELD
        return weight

    def contradicts(self, candidate: Candidate) -> bool:
        """Whether the meter or the value expected speaks against this reading."""
        value, kind = candidate.value, candidate.notation.kind
        if not value or kind not in SIZES:
            return self.measured is not None and value is None
        if self.measured is not None:
            measured = self.measured.get(kind)
            if measured is None or measured <= 0:
                return True
            tolerance = candidate.tolerance or candidate.usual
            spread = self.spreads[kind]
            centre = float(value)
            if tolerance is not None:
                spread = tolerance.absolute / value if tolerance.absolute is not None else tolerance.spread
                if tolerance.low is not None and tolerance.high is not None:
                    centre *= 1 + float(tolerance.low + tolerance.high) / 200
            meter = self.meter if self.meter is not None else DEFAULT_METER[kind]
            return abs(log(measured / centre)) > spread + meter + AGEING
        if self.expected is not None and self.expected.get(kind, 0) > 0:
            return abs(log(value / self.expected[kind])) > NEARNESS
        return False

    def is_unmade(self, candidate: Candidate) -> bool:
        """Whether the value is in no series at all or larger than any that is met, and nothing but the
        figures speaks of it.
        """
        value, sizes = candidate.value, SIZES.get(candidate.notation.kind)
        if not value or sizes is None or self.measured is not None or self.expected is not None:
            return False
        return usualness(value) <= UNUSUAL or len(str(value)) > len(sizes)

    def agreement(self, candidate: Candidate, value: int) -> float:
        """Likelihood of the meter's figure if this reading is true, scaled so that a perfect fit of a 5 %
        part is about 1.
        """
        measured = self.measured.get(candidate.notation.kind) if self.measured else None
        if measured is None:
            return OTHER_KIND
        if measured <= 0:
            return FLOOR
        tolerance = candidate.tolerance or candidate.usual
        spread = self.spreads.get(candidate.notation.kind, 0.1)
        centre = float(value)
        if tolerance is not None:
            spread = tolerance.absolute / value if tolerance.absolute is not None else tolerance.spread
            if tolerance.low is not None and tolerance.high is not None:
                centre *= 1 + float(tolerance.low + tolerance.high) / 200
        meter = self.meter if self.meter is not None else DEFAULT_METER.get(candidate.notation.kind, 0.05)
        width = hypot(0.6 * meter, min(spread, 1.0) / 3, AGEING)
        distance = log(measured / centre) / width
        return exp(-0.5 * distance * distance) * 0.04 / width + FLOOR

    def expectation(self, kind: str, value: int) -> float:
        expected = self.expected.get(kind) if self.expected else None
        if expected is None:
            return 0.3
        if expected == value:
            return EXPECTED
        if expected <= 0:
            return 1.0
        distance = log(value / expected) / NEARNESS
        return 1.0 + NEAR_EXPECTED * exp(-0.5 * distance * distance)


def by_kind(units: int | Mapping[str, int] | None, kind: str) -> Mapping[str, int] | None:
    """A figure whose kind may be known only from its own unit, as {kind: smallest units}."""
    if units is None or isinstance(units, Mapping):
        return units
    return {kind: units} if kind else dict.fromkeys(SIZES, units)
