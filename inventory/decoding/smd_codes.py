"""The reader of codes on semiconductors too small for a type: a code stands for another type with each maker.

So there are several candidates, and the caution that only its circuit or a test tells which it is. A small
letter before or behind the code is the place or the month it was made (Philips: p, t, W; from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from inventory.type_numbers import entry_of
from inventory.type_numbers.tables import rows

from .candidates import Candidate, NamedType, Notation
from .known import Known
from .words import MarkingLine

NOTATIONS = {
    kind: Notation(
        "semiconductor code",
        "makers' data sheets",
        kind,
        0.02,
        {"sot": 60.0, "chip": 10.0, "diode body": 10.0},
        most_unseen=0.5,
    )
    for kind in ("transistor", "diode")
}
RECTIFIER = Notation(
    "semiconductor code", "makers' data sheets", "diode", 1e-6, {"rectifier body": 1.2e7, "chip": 1.5e5}
)
"""M1 to M7 stand on the bodies of rectifiers; on a transistor's the same is another code (from memory)."""
CAUTION = "makers give this code to different types: test it, or go by the circuit"
_MADE_AT = re.compile(r"(?:[ptW](?=[0-9A-Z]))?([0-9A-Z]{2,5}?)(?:[ptsW]|-)?")


def smd_codes(line: MarkingLine, known: Known) -> Iterator[Candidate]:
    """Each type that the only word of the line is a code of."""
    if len(line.seen) != 1 or not line.seen[0].whole:
        return
    printed = line.seen[0].whole
    codes = {printed: 1.0}
    if match := _MADE_AT.fullmatch(printed):
        codes.setdefault(match[1], 0.7)
    for code, weight in codes.items():
        for kind, number in _types_of().get(code, ()):
            if not known.asks(kind):
                continue
            entry = entry_of(kind, number)
            rectifier = kind == "diode" and (entry or {}).get("function") == "rectifier"
            words = " ".join(filter(None, (entry or {}).get("polarity", "").split("_")))
            used = ((printed, f"code of the {number}"),)
            yield Candidate(
                RECTIFIER if rectifier else NOTATIONS[kind], None, used, weight, cautions=(CAUTION,),
                reasons=(f"{code}: {number} with some makers",), type=NamedType(number, function=words),
            )  # fmt: skip


@cache
def _types_of() -> dict[str, list[tuple[str, str]]]:
    types: dict[str, list[tuple[str, str]]] = {}
    for row in rows("smd_codes"):
        types.setdefault(row["number"], []).extend((row["kind"], number) for number in row["types"].split())
    return types
