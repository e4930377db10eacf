"""Connectors: what is said of them, and when one will do for another."""

from decimal import Decimal

from inventory.spec.judging import Rule, exact, not_less, shape_of_many_legs
from inventory.spec.kinds.hardware import another_number
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Number, Trait, Word

TRAITS: dict[str, Trait] = {
    "ways": Number("contacts", least=Decimal(1), most=Decimal(2000), places=0),
    "rows": Number("rows of contacts", least=Decimal(1), most=Decimal(100), places=0),
    "plating": Word("contact surface", "gold tin silver nickel"),
    "gender": Word("plug or socket", "plug socket edge"),
}

RULES: tuple[Rule, ...] = (
    exact("ways", "another number of ways"),
    exact("rows", "another number of rows"),
    exact("gender", "plug for socket or the reverse"),
    exact("plating", "another plating: gold against tin frets", otherwise="with_note"),
    not_less("volts"),
    not_less("amps"),
    another_number,
    shape_of_many_legs,
)

CONNECTOR = Kind(
    name="connector",
    noun="connector",
    traits=TRAITS,
    rules=RULES,
    words=("plug", "header"),
    must_agree="ways",
)
