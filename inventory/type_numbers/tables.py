"""The tables of types: one file format, `tables/NAME.csv`, read once and only when it is asked for.

The first line names the columns, as a Spec names its fields and traits. A line that begins with # says where
the rows below it are from. `number` may hold several numbers parted by blanks; another cell then holds one
value for all or as many as there are numbers. `1N4728..1N4764` counts up; the * of `BZX79-*` stands for each
of the `zener_volts`, written with a V for the point. `words`, `also`, `types` and `legs` are one text for
the row.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path

Row = dict[str, str]

_FOLDER = Path(__file__).with_name("tables")
_RANGE = re.compile(r"([0-9]?[A-Z]+)([0-9]+)\.\.\1([0-9]+)")
_WHOLE = frozenset(("words", "also", "types", "legs"))


def rows(name: str) -> Iterator[Row]:
    """Each type of the table by itself, with the cells that say something of it."""
    for line in lines(name):
        yield from expanded(line)


def lines(name: str) -> Iterator[Row]:
    """The lines of the table as they are written, without those that say where they are from."""
    with (_FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        yield from csv.DictReader(line for line in file if not line.startswith("#"))


def expanded(line: Row) -> Iterator[Row]:
    """Raises ValueError for a cell with neither one value nor one for each number."""
    numbers = _numbers(line)
    columns = []
    for name, cell in line.items():
        if name == "number" or not cell:
            continue
        values = [cell] if name in _WHOLE else cell.split()
        if len(values) not in (1, len(numbers)):
            raise ValueError(f"{line['number']}: {len(values)} of {name} for {len(numbers)} numbers")
        columns.append((name, values if len(values) > 1 else values * len(numbers)))
    for at, number in enumerate(numbers):
        yield {"number": number, **{name: values[at] for name, values in columns}}


def _numbers(line: Row) -> list[str]:
    cell = line["number"]
    if match := _RANGE.fullmatch(cell):
        return [f"{match[1]}{count}" for count in range(int(match[2]), int(match[3]) + 1)]
    if "*" in cell:
        return [cell.replace("*", volts.replace(".", "V")) for volts in line["zener_volts"].split()]
    return cell.split()
