"""Switches: what is said of them, and when one will do for another."""

from decimal import Decimal

from inventory.spec.judging import LOOK, Case, Rule, exact, not_less, shape_of_many_legs
from inventory.spec.kinds.hardware import another_number
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Number, Trait, Word

TRAITS: dict[str, Trait] = {
    "poles": Number("separate circuits", least=Decimal(1), most=Decimal(64), places=0),
    "throws": Number("positions", least=Decimal(1), most=Decimal(64), places=0),
    "action": Word("how it moves"),
}

_LEFT_FREE = "some contacts stay free: see that it fits the holes and the panel"


def _contacts(name: str) -> Rule:
    """Fewer never do; more may, with the rest left free (common practice, no source)."""
    fewer = not_less(name)

    def rule(case: Case) -> None:
        wanted, found = case.need.get(name), case.have.get(name)
        if wanted is None or found is None or found <= wanted:
            fewer(case)
        else:
            case.add_reason(name, "ask", _LEFT_FREE, LOOK)
            case.far += 20

    return rule


RULES: tuple[Rule, ...] = (
    _contacts("poles"),
    _contacts("throws"),
    exact("action", "moves another way", otherwise="ask"),
    not_less("volts"),
    not_less("amps"),
    another_number,
    shape_of_many_legs,
)

SWITCH = Kind(
    name="switch",
    noun="switch",
    traits=TRAITS,
    rules=RULES,
)
