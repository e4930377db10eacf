"""Spec: what a part is, or what a place on a board requires, in one frozen value."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from decimal import Decimal
from functools import cached_property
from typing import Any, NamedTuple, Self

from inventory.spec.figures import plain, read_figure, short
from inventory.spec.known_types import said_by_number
from inventory.spec.quantities import (
    MOST,
    UNITS,
    AmbiguousValue,
    UnreadableValue,
    parse_value,
    plain_value,
    print_value,
)
from inventory.spec.traits import KINDS, SAME_FIGURE, Flag, line, read_traits, token, typed_trait
from inventory.spec.wording import one_line


class Problem(NamedTuple):
    """One thing wrong with a Spec: JSON pointer, code and what would be accepted.

    Codes: required, unknown, unreadable, ambiguous, not_of_kind, contradiction.
    """

    pointer: str
    code: str
    detail: str


class SpecError(ValueError):
    """The data is no Spec; `problems` names everything that is wrong with it."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("; ".join(f"{problem.pointer}: {problem.detail}" for problem in problems))
        self.problems = tuple(problems)


class _Figure(NamedTuple):
    unit: str
    digits: int
    places: int


FIGURES = {
    "tolerance_percent": _Figure("%", 5, 4),
    "volts": _Figure("V", 8, 4),
    "watts": _Figure("W", 8, 4),
    "amps": _Figure("A", 6, 9),
    "pitch_mm": _Figure("mm", 5, 4),
    "speed_ns": _Figure("ns", 8, 4),
}
"""Field -> unit, digits before and after the point that are kept."""
TOKENS = ("dielectric", "lead_style", "safety_class")
LINES = {"number": 64, "package": 64, "make": 64}
READ_ONLY = ("value_text", "spec_text")

_SAME_WORD = {
    "aluminum": "aluminium",
    "electrolytic": "aluminium",
    "aluminium_electrolytic": "aluminium",
    "bipolar": "aluminium_bipolar",
    "non_polar": "aluminium_bipolar",
    "np0": "c0g",
    "npo": "c0g",
    "cog": "c0g",
    "x1_y1": "x1y1",
    "x1_y2": "x1y2",
}


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
        problems = [*self._read_fields()]
        if problems:
            raise SpecError(problems)

    def _read_fields(self) -> list[Problem]:
        """Bring each field to its one form; what cannot be is a problem."""
        if self.kind not in KINDS:
            code = "unknown" if self.kind else "required"
            return [Problem("/kind", code, f"want one of {', '.join(KINDS)}, found {short(self.kind)}")]
        kept: dict[str, Any] = {}
        problems: list[Problem] = []

        def keep(name: str, read: Any, *args: Any) -> None:
            given = getattr(self, name)
            try:
                kept[name] = read(given, *args) if given is not None and given != "" else FIELDS[name]
            except ValueError as refused:
                problems.append(Problem(f"/{name}", "unreadable", str(refused)))

        for name, longest in LINES.items():
            keep(name, line, longest)
        for name in TOKENS:
            keep(name, _one_word)
        for name, figure in FIGURES.items():
            keep(name, _read_figure, figure)
        keep("polarised", _FLAG.read)
        keep("value", self._checked_value)
        kept["traits"], wrong = read_traits(self.kind, self.traits)
        problems += [
            Problem(_pointer("traits", name) if name else "/traits", code, detail)
            for name, code, detail in wrong
        ]
        if self.dielectric and self.kind != "capacitor":
            problems.append(Problem("/dielectric", "not_of_kind", f"a {self.kind} has no dielectric"))
        for trait, name in SAME_FIGURE.get(self.kind, {}).items():
            twice = trait in kept["traits"] and kept.get(name) is not None
            if twice and Decimal(kept["traits"][trait]) != kept[name]:
                detail = f"{trait} and {name} mean the same and differ"
                problems.append(Problem(f"/traits/{trait}", "contradiction", detail))
        kept["traits"] = _Traits(kept["traits"])
        for name, value in kept.items():
            object.__setattr__(self, name, value)
        return problems

    def _checked_value(self, units: object) -> int:
        if self.kind not in UNITS:
            raise ValueError(f"a {self.kind} has no value; say it in the number or the traits")
        if not isinstance(units, int) or isinstance(units, bool):
            raise ValueError(f"want a whole number of units, found {short(units)}")
        if not (0 if self.kind == "resistor" else 1) <= units <= MOST:
            raise ValueError(f"{units} units are out of range")
        return units

    @classmethod
    def from_dict(cls, data: object) -> Self:
        """Read the API's JSON fields; the value is text in any notation, or a number of Ω, F, H or Hz.

        What `to_dict` gives goes back in. Raises SpecError with every problem.
        """
        if not isinstance(data, Mapping):
            raise SpecError([Problem("", "unreadable", f"want an object, found {short(data)}")])
        problems = [
            Problem(_pointer(name), "unknown", f"a Spec has {', '.join(FIELDS)}")
            for name in data
            if name not in FIELDS and name not in READ_ONLY
        ]
        given = {name: value for name, value in data.items() if name in FIELDS and value is not None}
        kind = given.setdefault("kind", "")
        value = given.pop("value", None)
        if not isinstance(kind, str) or value in (None, ""):
            pass  # the constructor judges the kind
        elif kind in UNITS:
            try:
                given["value"] = _read_value(kind, value, data)
            except AmbiguousValue as refused:
                problems.append(Problem("/value", "ambiguous", str(refused)))
            except UnreadableValue as refused:
                problems.append(Problem("/value", "unreadable", str(refused)))
        elif kind in KINDS:
            problems.append(Problem("/value", "not_of_kind", f"a {kind} has no value"))
        try:
            spec = cls(**given)
        except SpecError as refused:
            raise SpecError([*problems, *refused.problems]) from None
        if problems:
            raise SpecError(problems)
        return spec

    def to_dict(self) -> dict[str, Any]:
        """The API's JSON: every field, figures as plain text, with `value_text` and `spec_text`."""
        data: dict[str, Any] = {name: getattr(self, name) for name in FIELDS}
        for name in FIGURES:
            if data[name] is not None:
                data[name] = plain(data[name])
        data["value"] = None if self.value is None else plain_value(self.kind, self.value)
        data["traits"] = dict(self.traits)
        return data | {"value_text": self.value_text, "spec_text": self.text}

    @cached_property
    def key(self) -> str:
        """Canonical JSON text of everything set: equal for equal Specs."""
        told = {name: value for name in FIELDS if (value := getattr(self, name)) not in ("", None, {})}
        return json.dumps(told, sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=plain)

    @cached_property
    def facts(self) -> Mapping[str, Any]:
        """Everything known by one name each, typed: fields and traits, `vceo` under `volts` and the like."""
        same = SAME_FIGURE.get(self.kind, {})
        facts = {name: typed_trait(self.kind, name, kept) for name, kept in self.traits.items()}
        facts = {same.get(name, name): fact for name, fact in facts.items()}
        for name in FIELDS:
            if name != "traits" and (value := getattr(self, name)) not in ("", None):
                facts[name] = value
        return facts

    @cached_property
    def known(self) -> Mapping[str, Any]:
        """The facts, and beneath them what the type number says by itself."""
        told = said_by_number(self.kind, self.number) if self.number else {}
        return {**told, **self.facts} if told else self.facts

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


FIELDS: dict[str, Any] = {f.name: {} if f.name == "traits" else f.default for f in fields(Spec)}
"""Field -> what it is when unset."""
_FLAG = Flag("")


def _one_word(given: object) -> str:
    word = token(given)
    return _SAME_WORD.get(word, word)


def _read_figure(given: object, figure: _Figure) -> Decimal:
    most = Decimal(10) ** figure.digits - 1
    return read_figure(
        given, figure.unit, least=Decimal(0), most=most, places=figure.places, above_least=True
    )


def _pointer(*names: object) -> str:
    """JSON pointer (RFC 6901) to a name that may be anything."""
    return "".join("/" + short(name).strip('"').replace("~", "~0").replace("/", "~1") for name in names)


_NEVER_SO_LARGE = ("film", "c0g", "class1", "class2", "class3", "ceramic", "mica", "paper", "polystyrene")


def _read_value(kind: str, given: object, data: Mapping[str, Any]) -> int:
    """Units of a value as sent. A bare number that could mean two things is settled by `value_text`."""
    if isinstance(given, bool) or not isinstance(given, str | int | float | Decimal):
        raise UnreadableValue("", f"want text such as 4k7, found {short(given)}")
    text = given if isinstance(given, str) else _plain_number(given)
    meant = data.get("value_text")
    try:
        units = parse_value(kind, text)
        bare_millifarads = (
            kind == "capacitor" and units >= 10**12 and text.strip()[-1:].isdigit() and not meant
        )
        if bare_millifarads and data.get("dielectric") in _NEVER_SO_LARGE:
            choices = ((print_value(kind, each), each) for each in (units, units // 10**6))
            raise AmbiguousValue(text.strip(), tuple(choices))
    except AmbiguousValue as refused:
        if isinstance(meant, str) and meant.strip():
            units = parse_value(kind, meant)
            if units in dict(refused.choices).values():
                return units
        raise
    return units


def _plain_number(given: int | float | Decimal) -> str:
    try:
        return plain(read_figure(given, least=Decimal(0), most=Decimal(10) ** 19, places=15))
    except ValueError as refused:
        raise UnreadableValue("", str(refused)) from None
