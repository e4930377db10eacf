"""Names of footprints and packages, as lists have them, made package, leads and pitch.  Pure.

`Package_DIP:DIP-8_W7.62mm` is a DIP-8: the words of a name are joined by `_`, a library stands before a
colon, and what follows the package says sizes (L, W, D), pitch (P) or how it lies.  From memory.
"""

import re

from inventory.part_words.figures import offers_of
from inventory.part_words.kind_words import plainly
from inventory.part_words.vocabulary import CHIP_SIZES, NATURES

_BETWEEN = re.compile(r"[_\s,;]+")
_DECIMAL_COMMAS = re.compile(
    r"(?<![A-Za-z0-9.,-])(?:RM ?|[PLWDx])?[0-9]{1,3},[0-9]{1,2}(?:x[0-9]{1,3}(?:,[0-9]{1,2})?)*(?![0-9])",
    re.IGNORECASE,
)
_APART = re.compile(r"(?<![A-Za-z])(RM|pitch|raster) +(?=[0-9])|(?<=[0-9]) +(?=mm\b)", re.IGNORECASE)
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
_MANY_LEGS = re.compile(
    r"dip|sip|zip|v?so|h?[tmv]?ssop|msop|tsop|tsot|sc-?[0-9]|[tl]?qfp|plcc|[a-z]{0,2}[dq]fn|[a-z]{0,2}bga|lga|to-",
    re.IGNORECASE,
)
_PAD_BELOW = re.compile(r"-[0-9]{1,2}EP", re.IGNORECASE)
"""The metal pad below a QFN-16-1EP is no more than its sixteen legs say."""
_PREFIX = re.compile(r"[A-Z]{1,2}", re.IGNORECASE)
"""The letters of a reference that a name begins with: R, CP, U."""
_PITCH = re.compile(r"P([0-9]+(?:\.[0-9]+)?)mm", re.IGNORECASE)
_MM = r"[0-9]+(?:\.[0-9]+)?"
_SIZE = re.compile(rf"[LWD]{_MM}mm|{_MM}x{_MM}(?:mm)?", re.IGNORECASE)
_ACROSS = re.compile(rf"D({_MM})mm", re.IGNORECASE)


def package_facts(text: str) -> dict[str, str]:
    """What a package or footprint says: `package`, `lead_style`, `pitch_mm`; {} where it says none of them.

    >>> package_facts("Package_DIP:DIP-8_W7.62mm"), package_facts("R_0805")
    ({'package': 'dip8', 'lead_style': 'dip'}, {'package': '0805', 'lead_style': 'smd'})
    """
    packages: list[dict[str, str]] = []
    sizes: list[str] = []
    beside: dict[str, str] = {}
    unknown: list[str] = []
    plain = _DECIMAL_COMMAS.sub(lambda found: found[0].replace(",", "."), text)
    library, _colon, name = _APART.sub(lambda found: found[1] or "", plain).rpartition(":")
    for word in _BETWEEN.split(library):
        _said_beside(word, beside)
    for at, word in enumerate(filter(None, _BETWEEN.split(name))):
        if found := _package_of(word):
            packages.append(found)
        elif pitch := _PITCH.fullmatch(word):
            beside.setdefault("pitch_mm", pitch[1])
        elif _SIZE.fullmatch(word):
            sizes.append(word)
        elif not _said_beside(word, beside) and (at or not _PREFIX.fullmatch(word)):
            unknown.append(word)
    packages.sort(key=_is_vague)
    if packages:
        if _has_many_legs(packages[0]["package"]):
            beside.pop("pitch_mm", None)
        return beside | packages[0]
    across = next(filter(None, map(_ACROSS.fullmatch, sizes)), None)
    if across and unknown[:1] == ["LED"]:
        beside["package"] = f"{float(across[1]):g} mm"
    elif unknown and "_" in name and beside.keys() == {"pitch_mm"}:
        # a family that is not known here is one by its name, and its size is only its size
        beside["package"] = " ".join((*unknown, *(size for size in sizes if not size.endswith("mm"))))[:64]
    elif beside and sizes:
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
    named = _PAD_BELOW.sub("", _LEADS.sub(r"\1", word) if _LEADS.fullmatch(word) else word)
    return next(
        (offer for offer in offers_of(named) if "package" in offer and "mm" not in offer["package"]), {}
    )


def _said_beside(word: str, beside: dict[str, str]) -> bool:
    """Whether the word is one that is known; what it says is put to `beside`."""
    package, leads = _NAMED.get(word.lower(), ("", ""))
    facts = dict(NATURES.get(plainly(word), ()))
    leads = leads or facts.get("lead_style", "")
    for name, fact in (("package", package), ("lead_style", leads)):
        if fact:
            beside.setdefault(name, fact)
    pitches = [offer["pitch_mm"] for offer in offers_of(word) if "pitch_mm" in offer]
    for pitch in pitches:
        beside.setdefault("pitch_mm", pitch)
    return bool(leads or pitches or word.lower() in _NAMED)


def _is_vague(found: dict[str, str]) -> bool:
    """Whether it is the name of a family: DIP, QFP."""
    return not any(sign.isdigit() for sign in found["package"])


def _has_many_legs(package: str) -> bool:
    """Whether the package itself says how far its legs are apart."""
    return _MANY_LEGS.match(package) is not None
