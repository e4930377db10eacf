"""What each leg of a type carries, and how it is held so that leg 1 comes first: what a drawing needs.

One question for every kind: `legs_of`. The tables are those of the types (`pin_order`), of chips (`pinouts`)
and `legs`, for bodies in which a type is also sold or whose order no Spec may take for granted.
"""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from inventory.type_numbers.facts import entry_of, pinout_of
from inventory.type_numbers.normaliser import type_number
from inventory.type_numbers.tables import rows

FLAT = "flat side towards you, legs down: from left to right"
PRINT = "print towards you, legs down: from left to right"
CAN = "from below, clockwise from the tab"
POWER_CAN = "from below; the last of them is the case"
SURFACE = "from above, two legs below and one above: bottom left, bottom right, top"
TAB_ABOVE = "from above, tab away from you: from left to right"
CHIP = "from above, notch or dot at the top: down the left side, then up the right"

_BODIES = {
    FLAT: "TO-92 TO-92MOD E-line",
    PRINT: "TO-126 TO-202 TO-218 TO-220 TO-220-5 TO-247 TO-264 TO-3P",
    CAN: "TO-1 TO-5 TO-18 TO-39 TO-72",
    POWER_CAN: "TO-3 TO-66",
    SURFACE: "SOT-23",
    TAB_ABOVE: "SOT-89 SOT-223 TO-252 TO-263",
}
_HELD = {body: held for held, bodies in _BODIES.items() for body in bodies.split()}
_MANY_LEGGED = frozenset(("DIP", "DIL", "PDIP", "CERDIP", "SO", "SOIC", "SOP", "DIPSO"))


class Legs(NamedTuple):
    """`names` of the legs, leg 1 first, as data sheets write them ("E", "IN", "1OUT"; a stroke before a name
    says active when low, "NC" not connected). `package` in which that holds, such as "TO-92" or "DIP-14";
    `held`: in words, how to hold it so that the first leg comes first.
    """

    package: str
    names: tuple[str, ...]
    held: str


def legs_of(kind: str, number: str, package: str = "") -> Legs | None:
    """The legs of a type of this kind, in this package or in the one it usually comes in.

    None where they are not known for certain, or not in that package. `kind` is one of ic, transistor, diode,
    regulator; other kinds have no types here.

    >>> legs_of("transistor", "BC547B").names, legs_of("regulator", "L7805CV").names
    (('C', 'B', 'E'), ('IN', 'GND', 'OUT'))
    >>> legs_of("ic", "NE555P").package
    'DIP-8'
    """
    if kind == "ic" and (pins := pinout_of(number)):
        return Legs(f"DIP-{len(pins)}", pins, CHIP) if not package or _many_legged(package) else None
    if kind not in ("ic", "transistor", "diode", "regulator"):
        return None
    parts = type_number(kind, number)
    in_number = parts.package if parts.package in _HELD else ""  # other suffixes stand for a body by words
    asked = _plain(package or in_number)
    if in_number and asked != _plain(in_number):
        return None
    known = _further().get((kind, parts.base), {})
    entry = entry_of(kind, number) or {}
    if "pin_order" in entry and "package" in entry:
        known = {entry["package"]: tuple(entry["pin_order"].split("-")), **known}
    for name, names in known.items():
        held = held_of(name)
        alike = (_plain(name), _plain(name.removesuffix("-5")))  # five legs, printed as TO-220 all the same
        if held and (asked in ("", *alike) or (held == CHIP and _many_legged(asked))):
            return Legs(name, names, held)
    return None


def held_of(package: str) -> str:
    """How a body is held so that leg 1 comes first; empty for a body that is not known.

    >>> held_of("dip14") == CHIP, held_of("to-92") == FLAT
    (True, True)
    """
    asked = _plain(package)
    if asked and _many_legged(package):
        return CHIP
    return next((held for body, held in _HELD.items() if asked == _plain(body)), "")


def _plain(package: str) -> str:
    return package.upper().replace("-", "").replace(" ", "")


def _many_legged(package: str) -> bool:
    return re.sub(r"[^A-Z]", "", package.upper()) in _MANY_LEGGED


@cache
def _further() -> dict[tuple[str, str], dict[str, tuple[str, ...]]]:
    found: dict[tuple[str, str], dict[str, tuple[str, ...]]] = {}
    for row in rows("legs"):
        key = row["kind"], type_number(row["kind"], row["number"]).base
        found.setdefault(key, {})[row["package"]] = tuple(row["legs"].split())
    return found
