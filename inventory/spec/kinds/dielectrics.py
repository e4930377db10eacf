"""Dielectrics: which sort of capacitor stands in for which, at what volts, and which way round."""

from collections.abc import Mapping
from typing import Any

from inventory.spec.judging import LOOK, TEST, Case
from inventory.spec.traits import KEEPS_TIME

POLARISED_DIELECTRICS = frozenset(("aluminium", "tantalum", "aluminium_polymer", "double_layer", "niobium"))
_FAMILY = {
    "polyester": "film",
    "polypropylene": "film",
    "polystyrene": "film",
    "polycarbonate": "film",
    "glass": "mica",
}
_STABLE = frozenset(("c0g", "class1", "film", "mica"))
_CERAMIC_THAT_DRIFTS = frozenset(("class2", "class3", "ceramic"))
_DRIFTS = "leaks and drifts another way: a place that keeps time shows it"
_LOW_LOSS_PLACES = frozenset(("oscillator", "tuned", "rf", "pulse"))
_LOW_LOSS = frozenset(("c0g", "class1", "mica", "glass", "polystyrene", "polypropylene"))
"""What holds a tuned circuit or takes steep pulses; polyester and polycarbonate lose ten times as much (from
memory: makers' tables of dissipation)."""
_STEADY_IN_TIME = _LOW_LOSS | {"polycarbonate"}

_BETTER = ("drop_in", "a better dielectric serves")
_LARGER = ("with_note", "serves; film is larger and less good at radio frequency")
_OLD_PAPER = ("ask", "old paper leaks: test it at rated volts", TEST)
_LOSSIER = ("ask", "loses capacitance under bias and with age: volts at least twice, not where it matters")
_OTHER_DIELECTRIC = {  # required, offered -> grade, rule; where no source is given, practice of the trade
    ("c0g", "mica"): _BETTER,
    ("c0g", "film"): _LARGER,
    ("c0g", "class1"): ("ask", "class 1 follows its temperature code: read it", LOOK),
    ("class1", "c0g"): ("ask", "the place may need the drift that its code gives"),
    ("class1", "mica"): ("ask", "the place may need the drift that its code gives"),
    ("mica", "c0g"): _BETTER,
    ("mica", "film"): _LARGER,
    ("film", "c0g"): _BETTER,
    ("film", "mica"): _BETTER,
    ("film", "paper"): _OLD_PAPER,
    ("film", "class2"): _LOSSIER,
    ("paper", "film"): _BETTER,
    ("paper", "c0g"): _BETTER,
    ("paper", "mica"): _BETTER,
    ("paper", "class2"): _LOSSIER,
    ("class2", "c0g"): _BETTER,
    ("class2", "class1"): _BETTER,
    ("class2", "film"): _BETTER,
    ("class2", "mica"): _BETTER,
    ("class2", "paper"): _OLD_PAPER,
    ("class2", "ceramic"): ("ask", "the class of the ceramic is not known: read its code", LOOK),
    ("class2", "class3"): ("ask", "class 3 loses more than class 2"),
    ("class3", "class2"): _BETTER,
    ("class3", "class1"): _BETTER,
    ("class3", "c0g"): _BETTER,
    ("class3", "film"): _BETTER,
    ("class3", "mica"): _BETTER,
    ("ceramic", "c0g"): _BETTER,
    ("ceramic", "mica"): _BETTER,
    ("ceramic", "film"): _BETTER,
    ("ceramic", "class1"): ("ask", "the class that the place needs is not known"),
    ("ceramic", "class2"): ("ask", "the class that the place needs is not known"),
    ("aluminium", "aluminium_bipolar"): ("drop_in", "bipolar for polarised serves"),
    ("aluminium", "aluminium_polymer"): ("with_note", "much lower series resistance: check the place"),
    ("aluminium", "film"): _BETTER,
    ("aluminium", "class2"): _LOSSIER,
    ("aluminium_polymer", "aluminium"): ("ask", "polymer is chosen for its low series resistance"),
    ("aluminium_polymer", "tantalum"): ("ask", "polymer is chosen for its low series resistance"),
    ("aluminium_bipolar", "film"): _BETTER,
    ("aluminium_bipolar", "class2"): _LOSSIER,
    ("tantalum", "aluminium"): ("with_note", "low-resistance grade, same value; can marks −, bead marks +"),
    ("tantalum", "aluminium_polymer"): ("with_note", "same value; can marks the minus, bead the plus"),
    ("tantalum", "aluminium_bipolar"): ("with_note", "low-resistance grade, same value"),
    ("tantalum", "film"): _BETTER,
    ("tantalum", "class2"): _LOSSIER,
}
_FILM_ORDER = ("polystyrene", "polypropylene", "polycarbonate", "polyester")
_TANTALUM = "tantalum needs volts at least twice the rail, no surge, no reversal; bead marks +, can marks −"


def is_stable(sort: str) -> bool:
    """Whether it keeps its capacitance where time is kept: C0G, class 1, film, mica and their like."""
    return _FAMILY.get(sort, sort) in _STABLE


def dielectric(case: Case) -> None:
    wanted: str = case.need.get("dielectric", "")
    found: str = case.have.get("dielectric", "")
    use = case.need.get("use")
    if not found:
        if wanted or use in KEEPS_TIME:
            case.unknown("dielectric")
        return
    if wanted == found:
        return
    wanted_family, family = _FAMILY.get(wanted, wanted), _FAMILY.get(found, found)
    if use in KEEPS_TIME and family not in _STABLE:
        # Drawn with a sort that drifts, or with none, the place may be slow enough for one: a person decides.
        hopeless = family in _CERAMIC_THAT_DRIFTS or wanted_family in _STABLE
        rule = _DRIFTS if wanted and not hopeless else "a place that keeps time needs C0G, film or mica"
        case.add_reason("dielectric", "no" if hopeless else "ask", rule, required=wanted or use)
    elif _is_lossy_here(use, wanted, found):
        case.add_reason("dielectric", "ask", "a sort that loses more or drifts more than what was drawn")
    elif not wanted:
        return
    elif wanted_family == family:
        _film_for_film(case, wanted, found)
    elif (wanted, found) == ("aluminium", "tantalum"):
        _tantalum_for_aluminium(case)
    elif (wanted, found) == ("tantalum", "aluminium") and _is_ordinary_can(case):
        rule = "tantalum is chosen for its low series resistance, and this is an ordinary grade"
        case.add_reason("dielectric", "ask", rule)
    elif known := _OTHER_DIELECTRIC.get((wanted_family, family)):
        case.add_reason("dielectric", *known)
        case.far += 40
    elif wanted_family in _LISTED and family in _LISTED:
        case.add_reason("dielectric", "no", "another sort of capacitor")
    else:
        case.add_reason("dielectric", "ask", "compare the dielectrics")


_LISTED = {family for pair in _OTHER_DIELECTRIC for family in pair} | {"double_layer"}


def _is_ordinary_can(case: Case) -> bool:
    return case.have.get("low_esr") is False and case.need.get("low_esr") is not False


def _is_lossy_here(use: str | None, wanted: str, found: str) -> bool:
    """Whether a steadier or less lossy sort was drawn, and the place shows the difference; a place for pulses
    shows it whatever was drawn."""
    if use == "timing":
        return wanted in _STEADY_IN_TIME and found not in _STEADY_IN_TIME
    if use == "pulse":
        return wanted != found and found not in _LOW_LOSS
    return use in _LOW_LOSS_PLACES and wanted in _LOW_LOSS and found not in _LOW_LOSS


def _film_for_film(case: Case, wanted: str, found: str) -> None:
    """A plain "film" takes and is taken as any film; among named ones the lossier needs a note."""
    if wanted in _FILM_ORDER and found in _FILM_ORDER:
        better = _FILM_ORDER.index(found) < _FILM_ORDER.index(wanted)
        case.add_reason("dielectric", *(_BETTER if better else ("with_note", "a film of higher loss")))
    elif wanted in _FILM_ORDER:
        case.add_reason("dielectric", "with_note", "which film is not known: not where loss matters")


def _tantalum_for_aluminium(case: Case) -> None:
    rail, rated = case.need.get("rail_volts"), case.have.get("volts")
    if case.need.get("reversal") or case.need.get("use") == "surge":
        case.add_reason("dielectric", "no", "tantalum fails short under surge or reversal")
    elif rail is not None and rated is not None and rated < 2 * rail:
        case.add_reason("dielectric", "no", "tantalum needs volts at least twice the rail")
    else:
        case.add_reason("dielectric", "ask", _TANTALUM)
    case.far += 60


def bias(case: Case) -> None:
    """A class 2 ceramic keeps its capacitance only well below its rated volts (practice of the trade).

    Where the place was drawn with one and its volts, the drawing has seen to that.
    """
    rail, rated = case.need.get("rail_volts"), case.have.get("volts")
    if rail is None or rated is None or case.have.get("dielectric") not in _CERAMIC_THAT_DRIFTS:
        return
    drawn_so = case.need.get("dielectric") in _CERAMIC_THAT_DRIFTS and "volts" in case.need
    if rated < 2 * rail and not drawn_so:
        case.add_reason("volts", "no", "class 2 needs volts at least twice the rail", required=2 * rail)


def _is_polarised(facts: Mapping[str, Any]) -> bool | None:
    stated: bool | None = facts.get("polarised")
    if stated is None and "dielectric" in facts:
        return facts["dielectric"] in POLARISED_DIELECTRICS
    return stated


def polarity(case: Case) -> None:
    wanted, found = _is_polarised(case.need), _is_polarised(case.have)
    if wanted is False and found is True:
        rule = "a polarised part never where either sign may come"
        case.add_reason("polarised", "no", rule, required=False, offered=True)
    elif case.need.get("polarised") is not None and found is None:
        case.unknown("polarised")
    elif case.need.get("polarised") and found is False:
        case.add_reason("polarised", "drop_in", "unpolarised for polarised serves", offered=False)
