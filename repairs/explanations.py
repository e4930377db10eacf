"""How plans are told to people: grades of fit, where pieces would come from, and the reasons."""

from decimal import Decimal

from inventory.spec import GRADES, UNKNOWN, Fit, Reason
from inventory.spec.wording import property_word, word_of
from repairs.planning import Tier

TIER_LABELS = {
    Tier.DRAWER: "in a drawer", Tier.DONOR: "on a donor", Tier.ON_ORDER: "on order", Tier.BORROW: "to borrow",
}  # fmt: skip
ON_ORDER = "what is on order"
CENT = Decimal("0.01")
GRADE_LABELS = dict(zip(GRADES, ("same", "drop-in", "with a note", "ask", "no"), strict=True))
SETTLED = {
    "look": "A closer look at the piece, or at the place it is for, decides.",
    "data_sheet": "Look it up in the data sheets: they decide.",
    "test": "Test it: a reading decides.",
}
_OF_THE_PIECE = ("condition", "hazards", "tier", "owner")
"""Not about the part: the rule says all."""


def grade(fit: Fit) -> str:
    """`same`, `drop-in`, `with a note`, `ask` or `no`."""
    return GRADE_LABELS[fit.grade]


def noted(fit: Fit) -> list[str]:
    """What to mind of a piece that does: every reason that is not plain sameness."""
    return [_note(reason) for reason in fit.reasons if reason.grade != "same"]


def objections(fit: Fit) -> list[str]:
    """Why a piece does not do, or not without asking: the reasons of the worst grade.

    What is merely not known of the piece comes last, in one line.
    """
    worst = [reason for reason in fit.reasons if reason.grade == fit.grade]
    asked = [reason for reason in worst if reason.grade == "ask" and reason.offered == UNKNOWN]
    texts = [_objection(reason) for reason in worst if reason not in asked]
    if asked:
        wanted = [f"{property_word(reason.property)} ({word_of(reason.required)} wanted)" for reason in asked]
        texts.append(f"not known of this one: {', '.join(wanted)}")
    return texts


def reasons(fit: Fit) -> list[str]:
    """What to mind of a piece that does; of one that does not, or not without asking, why not."""
    return objections(fit) if fit.grade in ("ask", "no") else noted(fit)


def question(fit: Fit, what: str) -> str:
    """The next step that would settle an `ask`: `test the legs of lot 12`."""
    properties = dict.fromkeys(each.property for each in fit.questions if each.property != "condition")
    words = ", ".join(map(property_word, properties))
    match fit.settled_by:
        case "test" if "pin_order" in properties:
            return f"test the legs of {what}"
        case "test" if properties.keys() & {"value", "tolerance_percent"}:
            return f"measure {what}"
        case "test":
            return f"test {what}" + (f": {words}" if words else "")
        case "data_sheet":
            return f"look {what} up in the data sheets: {words}"
    return f"look closely at {what}: {words}"


def settled(by: str) -> str:
    """What would settle an open question, as a sentence; nothing where nothing would."""
    return SETTLED.get(by, "")


def pieces(count: int) -> str:
    """`1 piece`, `3 pieces`."""
    return f"{count} piece{'' if count == 1 else 's'}"


def _note(reason: Reason) -> str:
    return f"{property_word(reason.property)}: {reason.rule}"


def _objection(reason: Reason) -> str:
    if reason.property in _OF_THE_PIECE:
        return reason.rule
    found = "not known of this one" if reason.offered == UNKNOWN else f"{word_of(reason.offered)} offered"
    return f"{property_word(reason.property)}: {word_of(reason.required)} wanted, {found} ({reason.rule})"


def money(amount: Decimal | None) -> str:
    """A price without idle noughts, with cents at least; empty where it is not known."""
    if amount is None:
        return ""
    return f"{amount.quantize(CENT) if amount == amount.quantize(CENT) else amount.normalize():f}"
