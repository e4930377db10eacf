"""A line of a part that was corrected: what the line before did not show was not taken back by that."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import fields
from typing import Any

from inventory.spec import Spec, SpecError
from inventory.spec.spec import FIELDS, is_set

_NOT_SAID = {each.name: each.default for each in fields(Spec)}


def with_unsaid(before: Spec, typed: Spec) -> Spec:
    """`typed`, with each fact of `before` that its line did not show, but for what contradicts it.

    Another kind or type number is another part, of which nothing is known but what was typed.
    """
    if (before.kind, before.number) != (typed.kind, typed.number):
        return typed
    kept, said = typed, dict(_facts(typed))
    for name, fact in _facts(before):
        if name not in said and not _is_shown(before, name):
            with suppress(SpecError):
                kept = _with(kept, name, fact)
    return kept


def _facts(spec: Spec) -> Iterator[tuple[str, Any]]:
    """What is known of it, by the name of its field or trait."""
    for name in FIELDS:
        if name not in ("kind", "number", "traits") and is_set(getattr(spec, name)):
            yield name, getattr(spec, name)
    yield from spec.traits.items()


def _is_shown(spec: Spec, name: str) -> bool:
    """Whether its line says this: without it, it reads otherwise."""
    try:
        return _with(spec, name, None).text != spec.text
    except SpecError:  # it cannot be without
        return True


def _with(spec: Spec, name: str, fact: Any) -> Spec:
    known: dict[str, Any] = {field: getattr(spec, field) for field in FIELDS}
    if name in known:
        return Spec(**{**known, name: _NOT_SAID[name] if fact is None else fact})
    traits = {trait: each for trait, each in spec.traits.items() if trait != name}
    return Spec(**{**known, "traits": traits if fact is None else {**traits, name: fact}})
