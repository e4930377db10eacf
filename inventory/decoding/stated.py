"""What a part with a reading would be: the Spec that the reading states."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from inventory.decoding.reading import Reading
from inventory.spec import TRAITS, Spec, SpecError
from inventory.type_numbers import type_number
from inventory.type_numbers.chip_numbers import cmos_family

IN_TRAITS = ("amps", "watts", "pitch_mm", "speed_ns", "polarised", "safety_class", "package")
"""What a Spec has a field for and a Reading has not."""


_TAPERS = {"logarithmic": "log", "reverse logarithmic": "reverse_log"}


def spec_of(reading: Reading) -> Spec | None:
    """The Spec that the reading states, without what no Spec of its kind holds; None for nothing."""
    stated: dict[str, Any] = {
        "number": _number(reading),
        "make": reading.make,
        "lead_style": _lead_style(reading),
        "value": reading.value,
        "tolerance_percent": _tolerance(reading),
        "volts": reading.volts,
        "watts": reading.traits.get("rated_power"),
        "dielectric": _dielectric(reading),
        "traits": _traits(reading),
        **{name: reading.traits[name] for name in IN_TRAITS if name in reading.traits},
    }
    zener = stated["traits"].get("zener_volts")
    if zener is not None and reading.volts == Decimal(zener):
        stated["volts"] = None  # said once
    while any(stated.values()) or stated.get("value") == 0:
        try:
            return Spec(kind=reading.kind, **stated)
        except SpecError as refused:
            refused_names = {problem.pointer.split("/")[1] for problem in refused.problems}
            if not refused_names & stated.keys():
                return None
            stated = {name: fact for name, fact in stated.items() if name not in refused_names}
    return None


def _number(reading: Reading) -> str:
    """The type with its gain group or version; what is printed on a fuse is what it does, and no type
    number."""
    if reading.kind == "fuse" and "amps" in reading.traits:
        return ""
    if reading.kind in ("ic", "regulator"):
        return _with_its_version(reading)
    hyphen = "-" if reading.group and reading.number[1:2] == "S" else ""  # 2SC1815-GR, S9014C
    return f"{reading.number}{hyphen}{reading.group}"


def _with_its_version(reading: Reading) -> str:
    """The type with its grade behind it, as fits() tells versions apart: Z80A, LM386-4, 4001UB, 4116-3.

    As printed where what is printed is no type with the grade behind it: MC34063AP1.
    """
    plain = type_number(reading.kind, reading.number)
    printed, version = next(
        (
            (printed, version)
            for printed in _printed(reading)
            if (version := type_number(reading.kind, printed)).base == plain.base
        ),
        (reading.number, plain),
    )
    speed_is_known = "access_ns" in reading.traits and version.grade[:1].isdigit()
    if not version.grade or version.grade == plain.grade or speed_is_known:
        return reading.number
    if reading.traits.get("function") == "optocoupler":
        return printed  # TLP521-4GB: four in one body, and a group
    speed, _hyphen, letter = version.grade.partition("-")
    for behind in (version.grade, f"-{version.grade}", f"{letter}-{speed}"):
        number = f"{reading.number}{behind}"
        as_made = not behind[:1].isdigit() and all(each in printed for each in behind.split("-"))
        if as_made and type_number(reading.kind, number)[::3] == version[::3]:
            return number  # else nobody calls it so: MC34063AP1 is no MC34063A1, Z84C0006PEC no Z8006PEC
    return printed


def _printed(reading: Reading) -> Iterator[str]:
    """What may be printed as the type, the longest first; a hyphen before a speed is no character used."""
    year = reading.date[:4]
    pieces = [characters for characters, meaning in reading.used if not year or not meaning.startswith(year)]
    for end in range(len(pieces), 0, -1):
        before, last = "".join(pieces[: end - 1]), pieces[end - 1]
        yield f"{before}{last}"
        yield f"{before}-{last}"


def _lead_style(reading: Reading) -> str:
    """Only where the type's suffix says the package."""
    if "dual in line" in reading.package:
        return "dip"
    return "smd" if "outline" in reading.package else ""


def _tolerance(reading: Reading) -> Decimal | None:
    """Per cent; an absolute tolerance only where it is a plain percentage."""
    if reading.tolerance_abs is None or not reading.value:
        return reading.tolerance_percent
    percent = Decimal(reading.tolerance_abs * 100) / reading.value
    return percent if percent == round(percent, 4) else None


def _dielectric(reading: Reading) -> str:
    """What the traits say, else what the temperature code means."""
    if "dielectric" in reading.traits or reading.kind != "capacitor":
        return str(reading.traits.get("dielectric", ""))
    if reading.temperature.get("class") == 2:
        return "class2"
    return "c0g" if reading.temperature.get("name") in ("C0G", "NP0") else ""


def _traits(reading: Reading) -> dict[str, Any]:
    schema = TRAITS.get(reading.kind, {})
    offered: dict[str, Any] = {
        "tolerance_low_percent": None
        if reading.tolerance_low_percent is None
        else -reading.tolerance_low_percent,
        "tolerance_high_percent": reading.tolerance_high_percent,
        "temperature_char": reading.temperature.get("code"),
        "tcr_ppm": reading.temperature.get("ppm_per_kelvin"),
        **reading.traits,
    }
    if offered.get("family") == "cmos_4000":  # a reading names the series; unbuffered is judged as a family
        offered["family"] = cmos_family(str(offered.get("suffix", "")))
    offered["taper"] = _TAPERS.get(offered.get("taper", ""), offered.get("taper"))
    kept: dict[str, Any] = {}
    for name, fact in offered.items():
        if name in schema and fact is not None:
            try:
                kept[name] = schema[name].read(fact)
            except ValueError:
                continue
    return kept
