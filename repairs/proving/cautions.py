"""Cautions at the step where they matter, and what the bench does not do at all.

They are reminders for whoever has the training.  Local codes and licensed practice come first.
"""

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal

from inventory.spec import Spec

DEFER = "Follow local codes; mains and high-voltage work is for licensed or competent people."


@dataclass(frozen=True)
class Caution:
    """What to mind at a step; a blocked one is not an advice: the step is refused."""

    step: str
    text: str
    blocked: bool = False


_DISCHARGE = (
    "Unplug first. Stored charge: discharge through a resistor, not a screwdriver, wait five time constants "
    "(0.7 % is left), then measure."
)
_BY_HAZARD: dict[str, Caution] = {
    "mains": Caution("mains", f"{_DISCHARGE} Class X and Y capacitors, fuses and insulation by "
                              "their class only."),
    "high_voltage": Caution("high_voltage", f"{_DISCHARGE} Use one hand; never work alone."),
    "stored_charge": Caution("stored_charge", _DISCHARGE),
    "crt": Caution("crt", "A picture tube holds tens of kilovolts for long and can implode: leave "
                          "it to the competent."),
    "lithium": Caution("lithium", "Do not solder to, charge or open a primary lithium cell; "
                                  "take it out first."),
    "nicd": Caution("nicd", "A leaked NiCd cell is alkaline: gloves and eyes, mild acid, rinse, dry."),
    "lead_acid": Caution("lead_acid", "Lead-acid cells vent hydrogen and short hard: no flame, "
                                      "no loose tools."),
    "mercury": Caution("mercury", "Mercury: do not open, heat or salvage; keep it whole for the "
                                  "collection point."),
    "asbestos": Caution("asbestos", "Asbestos pads: do not cut, file or lift; leave them wet and whole, "
                                    "or leave the board."),
    "selenium": Caution("selenium", "A selenium rectifier gives poisonous fume when it burns: do not "
                                    "heat or salvage it."),
    "laser": Caution("laser", "A laser blinds before one blinks: never run it open."),
    "hot": Caution("hot", "Heatsinks and valves stay hot: let them cool."),
    "microwave": Caution("microwave", "Microwave ovens kill: nothing is salvaged from one or "
                                      "repaired in one here.", True),
    "sealed_high_voltage": Caution("sealed_high_voltage", "Sealed high-voltage parts are not opened, tested "
                                                          "or salvaged here.", True),
    "pcb_oil": Caution("pcb_oil", "Oil capacitors of the PCB years are not opened, heated or "
                                  "salvaged here.", True),
    "beryllia": Caution("beryllia", "Beryllia ceramic must not be broken, filed or heated: it is "
                                    "not salvaged here.", True),
}  # fmt: skip

SOLDERING = Caution(
    "soldering",
    "Draw the fume away (rosin is an asthma sensitiser), wash hands after lead, "
    "shield the eyes when clipping.",
)
UNSOLDERING = Caution(
    "unsoldering", "Warm the whole part, lift it and let it cool by itself: never lever it off the board."
)
"""Common practice, no source."""
PULLING = Caution(
    "pulling",
    "Power off, and a hand on the board's ground. A chip leaves its socket by an extractor, or pulled evenly "
    "from both ends: never lever it.",
)
"""Common practice, no source."""
SOLVENTS = Caution("solvents", "Solvents: ventilate, no flame.")
FIRST_POWER = Caution(
    "first_power",
    "Current-limited supply, hand on the switch, eyes covered; power off before each chip goes in.",
)
REFORMING = Caution(
    "reforming",
    "Reform through 1 kΩ at the rated volts for 30 to 60 minutes, behind a cover; "
    "discharge and measure after.",
)
EVERY = (SOLDERING, UNSOLDERING, PULLING, SOLVENTS, FIRST_POWER, REFORMING, *_BY_HAZARD.values())
"""All of them, each once."""
SUMMARY = (
    "Old oil capacitors, mercury, asbestos pads, selenium and beryllia ceramic are not opened, crushed, "
    "filed or heated, and not salvaged. Good is never told from bad by colour alone."
)

TOUCHABLE_VOLTS = Decimal(50)
LARGE_FARADS = Decimal("0.001")


def of_hazards(hazards: Collection[str]) -> tuple[Caution, ...]:
    """The cautions of what a design says of itself, blocked ones first; a word that nobody knows is a caution
    too.
    """
    found = [
        _BY_HAZARD.get(
            word, Caution(word, f"{word.replace('_', ' ')}: find out what it asks before going on.")
        )
        for word in dict.fromkeys(hazards)
    ]
    return tuple(sorted(found, key=lambda caution: not caution.blocked))


def distinct_texts(cautions: Iterable[Caution]) -> list[str]:
    """Their texts, no sentence of one that another has said already, and whom to defer to."""
    seen: set[str] = set()
    texts = []
    for caution in cautions:
        fresh = [each for each in _SENTENCE.split(caution.text) if each not in seen]
        seen.update(fresh)
        if fresh:
            texts.append(" ".join(fresh))
    return [*texts, DEFER]


_SENTENCE = re.compile(r"(?<=\.) ")


def blocks(hazards: Collection[str]) -> tuple[Caution, ...]:
    """Those hazards for which the work is refused; empty where it may go on."""
    return tuple(caution for caution in of_hazards(hazards) if caution.blocked)


def of_part(spec: Spec) -> tuple[Caution, ...]:
    """What a part asks before it is lifted or tested."""
    words = f"{spec.number} {spec.package} {spec.dielectric} {spec.traits.get('material', '')}".lower()
    found = [
        _BY_HAZARD[word]
        for word in ("selenium", "mercury", "asbestos", "lithium", "beryllia")
        if word in words
    ]
    if "oil" in spec.dielectric.split("_"):
        found.append(_BY_HAZARD["pcb_oil"])
    if "nicd" in words:
        found.append(_BY_HAZARD["nicd"])
    if spec.kind == "capacitor" and spec.value is not None:
        large = spec.value >= int(LARGE_FARADS * 10**15)
        if large or (spec.volts is not None and spec.volts > TOUCHABLE_VOLTS and spec.value >= 10**9):
            found.append(_BY_HAZARD["stored_charge"])
    return tuple(found)


def lifting(hazards: Collection[str], specs: Collection[Spec] = ()) -> tuple[Caution, ...]:
    """Before pieces come off a board: of the board, of the pieces, how they come off, and of the iron.

    Blocked ones first.  Whether a chip is in a socket is not asked here: where one is among the pieces, both
    ways are said.
    """
    chips = (PULLING,) if any(spec.kind == "ic" for spec in specs) else ()
    of_parts = (caution for spec in specs for caution in of_part(spec))
    found = [*of_hazards(hazards), *of_parts, *chips, UNSOLDERING, SOLDERING]
    return tuple(sorted(dict.fromkeys(found), key=lambda caution: not caution.blocked))
