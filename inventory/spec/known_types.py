"""What a type number says by itself, where the numbers are a system or a short published list.

Facts that a person wrote down always go before these.
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Any

_LOGIC = re.compile(r"[A-Z]{0,4}(?:54|74)([A-Z]{0,4}?)(\d{2,5})([A-Z]{0,4})")
_CMOS_4000 = re.compile(r"(?:CD|HEF|HCF|TC|MC1|HCC)?(4[05]\d\d)(A|B|UB)?([A-Z]{0,4})")
_FIXED_REGULATOR = re.compile(r"[A-Z]{0,3}7([89])([LMST]?)(\d\d)([A-Z]{0,4})")
_ADJUSTABLE_REGULATOR = re.compile(r"(?:LM|UA|TL)?([13])([13])7([A-Z]{0,3})")
_RECTIFIER = re.compile(r"1N400([1-7])[A-Z]{0,3}")
_DRAM = re.compile(r"[A-Z]{0,3}(4116|4164|41256|41464|4464)(?!\d)")

_REGULATOR_AMPS = {"": "1", "M": "0.5", "L": "0.1"}  # from memory (data sheets)
_RECTIFIER_VOLTS = (50, 100, 200, 400, 600, 800, 1000)  # 1N4001 to 1N4007, from memory (data sheets)
# Words, bits, legs, supply volts. Rails of 4116 and 4164: cctech 2009; the rest from memory (data sheets).
_DRAMS = {
    "4116": (16384, 1, 16, "12 5 -5"),
    "4164": (65536, 1, 16, "5"),
    "41256": (262144, 1, 16, "5"),
    "4464": (65536, 4, 18, "5"),
}


@lru_cache(maxsize=4096)
def said_by_number(kind: str, number: str) -> Mapping[str, Any]:
    """Facts that the type number carries, named as in a Spec; empty for numbers of no system.

    >>> dict(said_by_number("ic", "SN74LS04N"))
    {'function': '04', 'family': 'ls'}
    """
    read = _READERS.get(kind)
    return read(number.upper().replace(" ", "").replace("-", "")) if read else {}


def _ic(number: str) -> Mapping[str, Any]:
    if found := _LOGIC.fullmatch(number):
        return {"function": found[2], "family": found[1].lower() or "std"}
    if found := _CMOS_4000.fullmatch(number):
        return {"function": found[1], "family": "cmos_4000_ub" if found[2] == "UB" else "cmos_4000"}
    if found := _DRAM.match(number):
        words, bits, pins, rails = _DRAMS["4464" if found[1] == "41464" else found[1]]
        return {
            "function": "dram",
            "organisation": (words, bits),
            "pins": Decimal(pins),
            "rails": tuple(map(Decimal, rails.split())),
        }
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


_READERS = {"ic": _ic, "regulator": _regulator, "diode": _diode}
