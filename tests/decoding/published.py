"""Reading the published tables kept in data/, and asking the decoder about one row."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from decimal import Decimal
from pathlib import Path
from typing import Any

from inventory.decoding import Question, Reading, Readings, decode

DATA = Path(__file__).parent / "data"
PER_UNIT = {"resistor": 10**6, "capacitor": 10**15, "inductor": 10**12, "crystal": 10**3}


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def units(kind: str, amount: str) -> int:
    """Smallest units of a plain SI figure: µΩ, fF, pH, mHz."""
    return round(Decimal(amount) * PER_UNIT[kind])


def read(marking: str, **more: Any) -> Readings:
    return decode(Question(marking=marking, **{"limit": 60, **more}))


def read_bands(bands: str, **more: Any) -> Readings:
    return decode(Question(bands=tuple(bands.split()), **{"limit": 200, **more}))


def values(readings: Iterable[Reading], kind: str) -> list[int | None]:
    return [each.value for each in readings if each.kind == kind]


def matching(answer: Readings, **facts: Any) -> list[Reading]:
    """Readings that have all these facts."""
    return [
        each for each in answer.readings if all(getattr(each, name) == fact for name, fact in facts.items())
    ]
