"""Order codes of multilayer ceramic chips: size, characteristic, value, tolerance and volts, each maker in an
order of its own.

C0805C104K5RACTU is by its maker's data sheet (KEMET, ceramic chips, ordering information); the others are
from memory of the makers' catalogues.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import NamedTuple

from .candidates import Candidate, Notation
from .capacitor_codes import femtofarads
from .letter_codes import PICO, pointed
from .ratings import EIA_VOLTS, capacitor_tolerances
from .temperature import characteristic

CERAMIC_ORDER = Notation("order code of a ceramic chip, pF", "makers' ordering", "capacitor", 0.5)
_WEIGHT = 100.0
_SIZE = "(?P<size>01005|0201|0402|0603|0805|1206|1210|1808|1812|1825|2220|2225)"
_VALUE = "(?P<value>[1-9][0-9]{2}|[0-9]R[0-9])(?P<tolerance>[BCDFGJKMZ])"


def _volts(text: str) -> Mapping[str, Decimal]:
    return {letter: Decimal(volts) for letter, _, volts in (each.partition(":") for each in text.split())}


def _codes(text: str) -> Mapping[str, str]:
    return {letter: code for letter, _, code in (each.partition(":") for each in text.split())}


class _Order(NamedTuple):
    form: re.Pattern[str]
    volts: Mapping[str, Decimal]
    codes: Mapping[str, str] | None = None
    """Temperature characteristics by the maker's letter; None where the code itself is printed."""
    nines: bool = False
    """9 as the third figure divides by ten."""


_ORDERS = (
    _Order(
        re.compile(rf"C{_SIZE}[CXFS]{_VALUE}(?P<volts>[0-9A-Z])(?P<code>[GRPUVH])A[A-Z0-9]{{0,8}}"),
        _volts("7:4 9:6.3 8:10 4:16 3:25 6:35 5:50 1:100 2:200 A:250 C:500 B:630 D:1000"),
        _codes("G:C0G R:X7R P:X5R U:Z5U V:Y5V"),
        nines=True,
    ),
    _Order(
        re.compile(rf"CL(?:03|05|10|21|31|32|43|55)(?P<code>[A-Z]){_VALUE}(?P<volts>[A-Z])[A-Z0-9]{{3,7}}"),
        _volts("R:4 Q:6.3 P:10 O:16 A:25 L:35 B:50 C:100 D:200 E:250 G:500 H:630 I:1000"),
        _codes("C:C0G B:X7R A:X5R F:Y5V X:X6S"),
    ),
    _Order(
        re.compile(rf"{_SIZE}(?P<volts>[0-9A-Z])(?P<code>[ACDGZE]){_VALUE}[AT][A-Z0-9]{{2,4}}"),
        _volts("4:4 6:6.3 Z:10 Y:16 3:25 D:35 5:50 1:100 2:200 V:250 7:500 A:1000"),
        _codes("A:C0G C:X7R D:X5R G:Y5V E:Z5U Z:X7S"),
    ),
    _Order(
        re.compile(
            rf"(?:GRM|GCM|GRT|GJM)[0-9A-Z]{{3}}(?P<code>R7|R6|C8|5C|F5|E4|R1)(?P<volts>[0-9][A-Z]){_VALUE}[A-Z0-9]{{3,6}}"
        ),
        EIA_VOLTS,
        _codes("R7:X7R R6:X5R C8:X6S 5C:C0G F5:Y5V E4:Z5U"),
    ),
    _Order(
        re.compile(
            rf"C[0-9]{{4}}(?P<code>C0G|X7R|X5R|X6S|X7S|X7T|Y5V|CH)(?P<volts>[0-3][A-Z]){_VALUE}[A-Z0-9]{{0,7}}"
        ),
        EIA_VOLTS,
    ),
    _Order(
        re.compile(
            r"[CA][CQ](?P<size>0201|0402|0603|0805|1206|1210|1812)(?P<tolerance>[BCDFGJKMZ])[RPK]"
            r"(?P<code>X7R|X5R|NPO|Y5V)(?P<volts>[0-9A-Z])B[BNW](?P<value>[1-9][0-9]{2}|[0-9]R[0-9])"
        ),
        _volts("5:6.3 6:10 7:16 8:25 9:50 0:100 A:200 B:500"),
    ),
)


def ceramic(text: str) -> Iterator[Candidate]:
    """The whole word as such an order. Volts and characteristics whose letter is not known are left out."""
    for order in _ORDERS:
        match = order.form.fullmatch(text)
        if match is None:
            continue
        value = _farads(match["value"], order.nines)
        if not value:
            continue
        volts = order.volts.get(match["volts"])
        code = match["code"] if order.codes is None else order.codes.get(match["code"], "")
        temperature = characteristic(code) if code else None
        meant = {
            "value": "value", "volts": f"{volts:f} V" if volts else "", "code": code, "size": "size",
            "tolerance": "",
        }  # fmt: skip
        used, at = [], 0
        for name, (first, last) in sorted(
            ((name, match.span(name)) for name in match.groupdict()), key=lambda each: each[1]
        ):
            used += [(text[at:first], "series")] if at < first else []
            used.append((text[first:last], meant[name]))
            at = last
        used += [(text[at:], "")] if at < len(text) else []
        whole = Candidate(
            CERAMIC_ORDER, value, tuple(used), _WEIGHT, None, volts, temperature=temperature or {}
        )
        letter = match["tolerance"]
        place = next(at for at, (seen, said) in enumerate(used) if seen == letter and not said)
        for meaning in capacitor_tolerances(letter, value):
            used[place] = (letter, meaning.tolerance.text)
            yield whole._replace(
                tolerance=meaning.tolerance, weight=_WEIGHT * meaning.weight, used=tuple(used)
            )


def _farads(code: str, nines: bool) -> int:
    """fF of 104 or 4R7; of 229 by the maker who writes 2.2 pF so."""
    if "R" in code:
        return pointed(code, code.index("R"), PICO) or 0
    if nines and code[2] in "89":
        return int(code[:2]) * PICO // (10 if code[2] == "9" else 100)
    return femtofarads(int(code[:2]), code[2])
