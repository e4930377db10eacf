"""How far a value may be off: the window of a requirement, by kind, and the verdict on what lies in it."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from inventory.spec.judging import DATA_SHEET, UNKNOWN, Case, need_of
from inventory.spec.quantities import MOST, print_value
from inventory.spec.spec import Spec

WHOLE = 10**9
"""Deviations are counted in billionths: fine enough for every percent and part per million that is kept."""

Facts = Mapping[str, Any]


class Window(NamedTuple):
    """Billionths below and above the value. Where it is not `stated`, what lies inside is only a question."""

    low: int
    high: int
    stated: bool = True


# ── Windows ──────────────────────────────────────────────────────────────────────────────────────

_OLD_FOR_NEW = Window(-WHOLE // 10, WHOLE // 10, stated=False)  # a tenth: 50 k for 47 k, 5 n for 4n7
_BYPASS = Window(-WHOLE // 5, WHOLE // 5, stated=False)
_FILTER = Window(-WHOLE // 5, WHOLE)  # practice of the trade: −20 % to +100 %
_SAME_CRYSTAL = Window(-WHOLE // 10_000, WHOLE // 10_000, stated=False)  # 14.318 for 14.31818 MHz
_OUTSIDE_FILTER = "a supply filter takes −20 % to +100 %"
_FILTER_NEAR = WHOLE // 5


def spread(facts: Facts) -> Window | None:
    """The tolerance, each side as stated; None where it is not."""
    ppm = facts.get("ppm")
    if ppm is not None:
        return Window(-_millionths(ppm), _millionths(ppm))
    both = facts.get("tolerance_percent")
    low, high = facts.get("tolerance_low_percent", both), facts.get("tolerance_high_percent", both)
    return None if low is None or high is None else Window(-_percent(low), _percent(high))


def is_filter(need: Facts) -> bool:
    """Aluminium stores charge unless the place says that it does something else."""
    use = need.get("use")
    return use == "filter" or (use is None and need.get("dielectric") in ("aluminium", "aluminium_polymer"))


def _capacitor_window(need: Facts) -> Window:
    if is_filter(need):
        return _FILTER
    return spread(need) or (_BYPASS if need.get("use") == "bypass" else _OLD_FOR_NEW)


_WINDOWS: dict[str, Callable[[Facts], Window]] = {
    "resistor": lambda need: spread(need) or _OLD_FOR_NEW,
    "capacitor": _capacitor_window,
    "inductor": lambda need: spread(need) or _OLD_FOR_NEW,
    "crystal": lambda need: spread(need) or _SAME_CRYSTAL,
}


def value_window(requirement: Spec) -> tuple[int, int] | None:
    """Lowest and highest value, in units, that fits() does not refuse as such; None where any will do."""
    need = need_of(requirement)
    wanted: int | None = need.get("value")
    if wanted is None:
        return None
    window = _WINDOWS[requirement.kind](need)
    low, high = wanted - wanted * -window.low // WHOLE, wanted + wanted * window.high // WHOLE
    return (wanted, wanted) if "value" in need.get("exact", ()) else (max(low, 0), min(high, MOST))


# ── Verdicts ─────────────────────────────────────────────────────────────────────────────────────


def value_fits(case: Case) -> None:
    """Marked so is the same; else by the window. A measured part is never better than with_note."""
    wanted, marked = case.need.get("value"), case.have.get("value")
    if wanted is None:
        _named_only(case)
        return
    if wanted == marked and case.measured is None:
        return
    actual = marked if case.measured is None else case.measured
    if actual is None:
        case.unknown("value")
        return
    kind = case.requirement.kind
    window = _WINDOWS[kind](case.need)
    off = (actual - wanted) * WHOLE
    steps = 300 if window is _FILTER else 1000  # as far as double the value, or three tenths off
    case.far += min(300, abs(off) * steps // (wanted * WHOLE)) if wanted else 300
    inside = window.low * wanted <= off <= window.high * wanted
    offered = print_value(kind, actual) if 0 < actual <= MOST else "0" if not actual else "beyond measure"
    if case.measured is not None:
        grade, rule = _measured(inside)
        offered = f"{offered} measured, marked {case.offer.value_text or UNKNOWN}"
    elif not inside:
        grade, rule = "no", _OUTSIDE_FILTER if window is _FILTER else _how_far(off, wanted)
    elif not window.stated:
        grade, rule = "no" if case.safety else "ask", "near, but the requirement states no tolerance"
    elif window is _FILTER:
        grade, rule = _in_filter(abs(off) <= _FILTER_NEAR * wanted)
    else:
        grade, rule = _in_window(wanted, actual, window, spread(case.have))
    case.say("value", grade, rule, required=case.requirement.value_text, offered=offered)


def _named_only(case: Case) -> None:
    """A place that is known by a type number alone."""
    if "number" in case.need and case.requirement.value is None and not case.same_type:
        case.say("number", "ask", "the requirement states no value: compare the types", DATA_SHEET)


def _measured(inside: bool) -> tuple[str, str]:
    return (
        ("with_note", "measured inside the tolerance") if inside else ("no", "measured outside the tolerance")
    )


def _how_far(off: int, wanted: int) -> str:
    """ "9.3 % under, outside the tolerance", in whole per cent from ten on."""
    tenths = abs(off) * 1000 // (wanted * WHOLE) if wanted else 10_000
    percent = f"{tenths // 10}" if tenths >= 100 else f"{tenths // 10}.{tenths % 10}"
    side = "over" if off > 0 else "under"
    return f"{percent} % {side}, outside the tolerance" if 0 < tenths < 10_000 else "outside the tolerance"


def _in_filter(near: bool) -> tuple[str, str]:
    if near:
        return "drop_in", "near enough for a supply filter"
    return "with_note", "larger: strains the rectifier at switch-on, check it"


def _in_window(wanted: int, actual: int, window: Window, own: Window | None) -> tuple[str, str]:
    if own is not None:
        lowest, highest = actual * (WHOLE + own.low), actual * (WHOLE + own.high)
        if wanted * (WHOLE + window.low) <= lowest and highest <= wanted * (WHOLE + window.high):
            return "drop_in", "inside the tolerance at its worst"
    return "with_note", "inside the tolerance as marked: measure it in"


def tolerance_fits(case: Case) -> None:
    """Tighter serves, looser must be measured in; a part measured already is judged by its reading."""
    allowed, found = case.need.get("tolerance_percent"), case.have.get("tolerance_percent")
    if allowed is None or found == allowed or case.measured is not None or is_filter(case.need):
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


def _millionths(ppm: Decimal) -> int:
    return int(ppm * 1000)


def _percent(percent: Decimal) -> int:
    return int(percent * (WHOLE // 100))
