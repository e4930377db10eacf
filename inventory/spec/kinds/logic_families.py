"""Logic families: which stands in for which, on what rails, and how much it drives.

Levels: SN7400 and SN74LS00 data sheet (SDLS025); of CMOS, and speeds, from memory.
"""

from decimal import Decimal

from inventory.spec.judging import DATA_SHEET, LOOK, Case, exact

_SPEED = {
    "cmos_4000": 0,
    "cmos_4000_ub": 0,
    "c": 0,
    "l": 1,
    "std": 3,
    "ls": 3,
    "hc": 3,
    "hct": 3,
    "h": 3,
    "als": 4,
    "ahc": 4,
    "ahct": 4,
    "s": 5,
    "f": 6,
    "ac": 6,
    "act": 6,
    "as": 7,
}
_CMOS_LEVELS = frozenset(("cmos_4000", "cmos_4000_ub", "c", "hc", "ahc", "ac"))
_CMOS_OUTPUTS = _CMOS_LEVELS | {"hct", "ahct", "act"}


_SINKS = {
    "std": 16, "ls": 8, "s": 20, "h": 20, "l": 2, "als": 8, "f": 20, "as": 20,
    "hc": 4, "hct": 4, "ahc": 8, "ahct": 8, "ac": 24, "act": 24, "c": 0.36,
    "cmos_4000": 0.44, "cmos_4000_ub": 0.44,
}  # fmt: skip
"""Milliamps that an output sinks at 5 V (from memory: data sheets); an LS input wants 0.4 of them."""
_OTHER_LEGS = frozenset(("l", "h"))
"""Families of which some numbers have other legs than the rest (from memory: 7451, 7454, 7473)."""


def family(case: Case) -> None:
    if not case.differs("family"):
        return
    wanted, found = case.need["family"], case.have["family"]
    case.far += 20
    use = case.need.get("use")
    if use in ("oscillator", "tuned"):
        case.add_reason("family", "no", "a gate used as an oscillator keeps its family")
    elif use in _TIMED:
        rule = "another family triggers at other levels and times otherwise: compare the constants"
        case.add_reason("family", "ask", rule, DATA_SHEET)
    elif wanted not in _SPEED or found not in _SPEED:
        case.add_reason("family", "ask", "compare levels, drive and speed", DATA_SHEET)
    elif wanted in _OTHER_LEGS or found in _OTHER_LEGS:
        case.add_reason(
            "family", "ask", "some numbers of this family have other legs: compare them", DATA_SHEET
        )
    elif found in _CMOS_LEVELS and wanted not in _CMOS_LEVELS:
        _cmos_for_ttl(case)
    elif found not in _CMOS_OUTPUTS and wanted in _CMOS_OUTPUTS:
        case.add_reason("family", "ask", "TTL outputs do not reach CMOS levels, and its inputs draw current")
    elif wanted in _UP_TO_15_V and found not in _UP_TO_15_V and "rails" not in case.need:
        rule = "made for 5 V, and the place may be above: measure its rail"
        case.add_reason("family", "ask", rule, LOOK)
    elif _SPEED[found] < _SPEED[wanted]:
        case.add_reason("family", "ask", "slower: check the timing")
    elif _SPEED[found] > _SPEED[wanted]:
        case.add_reason("family", "with_note", "faster edges: check decoupling and ringing")
    else:
        case.add_reason("family", "with_note", "same speed, other levels")


_TIMED = frozenset(("timing", "pulse", "rf"))
_UP_TO_15_V = frozenset(("cmos_4000", "cmos_4000_ub", "c"))
_SUPPLY = {  # family -> lowest and highest rail: 74-series and 4000-series data books (from memory)
    **dict.fromkeys(_UP_TO_15_V, (Decimal(3), Decimal(18))),
    **dict.fromkeys(("hc", "ac"), (Decimal(2), Decimal(6))),
    "ahc": (Decimal(2), Decimal("5.5")),
    **dict.fromkeys(("hct", "act", "ahct"), (Decimal("4.5"), Decimal("5.5"))),
    **dict.fromkeys(("std", "ls", "s", "h", "l", "als", "f", "as"), (Decimal("4.5"), Decimal("5.5"))),
}
"""5 V families are taken with some slack: a rail of 5 V is drawn, not measured."""


def rails(case: Case) -> None:
    """A family stands what it stands; of other chips the rails are stated."""
    rails = case.need.get("rails")
    limits = _SUPPLY.get(case.have.get("family", ""))
    if limits is None:
        _SAME_RAILS(case)
    elif rails is not None and rails != case.have.get("rails"):
        lowest, highest = limits
        if max(rails) > highest:
            case.add_reason(
                "rails", "no", "the rail of the place is above what the family withstands", offered=limits
            )
        elif 0 < max(rails) < lowest:
            case.add_reason(
                "rails", "no", "the rail of the place is below what the family needs", offered=limits
            )


_SAME_RAILS = exact("rails", "another set of supply volts")


_TTL_GIVES = "2.4 V (LS: 2.7 V)"


def _cmos_for_ttl(case: Case) -> None:
    """A TTL output is sure of less than the 3.5 V that a CMOS input wants on 5 V."""
    drivers = case.need.get("drivers")
    if drivers is None:
        rule = f"only if each driver is CMOS or pulled up: {_TTL_GIVES} is below 3.5 V; look what drives it"
        case.add_reason("family", "ask", rule, LOOK)
    elif drivers == "ttl":
        case.add_reason("family", "no", f"driven by TTL: {_TTL_GIVES} is below the 3.5 V wanted")
    else:
        case.add_reason("family", "with_note", "every driver is CMOS or pulled up; tie unused inputs")


_DRIVERS = frozenset(
    (
        "06", "07", "16", "17", "26", "33", "37", "38", "40", "125", "126", "128", "140", "240", "241", "244",
        "245", "365", "366", "367", "368", "373", "374", "540", "541", "573", "574",
    )
)  # fmt: skip
"""Logic functions whose outputs sink more than their family's (from memory: data sheets)."""


def fan_out(case: Case) -> None:
    """What the outputs must sink here, or that they sink less than those they stand in for."""
    wanted, found = case.need.get("family"), case.have.get("family")
    least, drive = case.need.get("load_ma"), _SINKS.get(found or "")
    if drive is None or wanted == found:
        return
    if case.need.get("function") in _DRIVERS:
        case.add_reason(
            "load_ma", "with_note", "its outputs drive more than their family's: compare what they sink"
        )
    elif least is not None:
        if drive < least:
            case.add_reason("load_ma", "no", "its outputs cannot sink the load here", offered=f"{drive} mA")
    elif wanted in _SINKS and drive < _SINKS[wanted]:
        rule = "sinks less: count the fan-out, 1.6 mA for each standard input and 0.4 mA for each LS one"
        required, offered = f"{_SINKS[wanted]} mA", f"{drive} mA"
        case.add_reason("load_ma", "with_note", rule, required=required, offered=offered)
