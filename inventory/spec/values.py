"""How far a value may be off: the window of a requirement, by kind, and the verdict on what lies in it."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from inventory.spec.figures import plain
from inventory.spec.judging import DATA_SHEET, TEST, UNKNOWN, Case
from inventory.spec.notation import MAX_UNITS

WHOLE = 10**9
"""Deviations are counted in billionths: fine enough for every percent and part per million that is kept."""

Facts = Mapping[str, Any]


class ValueWindow(NamedTuple):
    """Billionths below and above the value. Where it is not `stated`, what lies inside is only a question;
    what is off by no more than `near` needs no note, where the place cares little."""

    low: int
    high: int
    stated: bool = True
    near: int | None = None
    rough: str = ""
    """What is to be minded beyond `near`."""


# ── Windows ──────────────────────────────────────────────────────────────────────────────────────

NEAR = ValueWindow(-WHOLE // 10, WHOLE // 10, stated=False)  # a tenth: 50 k for 47 k, 5 n for 4n7
_FIFTH = WHOLE // 5
_LARGER = "larger: strains the rectifier at switch-on, check it"
FILTER = ValueWindow(-_FIFTH, WHOLE, near=_FIFTH, rough=_LARGER)  # practice of the trade: −20 % to +100 %
BYPASS = ValueWindow(-_FIFTH, WHOLE, near=_FIFTH, rough="larger: bypasses as well, while it fits")
UNSAID_USE = ValueWindow(
    -_FIFTH, WHOLE, stated=False, rough="storing charge takes up to double: see what it does here"
)
_OUTSIDE_ROUGH = "this use takes −20 % to +100 %, or the next step of the E3 series"
NEXT_STEP = WHOLE * 12 // 10  # from 1.0 to 2.2 is the widest step of the E3 series (IEC 60063)


def is_next_step(wanted: int, marked: int) -> bool:
    """Whether a marked value is the next of the E3 series (1, 2.2, 4.7) above the wanted one.

    >>> is_next_step(470, 1000), is_next_step(470, 2200), is_next_step(100, 220)
    (True, False, True)
    """
    figures = str(marked).rstrip("0")
    below = _STEP_BELOW.get(figures)
    return below is not None and marked // int(figures) * below <= wanted * 100 < marked * 100


_STEP_BELOW = {"1": 47, "22": 1000, "47": 2200}
"""Figures of a step -> hundredths of its last figure in the step below."""


def spread(facts: Facts) -> ValueWindow | None:
    """The tolerance, each side as stated; None where it is not."""
    ppm = facts.get("ppm")
    if ppm is not None:
        return ValueWindow(-_millionths(ppm), _millionths(ppm))
    both = facts.get("tolerance_percent")
    low, high = facts.get("tolerance_low_percent", both), facts.get("tolerance_high_percent", both)
    return None if low is None or high is None else ValueWindow(-_percent(low), _percent(high))


def is_filter(need: Facts) -> bool:
    """Aluminium stores charge unless the place says that it does something else."""
    use = need.get("use")
    return use == "filter" or (use is None and need.get("dielectric") in ("aluminium", "aluminium_polymer"))


def is_bypass(need: Facts) -> bool:
    return need.get("use") == "bypass"


# ── Verdicts ─────────────────────────────────────────────────────────────────────────────────────


def value_fits(case: Case) -> None:
    """Marked so is the same; else by the window. A measured part is never better than its mark."""
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
    notation, window_of = case.kind.notation, case.kind.window
    assert notation is not None
    assert window_of is not None  # what has a value has both
    window = window_of(case.need)
    off = (actual - wanted) * WHOLE
    steps = 300 if window.near is not None else 1000  # as far as double the value, or three tenths off
    case.far += min(300, abs(off) * steps // (wanted * WHOLE)) if wanted else 300
    inside = window.low * wanted <= off <= window.high * wanted
    offered = notation.text(actual) if 0 < actual <= MAX_UNITS else "0" if not actual else "beyond measure"
    settler = ""
    if case.measured is not None:
        grade, rule, settler = _measured(case, wanted, window)
        if grade == "with_note" and wanted == marked and _as_marked(case):
            return
        offered = f"{offered} measured, marked {case.offer.value_text or UNKNOWN}"
    elif not inside and case.kind.marked_short(wanted, actual):
        grade, rule, settler = "ask", "may be the same, marked short: count it in its circuit", TEST
    elif window.near is not None and is_next_step(wanted, actual):
        grade, rule = "with_note", window.rough
    elif not inside:
        grade, rule = "no", _OUTSIDE_ROUGH if window.near is not None else _how_far(off, wanted)
    elif not window.stated:
        rule = window.rough or "near, but the requirement states no tolerance"
        grade = "no" if case.safety else "ask"
    elif window.near is not None:
        near = abs(off) <= window.near * wanted
        grade, rule = ("drop_in", "near enough for this use") if near else ("with_note", window.rough)
    else:
        grade, rule = _in_window(wanted, actual, window, spread(case.have))
    case.add_reason("value", grade, rule, settler, required=case.requirement.value_text, offered=offered)


def _named_only(case: Case) -> None:
    """A place that is known by a type number alone."""
    if "number" in case.need and case.requirement.value is None and not case.same_type:
        case.add_reason("number", "ask", "the requirement states no value: compare the types", DATA_SHEET)


def _measured(case: Case, wanted: int, window: ValueWindow) -> tuple[str, str, str]:
    """The reading against the requirement; at its very edge the meter decides, not the part."""
    reading = case.measured
    assert reading is not None
    low, high = wanted * (WHOLE + window.low), wanted * (WHOLE + window.high)
    doubt = 0 if window.near is not None else reading * _percent(case.meter_percent)
    if reading * WHOLE + doubt < low or reading * WHOLE - doubt > high:
        return "no", "measured outside the tolerance", ""
    if reading * WHOLE - doubt < low or reading * WHOLE + doubt > high:
        return "ask", "nearer to the edge of the tolerance than the meter can tell", TEST
    falls, rises = (0, 0) if window.near is not None else _drift(case.have)
    if (reading * WHOLE - doubt) * (100 - falls) < low * 100 or (reading * WHOLE + doubt) * (
        100 + rises
    ) > high * 100:
        return "ask", "inside the tolerance still, but its sort drifts on towards that edge", ""
    marked = case.have.get("value")
    if case.have.get("dielectric") in _LEAKS and marked and reading * 2 > marked * 3:
        return "ask", "reads far above its mark: leakage reads as capacitance, so take the leakage", TEST
    return "with_note", "measured inside the tolerance" + _GOES_ON * any(_drift(case.have)), ""


_LEAKS = frozenset(("aluminium", "aluminium_bipolar", "paper"))
_DRIFTS = {
    "carbon_composition": (0, 2),
    "aluminium": (5, 0),
    "aluminium_bipolar": (5, 0),
    "paper": (0, 5),
}
"""What ages -> per cent that it may yet fall or rise from its reading (common practice, no source): old
composition rises, electrolytics dry out, paper takes up damp."""
_GOES_ON = "; its sort drifts on with age"


def _drift(have: Facts) -> tuple[int, int]:
    return _DRIFTS.get(have.get("technology", "")) or _DRIFTS.get(have.get("dielectric", "")) or (0, 0)


def _as_marked(case: Case) -> bool:
    """Whether the mark alone would do: the reading agrees with it, so that it takes nothing from the part."""
    allowed, found = _stated(case.need), _stated(case.have)
    inside = (
        found is not None and allowed is not None and found.low >= allowed.low and found.high <= allowed.high
    )
    return (allowed is None or inside) and not any(_drift(case.have))


def _how_far(off: int, wanted: int) -> str:
    """ "9.3 % under, outside the tolerance", in whole per cent from ten on."""
    tenths = abs(off) * 1000 // (wanted * WHOLE) if wanted else 10_000
    percent = f"{tenths // 10}" if tenths >= 100 else f"{tenths // 10}.{tenths % 10}"
    side = "over" if off > 0 else "under"
    return f"{percent} % {side}, outside the tolerance" if 0 < tenths < 10_000 else "outside the tolerance"


def _in_window(wanted: int, actual: int, window: ValueWindow, own: ValueWindow | None) -> tuple[str, str]:
    if own is not None:
        lowest, highest = actual * (WHOLE + own.low), actual * (WHOLE + own.high)
        if wanted * (WHOLE + window.low) <= lowest and highest <= wanted * (WHOLE + window.high):
            return "drop_in", "inside the tolerance at its worst"
    return "with_note", "inside the tolerance as marked: measure it in"


def tolerance_fits(case: Case) -> None:
    """Tighter serves, looser only when this very piece was measured: then it is judged by its reading."""
    need, have = case.need, case.have
    allowed = _stated(need)
    if allowed is None or case.measured is not None or is_filter(need):
        return
    name = "tolerance_percent" if "tolerance_percent" in need else "tolerance_low_percent"
    found = _stated(have)
    across_the_line = case.safety and str(need.get("safety_class", "")) in _ACROSS_THE_LINE
    if found == allowed or (found is None and "tolerance_percent" not in need):
        return
    if found is not None and found.low >= allowed.low and found.high <= allowed.high:
        case.add_reason(name, "drop_in", "tighter serves", offered=_shown(found))
        case.far += min(30, allowed.high // found.high) if found.high else 30
    elif across_the_line:
        case.add_reason(name, "with_note", "the class is kept, and across the line the value matters little")
    elif found is None:
        case.unknown(name)
    elif is_bypass(need):
        case.add_reason(name, "with_note", "looser: a bypass cares little", offered=_shown(found))
    else:
        grade, rule = ("no", "looser than the safety part it stands for") if case.safety else ("ask", _LOOSER)
        case.add_reason(name, grade, rule, TEST, offered=_shown(found))
        case.far += 10


_LOOSER = "looser: measure this very piece, then its reading decides"
_ACROSS_THE_LINE = frozenset(("x1", "x2", "x3"))


def _stated(facts: Facts) -> ValueWindow | None:
    """The tolerance without the ppm of a crystal, which has a rule of its own."""
    return spread({name: facts[name] for name in _TOLERANCES if name in facts})


_TOLERANCES = ("tolerance_percent", "tolerance_low_percent", "tolerance_high_percent")


def _shown(window: ValueWindow) -> str:
    low, high = (plain(Decimal(abs(side)) / (WHOLE // 100)) for side in (window.low, window.high))
    return f"{high} %" if low == high else f"-{low} +{high} %"


def _millionths(ppm: Decimal) -> int:
    return int(ppm * 1000)


def _percent(percent: Decimal) -> int:
    return int(percent * (WHOLE // 100))
