"""What words say, put to the part: the first that its kind can have sets a property.  Pure."""

from collections.abc import Iterable
from typing import Any, NamedTuple

from inventory.part_words.figures import Offer, offers_of
from inventory.part_words.kind_words import WEAK, named_by, plainly
from inventory.part_words.vocabulary import NATURES
from inventory.spec import TRAITS, Spec, SpecError
from inventory.spec.fields import FIGURES
from inventory.spec.spec import FIELDS
from inventory.spec.wording import property_word, word_of
from inventory.type_numbers import entry_of


class Applied(NamedTuple):
    """The part with what was said of it, its data, and the property that it was said of; `reason` why it
    could not be, and then nothing else.  A word that says only the kind makes no `spec`.
    """

    spec: Spec | None = None
    data: dict[str, Any] = {}
    name: str = ""
    meaning: str = ""
    reason: str = ""


def offers_in(text: str, *, alone: bool = False) -> tuple[Offer, ...]:
    """What a word, or several with single spaces between, may say of a part; () where it says nothing.

    `alone`: nothing else stands beside it.
    """
    word = plainly(text)
    named = named_by(text)
    if word in NATURES:
        offers: tuple[Offer, ...] = tuple(
            {"kind": named.kind, name: value}
            if named and word not in WEAK and _may_have(named.kind, name)
            else {name: value}
            for name, value in NATURES[word]
        )
        if word == "chip" and alone:
            return ({"kind": "ic"},)
        of_itself: Offer = {"kind": named.kind, **dict(named.facts)} if named is not None else {}
        return offers if not of_itself or of_itself in offers else (*offers, of_itself)
    if named is not None:
        return ({"kind": named.kind, **dict(named.facts)},)
    found = offers_of(text)
    return () if alone and text.isdigit() else tuple(found)  # 0805 alone may be all that stands on a part


def _may_have(kind: str, name: str) -> bool:
    return name in FIELDS or name in TRAITS[kind]


def is_of_coils(offers: Iterable[Offer]) -> bool:
    """Ohms that only a speaker or a coil has beside it: of every other part they are its value."""
    return any("ohms" in offer for offer in offers)


def is_of_crystals(offers: Iterable[Offer]) -> bool:
    """Picofarads that only a crystal has beside it: of every other part they are its value."""
    return any("load_pf" in offer for offer in offers)


def apply_offers(offers: Iterable[Offer], data: dict[str, Any], kind: str) -> Applied:
    """The data with what the first offer says that this kind of part can have."""
    reason, clash = "", ""
    for offer in offers:
        facts = {name: value for name, value in offer.items() if name != "kind"}
        if offer.get("kind", kind) != kind:
            reason = reason or f"that is said of a {offer['kind']}"
            continue
        if not facts:
            return Applied(name="kind", meaning=word_of(kind))
        unknown = [name for name in facts if not _may_have(kind, name)]
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
        if contradicted := _contradicted(data, fields, traits, spec):
            clash = clash or contradicted
            continue
        name = next(iter(facts))
        kept = {key: value for key, value in spec.to_dict().items() if value not in (None, "", {})}
        return Applied(spec, kept, name, _shown(spec, name))
    return Applied(reason=clash or reason)


_NARROWER = {"signal": ("schottky", "detector"), "rectifier": ("schottky", "fast_rectifier")}
"""What a diode may be more exactly, where nothing but the letters of its type said what it does (common
practice, no source): Pro Electron has no letter for a Schottky diode.
"""


def _contradicted(data: dict[str, Any], fields: Offer, traits: Offer, spec: Spec) -> str:
    """What speaks against it where the line has said something else of the same."""
    now = spec.to_dict()
    for name in fields:
        if name in data and data[name] != now[name]:
            return f"the line has said {property_word(name)} {data[name]} already"
    listed = (entry_of(spec.kind, spec.number) or {}).get("polarity")
    if listed and traits.get("polarity") not in (None, listed):
        return f"a {spec.number} is {word_of(listed)}"
    for name in traits:
        before = data.get("traits", {}).get(name)
        if traits[name] in _NARROWER.get(before, ()) and not entry_of(spec.kind, spec.number):
            continue
        if before is not None and before not in (traits[name], now["traits"].get(name, before)):
            return f"the line has said {property_word(name)} {before} already"
    return ""


def _shown(spec: Spec, name: str) -> str:
    """A property of the Spec as the page shows it beside the word."""
    kept = getattr(spec, name) if name in FIELDS else spec.traits.get(name, True)  # or it goes without saying
    if isinstance(kept, bool):
        return f"{'' if kept else 'not '}{property_word(name)}"
    unit = FIGURES[name].unit if name in FIGURES else getattr(TRAITS[spec.kind].get(name), "unit", "")
    text = f"{kept:f}" if hasattr(kept, "as_tuple") else str(kept)
    return f"{word_of(text)} {unit}".strip()
