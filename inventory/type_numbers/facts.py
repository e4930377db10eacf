"""What a type number says by itself, in the form that a Spec is written in: fields and traits, plain text.

Facts that a person wrote down always go before these. What the tables leave open stays open.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import Any

from inventory.type_numbers import linear_table as linears
from inventory.type_numbers import memory_table as memories
from inventory.type_numbers.chip_numbers import cmos_family, split_cmos, split_logic
from inventory.type_numbers.eastern import eastern_type
from inventory.type_numbers.entries import entry_of
from inventory.type_numbers.fuse_marks import read_fuse
from inventory.type_numbers.legs import order_in
from inventory.type_numbers.normaliser import type_number
from inventory.type_numbers.tables import rows

Facts = Mapping[str, Any]

_OF_A_TWIN = frozenset(("function", "organisation", "rails", "output_volts", "polarity", "adjustable"))
_OF_THE_BODY = frozenset(("number", "package", "words"))


@lru_cache(maxsize=8192)
def facts_of(kind: str, number: str, package: str = "") -> Facts:
    """Facts that the number carries, named as in a Spec; empty for numbers of no system and no table.

    The `pin_order` is that of the body: of `package` where it is given, else of the one that the number names
    or the type usually comes in. It is left out where it is not known for that body.

    >>> dict(facts_of("ic", "SN74LS04N"))
    {'function': '04', 'family': 'ls'}
    >>> facts_of("transistor", "BC547B")["gain_min"], facts_of("diode", "1N4007")["volts"]
    ('200', '1000')
    """
    read = _READERS.get(kind)
    facts = read(number) if read else {}
    if read is not None and not facts.keys() - {"polarity", "material"}:
        return _eastern(kind, number) or facts
    if "pin_order" not in facts:
        return facts
    others = {name: fact for name, fact in facts.items() if name != "pin_order"}
    order = order_in(kind, number, package)
    return {**others, "pin_order": order} if order else others


def _eastern(kind: str, number: str) -> Facts:
    """Of a Soviet or GDR type what its own system says, and of a twin what is the same in both."""
    found = eastern_type(number)
    if found is None or found.kind != kind:
        return {}
    twin = facts_of(kind, found.like) if found.like and not found.facts else {}
    return {**{name: fact for name, fact in twin.items() if name in _OF_A_TWIN}, **found.facts}


def memory_of(number: str) -> memories.Memory | None:
    """The memory that a type number names, whoever made it: 4164 of TMS4164-15NL."""
    base = type_number("ic", number).base
    if base == memories.THREE_RAIL_2716:
        return memories.MEMORIES["2716"]._replace(rails=memories.THREE_RAILS, socket="three_rails")
    base = memories.MEMORY_NAMES.get(base, base) if base in memories.NOT_QUITE else base
    return memories.MEMORIES.get(base) or memories.MEMORIES.get(base.replace("27", "27C", 1))


def _of_entry(kind: str, number: str) -> Facts:
    entry = entry_of(kind, number)
    return {name: cell for name, cell in entry.items() if name not in _OF_THE_BODY} if entry else {}


# ── Chips ────────────────────────────────────────────────────────────────────────────────────────

_SHARED_FUNCTIONS = frozenset(
    (
        "op_amp", "dual_op_amp", "quad_op_amp", "comparator", "dual_comparator", "quad_comparator", "timer",
    )
)  # fmt: skip
"""Functions that everybody calls the same; for others people have words of their own."""


def _ic(number: str) -> Facts:
    if memory := memory_of(number):
        half = _half(number) if memory.half else ""
        facts = {
            "function": memory.function,
            "organisation": memory.organisation,
            "pins": str(memory.pins or ""),
            "rails": memory.rails,
            "half": half,
        }
        return {name: fact for name, fact in facts.items() if fact}
    word = "".join(number.upper().split())
    if parts := split_cmos(word):
        return {"function": parts.number, "family": cmos_family(parts.suffix)}
    if logic := split_logic(word):
        return {"function": logic.digits, "family": logic.family.lower() or "std"}
    base = type_number("ic", number).base
    if base in linears.OPTOCOUPLERS:
        output = linears.COUPLER_OUTPUTS.get(linears.OPTOCOUPLERS[base].partition(", ")[2])
        return {"function": "optocoupler", **({"output": output} if output else {})}
    linear = linears.LINEARS.get(base)
    if linear is None or linear.function not in _SHARED_FUNCTIONS:
        return {}
    return {"function": linear.function, **_op_amps().get(base, {})}


@cache
def _op_amps() -> dict[str, dict[str, str]]:
    """Type -> its gain-bandwidth and supply."""
    return {
        row["number"]: {name: cell for name, cell in row.items() if name != "number"}
        for row in rows("op_amps")
    }


def _half(number: str) -> str:
    """Which half works, where the number says it: 3 or 4 behind a Texas 4532, H or L behind an Oki 3732."""
    tail = type_number("ic", number).grade.rpartition("-")[2].lower()
    return tail if tail in ("3", "4", "h", "l") else ""


# ── Diodes, transistors, regulators, fuses ───────────────────────────────────────────────────────

_EUROPEAN = re.compile(r"([AB])([A-Z])[A-Z]{0,2}[0-9]{2,3}")
_JAPANESE = {"2SA": "pnp", "2SB": "pnp", "2SC": "npn", "2SD": "npn", "2SJ": "p_channel", "2SK": "n_channel"}
_ZENER = re.compile(r"[AB]Z[A-Z]{1,2}[0-9]{2,3}-([0-9]{1,3}(?:V[0-9])?)")


def _material(base: str) -> dict[str, str]:
    """What Pro Electron's first letter says of a type that no table has."""
    match = _EUROPEAN.match(base)
    return {"material": {"A": "germanium", "B": "silicon"}[match[1]]} if match else {}


def _transistor(number: str) -> Facts:
    if facts := _of_entry("transistor", number):
        return facts
    base = type_number("transistor", number).base
    polarity = _JAPANESE.get(base[:3])
    return _material(base) | ({"polarity": polarity} if polarity else {})


_ZENER_LETTER = {"A": "1", "B": "2", "C": "5", "D": "10", "E": "20"}
"""Per cent by the letter before the volts of a BZX type (Pro Electron's code of designation, from memory)."""
_ZENER_SUFFIX = (
    (re.compile(r"1N47(?:2[89]|[3-5][0-9]|6[0-4])"), {"": "10", "A": "5", "C": "2", "D": "1"}),
    (
        re.compile(r"1N5(?:2[2-7][0-9]|28[01]|3[3-8][0-9])"),
        {"": "20", "A": "10", "B": "5", "C": "2", "D": "1"},
    ),
)
"""Per cent by the letter behind a JEDEC zener (from memory of their makers' data sheets)."""


def _zener_tolerance(number: str) -> dict[str, str]:
    parts = type_number("diode", number)
    letters = _ZENER_LETTER if _ZENER.fullmatch(parts.base) else {}
    for form, suffixes in _ZENER_SUFFIX:
        letters = suffixes if form.fullmatch(parts.base) else letters
    return {"tolerance_percent": letters[parts.grade]} if parts.grade in letters else {}


def _diode(number: str) -> Facts:
    base = type_number("diode", number).base
    facts = dict(_of_entry("diode", number))
    if not facts and (match := _ZENER.fullmatch(base)) and not base.startswith("BZW"):
        volts = match[1].replace("V", ".")
        facts = {"function": "zener", "material": "silicon", "zener_volts": volts}
    if facts.get("function") == "zener":
        facts |= _zener_tolerance(number)
    return facts or _material(base)


def _regulator(number: str) -> Facts:
    facts = dict(_of_entry("regulator", number))
    if facts.get("adjustable"):
        facts["adjustable"] = True
    return facts


def _fuse(number: str) -> Facts:
    return {name: fact if isinstance(fact, str) else f"{fact:f}" for name, fact in read_fuse(number).items()}


_READERS = {"ic": _ic, "regulator": _regulator, "diode": _diode, "transistor": _transistor, "fuse": _fuse}
