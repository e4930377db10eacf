"""Values of parts by kind: which kinds have one, in what it is counted, and its text read and written."""

from inventory.spec.kinds import KINDS
from inventory.spec.notation import (
    MAX_UNITS,
    SAME_CHARACTER,
    AmbiguousValue,
    UnreadableValue,
    ValueNotation,
)

__all__ = [
    "MAX_UNITS",
    "SAME_CHARACTER",
    "UNITS",
    "AmbiguousValue",
    "UnreadableValue",
    "parse_value",
    "plain_value",
    "print_value",
    "values_in_text",
]

NOTATIONS = {name: kind.notation for name, kind in KINDS.items() if kind.notation is not None}
UNITS = {name: (notation.unit, notation.per_unit) for name, notation in NOTATIONS.items()}
"""Kind -> (unit, smallest units in one unit): µΩ, fF, pH, mHz."""
LONGEST_SEARCH = 200


def parse_value(kind: str, text: str) -> int:
    """Exact units of what the text says.

    >>> parse_value("resistor", "4k7"), parse_value("capacitor", ".1 MFD"), parse_value("inductor", "100 µH")
    (4700000000, 100000000, 100000000)
    >>> parse_value("capacitor", "10mF")
    Traceback (most recent call last):
    ...
    inventory.spec.notation.AmbiguousValue: "10mF" could be "10000µ" or "10µ": write the one that is meant
    """
    return _notation(kind).read(text)


def print_value(kind: str, units: int) -> str:
    """The value as the trade writes it; `parse_value` reads it back to the same units.

    >>> print_value("resistor", 220_000), print_value("capacitor", 2_200_000), print_value("inductor", 10**8)
    ('R22', '2n2', '100µH')
    """
    return _notation(kind).text(units)


def plain_value(kind: str, units: int) -> str:
    """The value in Ω, F, H or Hz as a decimal without exponent or trailing zeros: "4700", "0.0000001"."""
    return _notation(kind).plain(units)


def values_in_text(text: str) -> tuple[tuple[str, int], ...]:
    """Every (kind, units) that words typed into a search box could mean: "4k7", "100n", "4.7 µH", "10"."""
    words = text[:LONGEST_SEARCH].split()
    found: dict[tuple[str, int], None] = {}
    position = 0
    while position < len(words):
        pair = " ".join(words[position : position + 2])
        in_pair = _every_value(pair) if " " in pair else []
        found.update(dict.fromkeys(in_pair or _every_value(words[position])))
        position += 2 if in_pair else 1
    return tuple(found)


def _every_value(word: str) -> list[tuple[str, int]]:
    values: list[tuple[str, int]] = []
    for kind, notation in NOTATIONS.items():
        try:
            values.extend((kind, units) for units in notation.readings(word))
        except UnreadableValue:
            continue
    return values


def _notation(kind: str) -> ValueNotation:
    try:
        return NOTATIONS[kind]
    except KeyError:
        raise UnreadableValue("", f"a {kind} has no value; only {', '.join(UNITS)} have one") from None
