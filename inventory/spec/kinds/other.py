"""Whatever has no rules of its own."""

from inventory.spec.judging import Case, Rule, plainly, shape_of_many_legs
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Trait

TRAITS: dict[str, Trait] = {}


def _other_number(case: Case) -> None:
    wanted, found = case.need.get("number"), case.have.get("number")
    if wanted is None:
        return
    if found is None:
        case.unknown("number")
    elif plainly(wanted) != plainly(found):
        case.say("number", "no", "another thing")


def _other_figure(name: str) -> Rule:
    """Nobody knows whether more is better: a relay coil wants its own volts."""

    def rule(case: Case) -> None:
        wanted, found = case.need.get(name), case.have.get(name)
        if wanted is None or wanted == found:
            return
        if found is None:
            case.unknown(name)
        elif found < wanted:
            case.say(name, "no", "less than required")
        else:
            case.say(name, "ask", "another figure: what it means is not known")

    return rule


RULES: tuple[Rule, ...] = (
    _other_number,
    *map(_other_figure, ("volts", "watts", "amps", "speed_ns", "tolerance_percent")),
    shape_of_many_legs,
)

OTHER = Kind(
    name="other",
    traits=TRAITS,
    rules=RULES,
    words=("misc",),
)
