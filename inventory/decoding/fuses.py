"""Fuses and thermal cut-offs by what is printed on them.

Letters as in `type_numbers.fuse_marks`; makers' series from memory of their catalogues.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal

from inventory.type_numbers.fuse_marks import read_fuse

from .candidates import Candidate, NamedType, Notation

FUSE = Notation("fuse link", "IEC 60127", "fuse", 1.0, {"fuse": 30.0, "glass": 2.0})
_SPEEDS = {"very_fast": "FF", "fast": "F", "medium": "M", "slow": "T", "very_slow": "TT"}
_WHOLE_FUSE = re.compile(
    r"(?:FUSE )?(FF|F|TT|T|M)? ?([0-9]{1,3}(?:[.,][0-9]{1,3})?) ?(M?A) ?([LEH])? ?(?:([0-9]{2,4}) ?V)?"
    r"|(?:FUSE )?(FF|F|TT|T|M) ?([0-9]{1,3}(?:[.,][0-9]{1,3})?)(?: ?/ ?| )([0-9]{2,4})"
)
MAX_AMPS = 125
_AMPS_ALONE = 0.2
"""Amps without a letter for the speed may stand on a switch or a plug as well."""


_SIZE = re.compile(r"(?:FUSE )?(?:(?:5 ?X ?20|6[.,]3 ?X ?32)(?: ?MM)? |[38]A[GB][ -]?(?=[0-9.]))")
_SERIES = re.compile(
    r"(AGC|AGX|GMA|ABC|MDL|MDX|GMC|FST|SPT) ?-?([0-9]{1,2}(?:[.,][0-9]+)?)(?: ?(M?A))?(?= |$)"
)
_FRACTION = re.compile(
    r"(AGC|AGX|GMA|ABC|MDL|MDX|GMC|FST|SPT) ?(?:([1-9])[- ])?([1-9])[/ ](2|4|8|10|16|32|100)(?= |$)"
)
"""MDL 1/2, AGC 1-1/2: amps in fractions, as American makers print them (from memory of their catalogues)."""
_SOVIET = re.compile(r"(?:ВП[0-9АБВТ]?|ПМ|ПК)(?:-?[0-9АБВТ]{1,2})*[- ]([0-9]{1,2}(?:[.,][0-9]{1,2})?) ?[АA]")
"""ВП1-1 0,5А: a series, then the amps (from memory)."""
_TIME_LAG = frozenset(("MDL", "MDX", "GMC", "FST", "SPT"))
"""Makers' series of small fuses, the amps behind them (from memory of their catalogues)."""
_VOLTS_FIRST = re.compile(r"([0-9]{2,4}) ?V ?(?:AC|~)? (.*)")
_SPEED_LAST = re.compile(r"([0-9]{1,3}(?:[.,][0-9]{1,3})? ?M?A) ?(FF|F|TT|T)( ?[LEH])?(?: ([0-9]{2,4} ?V))?")


def in_order(text: str) -> str:
    """250V 10A F as F10A 250V: the standard's order."""
    text = _SIZE.sub("", text, count=1)
    if match := _SOVIET.fullmatch(text):
        return f"{match[1].replace(',', '.')}A"
    if match := _FRACTION.match(text):
        amps = int(match[2] or 0) + Decimal(int(match[3])) / int(match[4])
        text = f"{match[1]} {amps.normalize():f}{text[match.end() :]}"
    if match := _SERIES.match(text):
        text = f"{'T' if match[1] in _TIME_LAG else 'F'}{match[2]}{match[3] or 'A'}{text[match.end() :]}"
    if match := _VOLTS_FIRST.fullmatch(text):
        text = f"{match[2]} {match[1]}V"
    if match := _SPEED_LAST.fullmatch(text):
        text = f"{match[2]}{match[1]}{match[3] or ''} {match[4] or ''}".strip()
    return text


def fuse(text: str) -> Iterator[Candidate]:
    """T1.6A 250V, T2AL250V, F500mA, F1/250, 250V 10A F."""
    printed, text = text, in_order(text)
    match = _WHOLE_FUSE.fullmatch(text)
    if match is None:
        return
    written = f"{match[6]}{match[7]}A {match[8]}V" if match[6] else text.removeprefix("FUSE ")
    facts = read_fuse(written)
    if not 0 < facts.get("amps", 0) <= MAX_AMPS:
        return
    amps, speed = facts["amps"], facts.get("speed", "")
    size = f"{amps * 1000:f}".rstrip("0").rstrip(".") + "mA" if amps < 1 else f"{amps.normalize():f}A"
    volts = facts.get("volts")
    letter = match[4] or ""
    number = f"{_SPEEDS.get(speed, '')}{size}{letter}{f'{volts:f}V' if volts else ''}"
    words = f"{speed.replace('_', ' ')} fuse, {size}".strip() + (f", {volts:f} V" if volts else "")
    traits = {name: plain_text(facts[name]) for name in ("amps", "speed", "breaking") if name in facts}
    weight = 2.0 if speed or _SOVIET.fullmatch(printed) else _AMPS_ALONE
    yield Candidate(
        FUSE, None, ((printed, words),), weight, volts=volts, traits=traits,
        type=NamedType(number, function=words), reasons=("amps, and before them how fast it blows",),
        cautions=("A fuse is replaced by one of the same amps, speed and breaking capacity only.",),
    )  # fmt: skip


CUT_OFF = Notation("thermal cut-off", "makers' data sheets", "fuse", 1.0, {"fuse": 30.0})
_NAMES = "SEFUSE|MICROTEMP|AUPO|TAMURA|UCHIHASHI|ELCUT|THERMODISC|THERMAL|CUT-?OFF|TCO|TF|RY|TAM?"
_OPENS = re.compile(r"(?:TF ?)?([0-9]{2,3}) ?°? ?C")
_CUT_OFF = re.compile(
    rf"(?=.*[0-9] ?°? ?C(?: |$))(?=.*[0-9] ?A(?: |$))"
    rf"(?:(?:{_NAMES}|(?:SF|RY|TAM?|[DGN])-?[0-9A-Z]{{2,8}}|(?:TF ?)?[0-9]{{2,3}} ?°? ?C"
    r"|[0-9]{1,2}(?:\.[0-9])? ?A|[0-9]{3} ?V(?:AC)?)(?: |$))+"
)
"""Its temperature, amps and volts, and before them perhaps a maker's name or number."""


def cut_off(text: str) -> Iterator[Candidate]:
    """SEFUSE SF139E 142°C 10A 250V: opens once, at its temperature."""
    if not _CUT_OFF.fullmatch(text):
        return
    opens, amps, volts = (
        _OPENS.search(text),
        re.search(r"([0-9.]+) ?A\b", text),
        re.search(r"([0-9]{3}) ?V", text),
    )
    if opens is None or amps is None:
        return
    number = next((word for word in text.split() if re.fullmatch(r"[A-Z]{1,3}-?[0-9]{2,4}[A-Z]?", word)), "")
    words = f"thermal cut-off, opens at {opens[1]} °C"
    yield Candidate(
        CUT_OFF, None, ((text, words),), 3.0, volts=Decimal(volts[1]) if volts else None,
        traits={"opens_c": opens[1], "amps": amps[1]}, reasons=(words,),
        type=NamedType(number or f"{opens[1]}°C", function=words),
        cautions=("A cut-off is replaced by one of the same temperature only; mains, by local codes.",),
    )  # fmt: skip


def plain_text(fact: object) -> str:
    return f"{fact:f}" if isinstance(fact, Decimal) else str(fact)
