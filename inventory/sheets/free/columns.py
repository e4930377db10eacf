"""What holds for the figures of a whole column, and what must be asked of it.  Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from inventory.part_lines import read_line
from inventory.part_lines.cores import BARE
from inventory.part_words.conventions import Convention, by, convention_of, without_spaces
from inventory.sheets.free.choices import LABELS, Choice, unit_of_heading
from inventory.sheets.free.corrections import Correction
from inventory.sheets.free.headings import plain_heading
from inventory.sheets.free.tables import FreeTable

MAIN = ("text", "value", "number")
"""What says which part it is."""
FIGURES = (*MAIN, "quantity", "price", "volts", "watts", "amps", "tolerance_percent", "pitch_mm")


@dataclass(frozen=True)
class ColumnQuestion:
    """A column of which it must be said how its figures are meant: by their decimal sign or by their unit.

    `choices`: (decimal sign, what the example is then), or (name of a unit, likewise).
    """

    sheet: str
    column: str
    asks: str
    example: str
    choices: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Columns:
    """Of each column by its heading how figures are written, and in which unit those without one are.

    Of several units of a column the first that a row can have is meant: ohms, and picofarads where it is said
    to be a capacitor.  `resistors`: columns of values that are all of resistors; `headed`: the unit
    that a heading says.
    """

    conventions: Mapping[str, Convention]
    units: Mapping[str, Sequence[str]]
    resistors: frozenset[str]
    headed: Mapping[str, str]

    def figure(self, heading: str, cell: str) -> str:
        """The cell by what holds for its column: without thousands, and with the unit of its heading."""
        text = by(self.conventions.get(heading, Convention()), cell)
        return f"{text} {self.headed[heading]}" if heading in self.headed and BARE.fullmatch(text) else text

    @property
    def decided(self) -> dict[str, str]:
        """Heading -> how its figures are taken, in words."""
        decisions = {
            heading: [f"decimal {'comma' if c.decimal == ',' else 'point'}, {c.why}"]
            for heading, c in self.conventions.items()
            if c.decimal
        }
        for heading, units in self.units.items():
            either = " or ".join(LABELS[unit] for unit in units)
            decisions.setdefault(heading, []).append(f"figures without a unit are {either}, as you said")
        for heading, unit in self.headed.items():
            decisions.setdefault(heading, []).append(
                f"figures without a unit are {unit}, as its heading says"
            )
        return {heading: "; ".join(words) for heading, words in decisions.items()}


def columns_of(table: FreeTable, corrections: Sequence[Correction]) -> Columns:
    conventions = _conventions(table)
    units: dict[str, list[str]] = {}
    for correction in corrections:
        for heading, convention in conventions.items():
            if plain_heading(correction.column) != plain_heading(heading):
                continue
            if correction.decimal:
                conventions[heading] = replace(convention, decimal=correction.decimal, why="as you said")
            if correction.unit:
                units.setdefault(heading, []).append(correction.unit)
    headed = {
        column.heading: unit
        for column in table.columns
        if column.meaning in MAIN
        and column.heading not in units
        and (unit := unit_of_heading(column.heading))
    }
    meanings = {column.meaning for column in table.columns}
    resistors = frozenset(
        column.heading
        for column in table.columns
        if column.meaning == "value"
        and column.heading not in units
        and column.heading not in headed
        and not meanings & {"refs", "kind"}
        and _are_of_resistors(row[1][column.at] for row in table.rows)
    )
    return Columns(conventions, units, resistors, headed)


def _conventions(table: FreeTable) -> dict[str, Convention]:
    """Column -> how its figures are written: as it shows, else as the other columns of the table show.

    Where it has figures that could be read in two ways, and another column shows the other sign than it does,
    nobody can say: parts are copied from catalogues, with `4.7k` in a list that else has decimal commas.
    """
    of = {
        column.heading: convention_of(row[1][column.at] for row in table.rows)
        for column in table.columns
        if column.meaning in FIGURES
    }
    shown = {convention.decimal for convention in of.values()} - {""}
    (elsewhere,) = shown if len(shown) == 1 and not any(each.mixed for each in of.values()) else ("",)
    for heading, convention in of.items():
        if convention.example and convention.decimal and shown - {convention.decimal}:
            of[heading] = Convention(example=convention.example)
        elif convention.open and not convention.mixed and elsewhere:
            of[heading] = replace(convention, decimal=elsewhere, why="as in the other columns")
    return of


def _are_of_resistors(cells: Iterable[str]) -> bool:
    """Whether those that say of what they are a value are all of resistors, and there are some."""
    kinds = set()
    for cell in set(cells):
        if cell and not BARE.fullmatch(without_spaces(cell)):
            spec = read_line(cell[:200]).spec
            kinds.add(spec.kind if spec else "")
    return kinds == {"resistor"}


def decimal_question(table: FreeTable, heading: str, example: str) -> ColumnQuestion:
    choices = tuple((sign, by(Convention(sign), example).replace(",", ".")) for sign in ",.")
    return ColumnQuestion(table.sheet, heading, "decimal", example, choices)


def unit_question(
    table: FreeTable, heading: str, choices: Sequence[Choice], *, undecided: bool
) -> ColumnQuestion:
    """In which unit the bare figures of a column are; its first row of which that is asked is the example.

    `undecided`: what the figures themselves are is asked as well.
    """
    example = choices[0].figure
    first: dict[str, Choice] = {}
    for choice in choices:
        first.setdefault(choice.unit, choice)
    means = [
        (unit, LABELS[unit] if undecided else f"{LABELS[unit]}: {choice.figure} is {choice.spec.text}")
        for unit, choice in first.items()
        if unit
    ]
    return ColumnQuestion(table.sheet, heading, "unit", example, tuple(means))
