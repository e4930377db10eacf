"""The one-line reading of a Spec: "100n 63 V film, radial"."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from inventory.spec.figures import plain

if TYPE_CHECKING:
    from inventory.spec.spec import Spec

_NOUN = {"ic": "IC", "other": ""}
_AS_WRITTEN = {
    "c0g": "C0G",
    "class1": "class 1",
    "class2": "class 2",
    "class3": "class 3",
    "aluminium_bipolar": "bipolar aluminium",
    "npn": "NPN",
    "pnp": "PNP",
    "n_channel": "N-channel",
    "p_channel": "P-channel",
    "smd": "SMD",
    "dip": "DIP",
    "led": "LED",
}
_RATINGS = (("tolerance_percent", "%"), ("volts", "V"), ("watts", "W"), ("amps", "A"), ("speed_ns", "ns"))
_NATURE = ("technology", "dielectric", "polarity", "function", "speed")
"""Traits that say what sort of the kind it is, before the kind's own name."""


def one_line(spec: Spec) -> str:
    """Value or number first, then ratings, nature and shape, in the order that the trade says them."""
    facts = spec.facts
    head = [spec.value_text, spec.number]
    if spec.kind == "regulator" and "output_volts" in facts:
        head.append(f"{facts['output_volts']:+f} V")
    if spec.kind == "diode" and "zener_volts" in facts:
        head.append(f"{plain(facts['zener_volts'])} V")
    ratings = [f"{plain(facts[name])} {unit}" for name, unit in _RATINGS if name in facts]
    if {"tolerance_low_percent", "tolerance_high_percent"} <= facts.keys():
        low, high = plain(facts["tolerance_low_percent"]), plain(facts["tolerance_high_percent"])
        ratings.insert(0, f"-{low} +{high} %")
    nature = [_word(facts[name]) for name in _NATURE if name in facts]
    noun = "" if "dielectric" in facts else _NOUN.get(spec.kind, spec.kind)
    if spec.safety_class:
        nature.append(spec.safety_class.upper() if len(spec.safety_class) <= 4 else _word(spec.safety_class))
    first = " ".join(filter(None, [*head, *ratings, *_more(facts), *nature, noun]))
    shape = [_word(spec.lead_style), spec.package, spec.make]
    if spec.pitch_mm is not None:
        shape.insert(1, f"{plain(spec.pitch_mm)} mm")
    return ", ".join(filter(None, [first or spec.kind, *shape]))


def _more(facts: Any) -> list[str]:
    """The traits that one asks for by name at a drawer."""
    said = [str(facts[name]) for name in ("temperature_char", "suffix") if name in facts]
    if "organisation" in facts:
        words, bits = facts["organisation"]
        said.append(f"{_binary(words)} x {bits}")
    said += [
        f"{plain(facts[name])} {unit}"
        for name, unit in (("ways", "ways"), ("load_pf", "pF"))
        if name in facts
    ]
    return said


def _binary(words: int) -> str:
    for letter, size in (("M", 1024**2), ("K", 1024)):
        if words % size == 0:
            return f"{words // size}{letter}"
    return str(words)


def _word(word: str) -> str:
    return _AS_WRITTEN.get(word, word.replace("_", " "))
