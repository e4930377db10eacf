"""Will this do? The only judge of whether an offered part serves a requirement.

The trade rules stand by kind in rules_*.py, each small and named; the verdict is the worst of them. What is
not known is a question, or a refusal where people rely on the part to fail safely.
"""

from dataclasses import dataclass

from inventory.spec.judging import ANOTHER_SORT, LOOK, Case, Reason, Rule, plainly, shown, worst_first
from inventory.spec.known_types import base_type
from inventory.spec.recorded import Substitution, as_recorded
from inventory.spec.rules_capacitor import CAPACITOR
from inventory.spec.rules_hardware import CONNECTOR, LAMP, OTHER, SOCKET, SWITCH
from inventory.spec.rules_ic import IC
from inventory.spec.rules_passive import CRYSTAL, FUSE, INDUCTOR, RESISTOR, TRANSFORMER
from inventory.spec.rules_semiconductor import DIODE, REGULATOR, TRANSISTOR
from inventory.spec.spec import Spec

RULES: dict[str, tuple[Rule, ...]] = {
    "resistor": RESISTOR,
    "capacitor": CAPACITOR,
    "inductor": INDUCTOR,
    "diode": DIODE,
    "transistor": TRANSISTOR,
    "ic": IC,
    "crystal": CRYSTAL,
    "regulator": REGULATOR,
    "fuse": FUSE,
    "connector": CONNECTOR,
    "socket": SOCKET,
    "switch": SWITCH,
    "transformer": TRANSFORMER,
    "lamp": LAMP,
    "other": OTHER,
}
FARTHEST = 999
NOTHING_ELSE = "this place takes nothing else"


@dataclass(frozen=True)
class Fit:
    """The worst grade of all reasons; the reasons, worst first; how far above need the part is (0 to 999)."""

    grade: str
    reasons: tuple[Reason, ...]
    closeness: int


def fits(
    requirement: Spec, offer: Spec, *, measured: int | None = None, recorded: Substitution | None = None
) -> Fit:
    """Judge the offer; `measured` (units) stands in for the marked value. Pure and total.

    What the requirement leaves open is not judged; its traits `any` and `exact` widen and narrow it.
    `recorded` is what a person found out of this part in this place.
    """
    if requirement.kind != offer.kind:
        reason = Reason("kind", requirement.kind, offer.kind, ANOTHER_SORT, "no")
        return Fit("no", (reason,), FARTHEST)
    case = Case(requirement, offer, measured)
    case.same_type = _is_same_type(requirement, offer)
    for rule in RULES[requirement.kind]:
        rule(case)
    if "exact" in case.need:
        _nothing_else(case)
    reasons = case.reasons
    if recorded is not None:
        # It is said of the part: nothing of a piece that has drifted, nor of a wish to take nothing else.
        drifted = [reason for reason in reasons if reason.property == "value" and measured is not None]
        lasting = [*drifted, *(reason for reason in reasons if reason.rule == NOTHING_ELSE)]
        reasons = as_recorded(reasons, recorded, safety=case.safety, lasting=lasting)
    if not reasons:
        reason = Reason("all", requirement.text, offer.text, "alike in everything required", "same")
        return Fit("same", (reason,), min(case.far, FARTHEST))
    told = worst_first(reasons)
    return Fit(told[0].grade, told, min(case.far, FARTHEST))


def _is_same_type(requirement: Spec, offer: Spec) -> bool:
    """One type number; maker's letters and package suffix do not count where the number is a system."""
    if not requirement.number or not offer.number:
        return False
    if requirement.number == offer.number or plainly(requirement.number) == plainly(offer.number):
        return True
    base = base_type(requirement.kind, requirement.number)
    return bool(base) and base == base_type(offer.kind, offer.number)


def _nothing_else(case: Case) -> None:
    """Properties in which this place takes nothing else, however good."""
    for name in case.need["exact"]:
        wanted, found = case.need.get(name), case.have.get(name)
        if name == "value" and case.measured is not None:
            found = case.measured
        if wanted is not None and wanted != found:
            required, offered = shown(name, wanted, ""), None
            if name == "value":
                required, offered = case.requirement.value_text, case.offer.value_text or None
            settler = LOOK if found is None else ""
            case.only_say(name, "no", NOTHING_ELSE, settler, required=required, offered=offered)
