"""Tables and lines for people at a terminal: drawn on one, a line a row where the output goes elsewhere."""

import sys
from collections.abc import Collection, Iterable, Sequence
from typing import TextIO

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table
from rich.text import Text

NUMBERS = frozenset(
    {
        "needed", "fitted", "promised", "in drawers", "on order", "short", "short now", "short then",
        "pieces", "packs", "price", "each", "lot", "step",
    }
)  # fmt: skip


def show(
    out: TextIO,
    title: str,
    headings: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    numbers: Collection[str] = NUMBERS,
    one_line: bool = False,
) -> None:
    """Print a table; numbers stand to the right.  What people typed is printed as it is, never as markup.

    `one_line` keeps each row on one line where the terminal has room for all of it; where it has not, the
    numbers stand beside the first text and the other texts below that, each after its heading.  Away from a
    terminal a row is always one line, whole, its cells parted by tabs and not padded, for other programs.
    """
    if not getattr(out, "isatty", lambda: False)():
        lines = ([" ".join(cell.split()) for cell in row] for row in (headings, *rows))
        out.writelines("\t".join(line).rstrip("\t") + "\n" for line in [[title], *lines] if any(line))
        return
    console = Console(file=out, highlight=False, markup=False)
    rows = list(rows)
    if one_line and _width(headings, rows) > console.width:
        headings, rows = _texts_below(headings, rows, numbers)
    table = Table(title=Text(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in headings:
        number = heading in numbers
        table.add_column(heading, justify="right" if number else "left", overflow="fold", no_wrap=number)
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    console.print(table)


def _width(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> int:
    """Of the table with every cell on one line: three signs stand between two columns."""
    return sum(max(map(cell_len, column)) + 3 for column in zip(headings, *rows, strict=True))


def _texts_below(
    headings: Sequence[str], rows: Sequence[Sequence[str]], numbers: Collection[str]
) -> tuple[list[str], list[list[str]]]:
    """The columns of numbers in which there are any, then all texts of a row in one cell."""
    counts = [at for at, name in enumerate(headings) if name in numbers and any(row[at] for row in rows)]
    first, *texts = [at for at, name in enumerate(headings) if name not in numbers]
    below = [
        [
            *(row[at] for at in counts),
            "\n".join([row[first], *(f"  {headings[at]}: {row[at]}" for at in texts if row[at])]),
        ]
        for row in rows
    ]
    return [*(headings[at] for at in counts), headings[first]], below


def stream_of(command_output: object) -> TextIO:
    """The stream behind a command's output wrapper."""
    return getattr(command_output, "_out", sys.stdout)
