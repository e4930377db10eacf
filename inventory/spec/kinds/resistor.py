"""Resistors: what is said of them, how ohms are written, and when one will do for another."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from inventory.spec.judging import (
    DATA_SHEET,
    LOOK,
    UNKNOWN,
    Case,
    Rule,
    not_less,
    not_more,
    plainly,
    shape_of_two_legs,
)
from inventory.spec.kinds.kind import Kind
from inventory.spec.notation import ValueNotation, powers, words
from inventory.spec.traits import KEEPS_TIME, TEMPERATURE, Flag, Number, Trait, Word, place_use
from inventory.spec.values import NEAR, spread, tolerance_fits, value_fits

TRAITS: dict[str, Trait] = {
    "technology": Word(
        "what the element is",
        "carbon_composition carbon_film metal_film metal_oxide film thick_film thin_film foil"
        " cermet wirewound",
    ),
    "use": place_use(),
    "fusible": Flag("opens safely on overload"),
    "flameproof": Flag("does not burn on overload"),
    "tcr_ppm": Number("temperature coefficient, ppm per kelvin"),
    "temp_max_c": TEMPERATURE,
    "elements": Number("resistors in one network", least=Decimal(1), most=Decimal(64), places=0),
    "variable": Flag("a potentiometer, preset or rheostat"),
    "taper": Word("law of a variable resistor", "linear log reverse_log"),
}
NOTATION = ValueNotation(
    unit="Ω",
    quantity="ohms",
    exponent=6,  # µΩ
    expected="a resistance such as 4k7, 4.7 kΩ, 4700 or 4R7",
    words=words("Ω ω ohm ohms Ohm Ohms OHM OHMS", ":0 k:3 K:3 M:6 G:9 T:12 m:-3 µ:-6 u:-6")
    | words("ohm ohms", "kil:3 kilo:3 meg:6 mega:6 giga:9 milli:-3 micro:-6")
    | powers("r:0 e:0 k:3 M:6 meg:6 megs:6 G:9 T:12")
    | powers("m:-3|6"),  # milli by the book, mega from a hurried hand
    points=powers("R:0 r:0 E:0 Ω:0 K:3 k:3 M:6 G:9 T:12 L:-3 m:-3|6"),  # L: IEC 60062:2016
    units=frozenset(("ω", "ohm", "ohms")),
    steps=(("T", 18), ("G", 15), ("M", 12), ("k", 9), ("R", 6)),
    least=0,  # a zero-ohm link is a part
)
_FILMS = ("foil", "metal_film", "thin_film", "metal_oxide", "thick_film", "cermet", "carbon_film")
"""The quietest and steadiest first (practice of the trade)."""
_MARKS = ("fusible", "flameproof")


def _sort_of(technology: str) -> str:
    return "film" if technology in _FILMS else technology


_A_COIL = ("with_note", "a wirewound part is a coil: not where frequency matters")
_OTHER_TECHNOLOGY = {  # required, offered -> grade, rule; practice of the trade, no source
    ("carbon_composition", "film"): ("drop_in", "film for composition where nothing surges"),
    ("carbon_composition", "wirewound"): _A_COIL,
    ("film", "carbon_composition"): ("with_note", "composition is noisier and drifts: measure it in"),
    ("film", "wirewound"): _A_COIL,
    ("wirewound", "film"): ("ask", "wirewound is chosen for surges and heat"),
    ("wirewound", "carbon_composition"): ("ask", "wirewound is chosen for surges and heat"),
}


_WANTS_COMPOSITION = {  # practice of the trade, no source
    "pulse": "composition takes pulses that open a film: ask what the place sees",
    "surge": "composition takes surges that open a film: ask what surge the place sees",
    "rf": "composition has next to no inductance; a film that is cut in a spiral has some",
}


_WANTS_STEADY = KEEPS_TIME | {"sense"}


def _resistor_marks(case: Case) -> None:
    """A part that must open, or not burn, is replaced by its like only."""
    wanted, found = _safety_marks(case.need), _safety_marks(case.have)
    if wanted - found:
        required, offered = ", ".join(sorted(wanted)), ", ".join(sorted(found)) or "ordinary"
        rule = "a safety part is never replaced by an ordinary one"
        case.add_reason("safety_class", "no", rule, required=required, offered=offered)
    elif "fusible" in found - wanted:
        rule = "it opens on overload: not where current surges"
        required = ", ".join(sorted(wanted)) or "ordinary"
        case.add_reason("safety_class", "with_note", rule, required=required, offered="fusible")
        case.far += 50


def _safety_marks(facts: Mapping[str, Any]) -> frozenset[str]:
    """`fusible_flameproof`, or the flags that say the same."""
    stated = facts.get("safety_class")
    return frozenset({mark for mark in _MARKS if facts.get(mark)}.union(stated.split("_") if stated else ()))


def _resistor_watts(case: Case) -> None:
    least, rated = case.need.get("watts"), case.have.get("watts")
    if case.safety and least is None:
        rule = "the place does not state the watts at which it must open: read them off the old part"
        case.add_reason("watts", "ask", rule, LOOK, required=UNKNOWN)
        return
    if least is not None and rated is not None and rated > least:
        if case.safety:
            case.add_reason("watts", "no", "it must open on overload: not more than required")
            return
        if rated > 2 * least and case.need.get("package") is None:
            case.add_reason("watts", "with_note", "a larger body: check that it fits")
            case.far += min(150, int(rated * 10 / least))
            return
    _WATTS(case)


_WATTS = not_less("watts", weight=150)


def _resistor_technology(case: Case) -> None:
    wanted, found = case.need.get("technology"), case.have.get("technology")
    use = case.need.get("use")
    if found == "carbon_composition" != wanted and use in _WANTS_STEADY:
        rule = "composition is noisy and drifts with age and heat: not where a value is kept or measured"
        case.add_reason("technology", "ask", rule, required=wanted or use)
        return
    if use == "rf" and found == "wirewound" and wanted != "wirewound":
        case.add_reason("technology", "no", "a wirewound part is a coil: never in a radio-frequency place")
    elif wanted is None:
        if use == "rf" and found is None:
            case.unknown("technology")
    elif found is None:
        case.unknown("technology")
    elif wanted == "carbon_composition" != found and use in _WANTS_COMPOSITION:
        case.add_reason("technology", "ask", _WANTS_COMPOSITION[use])
    elif _sort_of(wanted) != _sort_of(found):
        case.add_reason("technology", *_OTHER_TECHNOLOGY[_sort_of(wanted), _sort_of(found)])
        case.far += 20
    elif wanted in _FILMS and wanted != found:
        if found in _FILMS and _FILMS.index(found) < _FILMS.index(wanted):
            case.add_reason("technology", "drop_in", "a quieter and steadier film serves")
        else:
            case.add_reason("technology", "with_note", "the film may be noisier and drift more")


_BENDS = re.compile(
    r"(NTC|PTC|SCK|MF5[0-9]|MF72|B57|B59|B72|VA1[0-9]{3}|CL-?[0-9]{2}$|TTC|TSC|MZ7|RXE|RUEF|WMZ"  # heat
    r"|[0-9]{1,3}D-?[0-9]{1,2}$"
    r"|VDR|MOV|ZNR|ERZ|TVR|TND|FNR|S[0-9]{2}K[0-9]|V[0-9]{1,4}[ZLP]A?[0-9]|[0-9]{1,2}D[0-9]{3}K"  # volts
    r"|LDR|ORP[0-9]|GL55|VT[0-9]{2}|NORPS|NSL|RPY)"  # light
)
"""Numbers of thermistors, varistors and light-dependent resistors (from memory: makers' catalogues)."""


def _bends(facts: Mapping[str, Any]) -> bool:
    """Whether its type number is of a part whose ohms follow heat, volts or light."""
    return bool(_BENDS.match(facts.get("number", "").upper().replace(" ", "")))


def _resistor_number(case: Case) -> None:
    """Of an ordinary resistor the figures say all; one that follows heat, volts or light is its type."""
    wanted, found = case.need.get("number"), case.have.get("number")
    if wanted is not None and _bends(case.need):
        if found is None or plainly(found) != plainly(wanted):
            rule = "this type follows heat, volts or light: only its like, by the data sheet"
            case.add_reason(
                "number", "ask" if found is None or _bends(case.have) else "no", rule, DATA_SHEET, alone=True
            )
    elif _bends(case.have):
        rule = "follows heat, volts or light: no ordinary resistor"
        case.add_reason("number", "no", rule, required=wanted or "an ordinary resistor", alone=True)


def _resistor_build(case: Case) -> None:
    """A network or a variable resistor is said to be one; what is not said to be is a single fixed one."""
    rule = "single, network and variable resistors do not stand in for each other"
    wanted, found = case.need.get("elements"), case.have.get("elements")
    if wanted != found:
        case.add_reason("elements", "no", rule, required=wanted or "none", offered=found or "none")
    wanted, found = _law(case.need), _law(case.have)
    if wanted != found:
        grade = "no" if "none" in (wanted, found) else "ask"
        case.add_reason("taper", grade, rule, required=wanted, offered=found)


def _law(facts: Mapping[str, Any]) -> str:
    """The law of a variable resistor; what has one is variable, whether that is said or not."""
    return facts.get("taper") or ("not said" if facts.get("variable") else "none")


RULES: tuple[Rule, ...] = (
    value_fits,
    tolerance_fits,
    _resistor_watts,
    not_less("volts"),
    _resistor_marks,
    _resistor_technology,
    not_more("tcr_ppm"),
    not_less("temp_max_c", weight=50),
    _resistor_number,
    _resistor_build,
    shape_of_two_legs,
)

RESISTOR = Kind(
    name="resistor",
    noun="resistor",
    traits=TRAITS,
    rules=RULES,
    words=("r", "res", "resistance"),
    meter_percent=Decimal("0.5"),
    notation=NOTATION,
    window=lambda need: spread(need) or NEAR,
    goes_without_saying={"taper": "variable"},
)
