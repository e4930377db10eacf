"""What is typed at a terminal: a Spec, `resistor 4k7 watts=0.25` or `transistor 2N3904`; a design; a file."""

import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from inventory import designs
from inventory.models import Design
from inventory.sheets.specs import kind_of
from inventory.spec import KINDS, UNITS, Spec, SpecError
from inventory.spec.spec import FIELDS

GRAMMAR = "a kind, then a value or a type number, then name=value: 'capacitor 100n volts=63 dielectric=film'"


def spec_of(words: Sequence[str]) -> Spec:
    """The Spec that the words say; one word may hold several.  CommandError says what is wrong.

    What is no property of every part is a trait: `use=timing`.
    """
    try:
        kind, *more = [each for word in words for each in shlex.split(word)] or [""]
    except ValueError as refused:
        raise CommandError(f"{' '.join(words)[:80]}: {refused}; expected {GRAMMAR}") from None
    kind = kind_of(kind)
    if kind not in KINDS:
        raise CommandError(f"{kind[:40] or 'nothing'} is not a kind of part: expected {GRAMMAR}")
    data: dict[str, Any] = {"kind": kind}
    traits: dict[str, str] = {}
    if bare := " ".join(word for word in more if "=" not in word):
        data["value" if kind in UNITS else "number"] = bare
    for word in more:
        name, sign, value = word.partition("=")
        if sign:
            (data if name in FIELDS else traits)[name] = value
    try:
        return Spec.from_dict({**data, **({"traits": traits} if traits else {})})
    except SpecError as refused:
        problems = "; ".join(
            f"{problem.pointer.rpartition('/')[2]}: {problem.detail}" for problem in refused.problems
        )
        raise CommandError(problems) from None


def read_file(path: Path, most: int = -1) -> bytes:
    """What is in a person's file, or its first bytes.  CommandError where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(most)
    except OSError as error:
        raise CommandError(f"{path}: {error.strerror or error}") from None


def design_named(text: str) -> Design:
    """The design of that number, or of that name and revision; CommandError tells which there are."""
    found = designs.named(text)
    if found is None:
        known = ", ".join(map(str, Design.objects.order_by("name", "revision")[:20]))
        raise CommandError(f"no design is named {text}; designs: {known or 'none'}")
    return found
