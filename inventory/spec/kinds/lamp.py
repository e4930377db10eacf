"""Lamps: what is said of them, and when one will do for another."""

from decimal import Decimal

from inventory.spec.judging import Case, Rule, exact, shape_of_two_legs
from inventory.spec.kinds.hardware import another_number, same_or_ask
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Trait, Word

TRAITS: dict[str, Trait] = {
    "device": Word("what glows", "filament neon"),
    "base": Word("cap"),
    "colour": Word("light"),
}

_NEAR = Decimal("0.1")
"""6 V for 6.3 V: as much as the mains themselves vary (common practice, no source)."""


def _volts(case: Case) -> None:
    """A lamp made for more volts is dim, one for fewer burns out."""
    wanted, found = case.need.get("volts"), case.have.get("volts")
    if wanted and found and abs(found - wanted) > _NEAR * wanted:
        case.add_reason("volts", "no", "made for other volts: dim, or burnt")
    else:
        same_or_ask("volts", "another voltage: dim, or burnt")(case)


RULES: tuple[Rule, ...] = (
    exact("device", "a neon needs its resistor and some 90 V, a filament its own volts"),
    _volts,
    same_or_ask("amps", "another current: lamps in series share by it"),
    same_or_ask("watts", "another power: heat, or dim"),
    exact("base", "another cap"),
    same_or_ask("colour", "another colour"),
    another_number,
    shape_of_two_legs,
)

LAMP = Kind(
    name="lamp",
    noun="lamp",
    traits=TRAITS,
    rules=RULES,
    words=("bulb",),
)
