"""Type numbers of semiconductors, fuses and what else is known by a number: taken apart, and what they say.

Pure. `type_number` is the one normaliser that decoding and fits() share; `facts_of` says what a number tells;
`legs_of` says what its legs carry and how to hold it, for whoever draws it.
"""

from inventory.type_numbers.eastern import Eastern, eastern_type
from inventory.type_numbers.entries import entry_of, lists_the_group, pinout_of
from inventory.type_numbers.facts import Facts, facts_of, memory_of
from inventory.type_numbers.legs import Legs, held_of, legs_of
from inventory.type_numbers.normaliser import TypeNumber, type_number

__all__ = [
    "Eastern", "Facts", "Legs", "TypeNumber", "eastern_type",
    "entry_of", "facts_of", "held_of", "legs_of", "lists_the_group", "memory_of", "pinout_of", "type_number",
]  # fmt: skip
