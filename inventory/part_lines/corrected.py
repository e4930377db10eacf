"""A line of a part that was corrected: what the line before did not show was not taken back by that."""

from typing import Any

from inventory.part_lines.line import read_line
from inventory.spec import Spec, SpecError
from inventory.spec.spec import FIELDS, is_set


def with_unsaid(before: Spec, typed: Spec) -> Spec:
    """`typed`, with what is known of `before` and stands nowhere in its line.

    Another kind or type number is another part, of which nothing is known but what was typed.
    """
    if (before.kind, before.number) != (typed.kind, typed.number):
        return typed
    said = read_line(before.text, kind=before.kind).spec
    shown = {name for name in FIELDS if said is not None and is_set(getattr(said, name))}
    traits = set(said.traits) if said is not None else set()
    known: dict[str, Any] = {name: getattr(typed, name) for name in FIELDS}
    for name in FIELDS:
        if name != "traits" and name not in shown and not is_set(known[name]):
            known[name] = getattr(before, name)
    unsaid = {name: kept for name, kept in before.traits.items() if name not in traits}
    known["traits"] = {**unsaid, **typed.traits}
    try:
        return Spec(**known)
    except SpecError:  # what was kept is at odds with what was typed
        return typed
