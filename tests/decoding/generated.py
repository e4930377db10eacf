"""Generated partial markings: every E24 value in six decades, in five notations, with parts of it hidden.

The figures are E24 of IEC 60063; the forms follow IEC 60062. The truth is what was hidden.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from inventory.decoding import Question

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
COLOURS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
OHM, PICOFARAD = 10**6, 10**3


class Whole(NamedTuple):
    """A complete marking and what it means: `value` in smallest units, `tolerance` per cent or None."""

    form: str
    kind: str
    body: str
    parts: tuple[str, ...]
    bands: bool
    value: int
    tolerance: int | None


def letter_code(figures: int, power: int) -> str:
    """4k7 for 47 and 2: figures times ten to the power, in ohms."""
    letter = "RKM"[(power + 1) // 3]
    place = (power + 1) % 3
    digits = str(figures)
    if place == 0:
        return f"{digits[0]}{letter}{digits[1]}"
    return f"{digits}{letter}" if place == 1 else f"{digits}0{letter}"


def wholes() -> Iterator[Whole]:
    for power in range(6):
        for figures in E24:
            first, second = (COLOURS[int(digit)] for digit in str(figures))
            value = figures * 10**power
            yield Whole(
                "4-band", "resistor", "", (first, second, COLOURS[power], "gold"), True, value * OHM, 5
            )
            multiplier = COLOURS[power - 1] if power else "gold"
            yield Whole(
                "5-band", "resistor", "", (first, second, "black", multiplier, "brown"), True, value * OHM, 1
            )
            code = f"{figures}{power}"
            yield Whole("capacitor code", "capacitor", "", tuple(f"{code}K"), False, value * PICOFARAD, 10)
            yield Whole(
                "letter code", "resistor", "", tuple(letter_code(figures, power)), False, value * OHM, None
            )
            yield Whole("chip code", "resistor", "chip", tuple(code), False, value * OHM, None)


def hidden(whole: Whole, count: int) -> Iterator[tuple[str, ...]]:
    """The parts with `count` of them replaced by `?`, every way."""
    for places in combinations(range(len(whole.parts)), count):
        yield tuple("?" if at in places else part for at, part in enumerate(whole.parts))


def question(whole: Whole, parts: tuple[str, ...], **more: object) -> Question:
    if whole.bands:
        return Question(bands=parts, kind=whole.kind, body=whole.body, **more)  # type: ignore[arg-type]
    return Question(marking="".join(parts), kind=whole.kind, body=whole.body, **more)  # type: ignore[arg-type]
