"""How readings are weighed: one model, all of it here, so that a score can be argued with.

    weight = how common the notation is, for such a kind, body and era      (notation prior)
           x what the notation's own table says of this form or colour      (candidate weight)
           x how usual the figures are: E12, E24, E96, other                (series.usualness)
           x how usual the size is for the kind                             (SIZES)
           x agreement with the meter: a bell on the log ratio whose width joins the meter's own error,
           half the
             part's tolerance and ageing, plus a floor for in-circuit and faulty parts
           x 60 when it is the value expected at the position, 4 near it
           x 3 when an open job wants the value, 1.5 when the bench already holds it

The same meaning reached through several notations adds up and is shown once. Weights are divided by their
sum. The constants are judgements of bench practice (common practice, no source) and are checked by the
reliability table of tests/benchmarks/decoding.py: readings with score s should be right about s of the time.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from math import exp, hypot, log

from .candidates import FIVE_PERCENT, ONE_PERCENT, Candidate, Notation
from .reading import Question
from .series import UNUSUAL, USUAL, usualness

KIND_PRIOR = {"resistor": 1.0, "capacitor": 0.8, "inductor": 0.12, "crystal": 0.3}
BODY_KIND = {
    "chip": {"resistor": 2.0, "capacitor": 0.5},
    "disc": {"capacitor": 20.0},
    "film": {"capacitor": 10.0},
    "electrolytic": {"capacitor": 50.0},
    "tantalum": {"capacitor": 50.0},
    "mica": {"capacitor": 50.0},
    "paper": {"capacitor": 50.0},
    "shunt": {"resistor": 50.0},
    "network": {"resistor": 50.0},
    "fusible": {"resistor": 50.0},
    "trimmer": {"resistor": 30.0},
    "coil": {"inductor": 100.0},
    "rf": {"inductor": 3.0},
    "glass": {"diode": 40.0},
}
BODY_WORDS = {
    "underlined": "underlined underline",
    "chip": "smd smt chip melf 0201 0402 0603 0805 1206 1210 2010 2512 0508 sot sod",
    "axial": "axial",
    "disc": "disc disk ceramic mlcc multilayer plate",
    "film": "film polyester polypropylene polycarbonate polystyrene styroflex box"
    " mylar foil c280 mkt mkp tropical",
    "electrolytic": "electrolytic aluminium aluminum can elko bipolar snap-in",
    "tantalum": "tantalum bead tant",
    "polystyrene": "polystyrene styroflex",
    "tubular": "tubular erie tube",
    "old": "old vintage valve valves pre-war prewar antique dogbone erie tube-era",
    "mica": "mica",
    "paper": "paper waxed",
    "trimmer": "trimmer preset potentiometer pot",
    "shunt": "shunt sense current-sense milliohm current",
    "rf": "rf",
    "network": "network array sip sil",
    "military": "military mil jan",
    "fusible": "fusible",
    "blue body": "blue",
    "beige body": "beige tan cream",
    "coil": "coil choke inductor",
    "glass": "glass",
}
TAGS: dict[str, tuple[str, ...]] = {}
for _tag, _words in BODY_WORDS.items():
    for _word in _words.split():
        TAGS[_word] = (*TAGS.get(_word, ()), _tag)

# By kind, how usual a value of so many decimal digits (in smallest units) is.
SIZES: Mapping[str, tuple[float, ...]] = {
    # 10^0 µΩ upwards; 10^6 is one ohm
    "resistor": (
        0.001,
        0.002,
        0.01,
        0.02,
        0.03,
        0.12,
        0.6,
        0.9,
        1.0,
        1.0,
        1.0,
        0.9,
        0.6,
        0.06,
        0.004,
        0.0005,
    ),
    # 10^0 fF upwards; 10^3 is one picofarad
    "capacitor": (
        0.0001,
        0.0005,
        0.05,
        0.35,
        0.8,
        1.0,
        1.0,
        1.0,
        1.0,
        0.7,
        0.6,
        0.5,
        0.25,
        0.02,
        0.002,
        0.0005,
    ),
    # 10^0 pH upwards; 10^6 is one microhenry
    "inductor": (0.0005, 0.001, 0.01, 0.3, 0.3, 0.6, 1.0, 1.0, 1.0, 0.7, 0.2, 0.05, 0.03, 0.005, 0.0005),
}
BEYOND = 0.0001
WHOLE_PICOFARADS = 0.4
"""Below 10 pF whole and half picofarads are common values, whatever the series says (common practice, no
source).
"""
CLOSE_SERIES = 0.15
"""E96, E192 and old round values are rarer on anything but a resistor."""

DEFAULT_METER = {"resistor": 0.04, "capacitor": 0.05, "inductor": 0.06}
DEFAULT_SPREAD = {"resistor": 0.05, "capacitor": 0.1, "inductor": 0.1}
AGEING = 0.015
FLOOR = 2e-4
MOST_OF_A_LINK = 500_000  # µΩ: a link and a pair of meter leads
OTHER_KIND = 2e-5
"""Farads read off a meter say that the part is a capacitor, even a faulty one."""
EXPECTED, NEAR_EXPECTED, NEARNESS = 60.0, 4.0, 0.08
WANTED, HELD = 3.0, 1.5
ERA_FADE = 8.0


class Evidence:
    """Everything but the marking, worked out once per question."""

    def __init__(self, question: Question, notes: Iterable[str] = ()) -> None:
        words = re.findall(r"[a-z0-9-]+", f"{question.body} {' '.join(notes)}".lower()[:400])
        self.tags = {tag for word in words for tag in TAGS.get(word, ())}
        self.words = frozenset(words)
        self.kind = question.kind
        self.era = question.era
        self.measured = by_kind(question.measured, question.kind)
        self.expected = by_kind(question.expected, question.kind)
        self.wanted = question.wanted
        self.held = question.held
        self.meter = (
            float(question.measured_tolerance) / 100 if question.measured_tolerance is not None else None
        )
        self.priors: dict[str, float] = {}
        self.values: dict[tuple[str, int], float] = {}
        self.supposing = bool(self.tags & {"chip", "underlined"})

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
            prior *= KIND_PRIOR.get(kind, 1.0)
            for tag in self.tags:
                prior *= BODY_KIND.get(tag, {}).get(kind, 1.0)
        if self.era is not None:
            outside = max(notation.since - self.era, self.era - notation.until, 0)
            prior *= max(exp(-outside / ERA_FADE), 0.01)
        self.priors[name] = prior
        return prior

    def suppose(self, candidate: Candidate) -> None:
        """The tolerance a chip resistor has when none is printed: two figures 5 %, underlined 1 % (data sheet
        RND 155).
        """
        if candidate.kind == "resistor" and candidate.tolerance is None and candidate.value:
            if candidate.usual is None and "chip" in self.tags and 3 <= len(candidate.used[0][0]) <= 4:
                candidate.usual = FIVE_PERCENT if len(candidate.used[0][0]) == 3 else ONE_PERCENT
            if "underlined" in self.tags and candidate.usual is FIVE_PERCENT:
                candidate.usual = ONE_PERCENT

    def weigh(self, candidate: Candidate) -> float:
        weight = candidate.weight * self.prior(candidate.notation, candidate.kind)
        value = candidate.value
        if not value:
            return weight * self.without_value(candidate)
        known = self.values.get((candidate.kind, value))
        if known is None:
            known = self.values[candidate.kind, value] = self.value_weight(candidate.kind, value)
        weight *= known
        if self.measured is not None:
            weight *= self.agreement(candidate, value)
        return weight

    def without_value(self, candidate: Candidate) -> float:
        """Whether a reading of no value, or of zero, goes with what was measured and expected."""
        weight = 1.0
        for found in (self.measured, self.expected):
            if found is None:
                continue
            units = found.get(candidate.kind)
            link = candidate.value == 0 and units is not None and units <= MOST_OF_A_LINK
            weight *= 1.0 if link else FLOOR if candidate.value == 0 else OTHER_KIND
        return weight

    def value_weight(self, kind: str, value: int) -> float:
        """What speaks for the value itself, whatever the notation and tolerance."""
        weight = 1.0
        sizes = SIZES.get(kind)
        if sizes is not None:
            digits = len(str(value)) - 1
            usual = usualness(value)
            if value < 10_000 and value % 500 == 0 and kind == "capacitor":
                usual = max(usual, WHOLE_PICOFARADS)
            if usual < 0.5 and kind != "resistor":
                usual = usual * CLOSE_SERIES if usual > UNUSUAL else usual
            weight *= usual * (sizes[digits] if digits < len(sizes) else BEYOND)
        if self.expected is not None:
            weight *= self.expectation(kind, value)
        if self.wanted and (kind, value) in self.wanted:
            weight *= WANTED
        if self.held and (kind, value) in self.held:
            weight *= HELD
        return weight

    def agreement(self, candidate: Candidate, value: int) -> float:
        """Likelihood of the meter's figure if this reading is true, scaled so that a perfect fit of a 5 %
        part is about 1.
        """
        measured = self.measured.get(candidate.kind) if self.measured else None
        if measured is None:
            return OTHER_KIND
        if measured <= 0:
            return FLOOR
        tolerance = candidate.tolerance or candidate.usual
        spread = DEFAULT_SPREAD.get(candidate.kind, 0.1)
        centre = float(value)
        if tolerance is not None:
            spread = tolerance.absolute / value if tolerance.absolute is not None else tolerance.spread
            if tolerance.low is not None and tolerance.high is not None:
                centre *= 1 + float(tolerance.low + tolerance.high) / 200
        meter = self.meter if self.meter is not None else DEFAULT_METER.get(candidate.kind, 0.05)
        width = hypot(0.6 * meter, 0.5 * min(spread, 1.0), AGEING)
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

    def reasons(self, candidate: Candidate) -> list[str]:
        """The model's own reasons for a shown reading, in words."""
        value = candidate.value
        found: list[str] = []
        if value is None:
            return found
        if value:
            figures = int(str(value).rstrip("0"))
            preferred = USUAL.get(figures, 0.0)
            found.append(
                "a common preferred value (E24)" if preferred >= 0.9
                else "a preferred value (E96)" if preferred == 0.2
                else "a preferred value (E192)" if preferred == 0.015
                else "a round value of old parts, in no E series" if preferred
                else "not a preferred value: a hint, not an error"
            )  # fmt: skip
        if self.measured is not None and value:
            measured = self.measured.get(candidate.kind)
            if measured is None:
                found.append("what was measured is not a quantity of this kind")
            else:
                off = 100 * (measured - value) / value
                found.append(f"measured {off:+.1f} % from this value")
        if self.expected is not None and self.expected.get(candidate.kind) == value:
            found.append("the value expected at the position")
        if (candidate.kind, value) in self.wanted:
            found.append("an open job wants this value")
        if (candidate.kind, value) in self.held:
            found.append("this bench already holds this value")
        return found


def by_kind(units: int | Mapping[str, int] | None, kind: str) -> Mapping[str, int] | None:
    """A figure whose kind may be known only from its own unit, as {kind: smallest units}."""
    if units is None or isinstance(units, Mapping):
        return units
    return {kind: units} if kind else dict.fromkeys(SIZES, units)
