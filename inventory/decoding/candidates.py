"""The decoder's working form of a reading: light, mutable, made by the thousand and turned into a Reading
only if shown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from itertools import product
from typing import Any, NamedTuple

from .reading import NOTHING, Reading

DIGITS = "0123456789"


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
    use.
    """

    name: str
    standard: str
    kind: str
    prior: float = 1.0
    favours: Mapping[str, float] = NOTHING
    since: int = 0
    until: int = 9999


class Maker(NamedTuple):
    """What a type string says in words: whose it is, in what package, and what it does."""

    make: str = ""
    package: str = ""
    function: str = ""


UNSAID = Maker()


class Candidate:
    """A possible reading with its weight so far. `used` lists (characters, meaning) in printed order; a
    band's meaning stays its table entry until it is shown.

    `usual` is the tolerance that goes with the code when none is printed; it does not make a meaning of its
    own.
    """

    __slots__ = ("kind", "value", "tolerance", "volts", "number", "traits", "temperature", "date", "notation",
                 "weight", "used", "reasons", "cautions", "usual", "said")  # fmt: skip

    def __init__(
        self,
        notation: Notation,
        value: int | None,
        used: Sequence[tuple[str, Any]],
        weight: float = 1.0,
        tolerance: Tolerance | None = None,
        volts: Decimal | None = None,
        cautions: tuple[str, ...] = (),
        reasons: tuple[str, ...] = (),
        temperature: Mapping[str, Any] = NOTHING,
        traits: Mapping[str, Any] = NOTHING,
        number: str = "",
        date: str = "",
        kind: str = "",
        usual: Tolerance | None = None,
        said: Maker = UNSAID,
    ) -> None:
        self.kind = kind or notation.kind
        self.value = value
        self.tolerance = tolerance
        self.volts = volts
        self.number = number
        self.traits = traits
        self.temperature = temperature
        self.date = date
        self.notation = notation
        self.weight = weight
        self.used = used
        self.reasons = reasons
        self.cautions = cautions
        self.usual = usual
        self.said = said

    def key(self) -> tuple[Any, ...]:
        """What makes two readings the same meaning, whatever notation led to it."""
        return (
            self.kind, self.value, self.tolerance, self.volts, self.number, self.date,
            self.temperature.get("code") if self.temperature else None,
            self.traits.get("failure_rate_percent_per_1000_h") if self.traits else None,
            self.traits.get("fusible") if self.traits else None,
            repr(sorted(self.traits.items())) if self.number else "",
        )  # fmt: skip

    def reading(self, score: float, reasons: tuple[str, ...]) -> Reading:
        tolerance = self.tolerance
        cautions = self.cautions
        if tolerance is None and self.usual is not None:
            tolerance = self.usual
            cautions = (*cautions, f"no tolerance is printed: {tolerance.text} is usual with this code")
        return Reading(
            self.kind,
            self.value,
            tolerance.percent if tolerance else None,
            tolerance.absolute if tolerance else None,
            tolerance.low if tolerance else None,
            tolerance.high if tolerance else None,
            self.volts,
            self.number,
            *self.said,
            self.traits,
            self.temperature,
            self.date,
            self.notation.name,
            self.notation.standard,
            score,
            reasons,
            cautions,
            tuple(
                [(seen, meaning if isinstance(meaning, str) else meaning.text) for seen, meaning in self.used]
            ),
        )


class Cell(NamedTuple):
    """What may stand at one place of a word: `legal` when printed, `usual` when it cannot be read."""

    legal: str
    usual: str


def cell(legal: str, usual: str = "") -> Cell:
    return Cell(legal, usual or legal)


DIGIT = cell(DIGITS)

Read = Callable[[str], Iterable[Candidate]]


class Shape(NamedTuple):
    """One word form of a notation: the cells, the kind it speaks of, and what reads a word of that form."""

    cells: tuple[Cell, ...]
    kind: str
    read: Read


class Shapes:
    """Every word form known, found at once for a whole word and by length for a partial one."""

    def __init__(self, shapes: Iterable[Shape]) -> None:
        self.by_length: dict[int, list[Shape]] = {}
        self.by_signature: dict[str, list[Shape]] = {}
        for shape in shapes:
            self.by_length.setdefault(len(shape.cells), []).append(shape)
            choices = [("0",) if each.legal[0] in DIGITS else tuple(each.legal) for each in shape.cells]
            for signature in product(*choices):
                self.by_signature.setdefault("".join(signature), []).append(shape)

    def of_word(self, word: str) -> list[Shape]:
        return self.by_signature.get(word.translate(DIGITS_ALIKE), [])


DIGITS_ALIKE = str.maketrans("123456789", "000000000")
