"""Whatever has no rules of its own."""

from inventory.spec.judging import Case, Rule, plainly, shape_of_many_legs
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Trait

TRAITS: dict[str, Trait] = {}


def _other_number(case: Case) -> None:
    if not case.differs("number", vouched=False):
        return
    if plainly(case.need["number"]) != plainly(case.have["number"]):
        case.add_reason("number", "no", "another thing")


def _other_figure(name: str) -> Rule:
    """Nobody knows whether more is better: a relay coil wants its own volts."""

    def rule(case: Case) -> None:
        if not case.differs(name, vouched=False):
            return
        if case.have[name] < case.need[name]:
            case.add_reason(name, "no", "less than required")
        else:
            case.add_reason(name, "ask", "another figure: what it means is not known")

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
