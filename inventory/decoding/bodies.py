"""What a body looks like, and which kinds of part come in it (common practice, no source).

A body is told in free words. Each word that is known here has tags; `favours` of a Notation and KINDS_OF
below go by the tags.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import NamedTuple

BODY_WORDS = {
    "underlined": "underlined underline",
    "chip": "smd smt chip melf 0201 0402 0603 0805 1206 1210 2010 2512 0508",
    "size of a chip": "0201 0402 0603 0805 1206 1210 2010 2512 0508",
    "axial": "axial",
    "disc": "disc disk ceramic mlcc multilayer plate",
    "film": "film polyester polypropylene polycarbonate polystyrene styroflex box"
    " mylar foil c280 mkt mkp tropical",
    "electrolytic": "electrolytic aluminium aluminum elko bipolar snap-in",
    "can": "can",
    "tantalum": "tantalum bead tant",
    "polystyrene": "polystyrene styroflex",
    "tubular": "tubular erie tube",
    "old": "old vintage valve valves pre-war prewar antique dogbone erie tube-era",
    "mica": "mica",
    "paper": "paper waxed",
    "trimmer": "trimmer preset potentiometer pot",
    "shunt": "shunt sense current-sense milliohm current",
    "rf": "rf",
    "network": "network array sip sil",
    "single line": "sip sil",
    "military": "military mil jan",
    "fusible": "fusible",
    "resistive": "resistive",
    "blue body": "blue",
    "beige body": "beige tan cream",
    "coil": "coil choke inductor",
    "glass": "glass",
    "plastic": "plastic",
    "dip": "dip dil cerdip soic so-8 so-14 so-16 sop ssop tssop plcc qfp tqfp lqfp qfn bga zip",
    "small can": "to-92 to92 to-18 to18 to-5 to5 to-39 to39 to-72 to-98 to-126 to126 e-line",
    "tab": "to-220 to220 to-3 to3 to-66 to-3p to-247 to247 to-264 to-202 dpak d2pak to-252 to-263",
    "sot": "sot-23 sot23 sot-223 sot-323 sot-89 sot-143 sot-363 sot sod sod-123 sod-80 sod-323 sma smb smc",
    "diode body": "diode rectifier sod sod-123 sod123 sod-80 sod80 sod-323 sod323 sma smb smc do-214 do-214ac"
    " do-214aa do-214ab",
    "rectifier body": "diode rectifier sod sod-123 sod123 sma smb smc do-214 do-214ac do-214aa do-214ab melf",
    "metal": "metal",
    "round can": "to-99 to99 to-100 to100 to-78",
    "thyristor": "thyristor triac scr diac",
    "bridge": "bridge",
    "crystal": "crystal hc-49 hc49 hc-18 resonator quartz oscillator",
    "fuse": "fuse fuseholder",
    "varistor": "varistor mov surge",
    "thermistor": "thermistor ntc ptc",
    "relay": "relay",
    "cell": "cell battery button coin",
    "socket": "socket",
    "led": "led lamp display seven-segment 7-segment",
    "photodiode": "photodiode",
    "optical": "optical optocoupler slotted",
    "light sensor": "ldr photoresistor",
    "reed": "reed",
    "switch": "switch microswitch",
    "connector": "connector plug header",
    "transformer": "transformer",
    "delay line": "delay",
    "saw filter": "saw",
    "mains": "mains",
    "named capacitor": "capacitor",
    "named resistor": "resistor",
}
TAGS: dict[str, tuple[str, ...]] = {}
for _tag, _words in BODY_WORDS.items():
    for _word in _words.split():
        TAGS[_word] = (*TAGS.get(_word, ()), _tag)


class Kinds(NamedTuple):
    """How often a body of this sort is a part of each kind, against a body of which nothing is known."""

    shares: Mapping[str, float]
    others: float = 1.0


_PASSIVE_ELSE = 0.2
_NO_CHIPS = {"ic": 0.01, "transistor": 0.01}
KINDS_OF: dict[str, Kinds] = {
    "chip": Kinds({"resistor": 2.0, "capacitor": 0.5, "ic": 0.1, "transistor": 0.3}),
    "size of a chip": Kinds({"transistor": 0.02, "diode": 0.1, "ic": 0.02}),
    "axial": Kinds({"resistor": 3.0, "capacitor": 0.6, "inductor": 0.3, "ic": 0.02, "transistor": 0.02}),
    "disc": Kinds({"capacitor": 20.0, **_NO_CHIPS}, _PASSIVE_ELSE),
    "film": Kinds({"capacitor": 10.0, **_NO_CHIPS}, _PASSIVE_ELSE),
    "electrolytic": Kinds({"capacitor": 50.0, **_NO_CHIPS}, _PASSIVE_ELSE),
    "tantalum": Kinds({"capacitor": 50.0, **_NO_CHIPS}, _PASSIVE_ELSE),
    "mica": Kinds({"capacitor": 50.0, **_NO_CHIPS}, _PASSIVE_ELSE),
    "paper": Kinds({"capacitor": 50.0, **_NO_CHIPS}, _PASSIVE_ELSE),
    "shunt": Kinds({"resistor": 50.0}, _PASSIVE_ELSE),
    "network": Kinds({"resistor": 50.0}, _PASSIVE_ELSE),
    "single line": Kinds({"ic": 500.0, "regulator": 100.0, "resistor": 1.0}),
    "resistive": Kinds({"resistor": 30.0}, _PASSIVE_ELSE),
    "fusible": Kinds({"resistor": 50.0}, _PASSIVE_ELSE),
    "trimmer": Kinds({"resistor": 30.0, "capacitor": 0.2, "inductor": 0.2}, 0.02),
    "coil": Kinds({"inductor": 100.0}, _PASSIVE_ELSE),
    "rf": Kinds({"inductor": 3.0}),
    "can": Kinds({"capacitor": 5.0, "transistor": 2.0, "ic": 2.0, "crystal": 2.0}, 0.5),
    "glass": Kinds({"diode": 40.0, "fuse": 20.0}, 0.2),
    "plastic": Kinds({"diode": 10.0}),
    "dip": Kinds({"ic": 30.0, "resistor": 0.3, "socket": 1.0, "switch": 0.5, "crystal": 0.1}, 0.03),
    "small can": Kinds({"transistor": 30.0, "regulator": 10.0, "ic": 3.0, "diode": 1.0}, 0.02),
    "tab": Kinds({"transistor": 30.0, "regulator": 20.0, "diode": 6.0, "ic": 3.0, "resistor": 0.1}, 0.01),
    "sot": Kinds({"transistor": 20.0, "diode": 15.0, "ic": 3.0, "regulator": 4.0, "resistor": 0.1}, 0.02),
    "diode body": Kinds({"diode": 3.0}, 0.2),
    "metal": Kinds({"transistor": 10.0, "diode": 3.0}),  # common practice, no source: a case, not a film
    "round can": Kinds({"ic": 30.0, "transistor": 5.0, "regulator": 3.0}, 0.02),
    "thyristor": Kinds({"diode": 30.0, "transistor": 5.0}, 0.1),
    "bridge": Kinds({"diode": 50.0}, 0.02),
    "crystal": Kinds({"crystal": 100.0}, 0.02),
    "fuse": Kinds({"fuse": 100.0}, 0.001),
    "varistor": Kinds({"other": 50.0}, 0.02),
    "thermistor": Kinds({"thermistor": 100.0, "resistor": 5.0, "other": 2.0}, 0.02),
    "relay": Kinds({"other": 50.0, "switch": 50.0}, 0.02),
    "cell": Kinds({"other": 50.0}, 0.02),
    "socket": Kinds({"socket": 50.0, "connector": 20.0}, 0.02),
    "led": Kinds({"diode": 20.0, "lamp": 20.0, "ic": 2.0}, 0.005),
    "photodiode": Kinds({"diode": 50.0, "other": 1.0}, 0.05),
    "optical": Kinds({"ic": 500.0, "diode": 5.0, "transistor": 5.0, "other": 5.0}, 0.05),
    "light sensor": Kinds({"resistor": 50.0, "other": 50.0}, 0.02),
    "reed": Kinds({"other": 50.0, "switch": 50.0}, 0.05),
    "switch": Kinds({"switch": 200.0}, 0.02),
    "connector": Kinds({"connector": 200.0, "socket": 20.0}, 0.02),
    "transformer": Kinds({"transformer": 200.0}, 0.02),
    "delay line": Kinds({"other": 50.0, "inductor": 5.0, "ic": 2.0}, 0.02),
    "saw filter": Kinds({"other": 20.0, "crystal": 20.0}, 0.1),
    "mains": Kinds({"other": 20.0, "capacitor": 20.0, "transformer": 20.0, "switch": 10.0}, 0.2),
    "named capacitor": Kinds({"capacitor": 50.0}, 0.05),
    "named resistor": Kinds({"resistor": 50.0}, 0.05),
}


def tags_of(words: Iterable[str]) -> frozenset[str]:
    """The tags of the words of a body; small letters."""
    return frozenset(tag for word in words for tag in TAGS.get(word, ()))


_RESISTIVE = re.compile(
    r"(?:(?:metal|carbon|cermet|thick|thin)[ -](?:film|oxide|glaze)|carbon[ -]composition|wire[ -]?wound)\b"
    r"(?! (?:varistor|capacitor|coil|choke|inductor))"
)
"""What resistors are made of: a metal film is one, a film by itself is a capacitor's (common practice)."""


def words_in(text: str) -> frozenset[str]:
    text = _RESISTIVE.sub("resistive", text.lower()[:400])
    return frozenset(re.findall(r"[a-z0-9-]+", text))


def likelihood(kind: str, tags: Iterable[str]) -> float:
    """How much the body speaks for the kind."""
    share = 1.0
    for tag in tags:
        kinds = KINDS_OF.get(tag)
        if kinds is not None:
            share *= kinds.shares.get(kind, kinds.others)
    return share
