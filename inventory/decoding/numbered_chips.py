"""Chips whose number says less than their content: programmable logic, and military slash numbers."""

from __future__ import annotations

import re
from collections.abc import Iterator

from inventory.decoding.type_strings import TypeInWord, system, type_reading
from inventory.type_numbers import memory_table as memories

PROGRAMMABLE = ("programmable logic type", "makers' data books")
MILITARY = ("military slash number", "MIL-M-38510")

_PROGRAMMABLE = re.compile(
    r"([A-Z]{0,5}?)(PAL|GAL|ATF|PALCE|PEEL|TIBPAL|PLS|82S(?=10[0-9]))([0-9]{2,3}(?:(?:[LRHVXPC]{1,2})[0-9]{1,2})?)"
    r"([A-Z]{0,4})(?:-?([0-9]{1,2}))?([A-Z]{0,4}[0-9]?)"
)


def programmable_logic(word: str) -> Iterator[TypeInWord]:
    """PAL16L8ACN, GAL16V8B-15LP: inputs, kind of outputs, outputs."""
    match = _PROGRAMMABLE.fullmatch(word)
    if not match:
        return
    prefix, family, number, version, speed, package = (group or "" for group in match.groups())
    named = {"TIBPAL": "PAL", "PALCE": "PAL"}.get(family, family)
    function = "gal" if named in ("GAL", "ATF", "PEEL") else "pla" if named in ("PLS", "82S") else "pal"
    words = "programmable logic array"
    yield TypeInWord(
        type_reading(
            PROGRAMMABLE,
            "ic",
            f"{named}{number}",
            [
                (prefix, memories.MEMORY_MAKERS.get(prefix, "maker")),
                (family, words),
                (number, "inputs and outputs"),
                (version, "version"),
                (speed, "speed grade"),
                (package, "package, as the maker defines it"),
            ],
            f"{named}{number}: {words}",
            traits={"function": function},
            make=memories.MEMORY_MAKERS.get(prefix, ""),
            function=words,
            cautions=(
                "What is programmed into it is not on the print: a blank one will not do in its place.",
            ),
        )
    )


# Slash numbers of MIL-M-38510 whose part is known (from memory of the qualified parts list).
SLASH_NUMBERS = {
    "00101": "5430", "00103": "5420", "00104": "5400", "00105": "5404", "00205": "5474", "30001": "54LS00",
    "30003": "54LS04", "30102": "54LS74", "07001": "54S00", "10101": "741", "10103": "LM101", "10901": "555",
}  # fmt: skip
_MILITARY = re.compile(r"(JM?|M)38510([0-9]{5})([A-Z]{0,3})")


def military(word: str) -> Iterator[TypeInWord]:
    """JM38510/30001BCA, the stroke already gone: a slash number of the qualified parts list."""
    match = _MILITARY.fullmatch(word)
    if not match:
        return
    head, number, tail = match.groups()
    known = SLASH_NUMBERS.get(number, "")
    yield TypeInWord(
        type_reading(
            MILITARY,
            "ic",
            known or f"M38510/{number}",
            [
                (f"{head}38510", "military specification"),
                (number, "slash number"),
                (tail, "class, package, finish"),
            ],
            f"slash number {number} is the {known}"
            if known
            else "the slash number stands in the qualified parts list",
            score=1.0,
            cautions=() if known else (f"What M38510/{number} is, is not in the list here: look it up.",),
        )
    )


SYSTEMS = (system(programmable_logic, _PROGRAMMABLE), system(military, _MILITARY))
