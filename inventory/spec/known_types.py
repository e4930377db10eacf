"""What a type number says by itself, where the numbers are a system or a short published list.

Facts that a person wrote down always go before these.
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Any, NamedTuple

from inventory.spec.fuse_marks import read_fuse

_LOGIC = re.compile(r"[A-Z]{0,4}(?:54|74)([A-Z]{0,4}?)(\d{2,5})([A-Z]{0,4})")
_CMOS_4000 = re.compile(r"(?:CD|HEF|HCF|TC|MC1|HCC)?(4[05]\d\d)(A|B|UB)?([A-Z]{0,4})")
_FIXED_REGULATOR = re.compile(r"[A-Z]{0,3}7([89])([LMST]?)(\d\d)([A-Z]{0,4})")
_ADJUSTABLE_REGULATOR = re.compile(r"(?:LM|UA|TL)?([13])([13])7([A-Z]{0,3})")
_RECTIFIER = re.compile(r"1N400([1-7])[A-Z]{0,3}")
_MU = "µ".upper()  # as in µPD4164
_MEMORY = re.compile(r"[A-Z]{0,4}(\d{1,2}C\d{2,4}|\d{3,6})(?![0-9])")

_REGULATOR_AMPS = {"": "1", "M": "0.5", "L": "0.1", "S": "2"}  # from memory (data sheets)
_RECTIFIER_VOLTS = (50, 100, 200, 400, 600, 800, 1000)  # 1N4001 to 1N4007, from memory (data sheets)


class Memory(NamedTuple):
    """One memory under the numbers of its makers, with their letters where the figures alone mean another.

    Of one `socket` larger ones differ only in the address pins that they add.
    """

    numbers: str
    function: str
    words: int
    bits: int
    legs: int
    rails: str
    socket: str = ""


MEMORIES = (
    # Rails and pins 1, 8, 9 of 4116 and 4164: cctech 2009; the rest from memory (data sheets).
    Memory("4116 UPD416 D416 4716 MB8116", "dram", 16384, 1, 16, "12 5 -5"),
    Memory("4164 4864 6665 8264 3764 4564", "dram", 65536, 1, 16, "5"),
    Memory("41256 50256 81256", "dram", 262144, 1, 16, "5"),
    Memory("4464 41464", "dram", 65536, 4, 18, "5"),
    Memory("2102", "sram", 1024, 1, 16, "5"),
    Memory("2114 TMS4045", "sram", 1024, 4, 18, "5"),
    Memory("6514", "sram", 1024, 4, 18, "5"),
    Memory("6116 2016 TMS4016", "sram", 2048, 8, 24, "5"),
    Memory("6264 8464 4364 5565", "sram", 8192, 8, 28, "5"),
    Memory("62256 43256 55257 84256", "sram", 32768, 8, 28, "5"),
    Memory("TMS2716", "eprom", 2048, 8, 24, "12 5 -5", "three rails"),  # the single-rail one is its 2516
    Memory("2708", "eprom", 1024, 8, 24, "12 5 -5", "three rails"),
    Memory("2716 2516 27C16", "eprom", 2048, 8, 24, "5", "24 legs"),
    Memory("2732 27C32", "eprom", 4096, 8, 24, "5", "24 legs"),
    Memory("2532", "eprom", 4096, 8, 24, "5"),
    Memory("2764 27C64", "eprom", 8192, 8, 28, "5", "28 legs"),
    Memory("27128 27C128", "eprom", 16384, 8, 28, "5", "28 legs"),
    Memory("27256 27C256", "eprom", 32768, 8, 28, "5", "28 legs"),
    Memory("27512 27C512", "eprom", 65536, 8, 28, "5", "28 legs"),
)
_MEMORY_OF = {number: each for each in MEMORIES for number in each.numbers.split()}


def memory(number: str) -> Memory | None:
    """The memory that a type number names, whoever made it: 4164 of TMS4164-15NL."""
    found = _MEMORY.match(number.upper().replace(" ", "").replace(_MU, "U"))
    return (_MEMORY_OF.get(found[0]) or _MEMORY_OF.get(found[1])) if found else None


def base_type(kind: str, number: str) -> tuple[Any, ...] | None:
    """What is one type whoever made it, in whatever case; None where the numbers are no system."""
    told = said_by_number(kind, number)
    if kind == "ic":
        return memory(number) or (told["function"], told["family"]) if told else None
    if kind == "regulator" and "output_volts" in told and "amps" in told:
        return told["output_volts"], told["amps"]
    if kind == "diode" and told:
        return (told["volts"],)
    return None


@lru_cache(maxsize=4096)
def said_by_number(kind: str, number: str) -> Mapping[str, Any]:
    """Facts that the type number carries, named as in a Spec; empty for numbers of no system.

    >>> dict(said_by_number("ic", "SN74LS04N"))
    {'function': '04', 'family': 'ls'}
    """
    read = _READERS.get(kind)
    if read is None:
        return {}
    if kind == "ic" and (found := memory(number)):
        return _of_memory(found)
    return read(number.upper().replace(" ", "").replace("-", ""))


def _of_memory(found: Memory) -> Mapping[str, Any]:
    return {
        "function": found.function,
        "organisation": (found.words, found.bits),
        "pins": Decimal(found.legs),
        "rails": tuple(map(Decimal, found.rails.split())),
    }


def _ic(number: str) -> Mapping[str, Any]:
    if found := _LOGIC.fullmatch(number):
        return {"function": found[2], "family": found[1].lower() or "std"}
    if found := _CMOS_4000.fullmatch(number):
        return {"function": found[1], "family": "cmos_4000_ub" if found[2] == "UB" else "cmos_4000"}
    return {}


def _regulator(number: str) -> Mapping[str, Any]:
    if found := _FIXED_REGULATOR.fullmatch(number):
        volts = Decimal(found[3])
        if not volts:
            return {}
        positive = found[1] == "8"
        facts = {
            "output_volts": volts if positive else -volts,
            "polarity": "positive" if positive else "negative",
        }
        amps = _REGULATOR_AMPS.get(found[2])
        return facts | ({"amps": Decimal(amps)} if amps else {})
    if found := _ADJUSTABLE_REGULATOR.fullmatch(number):
        return {"adjustable": True, "polarity": "positive" if found[2] == "1" else "negative"}
    return {}


def _diode(number: str) -> Mapping[str, Any]:
    if found := _RECTIFIER.fullmatch(number):
        volts = Decimal(_RECTIFIER_VOLTS[int(found[1]) - 1])
        return {"function": "rectifier", "material": "silicon", "volts": volts, "amps": Decimal(1)}
    return {}


_READERS = {"ic": _ic, "regulator": _regulator, "diode": _diode, "fuse": read_fuse}
