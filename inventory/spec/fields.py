"""Reading the fields of a Spec: each brought to its one form, everything wrong named at once."""

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Any, NamedTuple

from inventory.refusals import Code
from inventory.spec.figures import plain, read_figure, short
from inventory.spec.kinds import KINDS
from inventory.spec.quantities import (
    MAX_UNITS,
    NOTATIONS,
    UNITS,
    AmbiguousValue,
    UnreadableValue,
    parse_value,
    print_value,
)
from inventory.spec.read_traits import read_traits
from inventory.spec.traits import Flag, line, token
from inventory.type_numbers.fuse_marks import read_fuse


class FieldProblem(NamedTuple):
    """One thing wrong with a Spec: JSON pointer, code and what would be accepted.

    Codes: required, unknown, unreadable, ambiguous, not_of_kind, contradiction.
    """

    pointer: str
    code: Code
    detail: str


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

_SAME_WORD = {
    "aluminum": "aluminium",
    "electrolytic": "aluminium",
    "aluminium_electrolytic": "aluminium",
    "bipolar": "aluminium_bipolar",
    "non_polar": "aluminium_bipolar",
    "tant": "tantalum",
    "np0": "c0g",
    "npo": "c0g",
    "cog": "c0g",
    "silver_mica": "mica",
    "class_1": "class1",
    "class_2": "class2",
    "class_3": "class3",
    "mkt": "polyester",
    "mkp": "polypropylene",
    "mkc": "polycarbonate",
    "x1_y1": "x1y1",
    "x1_y2": "x1y2",
}
_CLASS_2_CODE = re.compile(r"[xyz][2-9][a-fprstuv]")


def read_fields(given: Mapping[str, Any]) -> tuple[dict[str, Any], list[FieldProblem]]:
    """The fields in kept form, only those that are set, and what is wrong with the others."""
    kind = given.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        code = Code.REQUIRED if kind in (None, "") else Code.UNKNOWN
        return {}, [FieldProblem("/kind", code, f"expected one of {', '.join(KINDS)}, found {short(kind)}")]
    kept: dict[str, Any] = {"kind": kind}
    problems: list[FieldProblem] = []
    if kind == "fuse" and isinstance(given.get("amps"), str):
        given = _with_fuse_facts(given, given["amps"], problems)
    for name, read in _READERS.items():
        entry = given.get(name)
        if entry is None or entry == "":
            continue
        try:
            kept[name] = read(entry)
        except ValueError as refused:
            problems.append(FieldProblem(f"/{name}", Code.UNREADABLE, str(refused)))
    units = given.get("value")
    if units is not None and units != "":
        try:
            kept["value"] = _checked_units(kind, units)
        except ValueError as refused:
            problems.append(
                FieldProblem("/value", Code.UNREADABLE if kind in UNITS else Code.NOT_OF_KIND, str(refused))
            )
    if traits := given.get("traits"):
        kept["traits"], wrong = read_traits(kind, traits)
        problems += [FieldProblem(pointer("traits", *name), code, detail) for name, code, detail in wrong]
    _bring_together(kept, problems)
    return kept, problems


def _with_fuse_facts(given: Mapping[str, Any], text: str, problems: list[FieldProblem]) -> Mapping[str, Any]:
    """A current that says more than amps: "1 A slow", "T1A250V"."""
    facts = dict(read_fuse(text))
    if len(facts) < 2:
        return given
    traits = given.get("traits") or {}
    if not isinstance(traits, Mapping):
        return given
    beside = {name: facts.pop(name) for name in ("speed", "breaking", "body") if name in facts}
    for name, word in beside.items():
        if traits.get(name) not in (None, "", word, str(word)):
            detail = f"{short(text)} says {word}, and the traits {short(traits[name])}"
            problems.append(FieldProblem(pointer("traits", name), Code.CONTRADICTION, detail))
    if "volts" in facts and given.get("volts") not in (None, ""):
        volts = facts.pop("volts")
        if _read_or_none("volts", given["volts"]) not in (None, volts):
            detail = f"{short(text)} says {plain(volts)} V, and the volts {short(given['volts'])}"
            problems.append(FieldProblem("/volts", Code.CONTRADICTION, detail))
    return {**given, **facts, "traits": {**beside, **traits}}


def _read_or_none(name: str, given: Any) -> Any:
    try:
        return _READERS[name](given)
    except ValueError:
        return None  # told where the fields are read


def _bring_together(kept: dict[str, Any], problems: list[FieldProblem]) -> None:
    """What two fields say between them."""
    kind, traits = kept["kind"], kept.get("traits", {})
    dielectric = kept.get("dielectric")
    if dielectric is not None and kind != "capacitor":
        problems.append(FieldProblem("/dielectric", Code.NOT_OF_KIND, f"a {kind} has no dielectric"))
    elif dielectric is not None and _CLASS_2_CODE.fullmatch(dielectric):  # X7R is a class and a code in one
        kept["dielectric"] = "class2"
        kept["traits"] = dict(sorted({"temperature_char": dielectric.upper(), **traits}.items()))
    for trait, flag in KINDS[kind].goes_without_saying.items():
        if trait in traits and traits.get(flag) is False:
            detail = f"what has a {trait} is {flag}, and {flag} says no"
            problems.append(FieldProblem(pointer("traits", flag), Code.CONTRADICTION, detail))
        elif trait in traits and flag in traits:
            kept["traits"] = traits = {name: fact for name, fact in traits.items() if name != flag}
    for trait, name in KINDS[kind].same_figure.items():
        if trait in traits and name in kept and Decimal(traits[trait]) != kept[name]:
            detail = f"{trait} and {name} mean the same and differ"
            problems.append(FieldProblem(pointer("traits", trait), Code.CONTRADICTION, detail))


def pointer(*names: object) -> str:
    """JSON pointer (RFC 6901) to a name that may be anything."""
    return "".join("/" + short(name).strip('"').replace("~", "~0").replace("/", "~1") for name in names)


# ── Readers ──────────────────────────────────────────────────────────────────────────────────────


def _cached(read: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """Texts and decimals repeat by the thousand when a stock is loaded."""
    remembered = lru_cache(maxsize=4096)(read)

    def reader(given: Any) -> Any:
        repeats = isinstance(given, str) or (isinstance(given, Decimal) and given.is_finite())
        return remembered(given) if repeats else read(given)

    return reader


def _line_reader(longest: int) -> Callable[[Any], str]:
    return lambda given: line(given, longest)


def _figure_reader(figure: _Figure) -> Callable[[Any], Decimal]:
    least, most = Decimal(0), Decimal(10) ** figure.digits - 1
    return lambda given: read_figure(
        given, figure.unit, least=least, most=most, places=figure.places, above_least=True
    )


def _one_word(given: object) -> str:
    word = token(given)
    return _SAME_WORD.get(word, word)


_READERS: dict[str, Callable[[Any], Any]] = {
    **{name: _cached(_line_reader(longest)) for name, longest in LINES.items()},
    **{name: _cached(_one_word) for name in TOKENS},
    **{name: _cached(_figure_reader(figure)) for name, figure in FIGURES.items()},
    "polarised": Flag("").read,
}


def _checked_units(kind: str, units: object) -> int:
    if kind not in UNITS:
        raise ValueError(f"a {kind} has no value; say it in the number or the traits")
    if not isinstance(units, int) or isinstance(units, bool):
        raise ValueError(f"expected a whole number of units, found {short(units)}")
    if not NOTATIONS[kind].least <= units <= MAX_UNITS:
        raise ValueError("outside what can be kept")
    return units


# ── The value as sent ────────────────────────────────────────────────────────────────────────────

_NEVER_MILLIFARADS = ("film", "c0g", "class1", "class2", "class3", "ceramic", "mica", "paper")


def read_value(kind: str, given: object, *, dielectric: object, value_text: object) -> int:
    """Units of a value sent as text in any notation, or as a number of Ω, F, H or Hz.

    A bare number that could mean two things is settled by the `value_text` sent with it, or refused.
    """
    if isinstance(given, bool) or not isinstance(given, str | int | float | Decimal):
        raise UnreadableValue("", f"expected text such as 4k7, found {short(given)}")
    text = given.strip() if isinstance(given, str) else _plain_number(given)
    settled = isinstance(value_text, str) and value_text.strip() != ""
    try:
        units = parse_value(kind, text)
        if kind == "capacitor" and not settled and dielectric in _NEVER_MILLIFARADS:
            _refuse_bare_millifarads(text, units)
    except AmbiguousValue as refused:
        if settled:
            units = parse_value(kind, str(value_text))
            if units in dict(refused.choices).values():
                return units
        raise
    return units


def _refuse_bare_millifarads(text: str, units: int) -> None:
    """A film capacitor written 0.01 is one of 0.01 µF."""
    if units >= 10**12 and text[-1].isdigit():
        choices = tuple((print_value("capacitor", each), each) for each in (units, units // 10**6))
        raise AmbiguousValue(text, choices)


def _plain_number(given: int | float | Decimal) -> str:
    try:
        return plain(read_figure(given, least=Decimal(0), most=Decimal(10) ** 19, places=15))
    except ValueError as refused:
        raise UnreadableValue("", str(refused)) from None
