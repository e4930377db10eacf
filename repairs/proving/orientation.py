"""Which way round each polarised or keyed part goes, and what a substitute changes about it.

Polarity goes by the sign of the rail, not by the print, which can be wrong (common practice).
"""

import re
from dataclasses import dataclass

from inventory.spec import Spec
from inventory.spec.kinds.dielectrics import POLARISED_DIELECTRICS
from inventory.spec.recorded import AS_DRAWN, LEGS_CROSSED, LISTED, REFUTED, TURNED_ROUND, SubstitutionRecord


@dataclass(frozen=True)
class Expected:
    """What must be seen: the mark to look for, where it goes, and which way a substitute goes in.

    `way` is None where the pin order of the one or the other is not known: look it up before confirming.
    """

    mark: str
    text: str
    way: str | None = AS_DRAWN


_TO_GROUND = re.compile(r"plus(?:\s+end)?\s+to\s+(0\s*V|ground|earth)", re.IGNORECASE)
_NEGATIVE_RAIL = re.compile(r"(?<![\w.])[-−]\s?\d+(?:\.\d+)?\s*V", re.IGNORECASE)
_DUAL = re.compile(r"dip|sil|sip|plcc|soic|so-?\d", re.IGNORECASE)


def expected(
    required: Spec, piece: Spec | None, note: str = "", recorded: SubstitutionRecord | None = None
) -> Expected | None:
    """How a part goes into a position that requires `required`; None where it has no way round.

    `note` is the drawing's note on the position: `plus to 0 V` is believed against the print. `recorded` is
    what a person of this bench found out of this part there, and goes before the rules.
    """
    rule = _by_rule(required, piece, note)
    if recorded is None or recorded.source or recorded.evidence in (LISTED, REFUTED):
        return rule
    if not recorded.legs and (rule is None or rule.way == recorded.way):
        return rule
    mark = rule.mark if rule is not None else "legs"
    return Expected(mark, f"as recorded for this substitute: {recorded.legs or 'as drawn'}", recorded.way)


def _by_rule(required: Spec, piece: Spec | None, note: str) -> Expected | None:
    kind = required.kind
    if kind == "capacitor":
        return _capacitor(required, piece, note)
    if kind == "diode":
        return None if _goes_either_way(required, piece) else _diode(required)
    if kind in ("transistor", "regulator"):
        return _legs(required, piece)
    package = (piece.package if piece else "") or required.package
    lead_style = (piece.lead_style if piece else "") or required.lead_style
    if kind == "ic" or (kind != "connector" and (lead_style == "dip" or _DUAL.match(package))):
        return Expected(
            "pin 1",
            "notch or dot at pin 1 of the drawing; the socket's notch the same way",
            _pins(required, piece),
        )
    if kind == "resistor" and required.facts.get("elements", 1) > 1:
        return Expected("dot", "the dot (common leg) at pin 1 of the drawing")
    if required.polarised or (piece is not None and piece.polarised):
        return Expected("plus", "plus to the plus of the design, by the sign of the rail")
    if kind == "other" and not _has_none(required, piece):
        return Expected(
            "plus", "plus or pin 1 as the design says; a cell or module can be the wrong way round"
        )
    return None


_NOT_POLARISED = frozenset(
    (
        "c0g", "class1", "class2", "class3", "ceramic", "film", "polyester", "polypropylene", "polystyrene",
        "polycarbonate", "mylar", "mica", "paper", "glass", "air", "aluminium_bipolar",
    )
)  # fmt: skip
_MAX_UNASKED = 10**8
"""fF: up to 0.1 µF a capacitor whose dielectric nobody knows is taken for ceramic or film; electrolytics are
made from there on (common practice, no source).
"""


def _has_none(required: Spec, piece: Spec | None) -> bool:
    """Whether it is known to have no polarity."""
    return (piece if piece is not None else required).polarised is False


def _capacitor(required: Spec, piece: Spec | None, note: str) -> Expected | None:
    """Asked of every capacitor that can have a polarity and is not known to have none."""
    if _has_none(required, piece):
        return None
    own = piece.dielectric if piece is not None else required.dielectric
    dielectric = own or required.dielectric
    there = piece or required
    if own in _NOT_POLARISED and not there.polarised:
        return None
    known = dielectric in POLARISED_DIELECTRICS or bool(required.polarised or there.polarised)
    if not known and (_is_for_mains(there) or (there.value is not None and there.value <= _MAX_UNASKED)):
        return None
    wet = dielectric.startswith("aluminium")
    marked = "the can's stripe marks minus" if wet else "a bead's stripe or cross marks plus"
    if dielectric not in POLARISED_DIELECTRICS:
        marked = f"a can's stripe marks minus, {marked}; film and ceramic have none"
    if _TO_GROUND.search(note):
        return Expected("plus", f"plus to 0 V, whatever the print says (a minus rail); {marked}")
    if _NEGATIVE_RAIL.search(note):
        return Expected("plus", f"a minus rail: plus to 0 V unless the drawing shows otherwise; {marked}")
    return Expected("plus", f"plus to the rail, by its sign, not by the print; {marked}")


def _is_for_mains(spec: Spec) -> bool:
    """X and Y capacitors are film or ceramic."""
    return spec.safety_class[:1].lower() in ("x", "y")


def _goes_either_way(required: Spec, piece: Spec | None) -> bool:
    """A diac has no cathode."""
    return all(spec.known.get("function") == "diac" for spec in (required, piece) if spec is not None)


def _diode(required: Spec) -> Expected:
    if required.known.get("function") == "led":
        return Expected("flat", "the flat, or the short leg, is the cathode")
    if required.known.get("function") == "bridge":
        return Expected("plus", "plus, minus and the two waves at their marks")
    return Expected("band", "the band is the cathode: to the bar of the drawing")


def _legs(required: Spec, piece: Spec | None) -> Expected:
    way = _pins(required, piece)
    tab = "the tab" if required.lead_style == "to_flat" and required.package != "TO-92" else "the flat or tab"
    if piece is None:
        return Expected("legs", f"{tab} as drawn")
    theirs, ours = str(piece.known.get("pin_order", "")), str(required.known.get("pin_order", ""))
    if way == TURNED_ROUND:
        return Expected("legs", f"legs are {theirs} where the design has {ours}: turned round", way)
    if way == LEGS_CROSSED:
        return Expected("legs", f"legs are {theirs} where the design has {ours}: cross and sleeve them", way)
    if way is None:
        return Expected(
            "legs", "the pin order is not known on both sides: look it up, the same type exists with two", way
        )
    return Expected("legs", f"{tab} as drawn: {ours}", way)


def _pins(required: Spec, piece: Spec | None) -> str | None:
    """Which way a piece goes in whose legs carry what they carry."""
    if piece is None:
        return AS_DRAWN
    ours, theirs = required.known.get("pin_order"), piece.known.get("pin_order")
    if ours == theirs and ours is not None:
        return AS_DRAWN
    if ours is None or theirs is None:
        return AS_DRAWN if required.kind not in ("transistor", "regulator") else None
    if list(reversed(str(ours).split("-"))) == str(theirs).split("-"):
        return TURNED_ROUND
    return LEGS_CROSSED


def note_at_fitting(
    required: Spec, piece: Spec, note: str = "", recorded: SubstitutionRecord | None = None
) -> str:
    """What to tell whoever fits this piece there; "" where there is nothing to watch."""
    way = expected(required, piece, note, recorded)
    return "" if way is None else f"{way.mark}: {way.text}"
