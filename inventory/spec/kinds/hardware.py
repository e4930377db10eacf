"""What connectors, switches and lamps share."""

from inventory.spec.judging import Case, Rule, exact, plainly


def another_number(case: Case) -> None:
    wanted, found = case.need.get("number"), case.have.get("number")
    if wanted is not None and (found is None or plainly(wanted) != plainly(found)):
        case.add_reason("number", "ask", "another type: compare them side by side")


def same_or_ask(name: str, why: str) -> Rule:
    return exact(name, why, otherwise="ask", vouched=False)
