"""What inductors and transformers share: a winding is more than its figures."""

from inventory.spec.judging import LOOK, Case, plainly

_REWOUND = "rewound: measure every winding and its insulation before it sees power"
_MAINS_CARE = "; mains windings are for the licensed or competent, by local codes"


def same_number(case: Case) -> bool:
    wanted, found = case.need.get("number"), case.have.get("number")
    return wanted is not None and found is not None and plainly(wanted) == plainly(found)


def winding(case: Case) -> None:
    """Core, gap and winding are not in the figures: only the same part, or one wound again for it, is taken
    without a question."""
    wanted, found = case.need.get("number"), case.have.get("number")
    another = wanted is not None and (found is None or plainly(wanted) != plainly(found))
    not_quite = any(reason.grade in ("drop_in", "with_note") for reason in case.reasons)
    figures_stated = case.requirement.value is not None or "secondary_volts" in case.need
    if case.have.get("rewound") and not case.need.get("rewound") and (figures_stated or not another):
        care = _MAINS_CARE if case.requirement.kind == "transformer" else ""
        case.add_reason("rewound", "with_note", _REWOUND + care, required="as made", offered="rewound")
    elif another:
        case.add_reason("number", "ask", "a winding is replaced by the same part, or rewound", LOOK)
    elif not_quite:
        rule = "a winding is replaced by the same part, or rewound"
        required, offered = case.requirement.text, case.offer.text
        case.add_reason("winding", "ask", rule, required=required, offered=offered)
