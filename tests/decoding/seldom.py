"""Type numbers as salvage yields them, many in no table, with characters hidden; and the judge of them.

data/seldom_types_from_memory.csv was written down from memory and drawn by lot from a longer list; a number
behind a bar is the industry's name of the same type.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from typing import NamedTuple

from inventory.decoding import Question, Reading, decode

from .fresh import plain
from .published import rows

UNREAD = "?"
SAME_KIND = {
    "regulator": {"regulator", "ic"},
    "ic": {"ic", "regulator"},
    "transistor": {"transistor", "diode"},
}


class Hidden(NamedTuple):
    number: str
    marking: str
    readings: tuple[Reading, ...]
    right: tuple[bool, ...]

    @property
    def sure_and_wrong(self) -> bool:
        return bool(self.readings) and self.readings[0].score > 0.8 and not self.right[0]


def hidden_types(count: int, *, with_body: bool, seed: int = 60065) -> Iterator[Hidden]:
    """Each type number with so many characters hidden, read with the body told or not."""
    chance = random.Random(seed + count)
    for row in rows("seldom_types_from_memory"):
        number, _, _ = row["number"].partition("|")
        places = chance.sample([at for at, each in enumerate(number) if each.isalnum()], count)
        marking = "".join(UNREAD if at in places else each for at, each in enumerate(number))
        readings = decode(Question(marking=marking, body=row["body"] if with_body else "")).readings
        yield Hidden(number, marking, readings, tuple(is_right(row, each) for each in readings))


def is_right(row: dict[str, str], reading: Reading) -> bool:
    """Whether it names this type or leaves open what could not be read of it, and says what kind it is."""
    if reading.kind not in SAME_KIND.get(row["kind"], {row["kind"]}):
        return False
    names = [plain(each) for each in row["number"].split("|")]
    if UNREAD in reading.number:
        seen = re.sub("[^A-Z0-9?]", "", reading.number).replace(UNREAD, ".")
        return re.fullmatch(seen, names[0]) is not None
    volts = reading.traits.get("zener_volts")
    number = plain(reading.number)
    of_the_name = bool(number) and any(number in each or each in number for each in names)
    return of_the_name or bool(volts and volts in row["number"])
