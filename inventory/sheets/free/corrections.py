"""What a person says otherwise of a list: what columns hold, how figures are written, what a row is."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from inventory.sheets.free.choices import LABELS
from inventory.sheets.free.headings import MEANINGS
from inventory.sheets.report import BadOption

MAX_CORRECTIONS = 5_000


@dataclass(frozen=True)
class Correction:
    """What a person says otherwise: of one row of a sheet, or of every row with this text in a column.

    `first_column` says which table is meant where several stand side by side.
    `text` is read in place of that cell; `spec` holds fields of the part.  Of a column `decimal` is its
    decimal sign and `unit` what its figures without a unit are in: of `choices.LABELS`.
    """

    sheet: str = ""
    row: int = 0
    first_column: str = ""
    column: str = ""
    typed: str | None = None
    text: str | None = None
    spec: Mapping[str, Any] = field(default_factory=dict)
    quantity: int | None = None
    place: str | None = None
    refs: str | None = None
    skip: bool = False
    decimal: str = ""
    unit: str = ""


class NothingToCorrect(BadOption):
    """Corrections of rows that are in no table of the list; `numbers` says which, from 0."""

    def __init__(self, absent: Mapping[int, str]) -> None:
        self.numbers = frozenset(absent)
        super().__init__("corrections", "; ".join(f"number {at}: {why}" for at, why in absent.items()))


def read_mapping(text: str) -> dict[str, str]:
    """`{"Wert": "value", "Nr": ""}`: heading -> meaning.  BadOption where it is none."""
    given = _json("mapping", text)
    if not isinstance(given, dict):
        raise BadOption("mapping", 'expected an object of headings and what they mean: {"Wert": "value"}')
    for heading, meaning in given.items():
        if meaning not in ("", None, *MEANINGS):
            known = ", ".join(MEANINGS)
            raise BadOption("mapping", f"{heading[:60]}: expected one of {known}, or blank to leave it out")
    return {heading: meaning or "" for heading, meaning in given.items()}


def read_corrections(text: str) -> list[Correction]:
    """A list of objects as `Correction` has them.  BadOption where it is none."""
    given = _json("corrections", text)
    if not isinstance(given, list) or len(given) > MAX_CORRECTIONS:
        raise BadOption("corrections", f"expected a list of at most {MAX_CORRECTIONS:,} corrections")
    return [_correction(at, each) for at, each in enumerate(given)]


_TYPES: Mapping[str, tuple[type, ...]] = {
    "sheet": (str,), "row": (int,), "first_column": (str,), "column": (str,), "typed": (str,), "text": (str,),
    "spec": (dict,), "quantity": (int,), "place": (str,), "refs": (str,), "skip": (bool,),
    "decimal": (str,), "unit": (str,),
}  # fmt: skip


def _correction(at: int, given: object) -> Correction:
    if not isinstance(given, dict):
        raise BadOption("corrections", f"number {at}: expected an object")
    for name, value in given.items():
        if name not in _TYPES:
            raise BadOption("corrections", f"number {at}: {str(name)[:40]} is none of {', '.join(_TYPES)}")
        if not isinstance(value, _TYPES[name]) or (isinstance(value, bool) and name != "skip"):
            raise BadOption("corrections", f"number {at}: {name} is not of the right type")
    if given.get("decimal", "") not in ("", ",", "."):
        raise BadOption("corrections", f"number {at}: decimal: expected a comma or a point")
    if given.get("unit", "") not in ("", *LABELS):
        raise BadOption("corrections", f"number {at}: unit: expected one of {', '.join(LABELS)}")
    if "text" in given and not given.get("column"):
        raise BadOption("corrections", f"number {at}: text: expected the column in place of whose cell it is")
    if (given.get("decimal") or given.get("unit")) and not given.get("column"):
        raise BadOption("corrections", f"number {at}: expected the column whose figures are meant")
    if "typed" in given and not given.get("column"):
        raise BadOption("corrections", f"number {at}: typed: expected the column in which it is typed")
    if not (given.get("row") or "typed" in given or given.get("decimal") or given.get("unit")):
        raise BadOption("corrections", f"number {at}: expected a row, or a column and the text typed in it")
    if given.get("quantity", 0) < 0 or given.get("quantity", 0) > 10**9:
        raise BadOption("corrections", f"number {at}: quantity: expected a whole number from 0")
    return Correction(**given)


def _json(name: str, text: str) -> object:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        raise BadOption(name, "this is not JSON") from None
