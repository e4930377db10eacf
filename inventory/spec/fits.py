"""Will this do? The only judge of whether an offered part serves a requirement."""

from dataclasses import dataclass

from inventory.spec.figures import plain
from inventory.spec.spec import Spec

GRADES = ("same", "drop_in", "with_note", "ask", "no")
"""Best to worst."""


@dataclass(frozen=True)
class Reason:
    """One property judged: what was required, what is offered, by which rule, with which grade."""

    property: str
    required: str
    offered: str
    rule: str
    grade: str


@dataclass(frozen=True)
class Fit:
    """The worst of all reasons, the reasons, and how far above need the ratings are (0 to 999)."""

    grade: str
    reasons: tuple[Reason, ...]
    closeness: int


_NOT_LESS = ("volts", "watts", "amps")


def fits(requirement: Spec, offer: Spec, *, measured: int | None = None) -> Fit:
    """Judge the offer; `measured` (units) stands in for the marked value. Pure and total."""
    if requirement.kind != offer.kind:
        return Fit("no", (Reason("kind", requirement.kind, offer.kind, "another kind of part", "no"),), 999)
    reasons = []
    value = offer.value if measured is None else measured
    if requirement.value is not None:
        if value is None:
            reasons.append(Reason("value", requirement.value_text, "unknown", "unknown is not a pass", "ask"))
        elif value != requirement.value:
            reasons.append(Reason("value", requirement.value_text, offer.value_text, "another value", "no"))
    safety = bool(requirement.safety_class) or requirement.kind == "fuse"
    for name in _NOT_LESS:
        least, rated = requirement.facts.get(name), offer.facts.get(name)
        if least is None:
            continue
        if rated is None:
            grade, rule = "no" if safety else "ask", "unknown is not a pass"
        elif rated < least:
            grade, rule = "no", f"{name} not less"
        elif rated > least:
            grade, rule = "no" if safety and name != "volts" else "drop_in", "a higher rating serves"
        else:
            continue
        reasons.append(
            Reason(name, plain(least), plain(rated) if rated is not None else "unknown", rule, grade)
        )
    for name in ("number", "dielectric", "package", "lead_style", "safety_class", "polarised"):
        required, offered = requirement.facts.get(name), offer.facts.get(name)
        if required is not None and required != offered:
            grade = "no" if name == "safety_class" or (offered and name == "number") else "ask"
            if (required, offered) == ("axial", "radial"):
                grade = "with_note"
            reasons.append(Reason(name, str(required), str(offered or "unknown"), "differs", grade))
    grade = max((reason.grade for reason in reasons), key=GRADES.index, default="same")
    return Fit(grade, tuple(reasons), 0)
