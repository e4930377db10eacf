"""What the other words of a line say, put to the part: each sets a property or says why not.  Pure."""

from typing import Any

from inventory.part_lines.figures import Offer
from inventory.part_lines.words import Claim, LineWord
from inventory.spec import TRAITS, Spec, SpecError
from inventory.spec.fields import FIGURES
from inventory.spec.spec import FIELDS
from inventory.spec.wording import property_word, word_of


def applied(
    claim: Claim, data: dict[str, Any], kind: str, line: str
) -> tuple[tuple[Spec, dict[str, Any]] | None, LineWord]:
    """The data with what the first offer says that this kind of part can have."""
    reason = ""
    for offer in claim.offers:
        facts = {name: value for name, value in offer.items() if name != "kind"}
        if offer.get("kind", kind) != kind:
            reason = reason or f"that is said of a {offer['kind']}"
            continue
        if not facts:
            return None, claim.word(line, property_name="kind", meaning=word_of(kind))
        unknown = [name for name in facts if name not in FIELDS and name not in TRAITS[kind]]
        if unknown:
            reason = reason or f"a {kind} has no {property_word(unknown[0])}"
            continue
        fields = {name: value for name, value in facts.items() if name in FIELDS}
        traits = {name: value for name, value in facts.items() if name not in FIELDS}
        changed = data | fields
        if traits:
            changed["traits"] = data.get("traits", {}) | traits
        try:
            spec = Spec.from_dict(changed)
        except SpecError as refused:
            reason = reason or refused.problems[0].detail
            continue
        if clash := _contradicted(data, fields, traits, spec):
            reason = reason or clash
            continue
        name = next(iter(facts))
        kept = {key: value for key, value in spec.to_dict().items() if value not in (None, "", {})}
        return (spec, kept), claim.word(line, property_name=name, meaning=_shown(spec, name))
    return None, claim.word(line, reason=reason)


def _contradicted(data: dict[str, Any], fields: Offer, traits: Offer, spec: Spec) -> str:
    """What speaks against it where the line has said something else of the same."""
    now = spec.to_dict()
    for name in fields:
        if name in data and data[name] != now[name]:
            return f"the line has said {property_word(name)} {data[name]} already"
    for name in traits:
        before = data.get("traits", {}).get(name)
        if before is not None and before != now["traits"][name]:
            return f"the line has said {property_word(name)} {before} already"
    return ""


def _shown(spec: Spec, name: str) -> str:
    """A property of the Spec as the page shows it beside the word."""
    kept = getattr(spec, name) if name in FIELDS else spec.traits[name]
    if isinstance(kept, bool):
        return f"{'' if kept else 'not '}{property_word(name)}"
    unit = FIGURES[name].unit if name in FIGURES else getattr(TRAITS[spec.kind].get(name), "unit", "")
    text = f"{kept:f}" if hasattr(kept, "as_tuple") else str(kept)
    return f"{word_of(text)} {unit}".strip()
