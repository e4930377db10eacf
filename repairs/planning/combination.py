"""Parts joined in series and parallel: exact value, worst-case spread, and what each part must stand.

Resistors and inductors add in series, capacitors in parallel; joined the other way the reciprocals add.
Power, volts and current divide by the exact values, from the outside in.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import Literal

from inventory.spec import print_value

Join = Literal["series", "parallel"]
SIGN = {"series": " + ", "parallel": " ∥ "}
RATINGS = {"resistor": ("watts", "volts"), "capacitor": ("volts",), "inductor": ("amps",)}
"""Kind that can be made up -> the ratings that matter when its parts share the work."""


@dataclass(frozen=True)
class Leaf:
    """One part: its value in the kind's smallest unit, and its tolerance in percent if that is known."""

    kind: str
    value: Fraction
    tolerance: Decimal | None = None
    supply: object = None

    def __str__(self) -> str:
        return print_value(self.kind, int(self.value))

    @property
    def leaves(self) -> tuple["Leaf", ...]:
        return (self,)

    def at_worst(self, direction: int) -> Fraction | None:
        """The value at the lower (-1) or upper (1) end of its tolerance; None where that is not known."""
        return (
            None if self.tolerance is None else self.value * (1 + direction * Fraction(self.tolerance) / 100)
        )

    def shares(self, load: Mapping[str, Fraction]) -> Iterator[Mapping[str, Fraction]]:
        """What each leaf must stand, in order, when the whole carries this load."""
        yield load


@dataclass(frozen=True)
class Joined:
    """Two or three parts, or combinations of parts, in series or in parallel."""

    kind: str
    join: Join
    parts: tuple["Leaf | Joined", ...]

    def __str__(self) -> str:
        inner = (f"({part})" if isinstance(part, Joined) else str(part) for part in self.parts)
        return SIGN[self.join].join(inner)

    @property
    def leaves(self) -> tuple[Leaf, ...]:
        return tuple(leaf for part in self.parts for leaf in part.leaves)

    @property
    def adds(self) -> bool:
        return (self.join == "series") is (self.kind != "capacitor")

    @cached_property
    def value(self) -> Fraction:
        return self._together([part.value for part in self.parts])

    def at_worst(self, direction: int) -> Fraction | None:
        """Every part at the same end of its tolerance: nothing lies farther out."""
        ends = [part.at_worst(direction) for part in self.parts]
        known = [end for end in ends if end is not None]
        return self._together(known) if len(known) == len(ends) else None

    def _together(self, values: list[Fraction]) -> Fraction:
        if self.adds:
            return sum(values, Fraction(0))
        return 1 / sum((1 / value for value in values), Fraction(0))

    def shares(self, load: Mapping[str, Fraction]) -> Iterator[Mapping[str, Fraction]]:
        """What each leaf must stand, in order, when the whole carries this load.

        Where the values add, the larger part takes more in proportion; else the smaller does. Volts are
        common in parallel, current is common in series.
        """
        common = "volts" if self.join == "parallel" else "amps"
        for part in self.parts:
            share = part.value / self.value if self.adds else self.value / part.value
            yield from part.shares(
                {name: amount if name == common else amount * share for name, amount in load.items()}
            )
