"""The one-line reading of a Spec: "100n 63 V film, radial"."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from inventory.spec.figures import plain
from inventory.spec.kinds import KINDS
from inventory.spec.kinds.dielectrics import POLARISED_DIELECTRICS
from inventory.type_numbers import type_number

if TYPE_CHECKING:
    from inventory.spec.spec import Spec

_PROPERTIES = {
    "tolerance_percent": "tolerance", "pitch_mm": "pitch", "speed_ns": "speed",
    "ft_mhz": "transition frequency", "esr_ohm": "series resistance", "esr_min_ohm": "series resistance",
    "low_esr": "series resistance", "dcr_ohm": "winding resistance", "temp_max_c": "temperature",
    "temperature_char": "temperature code", "load_pf": "load capacitance", "load_ma": "drive",
    "lead_mm": "lead thickness", "height_mm": "height", "gain_min": "gain", "gain_max": "gain",
    "tcr_ppm": "drift", "refresh_ms": "refresh interval",
    "gbw_mhz": "gain-bandwidth", "supply_volts": "supply", "supply_min_volts": "least supply",
    "supply_max_volts": "highest supply",
}  # fmt: skip
"""Properties that are not called by their name in the data."""
_AS_WRITTEN = {
    "c0g": "C0G",
    "class1": "class 1",
    "class2": "class 2",
    "class3": "class 3",
    "aluminium_bipolar": "bipolar aluminium",
    "aluminium_polymer": "polymer aluminium",
    "npn": "NPN",
    "ntc": "NTC",
    "ptc": "PTC",
    "pnp": "PNP",
    "n_channel": "N-channel",
    "p_channel": "P-channel",
    "smd": "SMD",
    "dip": "DIP",
    "led": "LED",
    "schottky": "Schottky",
    "rf": "RF",
    "dram": "DRAM",
    "sram": "SRAM",
    "rom": "ROM",
    "prom": "PROM",
    "eprom": "EPROM",
    "eeprom": "EEPROM",
}


def one_line(spec: Spec) -> str:
    """Value or number first, then ratings, nature and shape, in the order that the trade says them."""
    facts = _with_throws(_of_a_zener(_of_a_version(spec.kind, spec.facts)))
    first = [
        spec.value_text,
        spec.number,
        *_texts_of(facts, _FUSE_FIGURES if spec.kind == "fuse" else _FIGURES),
    ]
    named = (*_NATURE, "device") if spec.kind in _BY_DEVICE else _NATURE
    nature = [word_of(facts[name]) for name in named if name in facts and not facts[name].isdigit()]
    twice = " ".join(nature).split()  # "fusible" of a fusible metal film
    first = [text for text in first if text not in twice] + nature
    if "dielectric" not in facts and facts.get("function") != "led":
        first += _noun(spec.kind, facts)
    shape = [*_poles(spec), *_body(facts), *_texts_of(facts, _SHAPE), *_texts_of(facts, _PLACE)]
    return ", ".join(filter(None, [" ".join(filter(None, first)) or spec.kind, *shape]))


_TAPERS = {"linear": "lin", "log": "log", "reverse_log": "reverse log"}


def _noun(kind: str, facts: Mapping[str, Any]) -> Iterator[str]:
    """What its kind is called; of a resistor that is turned, by which law."""
    taper = _TAPERS.get(facts.get("taper", ""), "")
    if taper:
        yield from (taper, "potentiometer")
    elif kind == "crystal" and "device" in facts:
        yield str(facts["device"]).replace("_", " ")
    else:
        yield from ("variable" if facts.get("variable") else "", KINDS[kind].noun)


def _of_a_version(kind: str, facts: Mapping[str, Any]) -> Mapping[str, Any]:
    """A number with its version behind it says what the suffix says."""
    if "suffix" not in facts or not type_number(kind, facts.get("number", "")).grade:
        return facts
    return {name: fact for name, fact in facts.items() if name != "suffix"}


def _of_a_zener(facts: Mapping[str, Any]) -> Mapping[str, Any]:
    """Its volts are said once, and as a zener's."""
    if "zener_volts" not in facts:
        return facts
    said = {name: fact for name, fact in facts.items() if (name, fact) != ("volts", facts["zener_volts"])}
    return {"function": "zener", **said}


_FEW = {1: "S", 2: "D"}


def _with_throws(facts: Mapping[str, Any]) -> Mapping[str, Any]:
    """Poles and positions of a switch in one word, as its makers write them: SPDT, 3-pole 4-way."""
    poles, throws = facts.get("poles"), facts.get("throws")
    if poles is None or throws is None:
        return facts
    few = poles in _FEW and throws in _FEW
    said = f"{_FEW[poles]}P{_FEW[throws]}T" if few else f"{plain(poles)}-pole {plain(throws)}-way"
    return {**facts, "poles": said}


def _poles(spec: Spec) -> Iterator[str]:
    """Said of a capacitor where it cannot be taken for granted."""
    if spec.kind == "capacitor" and spec.polarised is not None:
        if spec.polarised and spec.dielectric not in POLARISED_DIELECTRICS:
            yield "polarised"
        if not spec.polarised and (spec.dielectric in POLARISED_DIELECTRICS or not spec.dielectric):
            yield "unpolarised"


_PINS_IN_A_ROW = re.compile(r"(dip|sip)(\d*)")
_NAMED_BY_ITS_PACKAGE = {"dip": "DIP-", "single_row": "SIP-", "to_flat": "TO-", "to_can": "TO-"}


def _body(facts: Mapping[str, Any]) -> Iterator[str]:
    """How the leads go, and the package; the leads are not said again where the package says them."""
    leads = facts.get("lead_style", "")
    package = _PINS_IN_A_ROW.sub(
        lambda row: "-".join(filter(None, (row[1].upper(), row[2]))), facts.get("package", "")
    )
    if leads and not f"{package.upper()}-".startswith(_NAMED_BY_ITS_PACKAGE.get(leads, "?")):
        yield word_of(leads)
    if "pitch_mm" in facts:
        yield f"{plain(facts['pitch_mm'])} mm"
    if package:
        yield package


def _texts_of(facts: Mapping[str, Any], pieces: Mapping[str, Callable[[Any], str]]) -> Iterator[str]:
    return (text_of(facts[name]) for name, text_of in pieces.items() if name in facts)


def word_of(word: str) -> str:
    """A word of the data as people write it: `class2` is class 2."""
    return _AS_WRITTEN.get(word, word.replace("_", " "))


def _in(unit: str) -> Callable[[Decimal], str]:
    return lambda figure: f"{plain(figure)} {unit}"


def _signed(figure: Decimal) -> str:
    return f"{'+' if figure > 0 else ''}{plain(figure)} V"


def _organisation(words_by_bits: tuple[int, int]) -> str:
    words, bits = words_by_bits
    for letter, size in (("M", 1024**2), ("K", 1024)):
        if words % size == 0:
            return f"{words // size}{letter}x{bits}"
    return f"{words}x{bits}"


def _listed(noun: str) -> Callable[[tuple[str, ...]], str]:
    return lambda names: f"{noun} {', '.join(map(property_word, names))}"


def property_word(name: str) -> str:
    """A property as people call it: "pitch" of pitch_mm."""
    return _PROPERTIES.get(name, name.replace("_", " "))


_FIGURES: dict[str, Callable[[Any], str]] = {
    "output_volts": _signed,
    "zener_volts": _in("V"),
    "organisation": _organisation,
    "ways": lambda ways: f"{plain(ways)}-way",
    "tolerance_low_percent": lambda low: f"-{plain(low)} %",
    "tolerance_high_percent": lambda high: f"+{plain(high)} %",
    "tolerance_percent": _in("%"),
    "ppm": _in("ppm"),
    "volts": _in("V"),
    "ac_volts": _in("V AC"),
    "watts": _in("W"),
    "amps": _in("A"),
    "speed_ns": _in("ns"),
    "load_pf": _in("pF"),
    "temp_max_c": _in("°C"),
    "temperature_char": str,
    "low_esr": lambda low: "low ESR" if low else "",
    "ohms": _in("Ω"),
    "poles": lambda poles: poles if isinstance(poles, str) else f"{plain(poles)}-pole",
    "secondary_volts": lambda volts: " + ".join(f"{plain(each)} V" for each in volts),
    "va": _in("VA"),
    "fusible": lambda so: "fusible" if so else "",
    "flameproof": lambda so: "flameproof" if so else "",
    "rewound": lambda so: "rewound" if so else "",
}
_FUSE_FIGURES = {name: _FIGURES[name] for name in ("amps", "volts")}
_NATURE = (
    "colour", "safety_class", "technology", "dielectric", "material", "polarity", "resonance", "plating",
    "function", "speed", "body", "gender", "action", "curve",
)  # fmt: skip
"""What sort of the kind it is, said before the kind's own name."""
_BY_DEVICE = frozenset(("other", "transformer", "lamp"))
"""Kinds whose `device` is what people call the part."""
_AS_WRITTEN |= {mark: mark.upper() for mark in ("x1", "x2", "x3", "y1", "y2", "y3", "y4", "x1y1", "x1y2")}
_SHAPE: dict[str, Callable[[Any], str]] = {
    "pin_order": str,
    "contacts": lambda contacts: f"{word_of(contacts)} contacts",
    "half": lambda half: f"{word_of(half)} half" if half != "whole" else "",
    "suffix": str,
    "make": str,
}
_PLACE: dict[str, Callable[[Any], str]] = {
    "use": lambda use: f"for {word_of(use)}" if use != "general" else "",
    "exact": _listed("exactly this"),
    "any": _listed("any"),
}
