"""Lamps: what is said of them, and when one will do for another."""

from inventory.spec.judging import Rule, exact, shape_of_two_legs
from inventory.spec.kinds.hardware import another_number, same_or_ask
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Trait, Word

TRAITS: dict[str, Trait] = {
    "device": Word("what glows", "filament neon"),
    "base": Word("cap"),
    "colour": Word("light"),
}

RULES: tuple[Rule, ...] = (
    exact("device", "a neon needs its resistor and some 90 V, a filament its own volts"),
    same_or_ask("volts", "another voltage: dim, or burnt"),
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
