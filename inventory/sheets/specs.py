"""The columns of a Spec, in every kind of sheet: cells to Spec and back.  Pure: no Django."""

from decimal import Decimal
from typing import Any

from inventory.part_words.kind_words import named_by
from inventory.sheets.pairs import read_pairs, write_pairs
from inventory.sheets.table import Column, SheetRow, plain
from inventory.spec import KINDS, Spec, SpecError
from inventory.spec.kinds import KINDS as _KINDS

_DIELECTRICS = (
    "c0g", "class1", "class2", "class3", "film", "polystyrene", "mica", "paper",
    "aluminium", "aluminium_bipolar", "tantalum",
)  # fmt: skip
_LEAD_STYLES = ("axial", "radial", "dip", "single_row", "to_can", "to_flat", "smd")

SPEC_COLUMNS = (
    Column(
        "kind", "Kind", "Type, Part kind, Component, Component type, Part type, Category",
        "What the part is.",
        needed=True, choices=KINDS, example="resistor",
    ),
    Column(
        "number", "Number", "Type number, Type no, Part number, Part no, P/N, MPN, Device, Device number",
        "The type number, as text: 1N4148, 2716.",
        width=14,
    ),
    Column(
        "value", "Value", "Val, Nominal, Nominal value, Resistance, Capacitance, Inductance, Frequency",
        "Resistance, capacitance, inductance or frequency as the trade writes it: 4k7, 4.7 kΩ, 100n, "
        "0.1 µF, 10 µH, 4 MHz. What could mean two things is refused with the choices.",
        figure=True, width=10, example="4k7",
    ),
    Column(
        "tolerance_percent", "Tolerance", "Tol, Tolerance percent, Tolerance %, Precision",
        "In per cent: 5, 5% or ±5%.",
        figure=True, width=10, example="5%",
    ),
    Column(
        "volts", "Volts", "V, Voltage, Voltage rating, Rated voltage, Working voltage, Max voltage, WV",
        "Rated volts: 63, 63 V, 1.2 kV.",
        figure=True, width=8, example="250",
    ),
    Column(
        "watts", "Watts", "W, Power, Wattage, Power rating, Rated power",
        "Rated watts: 0.25, 1/4 W, 250 mW.",
        figure=True, width=8, example="1/4 W",
    ),
    Column(
        "amps", "Amps", "A, Current, Amperes, Amperage, Current rating, Rated current",
        "Rated amps: 3.15, 500 mA.",
        figure=True, width=8,
    ),
    Column(
        "dielectric", "Dielectric", "Dielectric type, Capacitor type, Cap type",
        "Of a capacitor: choose, or write another word.",
        choices=_DIELECTRICS, others=True, width=12,
    ),
    Column(
        "package", "Package", "Case, Body, Case style, Outline, Footprint, Housing",
        "Body, as text: TO-92, dip16, 0805.",
        width=12,
    ),
    Column(
        "lead_style", "Lead style", "Leads, Lead type, Legs, Mounting, Mounting style",
        "How it is mounted: choose, or write another word.",
        choices=_LEAD_STYLES, others=True, width=11, example="axial",
    ),
    Column(
        "pitch_mm", "Pitch mm", "Pitch, Lead pitch, Lead spacing, Spacing, Pin pitch",
        "Between the legs, in millimetres.",
        figure=True, width=9,
    ),
    Column(
        "polarised", "Polarised", "Polarized, Polar, Has polarity",
        "Whether it has a right way round: yes or no.",
        choices=("yes", "no"), width=10,
    ),
    Column(
        "safety_class", "Safety class", "Safety, X/Y class",
        "X1, X2, Y1, Y2, fusible and the like. A safety part is never replaced by an ordinary one.",
        width=12,
    ),
    Column(
        "speed_ns", "Speed ns", "Speed, Access time, Access time ns, Recovery, Recovery time",
        "Access or recovery time in nanoseconds.",
        figure=True, width=9,
    ),
    Column("make", "Make", "Maker, Manufacturer, Mfr, Mfg, Brand", "Whose part it is.", width=16),
    Column(
        "traits", "Traits", "Properties, Parameters, Attributes, Other properties",
        "What else is known, as name=value with ; between: polarity=npn; gain_min=40. Lists with "
        "spaces: rails=5 -5 12.",
        width=30,
    ),
)  # fmt: skip

_KEYS = tuple(column.key for column in SPEC_COLUMNS)

_KIND_WORDS = {plain(word): name for name, kind in _KINDS.items() for word in (name, *kind.words)}


class SpecReader:
    """Rows to Specs.  Rows that say the same share one Spec, so that each part of a sheet is read once."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, ...], Spec | list[tuple[str, str]]] = {}

    def read(self, row: SheetRow, base: Spec | None = None, *, blank_is_base: bool = False) -> Spec | None:
        """The Spec in a row's columns; None where something is bad.

        A column that the sheet lacks is as in `base`, where that is of the same kind; with `blank_is_base`
        a blank cell is too.
        """
        cells = tuple(row[key] for key in _KEYS)
        if base is not None and (not cells[0] or kind_of(cells[0]) == base.kind):
            cells = tuple(
                text if not row.has(key) or (blank_is_base and not cell) else cell
                for key, cell, text in zip(_KEYS, cells, spec_cells(base), strict=True)
            )
        spec = self._known.get(cells)
        if spec is None:
            spec = self._known[cells] = _spec_of(cells)
        if isinstance(spec, Spec):
            return spec
        for key, detail in spec:
            row.bad(key, detail)
        return None


def kind_of(text: str) -> str:
    """The kind that a word names, in the plural too; the text itself where it names none."""
    if (named := named_by(text)) is not None:
        return named.kind
    word = plain(text)
    return next(
        (
            _KIND_WORDS[each]
            for each in (word, word.removesuffix("s"), word.removesuffix("es"))
            if each in _KIND_WORDS
        ),
        text,
    )


def _spec_of(cells: tuple[str, ...]) -> Spec | list[tuple[str, str]]:
    """The Spec, or (column, what is wrong with it) for everything that is."""
    data: dict[str, Any] = {key: cell for key, cell in zip(_KEYS, cells, strict=True) if cell}
    named = named_by(data.get("kind", ""))
    data["kind"] = kind_of(data.get("kind", ""))
    if "tolerance_percent" in data:
        data["tolerance_percent"] = (
            data["tolerance_percent"].lstrip("±").removeprefix("+/-").removeprefix("+-").strip()
        )
    wrong: list[tuple[str, str]] = []
    try:
        if "traits" in data:
            data["traits"] = read_traits(data["traits"])
    except ValueError as refused:
        wrong.append(("traits", str(refused)))
        del data["traits"]
    if named is not None and named.facts:
        data["traits"] = {**dict(named.facts), **data.get("traits", {})}
    try:
        spec = Spec.from_dict(data)
    except SpecError as refused:
        wrong += [
            (
                (parts := problem.pointer.split("/"))[1],
                f"{parts[2]}: {problem.detail}" if parts[2:] else problem.detail,
            )
            for problem in refused.problems
        ]
    return wrong or spec


def read_traits(text: str) -> dict[str, Any]:
    """Traits as people write them, `polarity=npn; rails=5 -5 12`.  ValueError says what is wanted.

    >>> read_traits("Polarity = npn; gain min=40")
    {'polarity': 'npn', 'gain_min': '40'}
    """
    return {"_".join(name.lower().split()): value for name, value in read_pairs(text).items()}


def write_traits(spec: Spec) -> str:
    """The traits so that `read_traits` and the Spec give them back: lists with spaces, flags yes and no."""
    words = {True: "yes", False: "no"}
    texts = {
        name: " ".join(kept)
        if isinstance(kept, list | tuple)
        else words.get(kept, kept)
        if isinstance(kept, bool)
        else kept
        for name, kept in spec.traits.items()
    }
    return write_pairs(texts)


def spec_values(spec: Spec) -> list[str | Decimal | None]:
    """The cells of a Spec in the order of SPEC_COLUMNS: figures as numbers, the value as trade text."""
    values: dict[str, Any] = {key: getattr(spec, key) for key in _KEYS}
    values["value"] = spec.value_text
    values["polarised"] = {True: "yes", False: "no", None: ""}[spec.polarised]
    values["traits"] = write_traits(spec) if spec.traits else ""
    return list(values.values())


def spec_cells(spec: Spec) -> tuple[str, ...]:
    """The same as the text that reading them gives."""
    return tuple(as_text(value) for value in spec_values(spec))


def differing(one: Spec, other: Spec) -> list[str]:
    """The columns in which two Specs differ."""
    pairs = zip(_KEYS, spec_cells(one), spec_cells(other), strict=True)
    return [key for key, here, there in pairs if here != there]


def as_text(value: str | int | Decimal | None) -> str:
    """A cell's value as text: decimals plain, without exponent."""
    if value is None:
        return ""
    return f"{value:f}" if isinstance(value, Decimal) else str(value)
