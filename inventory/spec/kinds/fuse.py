"""Fuses: what is said of them, and when one will do for another."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from inventory.spec.judging import DATA_SHEET, LOOK, UNKNOWN, Case, Rule, exact, not_less, plainly
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Number, Trait, Word

TRAITS: dict[str, Trait] = {
    "speed": Word("how fast it blows", "very_fast fast medium slow very_slow"),
    "breaking": Number("breaking capacity", "A"),
    "body": Word("material", "glass ceramic wire plastic"),
    "i2t": Number("melting integral, A²s"),
    "opens_c": Number("temperature at which a thermal cut-off opens", "°C"),
}


_CUT_OFF = re.compile(r"(?:SF|TF|AUPO|RY|TAM?|SEFUSE)-?([0-9]{2,3})[A-Z]?|(?:G[4-7]A|N[46]A)[0-9]{2,3}.*")
"""Numbers of thermal cut-offs (from memory: makers' catalogues): most name the temperature."""


def is_cut_off(facts: Mapping[str, Any]) -> bool:
    number = plainly(facts.get("number", ""))
    return "opens_c" in facts or bool(_CUT_OFF.fullmatch(number))


def _opens_at(case: Case) -> None:
    """A thermal cut-off opens at its temperature; another lets the winding burn, or opens in use."""
    if not (is_cut_off(case.need) or is_cut_off(case.have)):
        return
    ours, theirs = (facts.get("number") for facts in (case.need, case.have))
    if ours and theirs and plainly(ours) == plainly(theirs):
        return
    wanted, found = case.need.get("opens_c"), case.have.get("opens_c")
    if is_cut_off(case.need) != is_cut_off(case.have):
        case.add_reason("opens_c", "no", "a fuse and a thermal cut-off do not stand in for each other")
    elif wanted is None or wanted != found:
        rule = "opens at another temperature, or at an unknown one"
        case.add_reason(
            "opens_c", "no", rule, DATA_SHEET, required=wanted or ours, offered=found or theirs or UNKNOWN
        )


def _speed(case: Case) -> None:
    """Which of fast and slow is as much the fuse as its current."""
    if is_cut_off(case.need):
        return
    if "speed" in case.need:
        _SAME_SPEED(case)
    elif not _same_number(case):
        rule = "the requirement does not state fast or slow: read it from the equipment"
        case.add_reason("speed", "ask", rule, LOOK, required=UNKNOWN)


_SAME_SPEED = exact("speed", "the same speed only")


def _same_number(case: Case) -> bool:
    ours, theirs = case.need.get("number"), case.have.get("number")
    return ours is not None and theirs is not None and plainly(ours) == plainly(theirs)


_I2T_WITHIN = Decimal("1.5")
"""Melting integrals of one fuse vary by so much (from memory: makers' curves)."""


def _melting(case: Case) -> None:
    if not case.differs("i2t", vouched=False):
        return
    wanted, found = case.need["i2t"], case.have["i2t"]
    if not wanted / _I2T_WITHIN <= found <= wanted * _I2T_WITHIN:
        case.add_reason("i2t", "no", "melts at another surge: blows at switch-on, or lets through too much")
    else:
        case.add_reason("i2t", "with_note", "melts at nearly the same surge")


def _fuse_current(case: Case) -> None:
    if is_cut_off(case.need):
        _CONTACTS(case)
        return
    if case.need.get("amps") is None:
        rule = "the requirement does not state the current: read it from the equipment"
        case.add_reason("amps", "ask", rule, LOOK, required=UNKNOWN)
    elif case.have.get("amps") is None:
        case.unknown("amps")
    elif case.need["amps"] != case.have["amps"]:
        larger = case.have["amps"] > case.need["amps"]
        rule = "a larger fuse never: the wiring burns first" if larger else "a smaller one blows at once"
        case.add_reason("amps", "no", rule)


def _fuse_body(case: Case) -> None:
    wanted, found = case.need.get("body"), case.have.get("body")
    if wanted == found:
        return
    if found == "wire":
        case.add_reason("body", "no", "a wire is not a fuse", required=wanted or "a fuse")
    elif wanted is None:
        return
    elif found is None:
        case.unknown("body")
    elif (wanted, found) == ("glass", "ceramic"):
        case.add_reason("body", "drop_in", "ceramic breaks more than glass")
    else:
        case.add_reason("body", "no", "glass for ceramic never: it may burst or hold an arc")


def _fuse_size(case: Case) -> None:
    if not case.differs("package", vouched=False):
        return
    wanted, found = case.need["package"], case.have["package"]
    if plainly(wanted) != plainly(found) and _size(wanted) != _size(found):
        case.add_reason("package", "no", "another size does not sit in the holder")


_CONTACTS = not_less("amps")
_SIZES = {"M205": (5, 20), "3AG": (6, 32), "AGC": (6, 32), "MDL": (6, 32), "3AB": (6, 32)}
"""What makers call the two usual sizes (from memory): 5 x 20 mm, and 6.3 x 32 mm or 1/4 x 1 1/4 in."""


def _size(package: str) -> tuple[object, ...]:
    """Diameter and length in whole millimetres, however written: "5x20", "5 × 20 mm", "6.3x32"."""
    text = package.lower().replace("×", "x")
    if re.match(r"\s*1/4", text):
        return _SIZES["3AG"]
    if found := re.search(r"(\d+(?:[.,]\d+)?)\s*(?:mm)?\s*x\s*(\d+(?:[.,]\d+)?)", text):
        return tuple(sorted(round(float(side.replace(",", "."))) for side in found.groups()))
    return _SIZES.get(plainly(package), (plainly(package),))


RULES: tuple[Rule, ...] = (
    _fuse_current,
    _speed,
    _opens_at,
    _melting,
    not_less("volts"),
    not_less("breaking"),
    _fuse_body,
    _fuse_size,
    exact("safety_class", "another safety class"),
    exact("lead_style", "mounted another way", LOOK, otherwise="ask"),
)

FUSE = Kind(
    name="fuse",
    noun="fuse",
    traits=TRAITS,
    rules=RULES,
    must_agree="amps",
    core=lambda _need: (),
)
