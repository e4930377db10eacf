"""Capacitors: when one will do for another."""

import re
from decimal import Decimal
from functools import lru_cache

from inventory.spec.judging import (
    DATA_SHEET,
    Case,
    Rule,
    excess,
    not_less,
    not_more,
    shape_of_two_legs,
)
from inventory.spec.kinds import dielectrics
from inventory.spec.kinds.kind import Facts, Kind
from inventory.spec.notation import ValueNotation, powers, words
from inventory.spec.traits import TEMPERATURE, Flag, Number, Text, Trait, place_use
from inventory.spec.values import (
    BYPASS,
    FILTER,
    NEAR,
    UNSAID_USE,
    ValueWindow,
    is_bypass,
    is_filter,
    spread,
    tolerance_fits,
    value_fits,
)

TRAITS: dict[str, Trait] = {
    "tolerance_low_percent": Number("how far below the value", "%", most=Decimal(100), places=4),
    "tolerance_high_percent": Number("how far above the value", "%", most=Decimal(1000), places=4),
    "use": place_use("filter bypass coupling switching_output"),
    "temperature_char": Text("temperature code: X7R, N750", 12, capitals=True),
    "temp_max_c": TEMPERATURE,
    "rail_volts": Number("volts the place really carries", "V"),
    "ac_volts": Number("rated AC volts", "V"),
    "esr_ohm": Number("equivalent series resistance, highest", "Ω"),
    "esr_min_ohm": Number("equivalent series resistance, lowest that the place allows", "Ω"),
    "low_esr": Flag("low series resistance grade"),
    "ripple": Number("ripple current", "A"),
    "reversal": Flag("the place may see reversed volts"),
}


def _bare(whole: str, fraction: str) -> tuple[int, ...]:
    written_small = whole == "0"  # "0.0001", not ".0001": old print leaves the nought out
    leading_zeros = len(fraction) - len(fraction.lstrip("0"))
    if written_small and (leading_zeros >= 2 or (leading_zeros == 1 and fraction[1:2] in ("1", "2"))):
        return (0,)  # below 30 000 µF
    return (0, -6, -12) if whole.strip("0") else (0, -6)


NOTATION = ValueNotation(
    unit="F",
    quantity="farads",
    exponent=15,  # fF
    expected="a capacitance such as 100n, 0.1 µF, 4n7 or 22 pF",
    words=words("f fd farad farads", ":0")
    | words("f fd", "p:-12 n:-9 kp:-9 µ:-6 u:-6 mm:-12 uu:-12 µµ:-12")
    | words("farad farads", "micromicro:-12 pico:-12 nano:-9 micro:-6 milli:-3")
    | powers("ff:-15 p:-12 n:-9 u:-6 µ:-6 mfd:-6 mfds:-6")
    | powers("m:-3|-6 mf:-3|-6")  # milli today, micro on old parts
    | powers("M:-6|-12 k:-9|-12"),  # micro or thousand pF, or pF and the 20 % or 10 % letter
    points=powers("p:-12 n:-9 u:-6 µ:-6 m:-3 F:0"),
    old_points=powers("P:-12 N:-9 U:-6 M:-6 K:-9 R:-12|-6"),
    units=frozenset(("f",)),
    steps=(("F", 15), ("µ", 9), ("n", 6), ("p", 3)),
    bare=_bare,
    three_figure_power=-12,
)

# ── Values ───────────────────────────────────────────────────────────────────────────────────────


def _window(need: Facts) -> ValueWindow:
    if is_filter(need):
        return FILTER
    if is_bypass(need):
        return BYPASS
    unsaid = not {"use", "dielectric"} & need.keys() and need.get("value", 0) >= _LARGE
    return spread(need) or (UNSAID_USE if unsaid else NEAR)


_LARGE = 4_700_000_000  # fF: of 4.7 µF and more, seldom anything but an electrolytic (common practice)


def _variable(case: Case) -> None:
    """What is turned to its value is said so by its body; what is not said to be is a fixed one."""
    wanted, found = case.need.get("package"), case.have.get("package")
    if wanted != found and _is_turned(wanted or "") != _is_turned(found or ""):
        case.add_reason("package", "no", "fixed and variable capacitors do not stand in for each other")


@lru_cache(maxsize=1024)
def _is_turned(package: str) -> bool:
    return not {"trimmer", "variable"}.isdisjoint(package.lower().split())


# ── Ratings ──────────────────────────────────────────────────────────────────────────────────────


def _volts(case: Case) -> None:
    least, rated = case.need.get("volts") or case.need.get("rail_volts"), case.have.get("volts")
    if least is None:
        case.far += min(50, int(rated).bit_length()) if rated is not None else 0
    elif rated is None:
        case.unknown("volts")
    elif rated < least:
        case.add_reason("volts", "no", "not less than required", required=least)
    elif rated > least and case.need.get("volts") is not None:
        case.far += excess(rated, least, 200)
        if rated > 4 * least and case.have.get("dielectric") == "aluminium":
            case.add_reason(
                "volts", "with_note", "aluminium run far below its volts: larger, and its film may thin"
            )
        else:
            case.add_reason("volts", "drop_in", "more than required serves while it fits")


_CHANGES = "ABCDEFPRSTUV"  # third sign of the EIA class 2 code, the steadiest first
_COLDEST = {"X": -55, "Y": -30, "Z": 10}


def _temperature_code(case: Case) -> None:
    """Class 1 codes are kept; a class 2 code that holds over as wide a range serves (EIA class 2 table)."""
    wanted, found = case.need.get("temperature_char"), case.have.get("temperature_char")
    if wanted is None or wanted == found:
        return
    ours, dielectric = _class_2_code(wanted), case.have.get("dielectric", "")
    if ours and dielectrics.is_stable(dielectric):
        return
    if found is None:
        case.unknown("temperature_char")
        return
    theirs = _class_2_code(found)
    if ours and theirs and all(b <= a for a, b in zip(ours, theirs, strict=True)):
        case.add_reason("temperature_char", "drop_in", "holds as well over as wide a range")
    elif ours and theirs:
        case.add_reason("temperature_char", "ask", "holds less well: not where the value matters")
    else:
        case.add_reason("temperature_char", "no", "temperature-compensating types keep their code")


def _class_2_code(code: str) -> tuple[int, int, int] | None:
    """(coldest, minus hottest step, change): smaller is better in each."""
    code = code.upper()
    if len(code) != 3 or code[0] not in _COLDEST or code[1] not in "2456789" or code[2] not in _CHANGES:
        return None
    return _COLDEST[code[0]], -int(code[1]), _CHANGES.index(code[2])


def _series_resistance(case: Case) -> None:
    """A switching supply wants little series resistance, some regulators neither too much nor too little."""
    if case.need.get("low_esr", case.need.get("use") == "switching_output"):
        low = case.have.get("low_esr")
        if low is None and case.have.get("esr_ohm") is None:
            case.unknown("low_esr", required=True)
        elif low is False:
            case.add_reason("low_esr", "no", "a switching supply needs a low-resistance grade", required=True)
    least, found = case.need.get("esr_min_ohm"), case.have.get("esr_ohm")
    if least is not None:
        if found is None:
            case.unknown("esr_ohm", required=least)
        elif found < least:
            case.add_reason("esr_ohm", "no", "the regulator needs some series resistance", required=least)
    _ESR(case)


_ESR = not_more("esr_ohm")


def _ripple(case: Case) -> None:
    """The ripple current or, where nobody knows it, in a switching supply the size of the can."""
    if case.need.get("use") != "switching_output" or ("ripple" in case.need and "ripple" in case.have):
        _RIPPLE(case)
        return
    ours, theirs = (_can(facts.get("package", "")) for facts in (case.need, case.have))
    if ours is None or theirs is None:
        _RIPPLE(case)
    elif theirs < ours:
        rule = "a smaller can, and its ripple current is not known: it would run hotter"
        case.add_reason("package", "no", rule, DATA_SHEET)
    elif "ripple" in case.need:
        case.add_reason("ripple", "with_note", "the can is not smaller: feel whether it runs warm")


_RIPPLE = not_less("ripple", weight=50)
_CAN = re.compile(r"(\d+(?:\.\d+)?)\s*(?:mm)?\s*[x×]\s*(\d+(?:\.\d+)?)")


def _can(package: str) -> Decimal | None:
    """How much can there is: diameter squared by length of "10 x 16 mm"."""
    found = _CAN.search(package.lower())
    return Decimal(found[1]) ** 2 * Decimal(found[2]) if found else None


# ── Mains ────────────────────────────────────────────────────────────────────────────────────────

_SERVES = {  # offered -> classes it may stand for: Y2 as X2 published, the rest by class order (IEC 60384-14)
    "x1": {"x1", "x2", "x3"},
    "x2": {"x2", "x3"},
    "x3": {"x3"},
    "y1": {"y1", "y2", "y4", "x1", "x2", "x3"},
    "y2": {"y2", "y4", "x2", "x3"},
    "y3": {"y3"},
    "y4": {"y4"},
}


def _classes(mark: str | None) -> frozenset[str]:
    """`x1y2` -> x1 and y2; other marks stand for themselves."""
    if mark is None:
        return frozenset()
    parts = {mark[at : at + 2] for at in range(0, len(mark), 2)}
    return frozenset(parts) if parts <= _SERVES.keys() else frozenset((mark,))


def _mains_class(case: Case) -> None:
    wanted, found = _classes(case.need.get("safety_class")), _classes(case.have.get("safety_class"))
    if not wanted:
        case.far += 50 if found else 0
        return
    served = set(found).union(*(_SERVES.get(each, set()) for each in found))
    if not found:
        case.add_reason(
            "safety_class", "no", "never an ordinary capacitor across the mains", offered="ordinary"
        )
    elif not wanted <= served:
        case.add_reason("safety_class", "no", "a lower or another class: shock and fire")
    elif wanted != found:
        case.add_reason("safety_class", "drop_in", "a higher class serves")
        case.far += 30


RULES: tuple[Rule, ...] = (
    value_fits,
    tolerance_fits,
    _volts,
    _mains_class,
    dielectrics.dielectric,
    dielectrics.bias,
    dielectrics.polarity,
    _variable,
    _temperature_code,
    _series_resistance,
    _ripple,
    not_less("ac_volts", weight=50),
    not_less("temp_max_c", weight=50),
    shape_of_two_legs,
)

CAPACITOR = Kind(
    name="capacitor",
    noun="capacitor",
    traits=TRAITS,
    rules=RULES,
    words=("c", "cap", "condenser"),
    notation=NOTATION,
    window=_window,
    meter_percent=Decimal(2),
    ordered=(("esr_min_ohm", "esr_ohm"),),
)
