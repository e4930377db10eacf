"""Spec: what a part is, or what a place on a board requires, in one frozen value."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from decimal import Decimal
from functools import cached_property, lru_cache
from typing import Any, Self

from inventory.refusals import Code
from inventory.spec.fields import FIGURES, FieldProblem, pointer, read_fields, read_value
from inventory.spec.figures import plain, short
from inventory.spec.kinds import KINDS
from inventory.spec.quantities import UNITS, AmbiguousValue, UnreadableValue, plain_value, print_value
from inventory.spec.read_traits import typed_trait
from inventory.spec.wording import one_line
from inventory.type_numbers import facts_of

READ_ONLY = ("value_text", "spec_text", "of_type")
"""In answers, and taken back without effect, but for a `value_text` that settles an ambiguous value."""


class SpecError(ValueError):
    """The data is no Spec; `problems` names everything that is wrong with it."""

    def __init__(self, problems: list[FieldProblem]) -> None:
        super().__init__("; ".join(f"{problem.pointer}: {problem.detail}" for problem in problems))
        self.problems = tuple(problems)


class _Traits(dict[str, Any]):
    """Traits of a Spec: a dict to read and to write as JSON, not to change."""

    def _fixed(self, *_args: object, **_kwargs: object) -> Any:
        raise TypeError("the traits of a Spec do not change; make another Spec")

    __setitem__ = __delitem__ = __ior__ = clear = pop = popitem = setdefault = update = _fixed

    def __reduce__(self) -> tuple[type["_Traits"], tuple[dict[str, Any]]]:
        return _Traits, (dict(self),)


@dataclass(frozen=True, eq=False)
class Spec:
    """The electrical and mechanical description, shared by parts and requirements.

    `value` counts the kind's smallest unit (quantities.UNITS). Unset is "", None or {}; in a requirement that
    means any will do, in a part that it is not known. Raises SpecError for what no part can be.
    """

    kind: str
    number: str = ""
    value: int | None = None
    tolerance_percent: Decimal | None = None
    volts: Decimal | None = None
    watts: Decimal | None = None
    amps: Decimal | None = None
    dielectric: str = ""
    package: str = ""
    lead_style: str = ""
    pitch_mm: Decimal | None = None
    polarised: bool | None = None
    safety_class: str = ""
    speed_ns: Decimal | None = None
    make: str = ""
    traits: Mapping[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        kept, problems = read_fields(self.__dict__)
        if problems:
            raise SpecError(problems)
        kept["traits"] = _Traits(kept.get("traits", {}))
        self.__dict__.update(UNSET | kept)

    @classmethod
    def from_dict(cls, data: object) -> Self:
        """Read the API's JSON fields; the value is text in any notation, or a number of Ω, F, H or Hz.

        What `to_dict` gives goes back in. Raises SpecError with every problem.
        """
        if not isinstance(data, Mapping):
            raise SpecError([FieldProblem("", Code.UNREADABLE, f"expected an object, found {short(data)}")])
        problems = [
            FieldProblem(pointer(name), Code.UNKNOWN, f"a Spec has {', '.join(FIELDS)}")
            for name in data
            if name not in FIELDS and name not in READ_ONLY
        ]
        given = {name: data[name] for name in FIELDS if name in data}
        kind, value = given.setdefault("kind", ""), given.pop("value", None)
        if isinstance(kind, str) and kind in KINDS and value is not None and value != "":
            try:
                given["value"] = read_value(
                    kind, value, dielectric=data.get("dielectric"), value_text=data.get("value_text")
                )
            except AmbiguousValue as refused:
                problems.append(FieldProblem("/value", Code.AMBIGUOUS, str(refused)))
            except UnreadableValue as refused:
                code = Code.UNREADABLE if kind in UNITS else Code.NOT_OF_KIND
                problems.append(FieldProblem("/value", code, str(refused)))
        try:
            spec = cls(**given)
        except SpecError as refused:
            raise SpecError([*problems, *refused.problems]) from None
        if problems:
            raise SpecError(problems)
        return spec

    def to_dict(self) -> dict[str, Any]:
        """The API's JSON: every field, figures as plain text, with `value_text` and `spec_text`."""
        traits = {name: list(kept) if isinstance(kept, tuple) else kept for name, kept in self.traits.items()}
        return self._written | {"traits": traits}

    @cached_property
    def _written(self) -> dict[str, Any]:
        data: dict[str, Any] = {name: getattr(self, name) for name in FIELDS}
        for name in FIGURES:
            if data[name] is not None:
                data[name] = plain(data[name])
        data["value"] = None if self.value is None else plain_value(self.kind, self.value)
        return data | {"value_text": self.value_text, "spec_text": self.text}

    @cached_property
    def key(self) -> str:
        """Canonical JSON text of everything set: equal for equal Specs."""
        members = {name: value for name in FIELDS if is_set(value := self.__dict__[name])}
        return json.dumps(members, sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=plain)

    @cached_property
    def facts(self) -> Mapping[str, Any]:
        """Everything known by one name each, typed: fields and traits, `vceo` under `volts` and the like."""
        same = KINDS[self.kind].same_figure
        facts = {name: typed_trait(self.kind, name, kept) for name, kept in self.traits.items()}
        facts = {same.get(name, name): fact for name, fact in facts.items()}
        own = {name: value for name in FIELDS if name != "traits" and is_set(value := self.__dict__[name])}
        return facts | own

    @cached_property
    def known(self) -> Mapping[str, Any]:
        """The facts, and beneath them what the type number says by itself."""
        of_type = _facts_of_type(self.kind, self.number, self.package) if self.number else {}
        return {**of_type, **self.facts} if of_type else self.facts

    @cached_property
    def text(self) -> str:
        """The one-line reading: "100n 63 V film, radial"."""
        return one_line(self)

    @cached_property
    def value_text(self) -> str:
        return "" if self.value is None else print_value(self.kind, self.value)

    def __eq__(self, other: object) -> bool:
        return self.key == other.key if isinstance(other, Spec) else NotImplemented

    def __hash__(self) -> int:
        return hash(self.key)

    def __str__(self) -> str:
        return self.text


UNSET: dict[str, Any] = {f.name: {} if f.name == "traits" else f.default for f in fields(Spec)}
"""Field -> what it is when nothing is said."""
FIELDS = tuple(UNSET)


@lru_cache(maxsize=8192)
def _facts_of_type(kind: str, number: str, package: str) -> Mapping[str, Any]:
    """What the type number says of a part in this package, typed as the rules want it."""
    typed: dict[str, Any] = {}
    for name, fact in facts_of(kind, number, package).items():
        typed[name] = Decimal(fact) if name in FIGURES else typed_trait(kind, name, fact)
    return typed


def is_set(value: object) -> bool:
    return value is not None and value != "" and value != {}
