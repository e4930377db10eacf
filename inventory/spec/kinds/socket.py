"""Sockets: what is said of them, and when one will do for another."""

from decimal import Decimal

from inventory.spec.judging import Rule, exact, shape_of_many_legs
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Number, Trait, Word

TRAITS: dict[str, Trait] = {
    "ways": Number("contacts", least=Decimal(1), most=Decimal(2000), places=0),
    "plating": Word("contact surface", "gold tin silver nickel"),
    "contact": Word("how it grips", "turned dual_leaf single_leaf lever"),
}

RULES: tuple[Rule, ...] = (
    exact("ways", "another number of ways"),
    exact("plating", "another plating: gold against tin frets", otherwise="with_note"),
    exact("contact", "another contact: check the grip", otherwise="with_note"),
    shape_of_many_legs,
)

SOCKET = Kind(
    name="socket",
    noun="socket",
    traits=TRAITS,
    rules=RULES,
    must_agree="ways",
    core=lambda _need: (),
)
