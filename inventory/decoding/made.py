"""What is made and sold: how large the values of each kind are, on which body, and how exact.

Common practice, no source, where none is named.
"""

from __future__ import annotations

from collections.abc import Mapping, Set

from .series import series_of

# By kind, how usual a value of so many decimal digits (in smallest units) is.
SIZES: Mapping[str, tuple[float, ...]] = {
    # 10^0 µΩ upwards; 10^6 is one ohm
    "resistor": (
        0.001, 0.002, 0.01, 0.02, 0.03, 0.12, 0.6, 0.9, 1.0, 1.0, 1.0, 0.9, 0.6, 0.06, 0.004, 0.0005,
    ),
    # 10^0 fF upwards; 10^3 is one picofarad
    "capacitor": (
        0.0001, 0.0005, 0.05, 0.35, 0.8, 1.0, 1.0, 1.0, 1.0, 0.7, 0.6, 0.5, 0.25, 0.02, 0.002, 0.0005,
    ),
    # 10^0 pH upwards; 10^6 is one microhenry
    "inductor": (0.0005, 0.001, 0.01, 0.3, 0.3, 0.6, 1.0, 1.0, 1.0, 0.7, 0.2, 0.05, 0.03, 0.005, 0.0005),
}  # fmt: skip
BEYOND = 0.0001
# Of capacitors on a body of this sort, from 0.1 pF (10^2 fF) upwards; what no body says stays as above.
SIZES_ON: Mapping[str, tuple[float, ...]] = {
    "disc": (0.05, 0.4, 1, 1, 1, 0.8, 0.5, 0.05, 0.01, 0.001),
    "film": (0.002, 0.005, 0.02, 0.2, 0.9, 1, 1, 0.5, 0.02, 0.001),
    "polystyrene": (0.002, 0.02, 0.4, 1, 1, 0.1, 0.005, 0.0005),
    "mica": (0.01, 0.3, 1, 1, 0.5, 0.03, 0.001),
    "electrolytic": (1e-4, 1e-4, 1e-4, 1e-4, 1e-4, 0.001, 0.1, 0.7, 1, 1, 0.7, 0.15, 0.005),
    "tantalum": (1e-4, 1e-4, 1e-4, 1e-4, 1e-3, 0.02, 0.6, 1, 0.4, 0.1, 0.002),
    "paper": (1e-4, 1e-3, 0.01, 0.15, 0.6, 1, 1, 0.4, 0.1, 0.01),
}  # fmt: skip
"""Common practice, no source: what such bodies are made for."""
BEYOND_ALL = (BEYOND,) * 8
WHOLE_PICOFARADS = 0.4
"""Below 10 pF whole and half picofarads are common values, whatever the series says (common practice, no
source).
"""
CLOSE_SERIES = 0.15
"""E96, E192 and old round values are rarer on anything but a resistor."""

DEFAULT_SPREAD = {"resistor": 0.05, "capacitor": 0.1, "inductor": 0.1}
MADE_TO_TWENTY = frozenset(("electrolytic", "tantalum"))
"""Nothing said, theirs is ±20 % (a data sheet of Lelon's RGA; of tantalum beads from memory)."""
OF_E12, OF_E24 = 0.5, 0.25


def sizes_on(tags: Set[str]) -> Mapping[str, tuple[float, ...]]:
    """SIZES, with those of capacitors as such a body has them: few of all are cans, but all of cans are."""
    of_bodies = [(BEYOND, BEYOND, *SIZES_ON[tag], *BEYOND_ALL) for tag in tags & SIZES_ON.keys()]
    if not tags & MADE_TO_TWENTY:
        of_bodies.append(SIZES["capacitor"])
    return {**SIZES, "capacitor": tuple(map(min, zip(*of_bodies, strict=False)))}


def spreads_on(tags: Set[str]) -> Mapping[str, float]:
    """How far a part of each kind may be off where nothing says it, as a fraction."""
    return {**DEFAULT_SPREAD, "capacitor": 0.2} if tags & MADE_TO_TWENTY else DEFAULT_SPREAD


def made_as_capacitor(value: int) -> float:
    """How often capacitors of these figures are made, against those of E6 (common practice, no source)."""
    series = series_of(value)
    return 1.0 if series == "E6" else OF_E12 if series == "E12" else OF_E24
