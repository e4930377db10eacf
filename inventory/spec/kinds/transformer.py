"""Transformers: what is said of them, and when one will do for another."""

from inventory.spec.judging import LOOK, Rule, exact, not_less
from inventory.spec.kinds.kind import Kind
from inventory.spec.kinds.winding import winding
from inventory.spec.traits import Flag, Number, Numbers, Trait, Word

TRAITS: dict[str, Trait] = {
    "device": Word("what it is made for", "mains audio output pulse line current if"),
    "primary_volts": Numbers("primary windings", "V"),
    "secondary_volts": Numbers("secondary windings", "V"),
    "va": Number("rating, VA"),
    "rewound": Flag("wound again to the figures of the one it replaces"),
}
RULES: tuple[Rule, ...] = (
    exact("device", "made for something else"),
    exact("primary_volts", "another primary"),
    exact("secondary_volts", "another secondary"),
    not_less("va"),
    not_less("volts"),
    not_less("watts"),
    not_less("amps"),
    exact("lead_style", "mounted another way", LOOK, otherwise="ask"),
    winding,
)

TRANSFORMER = Kind(
    name="transformer",
    noun="transformer",
    traits=TRAITS,
    rules=RULES,
    must_agree="secondary_volts",
    core=lambda _need: ("secondary_volts",),
)
