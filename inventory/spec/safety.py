"""Which parts people rely on to fail safely: one definition, for whoever judges, accepts or promises."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from inventory.spec.spec import Spec

_MARKS = ("fusible", "flameproof")
_WORDS_FOR_NONE = frozenset(("none", "no", "ordinary"))


def is_safety_part(spec: Spec) -> bool:
    """Fuses and thermal cut-offs; what has a safety class (X, Y, fusible, flameproof) or the flags that say
    the same; thermistors that protect.

    Only its like replaces it: an unknown figure is a refusal, and nobody accepts another (practice of the
    trade; of capacitors IEC 60384-14).
    """
    facts = spec.known
    return (
        spec.kind == "fuse"
        or facts.get("safety_class", "none") not in _WORDS_FOR_NONE
        or any(facts.get(mark) is True for mark in _MARKS)
        or (spec.kind == "thermistor" and facts.get("use") == "protection")
    )
