"""The traits of a Spec, read by the schema of its kind."""

from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Any

from inventory.refusals import Code
from inventory.spec.figures import short
from inventory.spec.kinds import KINDS
from inventory.spec.traits import Number, Numbers, Organisation


@lru_cache(maxsize=8192)
def typed_trait(kind: str, name: str, kept: Any) -> Any:
    """The kept form of a trait as the rules want it: Decimal, tuple, word or flag."""
    trait = KINDS[kind].traits[name]
    return trait.typed(kept) if isinstance(trait, Number | Numbers | Organisation) else kept


def read_traits(kind: str, given: object) -> tuple[dict[str, Any], list[tuple[tuple[str, ...], Code, str]]]:
    """(traits in kept form, problems as (path, code, detail)); names with null are left out."""
    if not isinstance(given, Mapping):
        return {}, [((), Code.UNREADABLE, f"expected an object of traits, found {short(given)}")]
    schema = KINDS[kind].traits
    kept: dict[str, Any] = {}
    problems: list[tuple[tuple[str, ...], Code, str]] = []
    for name, value in given.items():
        if name not in schema:
            detail = f"a {kind} has the traits {', '.join(sorted(schema))}"
            problems.append(((short(name).strip('"'),), Code.UNKNOWN, detail))
        elif value is not None:
            try:
                kept[name] = _read_text(kind, name, value) if type(value) is str else schema[name].read(value)
            except ValueError as refused:
                problems.append(((name,), Code.UNREADABLE, str(refused)))
    for low, high in KINDS[kind].ordered:
        if low in kept and high in kept and Decimal(kept[low]) > Decimal(kept[high]):
            problems.append(((low,), Code.CONTRADICTION, f"{low} is above {high}"))
    return dict(sorted(kept.items())), problems


@lru_cache(maxsize=8192)
def _read_text(kind: str, name: str, value: str) -> Any:
    """As the schema reads it; the same texts come by the thousand when a stock is loaded."""
    return KINDS[kind].traits[name].read(value)
