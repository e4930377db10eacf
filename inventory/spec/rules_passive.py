"""Resistors, inductors, transformers, crystals and fuses: when one will do for another."""

from collections.abc import Mapping
from typing import Any

from inventory.spec.judging import (
    LOOK,
    TEST,
    UNKNOWN,
    Case,
    Rule,
    exact,
    not_less,
    not_more,
    plainly,
    shape_of_two_legs,
)
from inventory.spec.values import tolerance_fits, value_fits

# ── Resistors ────────────────────────────────────────────────────────────────────────────────────

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
    "surge": "composition takes surges that open a film: ask what surge the place sees",
    "rf": "composition has next to no inductance; a film that is cut in a spiral has some",
}


def _resistor_marks(case: Case) -> None:
    """A part that must open, or not burn, is replaced by its like only."""
    wanted, found = _safety_marks(case.need), _safety_marks(case.have)
    if wanted - found:
        required, offered = ", ".join(sorted(wanted)), ", ".join(sorted(found)) or "ordinary"
        rule = "a safety part is never replaced by an ordinary one"
        case.say("safety_class", "no", rule, required=required, offered=offered)
    elif "fusible" in found - wanted:
        rule = "it opens on overload: not where current surges"
        required = ", ".join(sorted(wanted)) or "ordinary"
        case.say("safety_class", "with_note", rule, required=required, offered="fusible")
        case.far += 50


def _safety_marks(facts: Mapping[str, Any]) -> frozenset[str]:
    """`fusible_flameproof`, or the flags that say the same."""
    told = facts.get("safety_class")
    return frozenset({mark for mark in _MARKS if facts.get(mark)}.union(told.split("_") if told else ()))


def _resistor_watts(case: Case) -> None:
    least, rated = case.need.get("watts"), case.have.get("watts")
    if least is not None and rated is not None and rated > least:
        if case.safety:
            case.say("watts", "no", "it must open on overload: not more than required")
            return
        if rated > 2 * least and case.need.get("package") is None:
            case.say("watts", "with_note", "a larger body: check that it fits")
            case.far += min(150, int(rated * 10 / least))
            return
    _WATTS(case)


_WATTS = not_less("watts", weight=150)


def _resistor_technology(case: Case) -> None:
    wanted, found = case.need.get("technology"), case.have.get("technology")
    use = case.need.get("use")
    if use == "rf" and found == "wirewound" and wanted != "wirewound":
        case.say("technology", "no", "a wirewound part is a coil: never in a radio-frequency place")
    elif wanted is None:
        if use == "rf" and found is None:
            case.unknown("technology")
    elif found is None:
        case.unknown("technology")
    elif wanted == "carbon_composition" != found and use in _WANTS_COMPOSITION:
        case.say("technology", "ask", _WANTS_COMPOSITION[use])
    elif _sort_of(wanted) != _sort_of(found):
        case.say("technology", *_OTHER_TECHNOLOGY[_sort_of(wanted), _sort_of(found)])
        case.far += 20
    elif wanted in _FILMS and wanted != found:
        if found in _FILMS and _FILMS.index(found) < _FILMS.index(wanted):
            case.say("technology", "drop_in", "a quieter and steadier film serves")
        else:
            case.say("technology", "with_note", "the film may be noisier and drift more")


def _resistor_build(case: Case) -> None:
    """A network or a variable resistor is said to be one; what is not said to be is a single fixed one."""
    for name, otherwise in (("elements", "no"), ("taper", "ask")):
        wanted, found = case.need.get(name), case.have.get(name)
        if wanted != found:
            grade = otherwise if wanted is not None and found is not None else "no"
            rule = "single, network and variable resistors do not stand in for each other"
            case.say(name, grade, rule, required=wanted or "none", offered=found or "none")


RESISTOR: tuple[Rule, ...] = (
    value_fits,
    tolerance_fits,
    _resistor_watts,
    not_less("volts"),
    _resistor_marks,
    _resistor_technology,
    not_more("tcr_ppm"),
    not_less("temp_max_c", weight=50),
    _resistor_build,
    shape_of_two_legs,
)

# ── Inductors and transformers ───────────────────────────────────────────────────────────────────


_REWOUND = "rewound: measure every winding and its insulation before it sees power"
_MAINS_CARE = "; mains windings are for the licensed or competent, by local codes"


def _winding(case: Case) -> None:
    """Core, gap and winding are not in the figures: only the same part, or one wound again for it, is taken
    without a question."""
    wanted, found = case.need.get("number"), case.have.get("number")
    another = wanted is not None and (found is None or plainly(wanted) != plainly(found))
    not_quite = any(reason.grade in ("drop_in", "with_note") for reason in case.reasons)
    figures_stated = case.requirement.value is not None or "secondary_volts" in case.need
    if case.have.get("rewound") and not case.need.get("rewound") and (figures_stated or not another):
        care = _MAINS_CARE if case.requirement.kind == "transformer" else ""
        case.say("rewound", "with_note", _REWOUND + care, required="as made", offered="rewound")
    elif another:
        case.say("number", "ask", "a winding is replaced by the same part, or rewound", LOOK)
    elif not_quite:
        rule = "a winding is replaced by the same part, or rewound"
        required, offered = case.requirement.text, case.offer.text
        case.say("winding", "ask", rule, required=required, offered=offered)


INDUCTOR: tuple[Rule, ...] = (
    value_fits,
    tolerance_fits,
    not_less("amps"),
    not_less("saturation_amps"),
    not_less("volts"),
    not_more("dcr_ohm"),
    exact("shielded", "stray field differs", otherwise="ask"),
    exact("core", "another core", otherwise="ask"),
    shape_of_two_legs,
    _winding,
)

TRANSFORMER: tuple[Rule, ...] = (
    exact("primary_volts", "another primary"),
    exact("secondary_volts", "another secondary"),
    not_less("va"),
    not_less("volts"),
    not_less("watts"),
    not_less("amps"),
    exact("lead_style", "mounted another way", LOOK, otherwise="ask"),
    _winding,
)

# ── Crystals ─────────────────────────────────────────────────────────────────────────────────────

CRYSTAL: tuple[Rule, ...] = (
    value_fits,
    exact("overtone", "another overtone starts at another frequency"),
    exact(
        "resonance", "series and parallel cut differ in frequency: try it and count", TEST, otherwise="ask"
    ),
    exact("load_pf", "another load capacitance shifts the frequency: try and count", TEST, otherwise="ask"),
    exact("cut", "another cut drifts another way", otherwise="ask"),
    not_more("ppm"),
    not_more("esr_ohm"),
    shape_of_two_legs,
)

# ── Fuses ────────────────────────────────────────────────────────────────────────────────────────


def _fuse_current(case: Case) -> None:
    if case.need.get("amps") is None:
        rule = "the requirement does not state the current: read it from the equipment"
        case.say("amps", "ask", rule, LOOK, required=UNKNOWN)
    elif case.have.get("amps") is None:
        case.unknown("amps")
    elif case.need["amps"] != case.have["amps"]:
        larger = case.have["amps"] > case.need["amps"]
        rule = "a larger fuse never: the wiring burns first" if larger else "a smaller one blows at once"
        case.say("amps", "no", rule)


def _fuse_body(case: Case) -> None:
    wanted, found = case.need.get("body"), case.have.get("body")
    if wanted == found:
        return
    if found == "wire":
        case.say("body", "no", "a wire is no fuse", required=wanted or "a fuse")
    elif wanted is None:
        return
    elif found is None:
        case.unknown("body")
    elif (wanted, found) == ("glass", "ceramic"):
        case.say("body", "drop_in", "ceramic breaks more than glass")
    else:
        case.say("body", "no", "glass for ceramic never: it may burst or hold an arc")


def _fuse_size(case: Case) -> None:
    wanted, found = case.need.get("package"), case.have.get("package")
    if wanted is None:
        return
    if found is None:
        case.unknown("package")
    elif plainly(wanted) != plainly(found):
        case.say("package", "no", "another size does not sit in the holder")


FUSE: tuple[Rule, ...] = (
    _fuse_current,
    exact("speed", "the same speed only"),
    not_less("volts"),
    not_less("breaking"),
    _fuse_body,
    _fuse_size,
    exact("safety_class", "another safety class"),
    exact("lead_style", "mounted another way", LOOK, otherwise="ask"),
)
