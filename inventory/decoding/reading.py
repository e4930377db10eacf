"""What goes into the decoder and what comes out of it: plain frozen values, no behaviour beyond printing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from inventory.spec import plain_value, print_value

NOTHING: Mapping[str, Any] = MappingProxyType({})


class MalformedMarking(ValueError):
    """The question itself cannot be read: an unclosed bracket, an unknown colour. `position` is from 0."""

    def __init__(self, message: str, position: int) -> None:
        super().__init__(message)
        self.position = position


@dataclass(frozen=True)
class Reading:
    """One possible meaning of a marking, with its evidence.

    `value` and `tolerance_abs` count the kind's smallest unit (µΩ, fF, pH, mHz); tolerances are per cent,
    `low` and `high` signed (-20, +80). `date` is ISO ("1982-W13", "2012-05", "2003"). `used` says which
    characters or bands gave what, in the order printed; a meaning of "" means they gave nothing. `make`,
    `package` and `function` (in words) are what a type string says of them, "" where it does not; `group` is
    the group of gain or drain current behind a type, where `number` is the type without it.
    `usual_tolerance`: none is printed, and the one here is what such codes usually have.
    """

    kind: str
    value: int | None = None
    tolerance_percent: Decimal | None = None
    tolerance_abs: int | None = None
    tolerance_low_percent: Decimal | None = None
    tolerance_high_percent: Decimal | None = None
    usual_tolerance: bool = False
    volts: Decimal | None = None
    number: str = ""
    make: str = ""
    package: str = ""
    function: str = ""
    group: str = ""
    traits: Mapping[str, Any] = field(default_factory=lambda: NOTHING, hash=False)
    temperature: Mapping[str, Any] = field(default_factory=lambda: NOTHING, hash=False)
    date: str = ""
    notation: str = ""
    standard: str = ""
    score: float = 0.0
    reasons: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    used: tuple[tuple[str, str], ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The JSON shape of `GET decode/`: values as plain decimal text, absent facts as None."""
        return {
            "kind": self.kind,
            "value": None if self.value is None else plain_value(self.kind, self.value),
            "value_text": "" if self.value is None else print_value(self.kind, self.value),
            "tolerance_percent": plain_number(self.tolerance_percent),
            "tolerance_abs": None
            if self.tolerance_abs is None
            else plain_value(self.kind, self.tolerance_abs),
            "tolerance_low_percent": plain_number(self.tolerance_low_percent),
            "tolerance_high_percent": plain_number(self.tolerance_high_percent),
            "volts": plain_number(self.volts),
            "number": self.number,
            "make": self.make,
            "package": self.package,
            "function": self.function,
            "group": self.group,
            "family": self.traits.get("family", ""),
            "organisation": self.traits.get("organisation", ""),
            "speed_ns": self.traits.get("access_ns"),
            "polarity": self.traits.get("polarity", ""),
            "traits": plain_mapping(self.traits),
            "temperature": plain_mapping(self.temperature),
            "date": self.date,
            "notation": self.notation,
            "standard": self.standard,
            "score": round(self.score, 6),
            "reasons": list(self.reasons),
            "cautions": list(self.cautions),
            "used": [{"characters": characters, "meaning": meaning} for characters, meaning in self.used],
        }


@dataclass(frozen=True)
class Question:
    """A marking or a row of bands, and everything else that is known about the part.

    `marking` as printed, `bands` as colour names; one of the two. `?` is one unreadable character or band,
    `[38]` either of these, `red|orange` either colour. `measured` and `expected` count the kind's smallest
    unit; without a `kind` give them as {kind: units}, for the unit read off the meter tells the kind.
    `measured_tolerance` is the meter's own error in per cent. `wanted` are values that open jobs want, `held`
    those this bench already holds, each as (kind, units).
    """

    marking: str = ""
    bands: tuple[str, ...] = ()
    kind: str = ""
    measured: int | Mapping[str, int] | None = None
    measured_tolerance: Decimal | None = None
    expected: int | Mapping[str, int] | None = None
    body: str = ""
    era: int | None = None
    scheme: str = ""
    doubtful: bool = False
    limit: int = 20
    wanted: frozenset[tuple[str, int]] = frozenset()
    held: frozenset[tuple[str, int]] = frozenset()


@dataclass(frozen=True)
class Readings:
    """Readings best first, the scores of those shown summing to one.

    `truncated`: not every possibility was tried or shown. `hints`: what to do when nothing fits.
    `next_check`: the measurement or second glance that would settle most, "" when one reading is left.
    """

    readings: tuple[Reading, ...]
    truncated: bool = False
    hints: tuple[str, ...] = ()
    next_check: str = ""

    def to_dict(self) -> dict[str, Any]:
        return {
            "readings": [reading.to_dict() for reading in self.readings],
            "truncated": self.truncated,
            "hints": list(self.hints),
            "next_check": self.next_check,
        }


def plain_number(number: Decimal | None) -> str | None:
    """Plain decimal text without exponent or trailing zeros: "5", "0.25"."""
    if number is None:
        return None
    text = format(number, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def plain_mapping(mapping: Mapping[str, Any]) -> dict[str, Any]:
    """A copy fit for JSON: Decimals as plain text, tuples as lists."""
    return {name: plain_member(member) for name, member in mapping.items()}


def plain_member(member: Any) -> Any:
    if isinstance(member, Decimal):
        return plain_number(member)
    if isinstance(member, Mapping):
        return plain_mapping(member)
    if isinstance(member, (list, tuple)):
        return [plain_member(each) for each in member]
    return member
