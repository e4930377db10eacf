"""Names of footprints and packages, as lists have them, made package, leads and pitch.  Pure.

`Package_DIP:DIP-8_W7.62mm` is a DIP-8: the words of a name are joined by `_`, a library stands before a
colon, and what follows the package says sizes (L, W, D), pitch (P) or how it lies.  From memory.
"""

import re

from inventory.part_words.figures import offers_of
from inventory.part_words.kind_words import plainly
from inventory.part_words.vocabulary import CHIP_SIZES, NATURES

_BETWEEN = re.compile(r"[_\s,;]+")
_NAMED = {
    name: (package, leads)
    for names, package, leads in (
        ("disc disk", "disc", "radial"),
        ("rect", "", "radial"),
        ("elec", "", "smd"),
        ("horizontal vertical handsolder socket longpads inline", "", ""),
    )
    for name in names.split()
}
"""Words of a name that are no package by themselves: what they say of the package and of its leads."""
_LEADS = re.compile(r"(TO-?(?:[0-9]{2,3}))-[23]", re.IGNORECASE)
"""TO-220-3 says that it has the leads which a TO-220 has anyway; SOT-23-5 and TO-220-5 have more."""
_CHIP = re.compile(r"(?:R|C|L|D|CP|RES|CAP|IND|LED|SMD)?-?([0-9]{4})", re.IGNORECASE)
_DIN = re.compile(r"(DIN|A)?-?(0[0-9]{3})", re.IGNORECASE)
_EIA = re.compile(r"(EIA-?[0-9]{4}(?:-[0-9]{2})?)", re.IGNORECASE)
_QUARTZ = re.compile(r"(HC)-?([0-9]{1,2})(?:[-/]?([A-Z]))?", re.IGNORECASE)
_MANY_LEGS = re.compile(r"dip|sip|zip|so|[tm]?ssop|msop|[tl]?qfp|plcc|qfn|to-", re.IGNORECASE)
_PITCH = re.compile(r"P([0-9]+(?:\.[0-9]+)?)mm", re.IGNORECASE)
_MM = r"[0-9]+(?:\.[0-9]+)?"
_SIZE = re.compile(rf"[LWD]{_MM}mm|{_MM}x{_MM}(?:mm)?", re.IGNORECASE)


def package_facts(text: str) -> dict[str, str]:
    """What a package or footprint says: `package`, `lead_style`, `pitch_mm`; {} where it says none of them.

    >>> package_facts("Package_DIP:DIP-8_W7.62mm"), package_facts("R_0805")
    ({'package': 'dip8', 'lead_style': 'dip'}, {'package': '0805', 'lead_style': 'smd'})
    """
    packages: list[dict[str, str]] = []
    sizes: list[str] = []
    beside: dict[str, str] = {}
    library, _colon, name = text.rpartition(":")
    for word in _BETWEEN.split(library):
        _said_beside(word, beside)
    for word in filter(None, _BETWEEN.split(name)):
        if found := _package_of(word):
            packages.append(found)
        elif pitch := _PITCH.fullmatch(word):
            beside.setdefault("pitch_mm", pitch[1])
        elif _SIZE.fullmatch(word):
            sizes.append(word)
        else:
            _said_beside(word, beside)
    packages.sort(key=_is_vague)
    if packages:
        if _has_many_legs(packages[0]["package"]):
            beside.pop("pitch_mm", None)
        return beside | packages[0]
    if beside and sizes:
        beside.setdefault("package", " ".join(sizes))
    return beside


def _package_of(word: str) -> dict[str, str]:
    if (chip := _CHIP.fullmatch(word)) and chip[1] in CHIP_SIZES:
        return {"package": chip[1], "lead_style": "smd"}
    if din := _DIN.fullmatch(word):
        return {"package": din[2]} | ({"lead_style": "axial"} if din[1] else {})
    if eia := _EIA.fullmatch(word):
        return {"package": eia[1].upper(), "lead_style": "smd"}
    if quartz := _QUARTZ.fullmatch(word):
        return {"package": f"HC-{quartz[2]}" + (f"/{quartz[3].upper()}" if quartz[3] else "")}
    named = _LEADS.sub(r"\1", word) if _LEADS.fullmatch(word) else word
    return next(
        (offer for offer in offers_of(named) if "package" in offer and "mm" not in offer["package"]), {}
    )


def _said_beside(word: str, beside: dict[str, str]) -> None:
    package, leads = _NAMED.get(word.lower(), ("", ""))
    facts = dict(NATURES.get(plainly(word), ()))
    leads = leads or facts.get("lead_style", "")
    for name, fact in (("package", package), ("lead_style", leads)):
        if fact:
            beside.setdefault(name, fact)
    for offer in offers_of(word):
        if "pitch_mm" in offer:
            beside.setdefault("pitch_mm", offer["pitch_mm"])


def _is_vague(found: dict[str, str]) -> bool:
    """Whether it is the name of a family: DIP, QFP."""
    return not any(sign.isdigit() for sign in found["package"])


def _has_many_legs(package: str) -> bool:
    """Whether the package itself says how far its legs are apart."""
    return _MANY_LEGS.match(package) is not None
