"""What each leg of a type carries, and how it is held so that leg 1 comes first: what a drawing needs.

One question for every kind: `legs_of`. The tables are those of the types (`pin_order`), of chips (`pinouts`)
and `legs`, for bodies in which a type is also sold or whose order no Spec may take for granted.
"""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from inventory.type_numbers.eastern import in_cyrillic
from inventory.type_numbers.entries import entry_of, pinout_of
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
_HELD = {body.replace("-", "").upper(): held for held, bodies in _BODIES.items() for body in bodies.split()}
_DUAL_IN_LINE, _SMALL_OUTLINE = "DIP", "SO"
_MANY_LEGGED = {
    **dict.fromkeys(("DIP", "DIL", "PDIP", "CERDIP"), _DUAL_IN_LINE),
    **dict.fromkeys(("SO", "SOIC", "SOP", "DIPSO"), _SMALL_OUTLINE),
}
_IN_WORDS = {
    "plastic dual in line": _DUAL_IN_LINE, "ceramic dual in line": _DUAL_IN_LINE,
    "small outline": _SMALL_OUTLINE, "thin shrink small outline": "TSSOP", "shrink small outline": "SSOP",
    "metal can": CAN,
}  # fmt: skip
"""What the letters behind a number say of the body, in words of `type_number` -> the family of bodies."""
_OF_CHIPS = frozenset(("", _DUAL_IN_LINE, _SMALL_OUTLINE, "TSSOP", "SSOP"))
"""Families in which the legs of a chip are numbered alike (common practice, no source)."""


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
    if kind not in ("ic", "transistor", "diode", "regulator"):
        return None
    parts = type_number(kind, number)
    named = _IN_WORDS.get(parts.package) or _family(parts.package)
    if kind == "ic" and (pins := pinout_of(number)):
        fits = named in _OF_CHIPS and (not package or _has_legs(package, len(pins)))
        return Legs(f"DIP-{len(pins)}", pins, CHIP) if fits else None
    if named and package and named not in (_family(package), held_of(package)):
        return None
    if parts.other_body and not package:
        return None
    known = _further().get(_key(kind, number), {})
    entry = entry_of(kind, number) or {}
    if "pin_order" in entry and "package" in entry:
        known = {entry["package"]: tuple(entry["pin_order"].split("-")), **known}
    for name, names in known.items():
        held = held_of(name)
        of_number = named in ("", _family(name), held)
        if held and of_number and (not package or _is_body(package, name, len(names))):
            return Legs(name, names, held)
    return None


def order_in(kind: str, number: str, package: str) -> str:
    """The `pin_order` of a type that the tables list with one, in this body, or "" where it is not known.

    >>> order_in("regulator", "LM317", ""), order_in("regulator", "LM317K", "")
    ('ADJ-OUT-IN', 'ADJ-IN-OUT')
    """
    entry, parts = entry_of(kind, number) or {}, type_number(kind, number)
    order, usual = entry.get("pin_order", ""), _plain(entry.get("package", ""))
    if _plain(package) == usual or not (package or parts.package or parts.other_body):
        return order
    legs = legs_of(kind, number, package)
    return "-".join(legs.names) if legs and len(legs.names) == len(order.split("-")) else ""


def held_of(package: str) -> str:
    """How a body is held so that leg 1 comes first; empty for a body that is not known.

    >>> held_of("dip14") == CHIP, held_of("to-92") == FLAT, held_of("TO-220AB") == PRINT
    (True, True, True)
    """
    return CHIP if _letters(package) in _MANY_LEGGED else _HELD.get(_family(package), "")


def _plain(package: str) -> str:
    return package.upper().replace("-", "").replace(" ", "")


def _letters(package: str) -> str:
    return re.sub(r"[^A-Z]", "", package.upper())


def _family(package: str) -> str:
    """What bodies that differ in their count of legs or a letter behind have in common; "" where unknown.

    TO-220-5 is printed as TO-220 all the same; TO-220AB and TO-220FP have the legs of TO-220.
    """
    plain = _plain(_FIVE_LEGS.sub("", package))
    if family := _MANY_LEGGED.get(_letters(package)):
        return family
    alike = [body for body in _HELD if plain.startswith(body) and not plain[len(body) :].strip(_CAPITALS)]
    return max(alike, key=len, default="")


_FIVE_LEGS = re.compile(r"(?<=[0-9])-5$")
_CAPITALS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def _has_legs(package: str, count: int) -> bool:
    """Whether a body in two rows has so many legs, as far as it says."""
    figures = re.sub(r"[^0-9]", "", package)
    return _letters(package) in _MANY_LEGGED and figures in ("", str(count))


def _is_body(package: str, name: str, count: int) -> bool:
    """Whether the body asked for is the one that the tables name."""
    if held_of(name) != CHIP:
        return bool(_family(package)) and _family(package) == _family(name)
    counted = any(map(str.isdigit, package))
    return _has_legs(package, count) and (counted or _family(package) == _family(name))


def _key(kind: str, number: str) -> tuple[str, str]:
    return kind, in_cyrillic(number) or type_number(kind, number).base


@cache
def _further() -> dict[tuple[str, str], dict[str, tuple[str, ...]]]:
    found: dict[tuple[str, str], dict[str, tuple[str, ...]]] = {}
    for row in rows("legs"):
        found.setdefault(_key(row["kind"], row["number"]), {})[row["package"]] = tuple(row["legs"].split())
    return found
