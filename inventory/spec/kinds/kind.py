"""What the bench knows of one kind of part, as one entry."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from inventory.spec.judging import Rule
from inventory.spec.notation import ValueNotation
from inventory.spec.traits import Number, Trait, Words
from inventory.spec.values import ValueWindow

Facts = Mapping[str, Any]

JUDGED = (
    "number value tolerance_percent volts watts amps dielectric package lead_style pitch_mm polarised"
    " speed_ns make technology temperature_char temp_max_c material colour plating tab lead_mm height_mm"
)
OF_EVERY_KIND: dict[str, Trait] = {
    "any": Words("properties that this place does not mind", JUDGED),
    "exact": Words("properties in which nothing else will do, however good", JUDGED),
    "lead_mm": Number("how thick the leads are; of a place, the thickest that its holes take", "mm"),
    "height_mm": Number("how far it stands off the board; of a place, the room there is", "mm"),
}


@dataclass(frozen=True, eq=False)
class Kind:
    """One kind: what it is called, what can be said of it, how its value is written, when one will do.

    `window` says how far a value may be off what `need` states; set where there is a `notation`.
    `same_figure`: trait -> the field that says the same; either may be given, not two different figures.
    `goes_without_saying`: trait -> the flag that goes with it: not kept beside it, and not denied.
    `must_agree` is the fact in which another is refused, so that it need not be looked at; `core` gives the
    facts that a requirement must state for another type number to be judged, None where it never is. `noun`
    is what it is called behind its figures, "" where that says nothing. `words` are what people write for it
    in a list, beside its name.
    """

    name: str
    traits: Mapping[str, Trait]
    rules: tuple[Rule, ...]
    noun: str = ""
    words: tuple[str, ...] = ()
    notation: ValueNotation | None = None
    window: Callable[[Facts], ValueWindow] | None = None
    meter_percent: Decimal = Decimal(1)
    """What a bench meter may be off (from memory: handbooks of hand-held meters)."""
    marked_short: Callable[[int, int], bool] = lambda _wanted, _marked: False
    """Whether one value is the other as a can has room for it: 3.58 MHz."""
    short_parts: int = 0  # billionths that such a mark may leave out
    same_figure: Mapping[str, str] = field(default_factory=dict)
    goes_without_saying: Mapping[str, str] = field(default_factory=dict)
    ordered: tuple[tuple[str, str], ...] = ()
    """Traits that bound a range from below and above."""
    by_type_number: frozenset[str] = frozenset()
    """What its type number tells who has the data sheet."""
    must_agree: str = ""
    core: Callable[[Facts], tuple[str, ...] | None] = lambda _need: None

    def __post_init__(self) -> None:
        object.__setattr__(self, "traits", {**self.traits, **OF_EVERY_KIND})
