"""Will this do? The only judge of whether an offered part serves a requirement.

The trade rules stand by kind in kinds/, each small and named; the verdict is the worst of them. What is
not known is a question, or a refusal where people rely on the part to fail safely.
"""

from dataclasses import dataclass
from decimal import Decimal

from inventory.spec.judging import (
    ANOTHER_SORT,
    LOOK,
    SETTLERS,
    Case,
    Reason,
    need_of,
    plainly,
    shown,
    worst_first,
)
from inventory.spec.kinds import KINDS
from inventory.spec.notation import MAX_UNITS
from inventory.spec.recorded import SubstitutionRecord, as_recorded
from inventory.spec.spec import Spec
from inventory.spec.values import NEXT_STEP, WHOLE, ValueWindow, is_bypass, is_filter
from inventory.type_numbers import memory_of, type_number

FARTHEST = 999
NOTHING_ELSE = "this place takes nothing else"


@dataclass(frozen=True)
class Fit:
    """The worst grade of all reasons; the reasons, worst first; how far above need the part is (0 to 999)."""

    grade: str
    reasons: tuple[Reason, ...]
    closeness: int

    @property
    def settled_by(self) -> str:
        """What would turn an `ask` or a `no` into a yes or a clear no: the most laborious of what its open
        questions want (SETTLERS); "" where nothing settles one of them, and where there is none."""
        wanted = {reason.settled_by for reason in self.reasons if reason.grade in ("ask", "no")}
        return "" if "" in wanted else max(wanted, key=SETTLERS.index, default="")

    @property
    def questions(self) -> tuple[Reason, ...]:
        """The open questions of an `ask` that a look, a data sheet or a test answers; () where it also asks
        what only a person's judgement settles, so that a piece with questions may yet do as it is."""
        if self.grade != "ask" or not self.settled_by:
            return ()
        return tuple(reason for reason in self.reasons if reason.grade == "ask")


def fits(
    requirement: Spec,
    offer: Spec,
    *,
    measured: int | None = None,
    measured_tolerance: Decimal | None = None,
    recorded: SubstitutionRecord | None = None,
    same_position: bool = False,
) -> Fit:
    """Judge the offer; `measured` (units) stands in for the marked value, and its meter may be off by
    `measured_tolerance` per cent (None: as bench meters of the kind are). Pure and total.

    What the requirement leaves open is not judged; its traits `any` and `exact` widen and narrow it.
    `recorded` is what a person found out of this part in this place. `same_position`: the piece came off the
    same position of the same design, where it worked with its legs as they are.
    """
    if requirement.kind != offer.kind:
        reason = Reason("kind", requirement.kind, offer.kind, ANOTHER_SORT, "no")
        return Fit("no", (reason,), FARTHEST)
    kind = KINDS[requirement.kind]
    case = Case(kind, requirement, offer, measured, measured_tolerance)
    case.same_type = _is_same_type(requirement, offer)
    case.same_position = same_position
    for rule in kind.rules:
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
    ordered = worst_first(reasons)
    return Fit(ordered[0].grade, ordered, min(case.far, FARTHEST))


def _is_same_type(requirement: Spec, offer: Spec) -> bool:
    """One type, whoever made it and in whatever package."""
    if not requirement.number or not offer.number:
        return False
    if requirement.number == offer.number or plainly(requirement.number) == plainly(offer.number):
        return True
    kind = requirement.kind
    ours, theirs = type_number(kind, requirement.number), type_number(kind, offer.number)
    if ours.base != theirs.base:
        return False
    if kind in ("ic", "regulator"):
        return ours.cmos == theirs.cmos or memory_of(requirement.number) is not None
    return ours.grade in ("", theirs.grade)  # any gain group serves where none is asked


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
            case.add_reason(name, "no", NOTHING_ELSE, settler, required=required, offered=offered, alone=True)


def _value_and_window(requirement: Spec) -> tuple[int, ValueWindow] | None:
    """The value that is wanted, in units, and how far off it may be; None where any will do."""
    need = need_of(requirement)
    wanted, window_of = need.get("value"), KINDS[requirement.kind].window
    return None if wanted is None or window_of is None else (wanted, window_of(need))


def value_window(requirement: Spec) -> tuple[int, int] | None:
    """Lowest and highest value, in units, that fits() does not refuse as such; None where any will do."""
    if (found := _value_and_window(requirement)) is None:
        return None
    need, (wanted, window) = need_of(requirement), found
    low, high = wanted - wanted * -window.low // WHOLE, wanted + wanted * window.high // WHOLE
    return (wanted, wanted) if "value" in need.get("exact", ()) else (max(low, 0), min(high, MAX_UNITS))


def search_window(requirement: Spec, meter_percent: Decimal | None = None) -> tuple[int, int] | None:
    """The same, with what fits() asks about at the edge: what the meter leaves open, and marks cut short."""
    window = value_window(requirement)
    if window is None or "value" in requirement.known.get("exact", ()):
        return window
    low, high = window
    kind, need = KINDS[requirement.kind], need_of(requirement)
    if is_filter(need) or is_bypass(need):
        high = max(high, need["value"] * (WHOLE + NEXT_STEP) // WHOLE)
    parts = int((meter_percent or kind.meter_percent) * (WHOLE // 100)) + kind.short_parts
    return max(low - low * parts // WHOLE - 1, 0), min(high + high * parts // (WHOLE - parts) + 1, MAX_UNITS)


def serving_window(requirement: Spec, own: ValueWindow | None) -> tuple[int, int] | None:
    """Lowest and highest marked value, in units, by which fits() lets a part serve that nobody measured, as
    drop-in or better; `own` is the tolerance of the part (`spread`).  None where any value will do."""
    if (found := _value_and_window(requirement)) is None:
        return None
    wanted, window = found
    if window.near is not None:
        return wanted - wanted * window.near // WHOLE, wanted + wanted * window.near // WHOLE
    if not window.stated or own is None or own.low <= -WHOLE:
        return wanted, wanted
    low = -(-wanted * (WHOLE + window.low) // (WHOLE + own.low))
    high = wanted * (WHOLE + window.high) // (WHOLE + own.high)
    return min(low, wanted), max(high, wanted)
