"""Markings as they stand on parts, from memory and before the decoder was asked, and the judge of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from itertools import chain
from typing import NamedTuple

from inventory.decoding import Question, Reading, decode

from .published import PER_UNIT, rows

SAME_KIND = {
    "regulator": {"regulator", "ic"},
    "led": {"diode", "lamp", "led"},
    "varistor": {"other", "varistor", "resistor"},
    "relay": {"other", "switch", "relay"},
    "cell": {"other", "cell", "battery"},
    "resistor": {"resistor", "thermistor"},
    "display": {"lamp", "diode", "ic", "other"},
    "lcd": {"lamp", "ic", "other"},
    "photodiode": {"diode"},
    "phototransistor": {"transistor"},
    "optical switch": {"ic", "diode", "transistor", "other"},
    "ldr": {"resistor", "other"},
    "ptc": {"thermistor", "resistor", "other"},
    "connector": {"connector", "socket"},
    "filter": {"other", "inductor"},
    "saw filter": {"crystal", "other", "ic"},
    "delay line": {"other", "inductor", "ic", "crystal"},
}
LATIN = str.maketrans("АВСЕНКМОРТХУЛДПБГЗИ", "ABCEHKMOPTXYLDPBGZI")


class Fresh(NamedTuple):
    marking: str
    readings: tuple[Reading, ...]
    right: tuple[bool, ...]


TABLES = (
    "fresh_from_memory", "fresh_second_from_memory", "fresh_third_from_memory", "fresh_fourth_from_memory",
    "fresh_fifth_from_memory", "fresh_sixth_from_memory", "fresh_seventh_from_memory",
    "fresh_eighth_from_memory", "fresh_ninth_from_memory", "fresh_tenth_from_memory",
    "fresh_eleventh_from_memory",
)  # fmt: skip
"""Each was written before the decoder was asked. Rules were mended by what the first four, the sixth to
eighth and the tenth showed; of the fifth only the sums are looked at, and the ninth and the eleventh (drawn
by lot from what the tenth was written with) were read once, when the rules were done: the eleventh had then
93.9 first, 93.9 present, 4.5 sure and wrong, and brought two further rules.
"""


def fresh(tables: Iterable[str] = TABLES) -> Iterator[Fresh]:
    """Every marking, read with body and era told, and which of its readings are right."""
    for row in chain.from_iterable(map(rows, tables)):
        bands = tuple(row["marking"][6:].split(",")) if row["marking"].startswith("bands:") else ()
        question = Question(
            marking="" if bands else row["marking"], bands=bands, body=row["body"],
            era=int(row["era"]) if row["era"] else None,
        )  # fmt: skip
        readings = decode(question).readings
        yield Fresh(row["marking"], readings, tuple(is_right(row, each) for each in readings))


def meanings(of: Fresh) -> list[tuple[float, bool]]:
    """What the readings say the part is, each with the score of all that say so, and whether it is right.

    Readings that differ in volts, tolerance or date alone mean the same part.
    """
    found: dict[object, tuple[float, bool]] = {}
    for reading, right in zip(of.readings, of.right, strict=True):
        zener = reading.traits.get("zener_volts")
        meant = "right" if right else (reading.kind, reading.value, plain(reading.number), zener)
        found[meant] = (found.get(meant, (0.0, right))[0] + reading.score, right)
    return list(found.values())


def is_right(row: dict[str, str], reading: Reading) -> bool:
    kind = row["kind"]
    if reading.kind not in SAME_KIND.get(kind, {kind}):
        return False
    if row["value_si"]:
        return reading.value == round(Decimal(row["value_si"]) * PER_UNIT[kind])
    number = plain(reading.number)
    if kind == "fuse":
        return reading.value is None
    return bool(number) and any(
        plain(each) in number or number in plain(each) for each in row["number"].split("|")
    )


def plain(number: str) -> str:
    return re.sub("[^A-Z0-9]", "", number.upper().translate(LATIN))
