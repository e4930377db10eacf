"""What every rule of fits() is built from: the case before the judge, and comparisons that kinds share."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.spec.spec import Spec

GRADES = ("same", "drop_in", "with_note", "ask", "no")
"""Best to worst."""

UNKNOWN = "not known"
"""What a Reason says is offered where a closer look or a test would tell."""


@dataclass(frozen=True)
class Reason:
    """One property judged: what was required, what is offered, by which rule, with which grade."""

    property: str
    required: str
    offered: str
    rule: str
    grade: str


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
}


class Case:
    """One requirement and one offer. Rules `say` what differs, and add to `far` what exceeds the need.

    `need` and `have` are the facts of both sides by name. `safety` is set where people rely on the part to
    fail safely: there an unknown figure is a refusal. `same_type` is set where both bear one type number,
    which then vouches for figures that nobody wrote down.
    """

    __slots__ = ("far", "have", "measured", "need", "offer", "reasons", "requirement", "safety", "same_type")

    def __init__(self, requirement: Spec, offer: Spec, measured: int | None) -> None:
        self.requirement = requirement
        self.offer = offer
        self.measured = measured
        self.need: Mapping[str, Any] = need_of(requirement)
        self.have: Mapping[str, Any] = offer.known
        self.reasons: list[Reason] = []
        self.far = 0
        self.safety = is_safety_place(requirement)
        self.same_type = False

    def say(
        self, name: str, grade: str, rule: str, *, required: object = None, offered: object = None
    ) -> None:
        """Record a reason; the texts are taken from the facts where they are not given."""
        wanted = self.need.get(name) if required is None else required
        found = self.have.get(name) if offered is None else offered
        self.reasons.append(
            Reason(name, shown(name, wanted, "any"), shown(name, found, UNKNOWN), rule, grade)
        )

    def unknown(self, name: str, *, required: object = None) -> None:
        """The requirement states it and nobody knows it of the part."""
        rule = "unknown is not a pass for a safety part" if self.safety else "find out first"
        self.say(name, "no" if self.safety else "ask", rule, required=required, offered=UNKNOWN)


Rule = Callable[[Case], None]


def is_safety_place(requirement: Spec) -> bool:
    """Whether people rely on the part to fail safely."""
    need = requirement.known
    return (
        requirement.kind == "fuse"
        or "safety_class" in need
        or bool(need.get("fusible") or need.get("flameproof"))
    )


def need_of(requirement: Spec) -> Mapping[str, Any]:
    """The facts that are required: without those that the place does not mind.

    A safety place may leave open only how the part is mounted and who made it.
    """
    known = requirement.known
    if "any" not in known:
        return known
    open_to = set(known["any"])
    if is_safety_place(requirement):
        open_to &= {"lead_style", "pitch_mm", "make"}
    return {name: fact for name, fact in known.items() if name not in open_to}


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
            case.say(name, "no", "not less than required")
        elif rated > least:
            case.say(name, "drop_in", "more than required serves")
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
            case.say(name, "no", "not more than required")
        elif found < most:
            case.say(name, "drop_in", "less than allowed serves")
            case.far += excess(most, found, weight)

    return rule


def exact(name: str, why: str, *, otherwise: str = "no", vouched: bool = True) -> Rule:
    """Only the same will do; another gets the grade `otherwise`."""

    def rule(case: Case) -> None:
        wanted, found = case.need.get(name), case.have.get(name)
        if wanted is None or wanted == found:
            return
        if found is None:
            if not (vouched and case.same_type):
                case.unknown(name)
        else:
            case.say(name, otherwise, why)

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
        folded = _FOLDED.get((wanted, found))
        grade, rule = ("with_note", folded) if folded else ("ask", "another shape: must be made to fit")
        case.say("lead_style", grade, rule)
        case.far += 20
    pitch, apart = case.need.get("pitch_mm"), case.have.get("pitch_mm")
    if pitch is not None and pitch != apart and (wanted, found) not in _FOLDED:
        if apart is None:
            case.unknown("pitch_mm")
        elif abs(pitch - apart) <= _ONE_HOLE:
            case.say("pitch_mm", "with_note", "form the legs to the holes, not against the body")
            case.far += 5
        else:
            case.say("pitch_mm", "ask", "the legs must reach the holes")
    _package(case, "ask" if wanted == "smd" else "with_note", "another body: check that it fits")


def shape_of_many_legs(case: Case) -> None:
    """Parts whose legs stand where the maker put them."""
    exact("lead_style", "legs in another pattern", otherwise="ask")(case)
    exact("pitch_mm", "legs at another pitch")(case)
    _package(case, "ask", "another package: legs, mounting and cooling must be checked")


def _package(case: Case, grade: str, rule: str) -> None:
    wanted, found = case.need.get("package"), case.have.get("package")
    if wanted is None or wanted == found:
        return
    if found is None:
        case.unknown("package")
    elif plainly(wanted) != plainly(found) and _words(wanted) != _words(found):
        case.say("package", grade, rule)


def _words(text: str) -> set[str]:
    """What a package is called, in whatever order: "5 mm screw terminal", "screw terminal, 5 mm"."""
    return set(re.findall(r"[a-z0-9.]+", text.lower()))
