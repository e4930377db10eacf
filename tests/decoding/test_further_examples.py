"""Further markings, each with its own source in data/further_*.csv: what a person would say of the part is
given as hints, and the stated meaning comes first (`place` listed: two meanings are equally legal).

`means` is `name=value` pairs: a field or trait of the reading; `value` in SI units, `uneven` as +80-20,
`make` and `package` by a word of them.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from inventory.decoding import Question, Reading, decode
from inventory.decoding.bands import SPELLINGS

from .published import rows, units

EXAMPLES = [*rows("further_passives"), *rows("further_semiconductors")]
COLOURS = SPELLINGS.keys()


def pairs(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    last = ""
    for word in text.split():
        name, equals, given = word.partition("=")
        if equals:
            last = name
            found[name] = given
        else:
            found[last] += f" {word}"
    return found


def question_for(example: dict[str, str]) -> Question:
    hints: dict[str, Any] = pairs(example["hints"])
    if "era" in hints:
        hints["era"] = int(hints["era"])
    if "doubtful" in hints:
        hints["doubtful"] = True
    colours = tuple(example["marking"].split("-"))
    if len(colours) > 1 and set(colours) <= COLOURS:
        return Question(bands=colours, **hints)
    return Question(marking=example["marking"], **hints)


def frequency(amount: str) -> int:
    return int(Decimal(amount) * 1000)


def fact(reading: Reading, name: str) -> str:
    """What the reading says of it, as text; tolerances as the table writes them."""
    if name == "tol":
        return str(reading.tolerance_percent)
    if name == "uneven":
        return f"+{reading.tolerance_high_percent}{reading.tolerance_low_percent}"
    if name == "abs":
        return f"{Decimal(reading.tolerance_abs or 0) / 1000}p"
    if name == "volts":
        return "" if reading.volts is None else f"{reading.volts.normalize():f}"
    if name == "tc":
        return str(reading.temperature.get("code"))
    if name == "ppm":
        return str(reading.temperature.get("ppm_per_kelvin"))
    if name == "safety":
        return str(reading.traits.get("safety_class"))
    if name in ("kind", "number", "date", "make", "package"):
        return str(getattr(reading, name))
    return str(reading.traits.get(name))


def agrees(reading: Reading, means: dict[str, str]) -> bool:
    for name, given in means.items():
        if name == "kind" and given == "date":
            continue
        if name == "value":
            kind = means["kind"]
            wanted = frequency(given) if kind == "crystal" else units(kind, given)
            if reading.value != wanted:
                return False
        elif name in ("make", "package"):
            if given.lower() not in fact(reading, name).lower():
                return False
        elif fact(reading, name) != given:
            return False
    return True


def test_what_a_person_would_say_of_the_part_brings_the_stated_meaning_first() -> None:
    wrong = {}
    for example in EXAMPLES:
        readings = decode(question_for(example)).readings
        means = pairs(example["means"])
        places = [place for place, reading in enumerate(readings) if agrees(reading, means)]
        if not places or (example["place"] == "first" and places[0] != 0):
            wrong[example["marking"], example["source"]] = readings[:2]
    assert wrong == {}


def test_without_any_hint_the_stated_meaning_is_in_the_list() -> None:
    wrong = {}
    for example in EXAMPLES:
        bare = {**example, "hints": "doubtful=true" if "doubtful" in example["hints"] else ""}
        readings = decode(question_for(bare)).readings
        if not any(agrees(reading, pairs(example["means"])) for reading in readings):
            wrong[example["marking"], example["source"]] = readings[:2]
    assert wrong == {}
