"""Cells and batteries by IEC 60086 and by what else stands on them: chemistry, volts, how to treat them.

Letters and nominal volts of IEC 60086, from memory; makers' series from memory of their data sheets.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from .candidates import Candidate, NamedType, Notation, Used

LITHIUM = "Lithium cell: never charge, open or solder to it, and keep it from being shorted."
LITHIUM_ION = (
    "Lithium ion cell: charge it in a charger for such cells only, never short, open, heat or solder to it."
)
PRIMARY = "Primary cell: never charge it; it may leak or burst."
RECHARGEABLE = (
    "Charge it only in a charger for cells of its chemistry, with air round it, and never short it."
)
FIND_OUT = "Its chemistry is not said: find it out before charging; primary cells must never be charged."

CELL = Notation("cell type", "IEC 60086", "other", 1.0, {"cell": 300.0})


class Chemistry(NamedTuple):
    words: str
    volts: str
    cautions: tuple[str, ...] = ()


_CHEMISTRY = {
    "CR": Chemistry("lithium manganese dioxide cell", "3", (LITHIUM,)),
    "BR": Chemistry("lithium carbon monofluoride cell", "3", (LITHIUM,)),
    "ER": Chemistry("lithium thionyl chloride cell", "3.6", (LITHIUM,)),
    "FR": Chemistry("lithium iron disulphide cell", "1.5", (LITHIUM,)),
    "LIR": Chemistry("rechargeable lithium ion cell", "3.6", (LITHIUM_ION,)),
    "LR": Chemistry("alkaline cell", "1.5", (PRIMARY,)),
    "SR": Chemistry("silver oxide cell", "1.55", (PRIMARY,)),
    "PR": Chemistry("zinc air cell", "1.4", (PRIMARY,)),
    "MR": Chemistry("mercury cell", "1.35", (PRIMARY,)),
    "R": Chemistry("zinc carbon cell", "1.5", (PRIMARY,)),
    "HR": Chemistry("nickel metal hydride cell", "1.2", (RECHARGEABLE,)),
    "KR": Chemistry("nickel cadmium cell", "1.2", (RECHARGEABLE,)),
}
_CELL = re.compile(
    r"(CR|BR)((?:1|2|3)[0-9]{3}|2|123A|1/3N|1/2AA|2/3A|17345|14250|P2|V3)[A-Z/]{0,4}"
    r"|(ER)([1-3][0-9]{4})[A-Z/]{0,3}|(LR)(0?[1-9]|1[0-9]|20|4[1-9]|5[0-9]|6[0-9]|[67][0-9]{2}|11[0-9]{2})"
    r"|(LIR)([1-3][0-9]{3})|(SR)([4-6][0-9]W?|[0-9]{3,4}S?W)|(R)(0?3|6|10|12|14|20)P?|(FR|HR|KR)(0?3|6|14|20|[0-9]{2}/[0-9]{2})"
)
_STACK = re.compile(r"([2-9])(LR|R|F|CR)([0-9]{1,3})")
_THIONYL = re.compile(r"(TL[LH]?-?[0-9]{4}|LS[- ]?1[47][0-9]{3}|SL-?[378][0-9]{2})[A-Z/]{0,3}")
_CELL_MAKER = re.compile(
    "(?:SAFT|VARTA|TADIRAN|MAXELL|PANASONIC|SONY|RENATA|DURACELL|EVEREADY|ENERGIZER|GP|SANYO|TOSHIBA) "
)
_SEALED_LITHIUM = r"LI(?:THIUM)?[- ]?(?:ION|PO(?:LY(?:MER)?)?|POLYMER)"
_BY_CHARGE = re.compile(
    r"(?=.*[0-9] ?M?AH\b)(?=.*(?:\bNI-?(?:CD|MH)\b|\bLI-?(?:ION|PO)|[0-9] ?V))"
    r"(?:(?:[0-9]{1,2}(?:[.,][0-9]{1,2})? ?V[0-9]?|[0-9]{1,5}(?:[.,][0-9])? ?M?AH|[A-Z0-9/-]{1,16})"
    r"(?: |$)){2,6}"
)
_VOLTS = re.compile(r"\b([0-9]{1,2})(?:[.,]([0-9]{1,2}))? ?V([0-9]?)")
_NEVER = re.compile(r"\b(?:NON|NOT)[- ]?RECHARGEABLE\b")
_LITHIUM_ION = re.compile(rf"\b{_SEALED_LITHIUM}\b")
_CHARGED = re.compile(r"\b(?:NI-?CD|NI-?MH|LEAD[- ]ACID|RECHARGEABLE|AKKU)\b")
_LITHIUM = re.compile(r"\bLITHIUM\b")
_ALKALINE = re.compile(r"\bALKALINE\b")


def chemistry_of(text: str) -> Chemistry:
    """What the whole words say of charging: an IEC code before any other, and nothing where two disagree."""
    coded = (_CELL.fullmatch(word) or _STACK.fullmatch(word) for word in text.split())
    letters = next((each for match in coded if match for each in match.groups() if each in _CHEMISTRY), "")
    if letters and letters != "R":  # R6 is a size of any chemistry as well
        return _CHEMISTRY[letters]
    ion, charged = _LITHIUM_ION.search(text), _CHARGED.search(text)
    lithium, alkaline = _LITHIUM.search(text), _ALKALINE.search(text)
    if _NEVER.search(text):
        return Chemistry("primary cells", "", (LITHIUM if lithium else PRIMARY,))
    if alkaline and (ion or charged):
        return Chemistry("cells", "", (FIND_OUT,))
    if ion or (lithium and charged):
        return Chemistry("rechargeable cells", "", (LITHIUM_ION,))
    if charged:
        return Chemistry("rechargeable cells", "", (RECHARGEABLE,))
    if lithium:
        return Chemistry("lithium cells", "", (LITHIUM,))
    if alkaline:
        return Chemistry("alkaline cells", "", (PRIMARY,))
    return _CHEMISTRY.get(letters) or Chemistry("cells", "", (FIND_OUT,))


def of_chemistry(text: str, number: str) -> Candidate:
    """3V6 60mAh Ni-Cd, 1/2AA 3.6V lithium: a cell or several, by chemistry, size and volts."""
    chemistry = chemistry_of(text)
    *_, volts = (None, *_VOLTS.finditer(text))  # the last: 3/V80H 3.6V is of 3.6 V
    return Candidate(
        CELL, None, ((text, chemistry.words),), 3.0,
        volts=Decimal(f"{volts[1]}.{volts[2] or volts[3] or 0}").normalize() if volts else None,
        reasons=(chemistry.words,),
        type=NamedType(number, function=chemistry.words), traits={"device": "battery"},
        cautions=chemistry.cautions,
    )  # fmt: skip


_BESIDE = re.compile(r"(?:([0-9](?:[.,][0-9]{1,2})?) ?V)? ?(?:[0-9]{1,5}(?:[.,][0-9])? ?M?AH)?")
"""3V 220mAh: what stands beside a cell's code."""
_SIZED = re.compile(
    r"(?:(1[/ ]2|2[/ ]3|4[/ ]5) ?-?(AAA?|A|C|D|R6|R3)|([2-9][/ ]V[0-9]{2,3}[A-Z]{1,3}))"
    r"(?: ([1-9][0-9]?(?:[.,][0-9]{1,2})?) ?V)?"
)
"""1/2AA 3.6V, 3/V80H 3.6V: part of a usual cell, or so many button cells, and the volts (from memory)."""
_SAID = re.compile(
    r"\b(?:LITHIUM(?:[- ](?:THIONYL(?: CHLORIDE)?|MANGANESE(?: DIOXIDE)?|ION))?|LI-?(?:ION|PO(?:LY(?:MER)?)?)"
    r"|ALKALINE|SILVER OXIDE|ZINC[- ](?:AIR|CARBON)|NI-?(?:CD|MH)|LEAD[- ]ACID|(?:NON-?)?RECHARGEABLE)(?= |$)"
)
"""Words for the chemistry, wherever they stand."""
_NO_MORE = re.compile(
    r"(?:(?P<size>AAAA|AAA|AA|C|D|SUB-?C|PP3|[1-9][0-9]{3,4})(?: |$)"
    r"|[0-9]{1,2}(?:[.,][0-9]{1,2})? ?V(?: |$)){1,2}"
)
"""AA 3.6V, 9V, 18650: sizes and volts, which say a cell only with a word for its chemistry."""
_AS_RESISTOR = 0.01
"""R6 and R20 are ohms far more often than cells."""


def cell(text: str) -> Iterator[Candidate]:
    """A cell by IEC 60086: chemistry, then shape: CR2032 is lithium, 20 mm by 3.2 mm."""
    plain = " ".join(_SAID.sub(" ", _CELL_MAKER.sub("", text)).split())
    is_said = plain != _CELL_MAKER.sub("", text)
    head, _, rest = plain.partition(" ")
    beside = _BESIDE.fullmatch(rest)
    coded = _CELL.fullmatch(head) or _STACK.fullmatch(head) or _THIONYL.fullmatch(head)
    if (match := _SIZED.fullmatch(plain)) and (match[4] or is_said):
        number = match[1].replace(" ", "/") + match[2] if match[2] else match[3].replace(" ", "/")
        yield of_chemistry(text, number)
        return
    if is_said and not coded and (match := _NO_MORE.fullmatch(plain)):
        yield of_chemistry(text, match["size"] or "")
        return
    if not (coded and beside):
        if _BY_CHARGE.fullmatch(_CELL_MAKER.sub("", text)):
            yield of_chemistry(text, text.replace(" ", "-"))
        return
    if match := _CELL.fullmatch(head):
        letters, shape = (group for group in match.groups() if group)
        chemistry, weight = _CHEMISTRY[letters], _AS_RESISTOR if letters == "R" else 3.0
        size = (
            f", {int(shape[:2])} mm by {Decimal(shape[2:]) / 10} mm"
            if re.fullmatch(r"[1-3][0-9]{3}", shape)
            else ""
        )
        words = f"{chemistry.words}, {chemistry.volts} V{size}"
    elif match := _STACK.fullmatch(head):
        letters = {"F": "R"}.get(match[2], match[2])
        chemistry, weight = _CHEMISTRY[letters], 0.5
        words = f"battery of {match[1]}: {chemistry.words}, {Decimal(chemistry.volts) * int(match[1])} V"
    elif _THIONYL.fullmatch(head):
        chemistry, weight = _CHEMISTRY["ER"], 1.0
        words = f"{chemistry.words}, 3.6 V"
    else:
        return
    volts = Decimal(beside[1].replace(",", ".")) if beside[1] else None
    maker = text.partition(" ")[0] if _CELL_MAKER.match(text) else ""
    used: Used = tuple(
        each for each in ((maker, "maker"), (head, words), (rest, "nominal volts or charge")) if each[0]
    )
    if is_said:
        used = ((text, words),)
    yield Candidate(
        CELL, None, used, weight * (3.0 if rest else 1.0), volts=volts, reasons=(words,),
        type=NamedType(head, function=words), traits={"device": "battery"},
        cautions=chemistry.cautions,
    )  # fmt: skip
