"""What every rule of fits() is built from: the case before the judge, and comparisons that kinds share."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from inventory.spec.safety import is_safety_part

if TYPE_CHECKING:
    from inventory.spec.kinds import Kind
    from inventory.spec.spec import Spec

GRADES = ("same", "drop_in", "with_note", "ask", "no")
"""Best to worst."""

UNKNOWN = "not known"
"""What a Reason says is offered where nobody has found it out."""

LOOK, DATA_SHEET, TEST = "look", "data_sheet", "test"
SETTLERS = (LOOK, DATA_SHEET, TEST)
"""What may settle an open question, the least work first: a closer look at the piece or the place, the data
sheets, a test."""

ANOTHER_SORT = "another sort of part"
"""The rule by which what is offered is no near miss, only of the same kind."""


@dataclass(frozen=True)
class Reason:
    """One property judged: what was required, what is offered, by which rule, with which grade.

    `settled_by` is one of SETTLERS where that may turn an `ask` or a `no` into a yes; else "".
    """

    property: str
    required: str
    offered: str
    rule: str
    grade: str
    settled_by: str = ""


_SETTLED_BY = {  # what is not printed on a part and not seen on it
    **dict.fromkeys(
        (
            "value", "gain_min", "pin_order", "zener_volts", "forward_volts", "esr_ohm", "esr_min_ohm",
            "low_esr", "dcr_ohm", "output_volts", "half", "content", "resonance", "matched",
        ),
        TEST,
    ),
    **dict.fromkeys(
        (
            "tcr_ppm", "ripple", "saturation_amps", "core", "surge_amps", "ft_mhz", "refresh", "refresh_ms",
            "rails", "organisation", "dropout", "input_max_volts", "load_pf", "cut", "breaking", "i2t",
            "gbw_mhz", "supply_min_volts", "supply_max_volts",
            "device", "material", "function", "open_collector", "load_ma",
        ),
        DATA_SHEET,
    ),
}  # fmt: skip
"""Property -> how to find it out; the others are found out by a closer look."""
_MOUNTING = frozenset(("lead_style", "pitch_mm", "lead_mm", "height_mm"))
"""How a part sits: not known, that is a question even where people rely on it to fail safely."""


_UNIT = {
    "tolerance_percent": " %",
    "volts": " V",
    "watts": " W",
    "amps": " A",
    "pitch_mm": " mm",
    "speed_ns": " ns",
    "temp_max_c": " °C",
    "ripple": " A",
    "ac_volts": " V",
    "rail_volts": " V",
    "esr_ohm": " Ω",
    "zener_volts": " V",
    "output_volts": " V",
    "dropout": " V",
    "load_pf": " pF",
    "breaking": " A",
    "surge_amps": " A",
    "ft_mhz": " MHz",
    "refresh_ms": " ms",
    "lead_mm": " mm",
    "height_mm": " mm",
    "input_volts": " V",
    "input_max_volts": " V",
    "load_ma": " mA",
    "ppm": " ppm",
    "gbw_mhz": " MHz",
    "supply_volts": " V",
    "supply_min_volts": " V",
    "supply_max_volts": " V",
    "va": " VA",
}


class Case:
    """One requirement and one offer. Rules add a reason for what differs, and to `far` what exceeds the need.

    `need` and `have` are the facts of both sides by name. `meter_percent` is what the meter may be off that
    read `measured`. `safety` is set where people rely on the part to fail safely: there an unknown figure is
    a refusal. `same_type` is set where both bear one type number, which then vouches for figures that nobody
    wrote down. `same_position` is set where the piece came off the same position of the same design.
    """

    __slots__ = (
        "far", "have", "kind", "measured", "meter_percent", "need", "offer", "reasons", "requirement",
        "safety", "same_position", "same_type",
    )  # fmt: skip

    def __init__(
        self,
        kind: Kind,
        requirement: Spec,
        offer: Spec,
        measured: int | None,
        measured_tolerance: Decimal | None,
    ) -> None:
        self.kind = kind
        self.requirement = requirement
        self.offer = offer
        self.measured = measured
        self.meter_percent = kind.meter_percent if measured_tolerance is None else measured_tolerance
        self.need: Mapping[str, Any] = need_of(requirement)
        self.have: Mapping[str, Any] = offer.known
        self.reasons: list[Reason] = []
        self.far = 0
        self.safety = is_safety_part(requirement)
        self.same_type = False
        self.same_position = False

    def add_reason(
        self,
        name: str,
        grade: str,
        rule: str,
        settled_by: str = "",
        *,
        required: object = None,
        offered: object = None,
        alone: bool = False,
    ) -> None:
        """Record a reason; the texts are taken from the facts where they are not given.

        `alone`: it goes in place of all others of its property: one objection to each is enough.
        """
        wanted = self.need.get(name) if required is None else required
        found = self.have.get(name) if offered is None else offered
        if alone:
            self.reasons = [reason for reason in self.reasons if reason.property != name]
        self.reasons.append(
            Reason(name, shown(name, wanted, "any"), shown(name, found, UNKNOWN), rule, grade, settled_by)
        )

    def differs(self, name: str, *, vouched: bool = True) -> bool:
        """Whether what is offered is known to be another than is required; a fact that nobody knows is asked.

        `vouched`: the same type number is as good as the fact.
        """
        wanted, found = self.need.get(name), self.have.get(name)
        if wanted is None or wanted == found:
            return False
        if found is None:
            if not (vouched and self.same_type):
                self.unknown(name)
            return False
        return True

    def unknown(self, name: str, *, required: object = None) -> None:
        """The requirement states it and nobody knows it of the part."""
        refused = self.safety and name not in _MOUNTING
        grade, rule = ("no", _UNKNOWN_OF_SAFETY) if refused else ("ask", "find out first")
        settler = _SETTLED_BY.get(name, LOOK)
        if self.offer.number and name in self.kind.by_type_number:
            settler = DATA_SHEET
        self.add_reason(name, grade, rule, settler, required=required, offered=UNKNOWN)


_UNKNOWN_OF_SAFETY = "unknown is not a pass for a safety part"


Rule = Callable[[Case], None]


def need_of(requirement: Spec) -> Mapping[str, Any]:
    """The facts that are required: without those that the place does not mind.

    A safety place may leave open only how the part is mounted and who made it. Of the figures that only the
    type number says, some are what the type can do and not what the place asks.
    """
    known, stated = requirement.known, requirement.facts
    of_the_type = _OF_THE_TYPE.get(requirement.kind, ())
    if known is not stated and any(name in known and name not in stated for name in of_the_type):
        known = {name: fact for name, fact in known.items() if name not in of_the_type or name in stated}
    if "any" not in known:
        return known
    open_to = set(known["any"])
    if is_safety_part(requirement):
        open_to &= {"lead_style", "pitch_mm", "make"}
    return {name: fact for name, fact in known.items() if name not in open_to}


_OF_THE_TYPE = {
    "transistor": frozenset(("amps", "watts", "gain_min", "gain_max", "ft_mhz", "device")),
    "diode": frozenset(("surge_amps", "material")),
    "ic": frozenset(("gbw_mhz", "supply_min_volts", "supply_max_volts")),
}
"""Kind -> what a place does not ask only because its type number says it (common practice, no source)."""


def worst_first(reasons: Iterable[Reason]) -> tuple[Reason, ...]:
    """Reasons in order of grade, and of one grade those first that nothing would settle: the first of all is
    what stands in the way."""
    return tuple(sorted(reasons, key=_rank))


_PLACE = {grade: -2 * badness for badness, grade in enumerate(GRADES)}


def _rank(reason: Reason) -> int:
    return _PLACE[reason.grade] + (reason.settled_by != "")


def shown(name: str, fact: object, otherwise: str) -> str:
    """A fact as a person reads it."""
    if fact is None:
        return otherwise
    if isinstance(fact, Decimal):
        text = str(fact)  # much faster than a format, and plain for all but very small figures
        return (text if "E" not in text else f"{fact:f}") + _UNIT.get(name, "")
    if isinstance(fact, bool):
        return "yes" if fact else "no"
    if isinstance(fact, tuple):
        joint = "x" if name == "organisation" else ", "
        return joint.join(f"{each:f}" if isinstance(each, Decimal) else str(each) for each in fact)
    return str(fact)


def excess(rated: Decimal, least: Decimal, most: int) -> int:
    """How far above need, a step for each twentieth, at most `most`."""
    return min(most, int((rated - least) * 20 / least)) if least > 0 else most


# ── Comparisons ──────────────────────────────────────────────────────────────────────────────────


def not_less(name: str, *, weight: int = 200, vouched: bool = True) -> Rule:
    """A rating: less is refused, more serves. `vouched`: the same type number is as good as the figure."""

    def rule(case: Case) -> None:
        least, rated = case.need.get(name), case.have.get(name)
        if least is None:
            if rated is not None:
                case.far += min(weight // 4, int(rated).bit_length())
        elif rated is None:
            if not (vouched and case.same_type):
                case.unknown(name)
        elif rated < least:
            case.add_reason(name, "no", "not less than required")
        elif rated > least:
            case.add_reason(name, "drop_in", "more than required serves")
            case.far += excess(rated, least, weight)

    return rule


def not_more(name: str, *, weight: int = 50, vouched: bool = True) -> Rule:
    """The reverse of `not_less`: slower, lossier or hungrier is refused."""

    def rule(case: Case) -> None:
        most, found = case.need.get(name), case.have.get(name)
        if most is None:
            return
        if found is None:
            if not (vouched and case.same_type):
                case.unknown(name)
        elif found > most:
            case.add_reason(name, "no", "not more than required")
        elif found < most:
            case.add_reason(name, "drop_in", "less than allowed serves")
            case.far += excess(most, found, weight)

    return rule


def exact(name: str, why: str, settled_by: str = "", *, otherwise: str = "no", vouched: bool = True) -> Rule:
    """Only the same will do; another gets the grade `otherwise`, and what would settle it."""

    def rule(case: Case) -> None:
        if case.differs(name, vouched=vouched):
            case.add_reason(name, otherwise, why, settled_by)

    return rule


def plainly(text: str) -> str:
    """Letters and figures only, in capitals: how type numbers and packages are compared."""
    return "".join(filter(str.isalnum, text)).upper()


# ── Shape ────────────────────────────────────────────────────────────────────────────────────────

_FOLDED = {
    ("axial", "radial"): "fold the long lead along the body and sleeve it",
    ("radial", "axial"): "stand it on end and sleeve the long lead; check the height",
}
_ONE_HOLE = Decimal("2.54")


def shape_of_two_legs(case: Case) -> None:
    """Lead style, pitch and body of parts whose legs can be formed."""
    wanted, found = case.need.get("lead_style"), case.have.get("lead_style")
    if wanted is not None and found is None:
        case.unknown("lead_style")
    elif wanted is not None and found is not None and wanted != found:
        if folded := _FOLDED.get((wanted, found)):
            case.add_reason("lead_style", "with_note", folded)
        else:
            case.add_reason("lead_style", "ask", "another shape: must be made to fit", LOOK)
        case.far += 20
    pitch, apart = case.need.get("pitch_mm"), case.have.get("pitch_mm")
    if pitch is not None and pitch != apart and (wanted, found) not in _FOLDED:
        if apart is None:
            case.unknown("pitch_mm")
        elif abs(pitch - apart) <= _ONE_HOLE:
            case.add_reason("pitch_mm", "with_note", "form the legs to the holes, not against the body")
            case.far += 5
        else:
            case.add_reason("pitch_mm", "ask", "the legs must reach the holes: hold it to the board", LOOK)
    _holes_and_room(case)
    _package(case, "ask" if wanted == "smd" else "with_note", "another body: check that it fits")


def shape_of_many_legs(case: Case) -> None:
    """Parts whose legs stand where the maker put them."""
    _SAME_PATTERN(case)
    _SAME_PITCH(case)
    _holes_and_room(case)
    _package(case, "ask", "another package: legs, mounting and cooling must be checked")


_SAME_PATTERN = exact("lead_style", "legs in another pattern", LOOK, otherwise="ask")
_SAME_PITCH = exact("pitch_mm", "legs at another pitch")

_ROOM = {  # what the place has room for (common practice, no source)
    "lead_mm": "the leads are thicker than the holes: a plated hole is not drilled out",
    "height_mm": "taller than the room above the board: try it in place, or lay it down",
}


def _holes_and_room(case: Case) -> None:
    """Leads go through the holes, the body under the lid. A thinner or lower part always does."""
    for name in _ROOM:
        if name not in case.need:
            continue
        found = case.have.get(name)
        if found is None:
            case.unknown(name)
        elif found > case.need[name]:
            case.add_reason(name, "ask", _ROOM[name], LOOK)
            case.far += 20


def _package(case: Case, grade: str, rule: str) -> None:
    if not case.differs("package", vouched=False):
        return
    wanted, found = case.need["package"], case.have["package"]
    if plainly(wanted) != plainly(found) and _words(wanted) != _words(found):
        case.add_reason("package", grade, rule, LOOK if grade == "ask" else "")


def _words(text: str) -> set[str]:
    """What a package is called, in whatever order: "5 mm screw terminal", "screw terminal, 5 mm"."""
    return set(re.findall(r"[a-z0-9.]+", text.lower()))
