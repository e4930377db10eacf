"""What every rule of fits() is built from: the case before the judge, and comparisons that kinds share."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.spec.quantities import print_value
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
        self.need: Mapping[str, Any] = requirement.known
        self.have: Mapping[str, Any] = offer.known
        self.reasons: list[Reason] = []
        self.far = 0
        self.safety = False
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


def shown_value(kind: str, units: int | None) -> str | None:
    return None if units is None else print_value(kind, units)


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
    formed = False
    if wanted is not None and wanted != found:
        if found is None:
            case.unknown("lead_style")
        else:
            note = _FOLDED.get((wanted, found))
            formed = note is not None
            case.say(
                "lead_style", "with_note" if note else "ask", note or "another shape: must be made to fit"
            )
            case.far += 20
    pitch, apart = case.need.get("pitch_mm"), case.have.get("pitch_mm")
    if pitch is not None and pitch != apart and not formed:
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
    elif plainly(wanted) != plainly(found):
        case.say("package", grade, rule)


# ── Value ────────────────────────────────────────────────────────────────────────────────────────

WHOLE = 10**6
"""Deviations are counted in millionths, which is what four decimals of a percent come to."""


def millionths(percent: Decimal) -> int:
    return int(percent * 10_000)


def deviation(nominal: int, actual: int) -> int:
    """Millionths of nominal, cut towards nominal only below one millionth."""
    return (actual - nominal) * WHOLE // nominal if nominal else (0 if actual == nominal else WHOLE**2)


def is_marked_so(case: Case) -> bool:
    """The common end of it: the value required is the value marked, or no value is required."""
    wanted = case.need.get("value")
    return wanted is None or (case.measured is None and wanted == case.have.get("value"))


def judge_value(
    case: Case, window: tuple[int, int] | None, spread: tuple[int, int] | None, *, likely: int
) -> None:
    """A value that is not marked so, against the requirement's window and the offer's spread, in millionths.

    Without a window only the same marked value passes, and up to `likely` is a question; a measured value
    within `likely` passes with a note. A measured part is never better than with_note.
    """
    wanted: int = case.need["value"]
    kind = case.requirement.kind
    marked: int | None = case.have.get("value")
    actual = marked if case.measured is None else case.measured
    if actual is None:
        case.unknown("value")
        return
    off = deviation(wanted, actual)
    case.far += min(300, abs(off) // 1000)
    low, high = window or (-likely, likely)
    inside = low * wanted <= (actual - wanted) * WHOLE <= high * wanted
    required, offered = case.requirement.value_text, shown_value(kind, actual)
    if case.measured is not None:
        grade = "with_note" if inside else "no"
        rule = "measured inside the tolerance" if inside else "measured outside the tolerance"
        offered = f"{offered} measured, marked {shown_value(kind, marked) or UNKNOWN}"
        case.say("value", grade, rule, required=required, offered=offered)
    elif not inside:
        case.say("value", "no", "outside the tolerance", required=required, offered=offered)
    elif window is None:
        rule = "near, but the requirement states no tolerance"
        case.say("value", "no" if case.safety else "ask", rule, required=required, offered=offered)
    elif spread is not None and _spread_inside(wanted, actual, spread, window):
        case.say("value", "drop_in", "inside the tolerance at its worst", required=required, offered=offered)
    else:
        rule = "inside the tolerance as marked: measure it in"
        case.say("value", "with_note", rule, required=required, offered=offered)


def _spread_inside(wanted: int, actual: int, spread: tuple[int, int], window: tuple[int, int]) -> bool:
    lowest, highest = actual * (WHOLE + spread[0]), actual * (WHOLE + spread[1])
    return wanted * (WHOLE + window[0]) <= lowest and highest <= wanted * (WHOLE + window[1])


def judge_tolerance(case: Case) -> None:
    """Tighter serves, looser must be measured in; a part measured already is judged by its reading."""
    allowed, found = case.need.get("tolerance_percent"), case.have.get("tolerance_percent")
    if allowed is None or found == allowed or case.measured is not None:
        return
    if found is None:
        case.unknown("tolerance_percent")
    elif found < allowed:
        case.say("tolerance_percent", "drop_in", "tighter serves")
        case.far += min(30, int(allowed / found))
    elif case.need.get("value") == case.have.get("value"):
        grade = "no" if case.safety else "with_note"
        case.say("tolerance_percent", grade, "looser: measure it in")
        case.far += 10
