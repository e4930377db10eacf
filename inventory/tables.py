"""Tables and lines for people at a terminal: drawn on one, plain text where the output is kept."""

import sys
from collections.abc import Iterable, Sequence
from io import StringIO
from typing import TextIO

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

NUMBERS = frozenset(
    {
        "needed", "fitted", "promised", "in drawers", "on order", "short", "short now", "short then",
        "pieces", "packs", "price", "each", "lot", "step",
    }
)  # fmt: skip


def show(out: TextIO, title: str, headings: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print a table; numbers stand to the right.  What people typed is printed as it is, never as markup.

    Away from a terminal the table is wide and without colour.
    """
    table = Table(title=Text(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in headings:
        table.add_column(heading, justify="right" if heading in NUMBERS else "left", overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    if getattr(out, "isatty", lambda: False)():
        Console(file=out, highlight=False, markup=False).print(table)
        return
    kept = Console(file=StringIO(), width=200, no_color=True, highlight=False, markup=False)
    with kept.capture() as plain:
        kept.print(table)
    out.writelines(f"{line.rstrip()}\n" for line in plain.get().splitlines())


def stream_of(command_output: object) -> TextIO:
    """The stream behind a command's output wrapper."""
    return getattr(command_output, "_out", sys.stdout)
