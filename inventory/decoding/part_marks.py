"""The reader of parts that carry neither a value code nor a semiconductor's type: `fuses`, `cells`,
`valves`, varistors, NTCs, relays, sockets.

Makers' series of varistors, thermistors and relays are from memory of their data sheets.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from .candidates import Candidate, NamedType, Notation, Used
from .cells import cell
from .fuses import MAX_AMPS, cut_off, fuse, plain_text
from .known import Known
from .valves import valve
from .words import MarkingLine

OHM = 10**6


def part_marks(line: MarkingLine, known: Known) -> Iterator[Candidate]:
    """What the whole line says; nothing where a character of it is unreadable."""
    if not all(word.whole for word in line.seen):
        return
    text = " ".join(word.whole for word in line.seen).upper()
    for read in (fuse, cut_off, rating, varistor, thermistor, relay, cell, valve, socket):
        yield from (each for each in read(text) if known.asks(each.kind))


RATING = Notation("volts and amps", "common practice, no source", "other", 1.0)
_RATING = re.compile(r"([0-9]{1,4}(?:[.,][0-9])?) ?V ?(?:AC|DC|~|=)? ([0-9]{1,3}(?:[.,][0-9]{1,3})?) ?(M?A)")
_RATING_BESIDE = 0.25
"""Volts first and no letter for the speed: likelier a supply, a switch or a relay than a fuse (common
practice, no source).
"""


def rating(text: str) -> Iterator[Candidate]:
    """12V 1A, 230V 10A: what supplies, switches, contacts and fuses alike carry, and no more than that."""
    match = _RATING.fullmatch(text)
    if match is None:
        return
    volts, amps = (Decimal(figure.replace(",", ".")) for figure in (match[1], match[2]))
    amps /= 1000 if match[3] == "MA" else 1
    if not volts or not 0 < amps <= MAX_AMPS:
        return
    words = f"rated {plain_text(volts)} V, {plain_text(amps.normalize())} A"
    yield Candidate(
        RATING, None, ((text, words),), _RATING_BESIDE, volts=volts, traits={"amps": plain_text(amps)},
        type=NamedType(function=words), reasons=("volts and amps, and nothing that says of what",),
        cautions=("Do not take it for a fuse unless you see that it is one: a wrong fuse can start a fire.",),
    )  # fmt: skip


# ── Varistors and thermistors ────────────────────────────────────────────────────────────────────

VARISTOR = Notation("varistor type", "makers' data sheets", "other", 1.0, {"varistor": 30.0, "disc": 3.0})
VARISTOR_WHOLE, OTHER_LETTERS, CLOSE = 10.0, 3.0, 0.3
"""14D471K is a varistor far more often than a network of 14 pins; varistors of 5 %, 10D102J, are hardly made
(common practice, no source).
"""
DISCS = frozenset((5, 7, 10, 14, 18, 20, 25, 32, 34, 40))
"""Millimetres; a network may have 8 pins, no varistor has such a disc (common practice, no source)."""
_BY_VOLTS = re.compile(
    r"(?:(?:ZNR|TVR|TNR|JVR|MYG|MOV|CNR|ERZ-?V|FNR|HEL|VDR)[- ]?)?([0-9]{1,2})([DKN])([0-9]{2})([0-3])"
    r"([KLJMU]?)"
    r"|(?:TVR|TNR)[- ]?([0-9]{2})([0-9]{2})([0-3])"
)
_BY_AC_VOLTS = re.compile(
    r"(?:(?:SIOV[- ]?)?(S|B)|(?=[0-9]{2}K[0-9]{3}))(05|07|10|14|20|25|32|40|60|80)(K)([0-9]{2,3})"
)
"""Without its letter 10K25 is ohms."""
AC_VOLTS = frozenset(
    (115, 130, 140, 150, 175, 210, 230, 250, 275, 300, 320, 385, 420, 440, 460, 510, 550, 625, 680)
)
"""For which discs are made (makers' data sheets, from memory)."""
_BY_ENERGY = re.compile(r"V([0-9]{2,4})(LA|ZA)([0-9]{1,3})[A-Z]?")
_ACROSS_THE_MAINS = "Across the mains: the same volts and at least the same disc, nothing else."
_TWO_SYSTEMS = (
    "Makers differ: the last three figures may be the volts of alternating current, or two figures and the"
    " number of noughts of the volts at 1 mA. Look in the data sheet, or at what the part is connected to."
)


class _Varistor(NamedTuple):
    weight: float
    volts: int
    trait: str
    words: str


def varistor(text: str) -> Iterator[Candidate]:
    """14D471K is 470 V at 1 mA on a 14 mm disc, S14K250 stands 250 V of alternating current."""
    found = []
    if (match := _BY_VOLTS.fullmatch(text)) and (each := _at_one_milliamp(match)):
        found.append(each)
    if match := _BY_AC_VOLTS.fullmatch(text):
        volts = int(match[4])
        words = f"varistor for {volts} V of alternating current, disc of {int(match[2])} mm"
        if volts in AC_VOLTS or (match[1] and 11 <= volts <= 1100):
            weight = VARISTOR_WHOLE if match[1] else OTHER_LETTERS if found else 1.0
            found.append(_Varistor(weight, volts, "ac_volts", words))
    elif match := _BY_ENERGY.fullmatch(text):
        volts, trait = int(match[1]), "ac_volts" if match[2] == "LA" else "dc_volts"
        words = f"varistor for {volts} V of {'alternating' if trait == 'ac_volts' else 'direct'} current"
        if volts <= 2800:
            found.append(_Varistor(VARISTOR_WHOLE, volts, trait, words))
    cautions = (_TWO_SYSTEMS, _ACROSS_THE_MAINS) if len(found) > 1 else (_ACROSS_THE_MAINS,)
    for weight, volts, trait, words in found:
        yield Candidate(
            VARISTOR, None, ((text, words),), weight, reasons=(words,),
            type=NamedType(text.replace(" ", ""), function=words),
            traits={"device": "varistor", trait: str(volts)}, cautions=cautions,
        )  # fmt: skip


def _at_one_milliamp(match: re.Match[str]) -> _Varistor | None:
    disc, figures, noughts = (match[1] or match[6], match[3] or match[7], match[4] or match[8])
    volts = int(figures) * 10 ** int(noughts)
    if int(disc) not in DISCS or not 18 <= volts <= 1800:
        return None
    weight = (
        CLOSE if match[5] == "J" else VARISTOR_WHOLE if match[2] == "D" and match[5] == "K" else OTHER_LETTERS
    )
    words = f"varistor, {volts} V at 1 mA, disc of {int(disc)} mm"
    return _Varistor(weight, volts, "volts_at_1_ma", words)


NTC = Notation("thermistor type", "makers' data sheets", "thermistor", 1.0, {"thermistor": 30.0, "disc": 2.0})
_INRUSH = re.compile(r"(?:NTC|MF72)?[- ]?([0-9]{1,3}(?:\.[0-9])?)D(?:2)?[- ]?([0-9]{1,2})")
_SCK = re.compile(r"SCK[- ]?(?:([0-9]{2}))?([0-9][0-9R][0-9]?)([0-9])")
_MF52 = re.compile(
    r"(?:NTC[- ]?)?MF(?:52|58|11)[A-Z]?[- ]?([0-9]{2})([0-5])[A-Z]?(?:[- ]?(3[0-9]{3}|4[0-9]{3}))?"
)


_2322 = re.compile(r"2322 ?64[0-5] ?[0-9]{2}([1-9][0-9])([0-6])")
"""2322 640 63103: Philips' number for an NTC, its code of three figures last; 2322 66. are PTCs (from
memory).
"""
_DEGAUSS = re.compile(r"MZ7[0-9][A-Z]?[- ]?([0-9]{1,3})R[MN]?")
"""MZ73-18RM: a PTC of 18 ohm cold, against the magnetism of a picture tube (from memory)."""
_KTY = re.compile(r"KTY(?:(8[1235])[-/ ]?([12])[0-9]{2}[A-Z]?|(1[013]|2[13])[-/ ]?[0-9][A-Z]?)")
"""KTY81-110, KTY10-6: silicon sensors of 1 or 2 kΩ at 25 °C (makers' data sheets, from memory)."""
_NAMED = re.compile(
    r"(?:SCK|NTC|MF72|B57[0-9]{3})[A-Z0-9/-]* "
    r"(?:([0-9]{1,3})R([0-9])|([0-9]{1,3}(?:[.,][0-9])?) ?(?:R|Ω|OHM))"
)
"""SCK10 5R, SCK10 4R7: a series of thermistors and its ohms."""


def thermistor(text: str) -> Iterator[Candidate]:
    """5D-9: 5 ohm cold, disc of 9 mm, against the inrush; SCK 083: 8 ohm, 3 A; MF52-103: 10 k, to measure."""
    traits = {"curve": "ntc", "use": "inrush"}
    if match := _INRUSH.fullmatch(text):
        ohms, words = Decimal(match[1]), f"NTC, {match[1]} Ω at 25 °C, disc of {match[2]} mm, against inrush"
        if not (Decimal("0.7") <= ohms <= 400 and 5 <= int(match[2]) <= 40):
            return
    elif match := _SCK.fullmatch(text):
        figures = match[2].replace("R", ".")
        ohms = Decimal(figures)
        words = f"NTC, {ohms.normalize():f} Ω at 25 °C, {match[3]} A, against inrush"
    elif match := _KTY.fullmatch(text):
        ohms = Decimal(2000 if match[2] == "2" or match[3] in ("10", "11", "13") else 1000)
        words = f"silicon sensor, {ohms:f} Ω at 25 °C"
        traits = {"curve": "ptc", "use": "sense"}
    elif match := _NAMED.fullmatch(text):
        ohms = Decimal(f"{match[1]}.{match[2]}" if match[1] else match[3].replace(",", "."))
        words = f"NTC, {ohms:f} Ω at 25 °C"
        traits = {"curve": "ntc"}
    elif match := _2322.fullmatch(text):
        ohms = Decimal(int(match[1]) * 10 ** int(match[2]))
        words = f"NTC, {ohms:f} Ω at 25 °C"
        traits = {"curve": "ntc"}
    elif match := _DEGAUSS.fullmatch(text):
        ohms, words = Decimal(match[1]), f"PTC, {match[1]} Ω at 25 °C, for degaussing"
        traits = {"curve": "ptc", "use": "degauss"}
    elif match := _MF52.fullmatch(text):
        ohms = Decimal(int(match[1]) * 10 ** int(match[2]))
        words = f"NTC, {ohms:f} Ω at 25 °C" + (f", B {match[3]} K" if match[3] else "")
        traits = {"curve": "ntc", "use": "sense", **({"b_k": match[3]} if match[3] else {})}
    else:
        return
    if ohms > 0:
        yield Candidate(
            NTC, int(ohms * OHM), ((text, words),), 2.0, traits=traits, reasons=(words,),
            type=NamedType(text.replace(" ", ""), function=words),
        )  # fmt: skip


# ── Relays ───────────────────────────────────────────────────────────────────────────────────────

RELAY = Notation("relay type", "makers' data sheets", "other", 1.0, {"relay": 30.0})
_RELAY = re.compile(
    r"(G[2-9][A-Z]{0,4}-[0-9]{1,4}[A-Z0-9-]*|MY[234][A-Z]{0,3}|LY[1234][A-Z]{0,3}"
    r"|J(?:ZC|QC|QX|RC|RX|TX|ZX)-[0-9]{1,3}[A-Z]{0,3}[A-Z0-9()/-]*|HF[0-9]{1,4}[A-Z][A-Z0-9/-]*"
    r"|S(?:RD|RS|LA|RA|MI|RU)-(?:S-)?[0-9]{2,3}VDC[A-Z0-9-]*|(?:TQ2|TX2|DS[12][A-Z]?|JS1|JW[12]|AGN|ATQ)[A-Z0-9-]*-[A-Z0-9-]+"
    r"|V23[0-9]{3}-?[A-Z0-9-]*|RT[0-9]{6}|RTE?[0-9]{5}|RY[0-9]{6}|(?:[34][0-9]|5[0-9]|6[0-9])\.[0-9]{2}(?:\.[0-9.]+)?"
    r"|HJR-?[0-9][A-Z0-9-]*|Р(?:ЭС|ЭК|ЭН|КН|ПС|ЭВ|ВМ)-?[0-9]{1,3}[А-Я]?|OMI-[A-Z0-9-]+|OJE?-[A-Z0-9-]+|FBR[0-9]{2}[A-Z0-9-]*|HE(?:3|7)[0-9]{2}[A-Z][0-9]{4}|MR[0-9]{2}-[0-9]+[A-Z]*|UC2-[0-9A-Z]+|EA2-[0-9A-Z]+)"
)
_MADE_BY = re.compile(
    r"(?:(OMRON|FINDER|SCHRACK|PANASONIC|NAIS|MATSUSHITA|SONGLE|TAKAMISAWA|FUJITSU|HONGFA|SIEMENS|TYCO|ZETTLER"
    r"|GOODSKY|SANYOU|RELPOL|SDS|NEC|OEG|POTTER|HELLA|HAMLIN) )?([^ ]*) ?(.*)"
)
MADE_SO = 5.0
"""A maker of relays before the number."""
_COIL = re.compile(r"(?:DC ?|COIL ?)*([0-9]{1,3}(?:\.[0-9])?) ?V ?(DC|AC)?|DC([0-9]{1,3})V?")
_COIL_INSIDE = re.compile(r"(?:^|[-D C])(?:DC)?([0-9]{1,3})VDC|DC([0-9]{1,3})V?(?:-|$)")


def relay(text: str) -> Iterator[Candidate]:
    """A relay by its maker's series, with the volts of its coil where they are printed."""
    maker, head, rest = _MADE_BY.fullmatch(text).groups(default="")  # type: ignore[union-attr]
    if not _RELAY.fullmatch(head):
        return
    coil = _COIL.fullmatch(rest) if rest else _COIL_INSIDE.search(head)
    volts = next((each for each in coil.groups() if each and each[0].isdigit()), "") if coil else ""
    kind = "AC" if coil and "AC" in coil[0] else "DC"
    words = "relay" + (f", coil of {Decimal(volts).normalize():f} V {kind}" if volts else "")
    used: Used = (
        *(((maker, "maker"),) if maker else ()),
        (head, "relay type"),
        *(((rest, f"coil {volts} V"),) if rest and volts else ()),
    )
    yield Candidate(
        RELAY, None, used, (3.0 if volts else 1.5) * (MADE_SO if maker else 1.0),
        volts=Decimal(volts) if volts else None, reasons=(words,),
        type=NamedType(head, maker.title(), function=words), traits={"device": "relay"},
        cautions=("Contacts: what they switch is not on this line; read it on the case before mains.",),
    )  # fmt: skip


# ── Sockets ──────────────────────────────────────────────────────────────────────────────────────

SOCKET = Notation("socket", "common practice, no source", "socket", 1.0, {"socket": 30.0})
_SOCKET = re.compile(
    r"(?:(AUGAT|TEXTOOL|3M|AMP|ARIES|MOLEX|YAMAICHI|PRECI-DIP|ZIF|SAMTEC|BURNDY|CAMBION|SCANBE)[- ])?"
    r"(?:(DIP|DIL|PLCC|SIP|ZIF)[- ]?([0-9]{1,2})|([0-9]{1,2})[- ]?(?:PIN|WAY)?[- ]?(DIP|DIL|PLCC|SIP))"
    r"(?: SOCKET)?"
)


def socket(text: str) -> Iterator[Candidate]:
    """AUGAT 28 DIP, DIL-16: how many ways, in which pattern."""
    match = _SOCKET.fullmatch(text)
    if match is None:
        return
    maker, pattern, ways = (
        match[1] or "",
        (match[2] or match[5]).replace("DIL", "DIP"),
        int(match[3] or match[4]),
    )
    if not 4 <= ways <= 84:
        return
    words = f"socket for {ways} legs, {pattern}"
    name = {"ZIF": "", "3M": "3M", "AMP": "AMP"}.get(maker, maker.title())
    yield Candidate(
        SOCKET, None, ((text, words),), 3.0 if maker else 0.5, traits={"ways": str(ways)}, reasons=(words,),
        type=NamedType(f"{pattern}-{ways}", make=name, function=words),
    )  # fmt: skip
