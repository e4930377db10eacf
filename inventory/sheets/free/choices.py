"""What a figure without a unit may mean: `470` is ohms, picofarads or a printed code.  Pure."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from inventory.part_lines import PartLine
from inventory.part_lines.doubts import Doubt
from inventory.part_words.kind_words import plainly
from inventory.spec import Spec

MARKING = "marking"
UNITS: Mapping[str, tuple[str, str]] = {
    "ohm": ("resistor", " ohm"),
    "pF": ("capacitor", "pF"), "nF": ("capacitor", "nF"), "uF": ("capacitor", "µF"),
    "uH": ("inductor", "µH"), "mH": ("inductor", "mH"),
}  # fmt: skip
"""What a column of bare figures may be in: its kind of part, and the unit as it is written."""
LABELS: Mapping[str, str] = {name: unit for name, (_kind, unit) in UNITS.items()} | {
    "ohm": "ohms", MARKING: "codes as printed on the parts",
}  # fmt: skip
_IN_HEADINGS: Mapping[str, str] = {
    "ohm": "ohm", "ohms": "ohm", "ω": "ohm", "kohm": "kohm", "kohms": "kohm", "kω": "kohm", "mohm": "Mohm",
    "mω": "Mohm", "pf": "pF", "nf": "nF", "uf": "uF", "uh": "uH", "mh": "mH", "mhz": "MHz", "khz": "kHz",
}  # fmt: skip
"""How headings write a unit -> the unit.  A column of milliohms is not thought of."""
_UNIT_OF_HEADING = re.compile(r"[(\[/,]\s*(?:in\s+)?([^()\[\]/,]+?)\s*[)\]]?\s*$")
Read = Callable[[str], PartLine]
"""Reads a text as the row reads it, with what the rest of the row says of its kind."""


@dataclass(frozen=True)
class Choice:
    """One part that a row may mean, by `figure` in `unit`: of UNITS, MARKING, or blank where it says it."""

    spec: Spec
    unit: str
    figure: str

    @property
    def why(self) -> str:
        if self.unit == MARKING:
            return f"{self.figure} as the code printed on it"
        return f"{self.figure} {LABELS.get(self.unit, '')}".rstrip()


def unit_of_heading(heading: str) -> str:
    """The unit that a heading says; blank where it says none that is known.

    >>> unit_of_heading("Resistance (kohm)"), unit_of_heading("C / nF"), unit_of_heading("Wert [µF]")
    ('kohm', 'nF', 'uF')
    >>> unit_of_heading("Value (see note)"), unit_of_heading("Value")
    ('', '')
    """
    found = _UNIT_OF_HEADING.search(heading)
    said = plainly(found[1]).replace("\u03bc", "u") if found else ""
    return _IN_HEADINGS.get(said, "")


def in_unit(line: PartLine, unit: str, read: Read, *, typed: str) -> PartLine | None:
    """The line with its bare figure in this unit; None where the rest of it speaks against that.

    A figure that is not in `typed` had a sign between its thousands, and no such code is printed.
    """
    figure = line.unitless
    if figure is None:
        return None
    if unit == MARKING:
        if not _may_be_printed(figure.text, typed):
            return None
        doubt = Doubt(f"{figure.text}: taken for a code that is printed on it")
        return replace(line, ambiguous=False, unitless=None, doubts=(doubt, *line.doubts[1:]))
    kind, written = UNITS[unit]
    of_one_kind = {reading.spec.kind for reading in line.readings}
    if len(of_one_kind) == 1 and kind not in of_one_kind:
        return None  # it stands under a heading, as of capacitors
    found = read(f"{line.text[: figure.end]}{written}{line.text[figure.end :]}")
    if not found.readings or found.ambiguous or found.readings[0].spec.kind != kind:
        return None
    return found if len(found.unread) <= len(line.unread) else None


def choices_of(
    line: PartLine, read: Read, *, typed: str, as_spec: Callable[[PartLine], Spec | None]
) -> Iterator[Choice]:
    """Each part that the line may mean: by the units that such parts are listed in, then by its code."""
    if line.unitless is None:
        if (spec := as_spec(line)) is not None:
            yield Choice(spec, "", line.text)
        return
    figure = line.unitless.text
    seen: list[Spec] = []
    for unit, (kind, _written) in UNITS.items():
        if kind == "inductor" and seen:
            break  # bare microhenries are rare: only where it is known to be a coil
        found = in_unit(line, unit, read, typed=typed)
        if found and (spec := as_spec(found)) is not None and spec not in seen:
            seen.append(spec)
            yield Choice(spec, unit, figure)
    if not _may_be_printed(figure, typed):
        return
    first_of = {reading.spec.kind: reading for reading in reversed(line.readings)}
    for kind in (kind for kind in ("resistor", "capacitor") if kind in first_of):
        spec = as_spec(replace(line, readings=(first_of[kind],)))
        if spec is not None and spec not in seen:
            yield Choice(spec, MARKING, figure)


def _may_be_printed(figure: str, typed: str) -> bool:
    """Whether it looks like a code of three or four characters (IEC 60062), as it stands on the part."""
    return figure in typed and figure.isdigit() and len(figure) in (3, 4)
