"""What the type number adds to what was written down of a part, for a person to read."""

from collections.abc import Iterator

from inventory.spec.judging import shown
from inventory.spec.spec import Spec
from inventory.spec.wording import property_word, word_of

_ORDER = (
    "polarity", "device", "function", "material", "output_volts", "adjustable", "zener_volts", "volts",
    "amps", "watts", "gain_min", "gain_max", "ft_mhz", "speed_ns", "surge_amps", "input_max_volts",
    "dropout", "family", "gbw_mhz", "supply_min_volts", "supply_max_volts", "organisation",
    "pins", "rails", "half", "pin_order", "speed", "breaking",
)  # fmt: skip
_OWN_WORD = frozenset(("polarity", "device", "function", "material", "family"))
_PLAIN = frozenset(("volts", "amps", "watts", "zener_volts", "output_volts"))


def of_type(spec: Spec) -> dict[str, str]:
    """Property -> what the type says of it, with its unit; without what somebody wrote down."""
    added = {name: fact for name, fact in spec.known.items() if name not in spec.facts}
    return {name: shown(name, added[name], "") for name in _ORDER if name in added}


def of_type_text(spec: Spec) -> str:
    """On one line: "NPN, silicon, 45 V, 0.1 A, pin order C-B-E"; "" where the type says nothing."""
    return ", ".join(_pieces(of_type(spec)))


def _pieces(facts: dict[str, str]) -> Iterator[str]:
    for name, text in facts.items():
        if name == "gain_min" and "gain_max" in facts:
            yield f"gain {text} to {facts['gain_max']}"
        elif name == "gain_max" and "gain_min" in facts:
            continue
        elif name == "adjustable":
            yield "adjustable"
        elif name in _OWN_WORD:
            yield word_of(text)
        else:
            yield text if name in _PLAIN else f"{property_word(name)} {text}"
