"""Tables and lines for people at a terminal: drawn on one, a line a row where the output goes elsewhere."""

import sys
from collections.abc import Collection, Iterable, Sequence
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

    `one_line` keeps each row on one line, cut to fit.  Away from a terminal a row is always one line, whole,
    its cells parted by tabs and not padded, for `cut` and other programs to take apart.
    """
    if not getattr(out, "isatty", lambda: False)():
        lines = ([" ".join(cell.split()) for cell in row] for row in (headings, *rows))
        out.writelines("\t".join(line).rstrip("\t") + "\n" for line in [[title], *lines] if any(line))
        return
    table = Table(title=Text(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in headings:
        table.add_column(
            heading,
            justify="right" if heading in numbers else "left",
            overflow="ellipsis" if one_line else "fold",
            no_wrap=one_line,
        )
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    Console(file=out, highlight=False, markup=False).print(table)


def stream_of(command_output: object) -> TextIO:
    """The stream behind a command's output wrapper."""
    return getattr(command_output, "_out", sys.stdout)
