"""A candidate: what one reader makes of a marking. Light, frozen, made by the thousand."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from .reading import NOTHING


class Tolerance(NamedTuple):
    """One tolerance as printed: symmetric per cent, or low/high per cent, or an absolute amount in smallest
    units.
    """

    percent: Decimal | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    absolute: int | None = None
    text: str = ""
    spread: float = 0.1
    """Half-width as a fraction, for weighing a measurement; for an absolute amount it is worked out per
    value.
    """


def percent(amount: str) -> Tolerance:
    return Tolerance(percent=Decimal(amount), text=f"±{amount} %", spread=float(amount) / 100)


ONE_PERCENT, FIVE_PERCENT = percent("1"), percent("5")


def lopsided(low: str, high: str) -> Tolerance:
    spread = (float(high) - float(low)) / 200
    return Tolerance(low=Decimal(low), high=Decimal(high), text=f"+{high}/{low} %", spread=spread)


def picofarads(amount: str) -> Tolerance:
    return Tolerance(absolute=int(Decimal(amount) * 1000), text=f"±{amount} pF")


def nanohenries(amount: str) -> Tolerance:
    return Tolerance(absolute=int(Decimal(amount) * 1000), text=f"±{amount} nH")


class Notation(NamedTuple):
    """A way of marking: what it is called, what fixes it, and how often it is met (see scoring.py).

    `favours` multiplies the prior on bodies of a class, `since` and `until` bound the years of its common
    use. `most` is the highest score that it may have where anything else can be read, `most_unseen` where
    besides no body is told.
    """

    name: str
    standard: str
    kind: str
    prior: float = 1.0
    favours: Mapping[str, float] = NOTHING
    since: int = 0
    until: int = 9999
    most: float = 1.0
    most_unseen: float = 1.0


class NamedType(NamedTuple):
    """A type number and what the type string says in words: whose it is, in what package, what it does."""

    number: str = ""
    make: str = ""
    package: str = ""
    function: str = ""
    group: str = ""


NO_TYPE = NamedType()
Used = tuple[tuple[str, Any], ...]
"""(characters, meaning) in printed order; a band's meaning stays its table entry until it is shown."""


class Candidate(NamedTuple):
    """A possible reading, never changed once made: each step makes another from it.

    `weight` is what its notation says of this form; everything else that speaks for it is in scoring.py.
    `usual` is the tolerance that goes with the code when none is printed; it does not make a meaning of its
    own.
    """

    notation: Notation
    value: int | None
    used: Used
    weight: float = 1.0
    tolerance: Tolerance | None = None
    volts: Decimal | None = None
    cautions: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()
    temperature: Mapping[str, Any] = NOTHING
    traits: Mapping[str, Any] = NOTHING
    type: NamedType = NO_TYPE
    date: str = ""
    usual: Tolerance | None = None

    @property
    def kind(self) -> str:
        return self.notation.kind

    def less(self, factor: float, caution: str = "") -> Candidate:
        """The same, likely only by that factor, and why."""
        return Candidate(  # called by the thousand: _replace takes three times as long
            self.notation, self.value, self.used, self.weight * factor, self.tolerance, self.volts,
            (*self.cautions, caution) if caution else self.cautions, self.reasons, self.temperature,
            self.traits, self.type, self.date, self.usual,
        )  # fmt: skip

    def after(self, *used: tuple[str, Any]) -> Candidate:
        """The same with more characters used up behind it."""
        return Candidate(
            self.notation, self.value, (*self.used, *[each for each in used if each[0]]), self.weight,
            self.tolerance, self.volts, self.cautions, self.reasons, self.temperature, self.traits,
            self.type, self.date, self.usual,
        )  # fmt: skip

    def meaning(self) -> tuple[Any, ...]:
        """What makes two candidates the same reading, whatever notation led to it."""
        return (
            self.kind, self.value, self.tolerance, self.volts, self.type.number, self.date,
            self.temperature.get("code") if self.temperature else None,
            self.traits.get("failure_rate_percent_per_1000_h") if self.traits else None,
            self.traits.get("fusible") if self.traits else None,
            self.traits.get("zener_volts") if self.traits else None,
            repr(sorted(self.traits.items())) if self.type.number else "",
        )  # fmt: skip
