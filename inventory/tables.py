"""Tables and lines for people at a terminal: drawn on one, plain text where the output is kept."""

import sys
from collections.abc import Iterable, Sequence
from typing import TextIO

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

NUMBERS = frozenset({"needed", "fitted", "promised", "in drawers", "on order", "short", "pieces"})


def console(out: TextIO) -> Console:
    """A console on this stream; away from a terminal it is wide, without colour and without wrapping."""
    on_terminal = getattr(out, "isatty", lambda: False)()
    return Console(
        file=out, width=None if on_terminal else 200, no_color=not on_terminal, highlight=False, markup=False
    )


def show(out: TextIO, title: str, headings: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print a table; numbers stand to the right.  What people typed is printed as it is, never as markup."""
    table = Table(title=Text(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in headings:
        table.add_column(heading, justify="right" if heading in NUMBERS else "left", overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    console(out).print(table)


def stream_of(command_output: object) -> TextIO:
    """The stream behind a command's output wrapper."""
    return getattr(command_output, "_out", sys.stdout)
